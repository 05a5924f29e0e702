"""Small ways to write a published frame or chain of formulas down."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.formula import Chain
from soapstone.frame import Frame, Loads, Release, Spring
from soapstone.parts.sections import Section

Array = NDArray[np.float64]
_DIRECTIONS = "xyzXYZ"
_SECTION = (
    "area",
    "second_moment_y",
    "second_moment_z",
    "torsion_constant",
    "shear_area_y",
    "shear_area_z",
)


def frame_of(
    nodes: Mapping[str, ArrayLike],
    members: Mapping[str, tuple[str, str]],
    held: Mapping[str, str],
    *,
    elastic_modulus: float,
    shear_modulus: float,
    density: float = 0.0,
    releases: Sequence[Release] = (),
    springs: Sequence[Spring] = (),
    up: ArrayLike | None = None,
    **section: ArrayLike,
) -> Frame:
    """A frame by names, SI.

    Parameters
    ----------
    held : mapping of node to directions
        `xyz` are held shifts, `XYZ` held turns.
    up : (3,), optional
        Of every member; left out, the world's up, and x for members that stand.
    section : floats or (m,)
        Of the members; shear areas left out are infinite, other properties left out are 1 and must play no
        part in the problem.
    """
    names = list(nodes)
    places = np.array([np.asarray(at, dtype=float) for at in nodes.values()])
    ends = np.array([[names.index(a), names.index(b)] for a, b in members.values()], dtype=int).reshape(-1, 2)
    m = len(ends)
    along = places[ends[:, 1]] - places[ends[:, 0]]
    steep = np.abs(along[:, 2]) > 0.99 * np.linalg.norm(along, axis=1)
    upright = np.where(steep[:, None], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0])
    given: dict[str, Any] = {name: np.inf if name.startswith("shear") else 1.0 for name in _SECTION}
    return Frame(
        node_names=tuple(names),
        nodes=places,
        member_names=tuple(members),
        ends=ends,
        offsets=np.zeros((m, 2, 3)),
        up=upright if up is None else np.broadcast_to(np.asarray(up, dtype=float), (m, 3)).copy(),
        elastic_modulus=np.full(m, elastic_modulus),
        shear_modulus=np.full(m, shear_modulus),
        density=np.full(m, density),
        releases=tuple(releases),
        springs=tuple(springs),
        held=np.array([[letter in held.get(name, "") for letter in _DIRECTIONS] for name in names]),
        **{name: np.broadcast_to(value, (m,)).astype(float) for name, value in {**given, **section}.items()},
    )


def properties_of(section: Section) -> dict[str, Any]:
    """A section's area, second moments and torsion constant, to be given to `frame_of`; no shear areas."""
    names = ("area", "second_moment_y", "second_moment_z", "torsion_constant")
    return {name: getattr(section, name) for name in names}


def nodal_loads(frame: Frame, forces: Mapping[str, ArrayLike]) -> Loads:
    """One case of forces and moments (6,) N, N·m at named nodes."""
    nodal = np.zeros((1, len(frame.node_names), 6))
    for name, force in forces.items():
        nodal[0, frame.node_names.index(name)] = np.asarray(force, dtype=float)
    return Loads(("case",), nodal, np.zeros((1, len(frame.member_names), 3)))


def line_loads(frame: Frame, load: ArrayLike) -> Loads:
    """One case of the same uniform load (3,) N/m on every member."""
    line = np.broadcast_to(np.asarray(load, dtype=float), (1, len(frame.member_names), 3))
    return Loads(("case",), np.zeros((1, len(frame.node_names), 6)), line.copy())


def chain_of(**values: float) -> Chain:
    """A chain that holds published values, in whatever consistent units the source has."""
    chain = Chain()
    for symbol, value in values.items():
        chain.given(symbol, value, "1", "as published")
    return chain
