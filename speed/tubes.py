"""How much faster the outlines and meshes of a whole job come than exact-solid booleans of the same tubes."""

import time
from typing import Any

import numpy as np

from soapstone.parts.axes import Axes
from soapstone.parts.cope import Body
from soapstone.parts.cuts import Cut, coped, mitred
from soapstone.parts.ends import cut_tube
from soapstone.parts.sections import RectangularTube, RoundTube
from soapstone.parts.solids import tube_solid
from soapstone.parts.step import exact_tube

TUBES = 100
RECTANGULAR_EVERY = 10
SHARE = 5
GOAL = 50.0
ROUNDS = 3
AGREEMENT = 1e-4
"""Of the volume: what a mesh of 181 rows round is short of its tube, and the pinch of equal tubes."""


def measure() -> dict[str, Any]:
    """Time ours on all tubes, the kernel on the first fifth; both must find the same volumes."""
    tubes = [_tube(index) for index in range(TUBES)]
    rounds = []
    for _ in range(ROUNDS):
        begin = time.process_time()
        parts = [cut_tube(*tube) for tube in tubes]
        meshes = [tube_solid(part) for part in parts]
        rounds.append(time.process_time() - begin)
    sample = parts[: TUBES // SHARE]
    exact_tube(sample[0])  # the kernel loads with its first call
    begin = time.process_time()
    solids = [exact_tube(part) for part in sample]
    peer = (time.process_time() - begin) * SHARE
    for part, solid in zip(sample, solids, strict=True):
        _agree(part.name, part.volume, solid.mass / 1e9)
    for part, mesh in zip(parts, meshes, strict=True):
        _agree(part.name, part.volume, mesh.volume, 10 * AGREEMENT)
    mine = min(rounds)
    return {
        "id": "tubes",
        "room": "parts",
        "what": f"outlines, volumes and meshes of {TUBES} tubes, both ends cut",
        "size": f"{TUBES} tubes, {TUBES // RECTANGULAR_EVERY} of them rectangular",
        "ours_s": mine,
        "peer": f"netgen.occ: exact solids; the first {TUBES // SHARE} timed and taken {SHARE} times",
        "peer_s": peer,
        "ratio": peer / mine,
        "goal": GOAL,
        "holds": peer / mine >= GOAL,
    }


def _agree(name: str, ours: float, theirs: float, limit: float = AGREEMENT) -> None:
    if abs(ours - theirs) > limit * ours:
        raise AssertionError(f"{name}: volumes differ, {1e9 * ours:.1f} and {1e9 * theirs:.1f} mm³")


def _tube(index: int) -> tuple[str, Any, Any, Any, Any, Cut, Cut]:
    """An invented brace between two rails, one in six mitred at its far end."""
    chance = np.random.default_rng(index)
    foot, head = np.array([0.0, 0.0, 0.0]), np.array([*chance.uniform(-0.25, 0.25, 2), 0.4])
    shape: Any = RoundTube(0.0381, 0.0025)
    if index % RECTANGULAR_EVERY == 0:
        shape = RectangularTube(0.03, 0.035, 0.002, 0.004)
    at_a = coped(_rail("lower", foot, chance), gap=0.0003)
    at_b = mitred("next", (1.0, 0.2, 0.5)) if index % 6 == 5 else coped(_rail("upper", head, chance))
    return f"brace_{index}", shape, foot, head, (0.0, 1.0, 0.1), at_a, at_b


def _rail(name: str, at: np.ndarray, chance: np.random.Generator) -> Body:
    way = np.array([*chance.uniform(-1.0, 1.0, 2), 0.1])
    return Body(name, RoundTube(0.0508, 0.003), Axes.along(at, way, (0.0, 0.0, 1.0)))


if __name__ == "__main__":
    print(measure())
