"""Every part of the mount: where it stands, what it is cut from and how it is cut."""
