"""`python -m soapstone`, the same as the command `soapstone`."""

from soapstone.cli import main

main()
