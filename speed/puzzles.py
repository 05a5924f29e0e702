"""Two puzzles that need six degrees of freedom, from many seeds; `python -m speed.puzzles 20` runs all.

A bent bar, and a bar bent twice, sit in a slot of a 4 mm sheet and are to come out; the bars are 20 mm
square, the slot 60 x 40 mm, and 4 mm are to be kept all along. Neither comes out without being turned. The
way that is found is walked again in steps of half a millimetre, and at each the bar and the sheet are
intersected as exact solids (manifold3d), which the search itself never does.
"""

import sys
import time
from dataclasses import dataclass

import manifold3d
import numpy as np

from soapstone.fit.nearby import UPRIGHT, Nearby, Piece, matrix
from soapstone.fit.way import Room, Way, find_way

KEEP = 0.004
STEP = 0.005
"""m; the longest step that any point goes when a way is played; it is checked at a tenth of it."""
BUDGET = 6000
Box = tuple[list[float], list[float]]
BENT: list[Box] = [([-0.01, -0.01, -0.2], [0.01, 0.01, 0.1]), ([-0.01, -0.01, 0.08], [0.3, 0.01, 0.1])]
TWICE: list[Box] = [
    ([-0.01, -0.01, -0.1], [0.01, 0.01, 0.1]),
    ([-0.01, -0.01, 0.08], [0.2, 0.01, 0.1]),
    ([0.18, -0.01, 0.08], [0.2, 0.01, 0.3]),
]
SHEET: list[Box] = [
    ([-0.6, -0.6, 0.0], [-0.03, 0.6, 0.004]),
    ([0.03, -0.6, 0.0], [0.6, 0.6, 0.004]),
    ([-0.03, -0.6, 0.0], [0.03, -0.02, 0.004]),
    ([-0.03, 0.02, 0.0], [0.03, 0.6, 0.004]),
]


@dataclass(frozen=True)
class Played:
    """A puzzle from one seed: the way or None, how many steps the search took, and s."""

    way: Way | None
    steps: int
    seconds: float


def near(bar: list[Box]) -> Nearby:
    """The bar in the slot."""
    return Nearby([_piece("bar", ends) for ends in bar], [_piece("sheet", ends) for ends in SHEET])


def play(bar: list[Box], seed: int, budget: int = BUDGET) -> Played:
    """Look for the way out."""
    held = near(bar)
    gone = [0.0]
    outside = (held.middle + np.array([0.0, 0.0, -0.8]), UPRIGHT)
    room = Room(held.middle - [0.5, 0.5, 0.9], held.middle + np.array([0.5, 0.5, 0.4]))
    begin = time.perf_counter()
    way = find_way(
        held, [held.seat], [outside], room, keep=KEEP, steps=budget, seed=seed, progress=gone.append
    )
    return Played(way, round(gone[-1] * budget) + 1, time.perf_counter() - begin)


def shared(bar: list[Box], way: Way) -> tuple[int, float]:
    """How many poses were looked at, and the most m³ that bar and sheet share at any of them."""
    held = near(bar)
    moving = manifold3d.Manifold.batch_boolean([_solid(ends) for ends in bar], manifold3d.OpType.Add)
    sheet = manifold3d.Manifold.batch_boolean([_solid(ends) for ends in SHEET], manifold3d.OpType.Add)
    centred = moving.translate(tuple(-held.middle))
    poses = way.walked(STEP / 10.0, held.reach).poses
    most = 0.0
    for middle, turn in poses:
        there = centred.transform(np.column_stack([matrix(turn), middle]))
        most = max(most, (there ^ sheet).volume())
    return len(poses), most


def _piece(name: str, ends: Box) -> Piece:
    both = np.array(ends)
    return Piece.hull(
        name, np.array([[both[i, 0], both[j, 1], both[k, 2]] for i, j, k in np.ndindex(2, 2, 2)])
    )


def _solid(ends: Box) -> manifold3d.Manifold:
    low, high = np.array(ends)
    return manifold3d.Manifold.cube(tuple(high - low)).translate(tuple(low))


def main(seeds: int) -> int:
    """0 when every seed of both puzzles is solved without a contact."""
    failed = 0
    for name, bar in (("bent bar", BENT), ("bent twice", TWICE)):
        for seed in range(seeds):
            played = play(bar, seed)
            poses, most = shared(bar, played.way) if played.way else (0, np.inf)
            failed += most != 0.0
            print(
                f"{name}, seed {seed}: {played.steps} steps, {played.seconds:.0f} s, "
                f"shares {most:g} m³ at {poses} poses",
                flush=True,
            )
    print(f"{2 * seeds - failed} of {2 * seeds} solved without a contact")
    return failed


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 20))
