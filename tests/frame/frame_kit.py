"""Small ways to write frames down in tests."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from soapstone.frame import Frame, Loads

STEEL = {"elastic_modulus": 205e9, "shear_modulus": 79e9, "density": 7850.0}
SQUARE = {
    "area": 4.75e-4,
    "second_moment_y": 1.79e-7,
    "second_moment_z": 1.79e-7,
    "torsion_constant": 2.68e-7,
    "shear_area_y": np.inf,
    "shear_area_z": np.inf,
}


def make_frame(
    nodes: Mapping[str, Sequence[float]],
    members: Mapping[str, tuple[str, str]],
    held: Mapping[str, str],
    *,
    releases: Sequence[Any] = (),
    springs: Sequence[Any] = (),
    offsets: Any = None,
    up: Any = None,
    **properties: Any,
) -> Frame:
    """A frame by names; `held` as "xyz XYZ" (small letters shifts, capitals turns); properties broadcast."""
    names = list(nodes)
    m = len(members)
    letters = "xyzXYZ"
    given = {**STEEL, **SQUARE, **properties}
    ends = np.array([[names.index(a), names.index(b)] for a, b in members.values()], dtype=int).reshape(m, 2)
    places = np.array(list(nodes.values()), dtype=float)
    if up is None:
        along = places[ends[:, 1]] - places[ends[:, 0]]
        steep = np.abs(along[:, 2]) > 0.99 * np.linalg.norm(along, axis=1)
        up = np.where(steep[:, None], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0])
    return Frame(
        node_names=tuple(names),
        nodes=places,
        member_names=tuple(members),
        ends=ends,
        offsets=np.zeros((m, 2, 3)) if offsets is None else np.asarray(offsets, dtype=float),
        up=np.broadcast_to(np.asarray(up, dtype=float), (m, 3)).copy(),
        releases=tuple(releases),
        springs=tuple(springs),
        held=np.array([[letter in held.get(name, "") for letter in letters] for name in names]),
        **{
            name: np.broadcast_to(np.asarray(value, dtype=float), (m,)).copy()
            for name, value in given.items()
        },
    )


def make_loads(
    frame: Frame,
    nodal: Mapping[str, Sequence[float]] | None = None,
    line: Mapping[str, Sequence[float]] | None = None,
) -> Loads:
    """One case by names."""
    loads = Loads.none(frame, ["case"])
    for name, force in (nodal or {}).items():
        loads.nodal[0, frame.node_names.index(name)] += force
    for name, force in (line or {}).items():
        loads.line[0, frame.member_names.index(name)] += force
    return loads


def random_frame(seed: int, *, slim: bool = False, arms: bool = False, cases: int = 3) -> tuple[Frame, Loads]:
    """A tangled space frame with random sections and loads; `slim` leaves shear deformation out."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(6, 13))
    nodes = rng.uniform(-1.0, 1.0, (n, 3)) + np.arange(n)[:, None] * [0.7, 0.0, 0.0]
    chain = [(i, i + 1) for i in range(n - 1)]
    extra = {tuple(sorted(map(int, rng.choice(n, 2, replace=False)))) for _ in range(n)}
    ends = np.array(chain + sorted(extra - set(chain)))
    ends = np.where(rng.random(len(ends))[:, None] < 0.5, ends, ends[:, ::-1])
    m = len(ends)
    held = np.zeros((n, 6), dtype=bool)
    held[0] = True
    held[-1, :3] = True
    held[n // 2, rng.integers(0, 3)] = True
    area = rng.uniform(2e-4, 8e-4, m)
    frame = Frame(
        node_names=tuple(f"joint_{i}" for i in range(n)),
        nodes=nodes,
        member_names=tuple(f"tube_{i}" for i in range(m)),
        ends=ends,
        offsets=rng.uniform(-0.1, 0.1, (m, 2, 3)) if arms else np.zeros((m, 2, 3)),
        up=rng.uniform(-1.0, 1.0, (m, 3)),
        elastic_modulus=rng.uniform(70e9, 210e9, m),
        shear_modulus=rng.uniform(26e9, 80e9, m),
        area=area,
        second_moment_y=rng.uniform(0.5e-7, 4e-7, m),
        second_moment_z=rng.uniform(0.5e-7, 4e-7, m),
        torsion_constant=rng.uniform(0.5e-7, 4e-7, m),
        shear_area_y=np.full(m, np.inf) if slim else area * rng.uniform(0.4, 0.6, m),
        shear_area_z=np.full(m, np.inf) if slim else area * rng.uniform(0.4, 0.6, m),
        density=rng.uniform(2700.0, 7850.0, m),
        releases=(),
        springs=(),
        held=held,
    )
    nodal = rng.uniform(-1e3, 1e3, (cases, n, 6)) * [1.0, 1.0, 1.0, 0.3, 0.3, 0.3]
    line = rng.uniform(-500.0, 500.0, (cases, m, 3))
    return frame, Loads(tuple(f"case_{i}" for i in range(cases)), nodal, line)


def worst(found: Any, expected: Any) -> float:
    """Largest difference of two arrays relative to the largest entry of the expected one."""
    found, expected = np.asarray(found), np.asarray(expected)
    return float(np.abs(found - expected).max() / np.abs(expected).max())
