"""Published frames, solved by the frame room."""

from collections.abc import Mapping

import numpy as np

from soapstone.frame import Frame, Release, member_forces, solve
from soapstone.parts.sections import RoundBar, RoundTube
from soapstone.verify.sketch import Array, frame_of, line_loads, nodal_loads
from soapstone.verify.units import INCH, KIP, KSI, POUND_FORCE, PSI

_ANY = 1.0  # a property that plays no part in the problem


def logan_space_frame() -> Mapping[str, float]:
    """Three members at one corner, under a force and a torque; in and rad."""
    nodes = {"1": (0, 0, 0), "2": (-100, 0, 0), "3": (0, 0, -100), "4": (0, -100, 0)}
    frame = frame_of(
        {name: INCH * np.array(at) for name, at in nodes.items()},
        {"1": ("2", "1"), "2": ("3", "1"), "3": ("4", "1")},
        dict.fromkeys("234", "xyzXYZ"),
        elastic_modulus=30000 * KSI,
        shear_modulus=10000 * KSI,
        area=10 * INCH**2,
        second_moment_y=100 * INCH**4,
        second_moment_z=100 * INCH**4,
        torsion_constant=50 * INCH**4,
    )
    load = KIP * np.array([0, -50, 0, -1000 * INCH, 0, 0])
    moved = solve(frame, nodal_loads(frame, {"1": load})).displacements[0, 0]
    shifts, turns = moved[:3] / INCH, moved[3:]
    return dict(zip(("ux", "uy", "uz", "rx", "ry", "rz"), (*shifts, *turns), strict=True))


def logan_gable() -> Mapping[str, float]:
    """A gable frame with clamped feet; reactions of the left foot in kip and kip·in."""
    corners = [(0, 0), (0, 360), (180, 480), (420, 480), (600, 360), (600, 0)]
    frame = frame_of(
        {str(i): INCH * np.array([x, 0, z]) for i, (x, z) in enumerate(corners)},
        {str(i): (str(i), str(i + 1)) for i in range(5)},
        {"0": "xyzXYZ", "5": "xyzXYZ"},
        elastic_modulus=30000 * KSI,
        shear_modulus=_ANY * KSI,
        area=12 * INCH**2,
        second_moment_y=200 * INCH**4,
    )
    loads = nodal_loads(frame, dict.fromkeys("23", (0, 0, -30 * KIP, 0, 0, 0)))
    foot = solve(frame, loads).reactions[0, 0] / KIP
    return {"H": foot[0], "V": foot[2], "M": foot[4] / INCH}


def space_truss() -> Mapping[str, float]:
    """Four bars with ball joints from one loaded point down to four feet; mm and kN."""
    feet = {"b": (0, 0, 0), "c": (8, 0, 0), "d": (8, 6, 0), "e": (0, 6, 0)}
    ball = [Release(m, end, axis) for m in range(4) for end in (0, 1) for axis in np.eye(3)]
    frame = frame_of(
        {"a": (2, 4, 8), **feet},
        {f"a{foot}": ("a", foot) for foot in feet},
        dict.fromkeys(feet, "xyz"),
        elastic_modulus=200e9,
        shear_modulus=_ANY,
        releases=ball,
        area=np.array([20e-3, 30e-3, 40e-3, 30e-3]),
    )
    loads = nodal_loads(frame, {"a": (200e3, 600e3, -800e3, 0, 0, 0)})
    solution = solve(frame, loads)
    _, forces = member_forces(frame, loads, solution, 2)
    found = dict(zip(("ux", "uy", "uz"), 1e3 * solution.displacements[0, 0, :3], strict=True))
    for foot, reaction in zip(feet, solution.reactions[0, 1:, :3] / 1e3, strict=True):
        found |= dict(zip((f"{foot} x", f"{foot} y", f"{foot} z"), reaction, strict=True))
    return found | dict(zip(frame.member_names, forces[0, :, 0, 0] / 1e3, strict=True))


def guide_plane_truss() -> Mapping[str, float]:
    """SSLL11: four pinned bars in a plane, loaded at the tip; mm and MPa."""
    frame = frame_of(
        {"A": (0, 0, 0), "B": (1, 0, 0), "C": (0.5, 0, 0.5), "D": (2, 0, 1)},
        {"AC": ("A", "C"), "BC": ("B", "C"), "CD": ("C", "D"), "BD": ("B", "D")},
        {"A": "xyzXZ", "B": "xyzXZ", "C": "yXZ", "D": "yXZ"},
        elastic_modulus=1.962e11,
        shear_modulus=_ANY,
        releases=[Release(m, end, np.array([0.0, 1.0, 0.0])) for m in range(4) for end in (0, 1)],
        area=np.array([2e-4, 2e-4, 1e-4, 1e-4]),
    )
    loads = nodal_loads(frame, {"D": (0, 0, -9810, 0, 0, 0)})
    solution = solve(frame, loads)
    _, forces = member_forces(frame, loads, solution, 2)
    stresses = forces[0, :, 0, 0] / frame.area / 1e6
    moved = 1e3 * solution.displacements[0]
    shifts = {"C x": moved[2, 0], "C z": moved[2, 2], "D x": moved[3, 0], "D z": moved[3, 2]}
    return shifts | dict(zip(frame.member_names, stresses, strict=True))


