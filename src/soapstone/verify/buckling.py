"""Published critical loads and bent columns, answered by the frame room."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from soapstone.frame import Frame, buckling, refine, second_order, solve
from soapstone.frame.model import Loads
from soapstone.parts.sections import RoundTube
from soapstone.verify.sketch import frame_of, line_loads, nodal_loads, properties_of
from soapstone.verify.units import FOOT, INCH, KIP, KSI

_PULLED = {"A": (0, 0, 0), "B": (1, 0, 0)}
_PUSH = (-1.0, 0.0, 0.0, 0.0, 0.0, 0.0)


def _factor(frame: Frame, loads: Loads, pieces: int) -> float:
    return float(buckling(frame, loads, 1, pieces)[0].factors[0])


def _unit_beam(held: Mapping[str, str], **section: Any) -> Frame:
    """One member of L = E = G = 1 along x; second moments and torsion constant 1 unless given."""
    return frame_of(
        _PULLED, {"AB": ("A", "B")}, held, elastic_modulus=1.0, shear_modulus=1.0, area=1e6, **section
    )


def euler_columns() -> Mapping[str, float]:
    """P L²/EI by how the ends are held; 16 pieces."""

    def column(held: Mapping[str, str]) -> float:
        frame = _unit_beam(held, second_moment_z=100.0)
        return _factor(frame, nodal_loads(frame, {"B": _PUSH}), 16)

    return {
        "pinned": column({"A": "xyzX", "B": "yz"}),
        "cantilever": column({"A": "xyzXYZ"}),
        "clamped": column({"A": "xyzXYZ", "B": "yzXYZ"}),
        "propped": column({"A": "xyzXYZ", "B": "yzX"}),
    }


def tube_column() -> Mapping[str, float]:
    """A tube of 44.45 by 2.413 mm, 1 m between pins, E 205 GPa; N, 8 pieces."""
    section = RoundTube(0.04445, 0.002413).section
    frame = frame_of(
        _PULLED,
        {"tube": ("A", "B")},
        {"A": "xyzX", "B": "yz"},
        elastic_modulus=205e9,
        shear_modulus=79e9,
        **properties_of(section),
    )
    return {"load": _factor(frame, nodal_loads(frame, {"B": _PUSH}), 8)}


def _bent_strip(poisson: float) -> Mapping[str, float]:
    """A strip 30 by 0.6 mm on edge, bent to a right angle of 240 mm legs, pushed in its plane; N.

    In 16 pieces to a leg.
    """
    frame = frame_of(
        {"A": (0, 0, 0), "B": (0, 0, 0.24), "C": (0.24, 0, 0.24)},
        {"leg": ("A", "B"), "arm": ("B", "C")},
        {"A": "xyzXYZ"},
        elastic_modulus=71240e6,
        shear_modulus=71240e6 / (2 + 2 * poisson),
        area=18e-6,
        second_moment_y=1350e-12,
        second_moment_z=0.54e-12,
        torsion_constant=2.16e-12,
    )
    loads = [nodal_loads(frame, {"C": (0, 0, sign, 0, 0, 0)}) for sign in (1.0, -1.0)]
    one, other = (_factor(frame, load, 16) for load in loads)
    return {"one way": one, "other way": other}


def bent_strip() -> Mapping[str, float]:
    """With the Poisson's ratio of the first paper, 0.31."""
    return _bent_strip(0.31)


def bent_strip_of_the_manual() -> Mapping[str, float]:
    """With the Poisson's ratio of the manual's own run, 0.3."""
    return _bent_strip(0.30)


def swaying_portal() -> Mapping[str, float]:
    """Pinned feet, columns and beam of L = EI = 1, a load on each column; P h²/EI and effective length."""
    frame = frame_of(
        {"A": (0, 0, 0), "B": (0, 0, 1), "C": (1, 0, 1), "D": (1, 0, 0)},
        {"left": ("A", "B"), "beam": ("B", "C"), "right": ("C", "D")},
        {"A": "xyzXZ", "B": "yXZ", "C": "yXZ", "D": "xyzXZ"},
        elastic_modulus=1.0,
        shear_modulus=1.0,
        area=1e6,
        second_moment_z=100.0,
    )
    load = _factor(frame, nodal_loads(frame, dict.fromkeys("BC", (0, 0, -1, 0, 0, 0))), 8)
    return {"load": load, "effective length": np.pi / np.sqrt(load)}


def narrow_cantilever() -> Mapping[str, float]:
    """P L²/√(EI GJ) of a deep strip loaded at its tip; 40 pieces."""
    frame = _unit_beam({"A": "xyzXYZ"}, second_moment_y=1e6)
    return {"load": _factor(frame, nodal_loads(frame, {"B": (0, 0, -1, 0, 0, 0)}), 40)}


def narrow_beam() -> Mapping[str, float]:
    """M L/√(EI GJ) of a deep strip between two supports under equal end moments; 64 pieces."""
    frame = _unit_beam({"A": "xyzX", "B": "yzX"}, second_moment_y=1e6)
    ends = {"A": (0, 0, 0, 0, 1, 0), "B": (0, 0, 0, 0, -1, 0)}
    return {"moment": _factor(frame, nodal_loads(frame, ends), 64)}


def standing_column() -> Mapping[str, float]:
    """q L³/EI of a clamped column under its own weight; 16 pieces."""
    frame = frame_of(
        {"A": (0, 0, 0), "B": (0, 0, 1)},
        {"column": ("A", "B")},
        {"A": "xyzXYZ"},
        elastic_modulus=1.0,
        shear_modulus=1.0,
        area=1e6,
        second_moment_z=100.0,
    )
    return {"weight": _factor(frame, line_loads(frame, (0, 0, -1)), 16)}


def beam_columns() -> Mapping[str, float]:
    """W14x48, 28 ft between pins, 0.2 kip/ft across, pushed by so many kip; kip·in and in, 8 pieces."""
    frame = frame_of(
        {"A": (0, 0, 0), "B": (28 * FOOT, 0, 0)},
        {"column": ("A", "B")},
        {"A": "xyzX", "B": "yz"},
        elastic_modulus=29000 * KSI,
        shear_modulus=11200 * KSI,
        area=14.1 * INCH**2,
        second_moment_y=484 * INCH**4,
        second_moment_z=484 * INCH**4,
        torsion_constant=INCH**4,
    )
    found = {}
    for push in (0, 150, 300, 450):
        across = line_loads(frame, (0, 0, -0.2 * KIP / FOOT))
        across.nodal[0, 1, 0] = -push * KIP
        cut = refine(frame, across, 8)
        solution = second_order(cut.frame, cut.loads) if push else solve(cut.frame, cut.loads)
        found[f"{push} kip moment"] = abs(solution.end_forces[0, 3, 10]) / KIP / INCH
        found[f"{push} kip shift"] = abs(solution.displacements[0, cut.along(0)[4], 2]) / INCH
    return found


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        euler_columns,
        tube_column,
        bent_strip,
        bent_strip_of_the_manual,
        swaying_portal,
        narrow_cantilever,
        narrow_beam,
        standing_column,
        beam_columns,
    )
}
