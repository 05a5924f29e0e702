"""One published value against one computed: the printed digits set the tolerance."""

import math
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from soapstone.errors import SoapstoneError
from soapstone.verify.table import Check, source_text

SHIFT = 3
"""Tolerances by which a published value is shifted to see that its check can fail."""
_ROUNDING = 1e-9  # share of the tolerance: a value on the very edge of a digit is not lost to float64


@dataclass(frozen=True)
class Result:
    """One check, run.

    Attributes
    ----------
    check : Check
    published : Decimal
        What was compared with; the printed value, or the shifted one.
    computed : float
        In the check's unit.
    scale : float
        What the relative figures refer to, in the check's unit.
    relative_error, tolerance : float
        Shares of `scale`.
    """

    check: Check
    published: Decimal
    computed: float
    scale: float
    relative_error: float
    tolerance: float

    @property
    def holds(self) -> bool:
        """Whether the difference is within the tolerance; a value that is no number never is."""
        return self.relative_error <= self.tolerance * (1 + _ROUNDING)

    def as_json(self) -> dict[str, Any]:
        """The row as the command line prints it; the published value stays text, as printed."""
        return {
            "id": self.check.id,
            "area": self.check.area,
            "what": self.check.what,
            "published": self.published_text,
            "computed": self.computed,
            "unit": self.check.unit,
            "relative_error": self.relative_error,
            "tolerance": self.tolerance,
            "source": source_text(self.check),
            "from_memory": self.check.from_memory,
            "holds": self.holds,
        }

    @property
    def published_text(self) -> str:
        """As printed, unless shifted."""
        printed = self.check.published
        return printed if self.published == Decimal(printed) else f"{float(self.published):.12g}"


def compare(check: Check, computed: float, *, shifted: bool = False) -> Result:
    """Compare a computed value with the published one, or with that shifted by `SHIFT` tolerances.

    Raises
    ------
    SoapstoneError
        For a comparison that could never fail: a tolerance of 100 % or more, or a published zero without a
        scale.
    """
    printed = Decimal(check.published)
    scale, tolerance = allowed(check)
    target = printed + Decimal(SHIFT * tolerance * scale) if shifted else printed
    # subtracted as decimals: a coordinate of seven digits before the point loses none behind it
    off = abs(Decimal(computed) - target) if math.isfinite(computed) else Decimal("inf")
    return Result(check, target, computed, scale, float(off) / scale, tolerance)


def allowed(check: Check) -> tuple[float, float]:
    """Scale of a check, in its unit, and its tolerance as a share of that; raises as `compare` does."""
    printed = Decimal(check.published)
    scale = float(abs(printed)) if check.scale is None else check.scale
    if scale == 0.0:
        raise SoapstoneError("a published zero needs a scale to be compared on", where=check.id)
    tolerance = check.relative
    if tolerance is None:
        tolerance = check.units_of_last_digit * float(last_digit(printed)) / scale
    if tolerance >= 1.0:
        raise SoapstoneError(f"a tolerance of {tolerance:.0%} could never fail", where=check.id)
    if tolerance <= 0.0:
        raise SoapstoneError("without any tolerance it could never hold", where=check.id)
    return scale, tolerance


def last_digit(printed: Decimal) -> Decimal:
    """One unit of the last printed digit: 0.01 of `32.99`, 100 of `4.89e4`."""
    exponent = printed.as_tuple().exponent
    if not isinstance(exponent, int):
        raise SoapstoneError(f"{printed} is no published value")
    return Decimal(1).scaleb(exponent)