CHORDS = 90
"""Straight pieces to a quarter circle; the chord's sagitta then costs (1/90)²/2 or 6e-5 of the drop."""


def _quarter_bow(radius: float, shape: RoundTube | RoundBar, elastic_modulus: float) -> Frame:
    """A quarter circle in plan, clamped at its start; ν = 0.3."""
    angles = np.linspace(0, np.pi / 2, CHORDS + 1)
    places = radius * np.stack([np.sin(angles), 1 - np.cos(angles), 0 * angles], axis=1)
    section = shape.section
    return frame_of(
        {str(i): place for i, place in enumerate(places)},
        {str(i): (str(i), str(i + 1)) for i in range(CHORDS)},
        {"0": "xyzXYZ"},
        elastic_modulus=elastic_modulus,
        shear_modulus=elastic_modulus / 2.6,
        area=section.area,
        second_moment_y=section.second_moment_y,
        second_moment_z=section.second_moment_z,
        torsion_constant=section.torsion_constant,
    )


def guide_tube_arc() -> Mapping[str, float]:
    """SSLL07: a quarter circle of tube, loaded out of its plane; m, and N·m at 15 degrees."""
    frame = _quarter_bow(1.0, RoundTube(0.020, 0.002), 2e11)
    loads = nodal_loads(frame, {str(CHORDS): (0, 0, -100, 0, 0, 0)})
    solution = solve(frame, loads)
    # two chords meet at 15 degrees; the arc's own axis lies midway between theirs
    before, after = solution.end_forces[0, 14, 9:], -solution.end_forces[0, 15, 3:6]
    torsion, bending, _ = np.abs(before + after) / 2 / np.cos(np.pi / 4 / CHORDS)
    return {"drop": -solution.displacements[0, -1, 2], "torsion": torsion, "bending": bending}


def timoshenko_quarter_ring() -> Mapping[str, float]:
    """A quarter ring of round bar, loaded out of its plane; in and psi."""
    bar = RoundBar(2 * INCH)
    frame = _quarter_bow(100 * INCH, bar, 30e6 * PSI)
    loads = nodal_loads(frame, {str(CHORDS): (0, 0, -50 * POUND_FORCE, 0, 0, 0)})
    solution = solve(frame, loads)
    torque, bending = np.abs(solution.reactions[0, 0, [3, 4]])
    return {
        "drop": solution.displacements[0, -1, 2] / INCH,
        "bending stress": bending / bar.section.elastic_modulus_y / PSI,
        "torsional shear": torque / bar.section.torsion_modulus / PSI,
    }


def guide_short_beam() -> Mapping[str, float]:
    """SSLL02: a short simply supported beam whose shear deflection counts; mm."""
    frame = frame_of(
        {"A": (0, 0, 0), "B": (0.72, 0, 0), "C": (1.44, 0, 0)},
        {"AB": ("A", "B"), "BC": ("B", "C")},
        {"A": "xyzX", "C": "yz"},
        elastic_modulus=2e11,
        shear_modulus=2e11 / 2.6,
        area=31e-4,
        second_moment_y=2810e-8,
        shear_area_z=31e-4 / 2.42,
    )
    moved = solve(frame, line_loads(frame, (0, 0, -1e5))).displacements
    return {"middle": 1e3 * moved[0, 1, 2]}


def skew_cantilever() -> Mapping[str, float]:
    """SSLL102: a cantilever along the space diagonal, pulled by 1 N at its tip; m and rad."""
    along = np.ones(3) / np.sqrt(3)
    frame = frame_of(
        {"root": (0, 0, 0), "tip": 2 * along},
        {"bar": ("root", "tip")},
        {"root": "xyzXYZ"},
        elastic_modulus=2e11,
        shear_modulus=2e11 / 2.6,
        area=0.02,
    )
    moved = solve(frame, nodal_loads(frame, {"tip": (*along, 0, 0, 0)})).displacements[0, 1]
    turn = float(np.abs(moved[3:]).max())
    return {"ux": moved[0], "uy": moved[1], "uz": moved[2], "turn": turn}


def thin_ring() -> Mapping[str, float]:
    """Two opposite loads W across a thin ring of radius R, a quarter by symmetry; in W R³/EI and W R."""
    count = 400
    angles = np.linspace(0, np.pi / 2, count + 1)
    places: Array = np.stack([np.sin(angles), 0 * angles, np.cos(angles)], axis=1)
    frame = frame_of(
        {str(i): place for i, place in enumerate(places)},
        {str(i): (str(i), str(i + 1)) for i in range(count)},
        {"0": "xyXYZ", str(count): "yzXYZ"},
        elastic_modulus=1.0,
        shear_modulus=1.0,
        area=1e9,  # the formula is for a ring that does not stretch
    )
    solution = solve(frame, nodal_loads(frame, {"0": (0, 0, -0.5, 0, 0, 0)}))
    moved, forces = solution.displacements[0], solution.end_forces[0]
    return {
        "shortening": -2 * moved[0, 2],
        "growth": 2 * moved[-1, 0],
        "under the load": abs(forces[0, 4]),
        "at 90 degrees": abs(forces[-1, 10]),
    }


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        logan_space_frame,
        logan_gable,
        space_truss,
        guide_plane_truss,
        guide_tube_arc,
        timoshenko_quarter_ring,
        guide_short_beam,
        skew_cantilever,
        thin_ring,
    )
}
