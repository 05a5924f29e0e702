"""Published fits and vehicle loads, placed by the place room."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from soapstone.job.load import load_text
from soapstone.place.loads import STANDARD_GRAVITY, LoadCase, load_cases
from soapstone.place.pose import rigid_fit
from soapstone.verify import mounts
from soapstone.verify.units import FOOT, INCH, POUND, POUND_FORCE

_ALIKE = np.eye(3)

_STATIONS_FROM = (
    (4157222.543, 664789.307, 4774952.099),
    (4149043.336, 688836.443, 4778632.188),
    (4172803.511, 690340.078, 4758129.701),
    (4177148.376, 642997.635, 4760764.800),
    (4137012.190, 671808.029, 4791128.215),
    (4146292.729, 666952.887, 4783859.856),
    (4138759.902, 702670.738, 4785552.196),
)
_STATIONS_TO = (
    (4157870.237, 664818.678, 4775416.524),
    (4149691.049, 688865.785, 4779096.588),
    (4173451.354, 690369.375, 4758594.075),
    (4177796.064, 643026.700, 4761228.899),
    (4137659.549, 671837.337, 4791592.531),
    (4146940.228, 666982.151, 4784324.099),
    (4139407.506, 702700.227, 4786016.645),
)


def _rotation(own: NDArray[np.float64], target: NDArray[np.float64]) -> NDArray[np.float64]:
    names = [str(i) for i in range(len(own))]
    return rigid_fit(names, own, target, np.array([_ALIKE] * len(own))).pose.rotation


def grafarend_datum() -> Mapping[str, float]:
    """Turn between two datums by seven stations, small angles about x, y and z in arc seconds.

    The best turn is the same with and without a change of scale, so a rigid fit must find it.
    """
    turned = _rotation(np.array(_STATIONS_FROM), np.array(_STATIONS_TO))
    small = np.array([turned[2, 1] - turned[1, 2], turned[0, 2] - turned[2, 0], turned[1, 0] - turned[0, 1]])
    x, y, z = -np.degrees(small / 2) * 3600  # the paper turns the axes where we turn the points
    return {"x": x, "y": y, "z": z}


def umeyama_reflection() -> Mapping[str, float]:
    """Three points against their mirror image in a plane: the best turn that is no reflection.

    Each point stands once above and once below the plane, which keeps the turn in it.
    """
    own = np.array([(0, 0), (1, 0), (0, 2)], dtype=float)
    target = np.array([(0, 0), (-1, 0), (0, 2)], dtype=float)
    height = 10.0  # far more than the plane figure is wide: turning it over costs more than any turn in it
    above, below = np.full((3, 1), height), np.full((3, 1), -height)
    turned = _rotation(
        np.vstack([np.hstack([own, above]), np.hstack([own, below])]),
        np.vstack([np.hstack([target, above]), np.hstack([target, below])]),
    )
    return {"cosine": turned[0, 0], "sine": turned[0, 1]}


_SMALLEST_JOB = """
soapstone: 1
title: A published vehicle, for its loads alone
datum: {{origin: anywhere, state: standing}}
points:
  A: {{at: [0 mm fwd, 0 mm left, 0 mm up]}}
bodies:
  unit: {{mass: 90 kg, centre: [0 mm fwd, 0 mm left, 0 mm up], points: {{O: [0 mm fwd, 0 mm left, 0 mm up]}}}}
service:
{service}
"""


def _cases(service: str) -> Mapping[str, LoadCase]:
    job = load_text(_SMALLEST_JOB.format(service=service), Path())
    return {case.name: case for case in load_cases(job)}


def road_factors() -> Mapping[str, float]:
    """What the table's cases pull with, in multiples of weight."""
    names = ("longitudinal bump", "braking", "kerb")
    cases = _cases("  cases:\n" + "\n".join(f"    {name}: from table" for name in names))
    pulls = {name: case.pull / STANDARD_GRAVITY for name, case in cases.items()}
    return {
        "longitudinal bump": float(np.abs(pulls["longitudinal bump"][0])),
        "braking forward": pulls["braking"][0],
        "kerb, pulled to the left": pulls["kerb, pulled to the left"][1],
    }


def gillespie_traction() -> Mapping[str, float]:
    """A solid axle on a slippery road: what its tyres hold, as thrust in lb.

    The axle's load while it pulls follows from its load at rest, Wr / (1 - μ h / L), as the book has it.
    """
    grip, at_rest, height, base, radius, final = 0.62, 1850.0, 21.0, 108.0, 13.0, 2.9
    pulling = at_rest / (1 - grip * height / base)
    service = f"""
  motor:
    body: unit
    torque: 1000 N·m
    ratio: 3.5
    layout: longitudinal
    final drive: {final}
    turns: clockwise
  grip: {{mass on axle: {pulling * POUND!r} kg, tyre: {grip}, rolling radius: {radius} in}}
  cases:
    pulling: {{down: 1, torque: drive, source: the book}}
"""
    shaft = _cases(service.strip("\n"))["pulling"].torque[0]
    return {
        "thrust": shaft * final / (radius * INCH) / POUND_FORCE,
        "shaft": shaft / (POUND_FORCE * FOOT),
    }


PROBLEMS = {
    problem.__name__: problem
    for problem in (grafarend_datum, umeyama_reflection, road_factors, gillespie_traction)
} | mounts.PROBLEMS
