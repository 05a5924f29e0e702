"""The checks against the outside world: one table, run on this machine, printed as the verification manual.

Every row keeps a published value as printed text, so that its digits set the tolerance, names its source and
where it stands there, and is compared with what the other rooms compute through their public functions.
"""

from soapstone.verify.compare import Result
from soapstone.verify.run import run_checks
from soapstone.verify.table import Check, checks, sources

__all__ = ["Check", "Result", "checks", "run_checks", "sources"]
