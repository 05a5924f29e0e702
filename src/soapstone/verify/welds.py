"""Published weld lines and weld groups, answered by the strength room."""

import math
from collections.abc import Mapping

import numpy as np

from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body
from soapstone.parts.cuts import coped, square
from soapstone.parts.ends import cut_tube
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.strength.foot_forces import FootForces
from soapstone.strength.seam import seam_of
from soapstone.strength.tab_welds import tab_weld
from soapstone.strength.weld_lines import round_line
from soapstone.tables import filler, least_fillet, material
from soapstone.verify.units import INCH

_ROWS = 1441  # of the outline; chords of a quarter degree fall short of the line by about 1e-6


def _seam_length(chord: RectangularTube | RoundTube, degrees: float) -> float:
    """The line round a tube of 1.5 in that leans by some degrees and is coped onto `chord`; in."""
    lean = math.radians(degrees)
    away = np.array([math.cos(lean), 0.0, math.sin(lean)])
    host = Body("rail", chord, Axes.along(np.zeros(3), (1, 0, 0), (0, 1, 0)))
    wall = RoundTube(1.5 * INCH, 0.002)
    part = cut_tube(
        "branch", wall, np.zeros(3), 0.5 * away, (0, 1, 0), coped(host), square(0.0), points=_ROWS
    )
    return seam_of(part, part.end_a.outline, chord.outline, host.axes).length / INCH


def seam_on_a_flat() -> Mapping[str, float]:
    """Onto the face of a square tube."""
    chord = RectangularTube(0.1, 0.1, 0.004, 0.008)
    return {f"{deg} deg": _seam_length(chord, deg) for deg in (90, 60, 45)}


def seam_on_a_wide_tube() -> Mapping[str, float]:
    """Onto a round tube of 3 in."""
    return {f"{deg} deg": _seam_length(RoundTube(3 * INCH, 0.004), deg) for deg in (90, 60, 45)}


def seam_on_a_like_tube() -> Mapping[str, float]:
    """Onto a round tube of its own size."""
    return {f"{deg} deg": _seam_length(RoundTube(1.5 * INCH, 0.004), deg) for deg in (90, 60, 45)}


def ring() -> Mapping[str, float]:
    """A fillet round a tube of 25 mm radius as a line; mm²."""
    line = round_line(0.050)
    return {"bending": 1e6 * line.modulus_y, "torsion": 1e6 * line.polar / line.reach_y}


def two_fillets() -> Mapping[str, float]:
    """Two fillets of 100 mm bent in their plane, their second moment from force, arm and force per length."""
    force, arm, length, none = 1000.0, 0.2, 0.100, np.zeros(1)
    finding = tab_weld(
        name="tab",
        width=length,
        thickness=0.006,
        leg=0.005,
        filler=filler("E7018"),
        material=material("S235"),
        load=FootForces(none, np.array([force]), none, np.array([force * arm]), none, none),
        cases=("case",),
    )
    per_length = {step.symbol: step.value for step in finding.because}["f_m"]
    return {"bending": 1e9 * force * arm / per_length * length / 2}


def least_fillets() -> Mapping[str, float]:
    """The smallest leg by the thinner part joined; mm."""
    return {f"{t:g} mm": 1e3 * least_fillet(t / 1e3).leg for t in (6, 13, 19, 25)}


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        seam_on_a_flat,
        seam_on_a_wide_tube,
        seam_on_a_like_tube,
        ring,
        two_fillets,
        least_fillets,
    )
}
