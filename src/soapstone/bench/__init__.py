"""The bench: a job seen, changed and answered again while it is worked on."""
