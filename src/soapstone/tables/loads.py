"""Load factors of the road and the safety factors of the checks."""

from dataclasses import dataclass

from soapstone.errors import SoapstoneError
from soapstone.tables.rows import Status, table, unknown_name


@dataclass(frozen=True)
class LoadFactor:
    """What a mass pulls with, as multiples of its own weight.

    Attributes
    ----------
    vertical : float
        Downwards.
    fore_aft : float
        Forwards.
    lateral : float
        To the left; such a case acts to both sides.
    span : tuple of float or None
        The range the source gives for the factor that is not plain weight.
    """

    name: str
    vertical: float
    fore_aft: float
    lateral: float
    span: tuple[float, float] | None
    source: str
    status: Status
    note: str


@dataclass(frozen=True)
class SafetyFactor:
    """What a nominal strength is divided by."""

    name: str
    value: float
    source: str
    clause: str


def load_factors() -> tuple[str, ...]:
    """The cases that have a number."""
    return tuple(row["name"] for row in table("loads")["case"] if row["status"] != Status.UNKNOWN)


def load_factor(name: str) -> LoadFactor:
    """The factors of the case called `name` (`bump`, `braking`, `kerb`).

    Raises
    ------
    SoapstoneError
        When the table has no such case, or has it without a number.
    """
    rows = {row["name"]: row for row in table("loads")["case"]}
    if name not in rows:
        raise unknown_name("load case", name, load_factors())
    row = rows[name]
    if row["status"] == Status.UNKNOWN:
        raise SoapstoneError(
            f"no number is known for the load case {name!r}", remedy="give your own factor with its source"
        )
    span = (row["low"], row["high"]) if "low" in row else None
    factors = (row["vertical"], row["fore_aft"], row["lateral"])
    return LoadFactor(name, *factors, span, row["source"], Status(row["status"]), row["note"])


def safety_factor(key: str) -> SafetyFactor:
    """The divisor Ω for `yield`, `rupture`, `bearing`, `bolt` or `weld`.

    Raises
    ------
    SoapstoneError
        When there is none so called.
    """
    rows = table("safety")
    if key not in rows:
        raise unknown_name("safety factor", key, rows)
    row = rows[key]
    return SafetyFactor(key, row["omega"], row["source"], row["clause"])


@dataclass(frozen=True)
class PartialFactor:
    """What a load is multiplied by, or a resistance divided by, in the Eurocodes."""

    name: str
    value: float
    source: str
    clause: str


def partial_factor(key: str) -> PartialFactor:
    """The factor for `load`, `section`, `buckling`, `joint`, `rupture` or `fatigue`.

    Raises
    ------
    SoapstoneError
        When there is none so called.
    """
    rows = table("partial")
    if key not in rows:
        raise unknown_name("partial factor", key, rows)
    row = rows[key]
    return PartialFactor(key, row["value"], row["source"], row["clause"])
