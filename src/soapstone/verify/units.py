"""The few US units that published problems are set in, in SI; exact by their definitions."""

INCH = 0.0254
FOOT = 12 * INCH
POUND = 0.45359237
POUND_FORCE = POUND * 9.80665
KIP = 1e3 * POUND_FORCE
PSI = POUND_FORCE / INCH**2
KSI = 1e3 * PSI
