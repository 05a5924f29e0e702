"""Published frames that are warmed, settled or pulled into line, answered by the frame room."""

from collections.abc import Mapping

import numpy as np

from soapstone.frame import Loads, Release, member_forces, pull_in, solve
from soapstone.parts.sections import RoundTube
from soapstone.verify.sketch import frame_of, line_loads, properties_of

_CLAMPED = "xyzXYZ"
_TUBE = RoundTube(0.0381, 0.0025)
_ELASTIC = 205e9


def _warm_corner(area: float) -> Mapping[str, float]:
    """Two legs of 1 m at a right angle, both feet clamped, 100 K warmer; EI 2e5 N·m²."""
    frame = frame_of(
        {"A": (0, 0, 0), "B": (1, 0, 0), "C": (1, 0, 1)},
        {"AB": ("A", "B"), "BC": ("B", "C")},
        {"A": _CLAMPED, "C": _CLAMPED},
        elastic_modulus=2e11,
        shear_modulus=8e10,
        area=area,
        second_moment_y=1e-6,
    )
    warm = Loads.none(frame, ["warm"]).with_temperature([1.2e-5] * 2, [[100.0] * 2])
    foot = solve(frame, warm).reactions[0, 0]
    return {"thrust": abs(foot[0]), "moment": abs(foot[4])}


def warm_corner() -> Mapping[str, float]:
    """Legs so thick that they hardly give along themselves; N and N·m."""
    return _warm_corner(1e4)


def warm_corner_that_gives() -> Mapping[str, float]:
    """Legs of 0.01 m²; N and N·m."""
    return _warm_corner(1e-2)


def warm_bar() -> Mapping[str, float]:
    """A clamped tube of 38.1 by 2.5 mm, 100 K warmer: evenly, N; from bottom to top, over E I α ΔT/h."""
    section = _TUBE.section
    frame = frame_of(
        {"A": (0, 0, 0), "B": (0.8, 0, 0)},
        {"tube": ("A", "B")},
        {"A": _CLAMPED, "B": _CLAMPED},
        elastic_modulus=_ELASTIC,
        shear_modulus=79e9,
        **properties_of(section),
    )
    none, depth = Loads.none(frame, ["warm"]), 0.0381
    even = none.with_temperature([1.2e-5], [[100.0]])
    bent = none.with_temperature([1.2e-5], [[0.0]], [[[0.0, 100.0 / depth]]])
    _, pushed = member_forces(frame, even, solve(frame, even), 2)
    _, turned = member_forces(frame, bent, solve(frame, bent), 2)
    scale = _ELASTIC * section.second_moment_y * 1.2e-5 * 100 / depth
    return {"force": pushed[0, 0, 0, 0], "moment": -turned[0, 0, 0, 4] / scale}


def settled_beam() -> Mapping[str, float]:
    """A clamped beam of L = EI = 1: one end sinks by 1; then the other end turns by 1."""
    frame = frame_of(
        {"A": (0, 0, 0), "B": (1, 0, 0)},
        {"AB": ("A", "B")},
        {"A": _CLAMPED, "B": _CLAMPED},
        elastic_modulus=1.0,
        shear_modulus=1.0,
    )
    none = Loads.none(frame, ["moved"])
    sunk = solve(frame, none.with_settlement(1, (0, 0, -1, 0, 0, 0))).reactions[0]
    turned = solve(frame, none.with_settlement(0, (0, 0, 0, 0, 1, 0))).reactions[0]
    return {"shear": abs(sunk[1, 2]), "moment": abs(sunk[0, 4]), "near": turned[0, 4], "far": turned[1, 4]}


def sunk_support() -> Mapping[str, float]:
    """Two equal spans of L = EI = 1 whose middle support sinks by 1."""
    frame = frame_of(
        {"A": (0, 0, 0), "B": (1, 0, 0), "C": (2, 0, 0)},
        {"AB": ("A", "B"), "BC": ("B", "C")},
        {"A": "xyzX", "B": "z", "C": "yz"},
        elastic_modulus=1.0,
        shear_modulus=1.0,
    )
    solution = solve(frame, Loads.none(frame, ["sunk"]).with_settlement(1, (0, 0, -1, 0, 0, 0)))
    return {"moment": abs(solution.end_forces[0, 0, 10]), "reaction": abs(solution.reactions[0, 1, 2])}


def propped_cantilever() -> Mapping[str, float]:
    """Clamped at one end, propped at the other, under a uniform load; w = L = 1."""
    frame = frame_of(
        {"A": (0, 0, 0), "B": (1, 0, 0)},
        {"AB": ("A", "B")},
        {"A": _CLAMPED, "B": "z"},
        elastic_modulus=1.0,
        shear_modulus=1.0,
    )
    reactions = solve(frame, line_loads(frame, (0, 0, -1))).reactions[0]
    return {"moment": abs(reactions[0, 4]), "prop": reactions[1, 2], "clamp": reactions[0, 2]}


def pulled_into_line() -> Mapping[str, float]:
    """The tip of a clamped tube, 38.1 by 2.5 mm, 0.8 m long, pulled 3 mm onto its hole; N and MPa."""
    section = _TUBE.section
    frame = frame_of(
        {"A": (0, 0, 0), "B": (0.8, 0, 0)},
        {"tube": ("A", "B")},
        {"A": _CLAMPED, "B": _CLAMPED},
        elastic_modulus=_ELASTIC,
        shear_modulus=79e9,
        releases=[Release(0, 1, axis) for axis in np.eye(3)],
        **properties_of(section),
    )
    pull = pull_in(frame, 0, 1, (0, 0.003, 0, 0, 0, 0))
    stress = abs(pull.solution.end_forces[0, 0, 5]) / section.elastic_modulus_z
    return {"force": -pull.force[1], "stress": stress / 1e6}


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        warm_corner,
        warm_corner_that_gives,
        warm_bar,
        settled_beam,
        sunk_support,
        propped_cantilever,
        pulled_into_line,
    )
}
