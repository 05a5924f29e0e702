"""Turned parts: limits of size, spigots that fit a tube, drills for threads, mass, and how pairs fit."""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from soapstone.errors import GeometryError, SoapstoneError
from soapstone.finding import Finding, Verdict, judge
from soapstone.formula import Chain
from soapstone.job.schema import Job
from soapstone.job.shop_parts import TurnedPart
from soapstone.parts.layout import material_of, section_of
from soapstone.parts.sections import RoundTube
from soapstone.tables import bolt_size
from soapstone.tables.fits import Limits, limits, tapping_drill

_LAND = 0.2
"""Of the tube's wall, left square at the tip of its 30° chamfer: common practice, no source."""


@dataclass(frozen=True)
class TurnedMade:
    """A turned part with every size that its drawing needs, m.

    Attributes
    ----------
    name : str
    spec : TurnedPart
    outside, bore : Limits or None
        Where a class is given.
    hole : float
        Diameter of what goes through it; 0 for a solid pin. Of a thread the drill's.
    thread : str
        The thread's name; empty for none.
    spigot : float or None
        Diameter of a bung's spigot.
    wall : float or None
        Of the tube that the spigot goes into.
    plug_hole : float or None
        Of the plug-weld holes in that tube over the spigot.
    volume : float
        m³.
    """

    name: str
    spec: TurnedPart
    outside: Limits | None
    bore: Limits | None
    hole: float
    thread: str
    spigot: float | None
    wall: float | None
    plug_hole: float | None
    volume: float

    @property
    def profile(self) -> tuple[tuple[float, float], ...]:
        """Half of the outside along the axis: (station, radius) m, from the spigot's end on."""
        spec, half, edge = self.spec, self.spec.outside / 2.0, self.spec.chamfer
        start: tuple[tuple[float, float], ...] = (
            ((0.0, half - edge), (edge, half)) if edge else ((0.0, half),)
        )
        if self.spigot is not None and spec.spigot is not None:
            start = ((0.0, self.spigot / 2.0), (spec.spigot, self.spigot / 2.0), (spec.spigot, half))
        end = ((spec.length - edge, half), (spec.length, half - edge)) if edge else ((spec.length, half),)
        return (*start, *end)


def turned_parts(job: Job) -> tuple[TurnedMade, ...]:
    """Every turned part of the job; pure.

    Raises
    ------
    GeometryError
        A spigot that does not fit its tube, or a hole that leaves no wall.
    """
    return tuple(_made(job, name, spec) for name, spec in job.turned.items())


def _made(job: Job, name: str, spec: TurnedPart) -> TurnedMade:
    outside = None if spec.outside_fit is None else limits(spec.outside, spec.outside_fit, hole=False)
    bore = None
    if spec.bore is not None and spec.bore_fit is not None:
        bore = limits(spec.bore, spec.bore_fit, hole=True)
    hole, thread = _hole(name, spec)
    spigot, wall = _spigot(job, name, spec)
    thinnest = min(spec.outside - 2.0 * spec.chamfer, spigot or math.inf)
    if hole >= thinnest:
        raise GeometryError(
            f"its hole of {1e3 * hole:.4g} mm leaves no wall in {1e3 * thinnest:.4g} mm", where=name
        )
    plug = None if wall is None else 2.5 * wall
    made = TurnedMade(name, spec, outside, bore, hole, thread, spigot, wall, plug, 0.0)
    volume = _volume(made.profile) - math.pi / 4.0 * hole**2 * spec.length
    return TurnedMade(name, spec, outside, bore, hole, thread, spigot, wall, plug, volume)


def _hole(name: str, spec: TurnedPart) -> tuple[float, str]:
    if spec.thread is None:
        return spec.bore or 0.0, ""
    size = bolt_size(spec.thread)
    drill = tapping_drill(size)
    if drill is None:
        raise SoapstoneError(f"no tapping drill for {size.name} in the table", where=name)
    return drill, size.name


def _spigot(job: Job, name: str, spec: TurnedPart) -> tuple[float | None, float | None]:
    if spec.into is None or spec.clearance is None:
        return None, None
    tube = section_of(job.stock[spec.into])
    if not isinstance(tube, RoundTube):
        raise GeometryError(f"its spigot is round and {spec.into} is not", where=name)
    bore = tube.outside_diameter - 2.0 * tube.wall
    spigot = bore - spec.clearance
    if not 0.0 < spigot < spec.outside:
        raise GeometryError(
            f"an outside of {1e3 * spec.outside:.4g} mm leaves no shoulder on a {1e3 * spigot:.4g} mm spigot",
            where=name,
            remedy="make the outside as large as the tube's",
        )
    return spigot, tube.wall


def _volume(profile: tuple[tuple[float, float], ...]) -> float:
    """m³ of a turned outside: frustums."""
    total = 0.0
    for (a, r), (b, s) in pairwise(profile):
        total += math.pi / 3.0 * (b - a) * (r * r + r * s + s * s)
    return total


def mass_of(job: Job, made: TurnedMade) -> float:
    """kg of one."""
    return made.volume * material_of(job, made.spec.of).density


def weld_words(made: TurnedMade) -> str:
    """How the tube and its bung are prepared for welding; empty where nothing is welded in."""
    if made.wall is None or made.plug_hole is None:
        return ""
    land = max(0.5e-3, _LAND * made.wall)
    return (
        f"chamfer the tube's end 30° to a land of {1e3 * land:.1f} mm; two plug holes of"
        f" {1e3 * made.plug_hole:.0f} mm opposite each other over the spigot's end, four where it works hard;"
        " plug welds first, then the joint all round"
    )


def fit_findings(parts: tuple[TurnedMade, ...]) -> tuple[Finding, ...]:
    """How each part fits the bore that the job says it goes into."""
    by_name = {made.name: made for made in parts}
    return tuple(_fit(made, by_name[made.spec.mates]) for made in parts if made.spec.mates in by_name)


def _fit(hole: TurnedMade, shaft: TurnedMade) -> Finding:
    finding = Finding(
        id=f"fit:{hole.name}",
        about=hole.name,
        claim=f"{shaft.name} goes into {hole.name} at every size that both may have",
        verdict=Verdict.OPEN,
        remedy=f"give {hole.name} a bore fit and {shaft.name} an outside fit",
        source="ISO 286-1 (from memory)",
    )
    if hole.bore is None or shaft.outside is None:
        return finding
    chain = Chain()
    largest = chain.given("d", shaft.outside.largest, "m", f"largest {shaft.name}, {shaft.outside.text}")
    least = chain.given("B", hole.bore.least, "m", f"smallest bore of {hole.name}, {hole.bore.text}")
    chain.given("d_l", shaft.outside.least, "m", f"smallest {shaft.name}")
    chain.given("B_h", hole.bore.largest, "m", f"largest bore of {hole.name}")
    chain.step("c_min", "B - d", "m", "least clearance, a press where negative")
    most = chain.step("c_max", "B_h - d_l", "m", "most clearance")
    ratio, verdict = judge(largest, least)
    return replace(
        finding,
        verdict=verdict,
        demand=largest,
        capacity=least,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        remedy=""
        if verdict is Verdict.HOLDS
        else "take a looser class, like g6 in H7; or press it and say so",
        caution=f"At most {1e6 * most:.0f} µm loose.",
    )
