"""The one shape in which every check answers."""

from dataclasses import dataclass
from enum import StrEnum

from soapstone.formula import Step


class Verdict(StrEnum):
    """What a check concludes; `OPEN` means that not enough is known to say."""

    HOLDS = "holds"
    SHORT = "short"
    OPEN = "open"

    @property
    def mark(self) -> str:
        """The weld-bead mark for plain text: whole, cracked, or a row of tacks."""
        return {"holds": "====", "short": "==/==", "open": "= = ="}[self.value]


@dataclass(frozen=True)
class Finding:
    """One check answered.

    Attributes
    ----------
    id : str
        `kind:thing` (`member-stress:side_left`); the kind is from the closed list in docs/findings.
    about : str
        The thing checked, by its name in the job.
    claim : str
        What would have to be true, in one plain clause.
    case : str
        The governing load case; empty where cases play no part.
    demand, capacity : float or None
        SI; None only where the verdict is `open`.
    unit : str
        SI unit of both (`Pa`, `N`, `N*m`, `m`, `1`).
    ratio : float or None
        demand / capacity.
    because : tuple of Step
        The chain of formulas with the numbers put in.
    source : str
        Standard, handbook or "common practice, no source".
    remedy : str
        The smallest change that would make it hold; empty when it holds.
    caution : str
        What to beware of even when it holds.
    assumed : tuple of str
        Every assumed value with its origin.
    """

    id: str
    about: str
    claim: str
    verdict: Verdict
    case: str = ""
    demand: float | None = None
    capacity: float | None = None
    unit: str = "1"
    ratio: float | None = None
    because: tuple[Step, ...] = ()
    source: str = "common practice, no source"
    remedy: str = ""
    caution: str = ""
    assumed: tuple[str, ...] = ()

    @property
    def kind(self) -> str:
        """The part of the id that the closed list in the docs names."""
        return self.id.partition(":")[0]


def judge(demand: float, capacity: float) -> tuple[float, Verdict]:
    """Ratio and verdict of a demand against a capacity (same unit, capacity > 0)."""
    ratio = demand / capacity
    return ratio, Verdict.HOLDS if ratio <= 1.0 else Verdict.SHORT
