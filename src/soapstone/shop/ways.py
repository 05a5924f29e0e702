"""How the shop cuts: what the job says of it, and what is assumed where it says nothing."""

from dataclasses import dataclass

from soapstone.job.workshop import Cutter, Shop
from soapstone.parts.cuts import EndKind
from soapstone.parts.ends import TubeEnd, TubePart
from soapstone.parts.outline import End

OFFICE_PAPER = 0.1e-3
"""m, of 80 g/m² (common practice, no source)."""


@dataclass(frozen=True)
class Ways:
    """What the sheets need to know of the shop; lengths m.

    Attributes
    ----------
    cutter : str
    gap : float
        Left all round between an end and what it sits on.
    trim : float
        Left on the end that is fitted last.
    paper : float
        Thickness.
    cutters : tuple of float
        Diameters at hand.
    cutter_depth : float or None
    vent : float or None
        Diameter.
    assumed : tuple of str
        What the job does not say.
    """

    cutter: Cutter = "grinder"
    gap: float = 0.0
    trim: float = 0.0
    paper: float = 0.0
    cutters: tuple[float, ...] = ()
    cutter_depth: float | None = None
    vent: float | None = None
    assumed: tuple[str, ...] = ()

    @classmethod
    def of(cls, shop: Shop | None) -> "Ways":
        """The ways of a job."""
        paper = "paper 0.1 mm thick (common practice, no source)"
        if shop is None:
            told = ("a grinder to a printed line, no gap, no trim: the job has no shop", paper)
            return cls(paper=OFFICE_PAPER, assumed=told)
        return cls(
            shop.cutter,
            shop.gap,
            shop.trim,
            OFFICE_PAPER if shop.paper is None else shop.paper,
            shop.cutters,
            shop.cutter_depth,
            shop.vent,
            (paper,) if shop.paper is None else (),
        )

    @property
    def round_cutter(self) -> bool:
        """Whether the cutter is a round one that makes the outer and the inner line at once."""
        return self.cutter in ("hole saw", "mill", "belt")


def last_fitted(part: TubePart) -> End | None:
    """The end that is left for fitting: B when it is cut to a shape, else A when that is, else none."""
    for end in (part.end_b, part.end_a):
        if end.kind is not EndKind.SQUARE:
            return end.outline.end
    return None


def saw_length(part: TubePart, ways: Ways) -> float:
    """What to saw, m: the finished long points, and what is left for fitting."""
    return part.saw_length + (ways.trim if last_fitted(part) is not None else 0.0)


def sawn_start(part: TubePart, ways: Ways) -> float:
    """Station, m, of end A as it is sawn: its finished long point, less what is left on there for fitting."""
    more = ways.trim if last_fitted(part) is End.A else 0.0
    return part.end_a.outline.long_point.station - more


def is_closed(part: TubePart) -> bool:
    """Whether both ends are closed by what they sit on, so that the tube must be vented."""
    shut = all(end.kind in (EndKind.COPE, EndKind.MITRE, EndKind.FLAT) for end in (part.end_a, part.end_b))
    return shut and not part.openings


def cut_line(end: TubeEnd, ways: Ways) -> str:
    """Which line to cut to: `outer` or, for a cutter that stands square to the wall, `clear`."""
    return "clear" if ways.cutter == "tube laser" else "outer"
