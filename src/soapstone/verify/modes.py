"""Published natural frequencies, answered by the frame room; all in Hz, numbered from the lowest."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from soapstone.frame import LumpedMass, Spring, modes
from soapstone.parts.sections import RoundBar, RoundTube
from soapstone.verify.sketch import frame_of, properties_of
from soapstone.verify.units import FOOT, POUND_FORCE

_CLAMPED = "xyzXYZ"


def _numbered(frequencies: ArrayLike) -> dict[str, float]:
    return {str(i): float(f) for i, f in enumerate(np.asarray(frequencies), start=1)}


def _double_cross(wide: float) -> Mapping[str, float]:
    """Eight arms of 5 m, 0.125 m square, pinned at their tips, moving in their plane; 8 pieces an arm."""
    nodes, members, held = {"0": (0.0, 0.0, 0.0)}, {}, {"0": "yXZ"}
    for i, angle in enumerate(np.arange(8) * np.pi / 4):
        for j in range(1, 9):
            name = f"{i}.{j}"
            nodes[name] = (0.625 * j * np.cos(angle), 0.0, 0.625 * j * np.sin(angle))
            members[name] = (f"{i}.{j - 1}" if j > 1 else "0", name)
            held[name] = "xyzXZ" if j == 8 else "yXZ"
    frame = frame_of(
        nodes,
        members,
        held,
        elastic_modulus=2e11,
        shear_modulus=8e10,
        density=8000.0 / wide,
        up=(0, 1, 0),
        area=0.125**2 * wide,
        second_moment_y=0.125**4 / 12,
        second_moment_z=0.125**4 / 12,
        torsion_constant=0.14 * 0.125**4,
    )
    return _numbered(modes(frame, (), 16, 1).frequencies)


def double_cross() -> Mapping[str, float]:
    """Test FV2, 8 pieces to an arm."""
    return _double_cross(1.0)


def double_cross_without_stretch() -> Mapping[str, float]:
    """The same with arms that do not stretch and whose sections do not resist turning, as the target has it.

    The same mass per length and bending stiffness on an area 10 000 times as wide.
    """
    return _double_cross(1e4)


def off_centre_masses() -> Mapping[str, float]:
    """Test FV4: a cantilever of 10 m, 0.5 m thick, with two masses on stiff arms at its tip; 10 pieces."""
    section = RoundBar(0.5).section
    frame = frame_of(
        {"A": (0, 0, 0), "B": (10, 0, 0)},
        {"beam": ("A", "B")},
        {"A": _CLAMPED},
        elastic_modulus=2e11,
        shear_modulus=2e11 / 2.6,
        density=8000.0,
        **properties_of(section),
    )
    masses = [LumpedMass(1, m, np.array([0.0, y, 0.0])) for m, y in ((10000.0, 2.0), (1000.0, -2.0))]
    return _numbered(modes(frame, masses, 6, 10).frequencies)


def deep_beam() -> Mapping[str, float]:
    """Test FV5: 10 m of 2 by 2 m, simply supported, 32 pieces; shear area 0.85 A, J 0.140577 b⁴."""
    frame = frame_of(
        {"A": (0, 0, 0), "B": (10, 0, 0)},
        {"beam": ("A", "B")},
        {"A": "xyzX", "B": "yz"},
        elastic_modulus=2e11,
        shear_modulus=2e11 / 2.6,
        density=8000.0,
        area=4.0,
        second_moment_y=16 / 12,
        second_moment_z=16 / 12,
        torsion_constant=0.140577 * 16,
        shear_area_y=3.4,
        shear_area_z=3.4,
    )
    return _numbered(modes(frame, (), 9, 32).frequencies)


def free_ring() -> Mapping[str, float]:
    """Test SDLL11: a free ring of 0.1 m radius, 5 mm by 10 mm, in its plane; by the number of waves.

    As the guide's formula has it, it does not stretch: the same mass on an area 10 000 times as wide.
    """
    count, wide = 240, 1e4
    angles = np.linspace(0, 2 * np.pi, count, endpoint=False)
    frame = frame_of(
        {str(i): (0.1 * np.cos(a), 0, 0.1 * np.sin(a)) for i, a in enumerate(angles)},
        {str(i): (str(i), str((i + 1) % count)) for i in range(count)},
        {str(i): "yXZ" for i in range(count)},
        elastic_modulus=7.2e10,
        shear_modulus=7.2e10 / 2.6,
        density=2700.0 / wide,
        up=(0, 1, 0),
        area=5e-5 * wide,
        second_moment_z=0.010 * 0.005**3 / 12,
    )
    found = modes(frame, (), 11, 1, free=True).frequencies[3:]  # three ways to move as a whole come first
    return {f"{waves} waves": float(found[2 * (waves - 2)]) for waves in (2, 3, 4, 5)}


def tube_cantilever() -> Mapping[str, float]:
    """A steel tube of 38.1 by 2.5 mm, 0.8 m long, bending; 16 pieces, its area widened like the ring's."""
    section, wide = RoundTube(0.0381, 0.0025).section, 1e4
    frame = frame_of(
        {"A": (0, 0, 0), "B": (0.8, 0, 0)},
        {"tube": ("A", "B")},
        {"A": _CLAMPED},
        elastic_modulus=205e9,
        shear_modulus=79e9,
        density=7850.0 / wide,
        area=section.area * wide,
        second_moment_y=section.second_moment_y,
        second_moment_z=section.second_moment_z,
        torsion_constant=section.torsion_constant * wide,
    )
    return _numbered(modes(frame, (), 6, 16).frequencies[::2])  # each bends both ways alike


def body_on_springs() -> Mapping[str, float]:
    """100 slug of 4 ft gyration on 2400 lb/ft 4.5 ft ahead and 2600 lb/ft 5.5 ft behind: bounce and pitch."""
    per_foot = POUND_FORCE / FOOT
    mass = 100 * per_foot  # one slug is 1 lb·s²/ft
    upright = np.zeros((6, 6))
    upright[2, 2] = per_foot
    frame = frame_of(
        {"body": (0, 0, 0), "front": (4.5 * FOOT, 0, 0), "rear": (-5.5 * FOOT, 0, 0)},
        {},
        {"body": "xyXZ", "front": _CLAMPED, "rear": _CLAMPED},
        elastic_modulus=1.0,
        shear_modulus=1.0,
        springs=[Spring(1, 2400 * upright, 0), Spring(2, 2600 * upright, 0)],
    )
    body = LumpedMass(0, mass, np.zeros(3), np.eye(3) * mass * (4 * FOOT) ** 2)
    return _numbered(modes(frame, [body], 2, 1).frequencies)


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        double_cross,
        double_cross_without_stretch,
        off_centre_masses,
        deep_beam,
        free_ring,
        tube_cantilever,
        body_on_springs,
    )
}
