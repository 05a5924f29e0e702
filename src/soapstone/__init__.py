"""Soapstone: the computation of hanging a drivetrain where there never was one."""

__version__ = "0.1.0"
