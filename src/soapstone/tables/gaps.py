"""How far things must keep apart, by what they are."""

from dataclasses import dataclass
from functools import cache

from soapstone.tables.rows import sources, table, to_si

STANDING = "standing"


@dataclass(frozen=True)
class WantedGap:
    """A gap to keep.

    Attributes
    ----------
    size : m
    words : for what
    source : by its title
    """

    size: float
    words: str
    source: str


def gap_of(kind: str) -> WantedGap:
    """The gap round one kind of thing."""
    return _row("kind", kind)


def gap_between(first: str, second: str) -> WantedGap:
    """The gap that two kinds of things keep from each other: the larger, or that of the two together.

    Two that are `fixed` where nothing moves keep what stands still keeps; say so by `STANDING`.
    """
    for one, other in ((first, second), (second, first)):
        if f"{one}_{other}" in table("gaps")["both"]:
            return _row("both", f"{one}_{other}")
    return max(gap_of(first), gap_of(second), key=lambda gap: gap.size)


def gap_in(state: str) -> WantedGap:
    """What must be left in a state: `moving`, `broken`."""
    return _row("state", state)


def tape_accuracy() -> WantedGap:
    """One standard deviation, m, of what was measured with a tape in a bay and nobody said how well."""
    return _row("accuracy", "tape")


@cache
def _row(part: str, name: str) -> WantedGap:
    row = table("gaps")[part][name]
    return WantedGap(to_si(row["gap"]), row["words"], sources()[row["source"]].title)
