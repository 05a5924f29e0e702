"""The chance that every bolt of a pattern goes in, and what would raise it."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.fit.patterns import Hole, Pattern
from soapstone.fit.shift import Gates, best_shift
from soapstone.job.fields import AXES

Array = NDArray[np.float64]

_HARMLESS = 1e-7
"""m; a miss below a tenth of a micrometre is the solver's."""


@dataclass(frozen=True)
class BoltedUp:
    """How a pattern goes together.

    Attributes
    ----------
    pattern : Pattern
    tries : how often it was put together
    chance : share of the tries in which every bolt goes in
    wanted : the chance asked for
    wider : m, by how much every hole would have to be wider in diameter for the wanted chance; negative
        when there is room to spare
    tightest : the hole that most often stands in the way, or None when none ever does
    after : chance when one hole alone is drilled on assembly, by hole
    side : m, one standard deviation of the gap to shim along each hole's bolt
    """

    pattern: Pattern
    tries: int
    chance: float
    wanted: float
    wider: float
    tightest: str | None
    after: Mapping[str, float]
    side: Mapping[str, float]


def bolt_up(pattern: Pattern, wanted: float, *, tries: int = 4000, seed: int = 1) -> BoltedUp:
    """Put a pattern together many times, with errors drawn from what is known of them.

    Parameters
    ----------
    pattern : Pattern
    wanted : chance between 0 and 1
    tries : how many
    seed : of the random numbers; the same seed gives the same answer
    """
    errors = draw_errors(pattern, tries, seed)
    kept = [hole for hole in pattern.holes if _counts(hole)]
    if not kept:
        return BoltedUp(pattern, tries, 1.0, wanted, -np.inf, None, {}, _left_beside(pattern, errors))
    found = _put_together(pattern, errors, kept)
    missed = found.miss > _HARMLESS
    quantile = float(np.quantile(found.miss, wanted, method="higher"))
    after = (
        {
            hole.name: _share_in(pattern, errors, [other for other in kept if other is not hole])
            for hole in kept
        }
        if missed.any()
        else {}
    )
    return BoltedUp(
        pattern=pattern,
        tries=tries,
        chance=float(1.0 - missed.mean()),
        wanted=wanted,
        wider=2.0 * quantile,
        tightest=found.holes[int(found.share[missed].sum(0).argmax())] if missed.any() else None,
        after=after,
        side=_left_beside(pattern, errors),
    )


def draw_errors(pattern: Pattern, tries: int, seed: int) -> Array:
    """How far each bolt stands from its hole's drawn place, (tries, n, 3) m: survey and making together."""
    n = len(pattern.holes)
    random = np.random.default_rng(seed)
    made = np.repeat([hole.made for hole in pattern.holes], 3) ** 2
    values, vectors = np.linalg.eigh(pattern.measured + np.diag(made))
    root = vectors * np.sqrt(values.clip(0.0))
    drawn: Array = random.standard_normal((tries, 3 * n)) @ root.T
    return drawn.reshape(tries, n, 3)


@dataclass(frozen=True)
class _Together:
    miss: Array
    shift: Array
    share: Array
    holes: tuple[str, ...]


def _put_together(pattern: Pattern, errors: Array, kept: list[Hole]) -> _Together:
    middle = np.mean([hole.at for hole in pattern.holes], axis=0)
    moves, room, names, seen = [], [], [], []
    for row, hole in enumerate(pattern.holes):
        if hole not in kept:
            continue
        carried = _carried(hole.at - middle)
        for ways, width in gates_of(hole):
            moves.append(ways @ carried)
            seen.append(np.einsum("kc,tc->tk", ways, errors[:, row]))
            room.append(width)
            names.append(hole.name)
    found = best_shift(Gates(np.array(moves), np.array(room)), np.stack(seen, axis=1))
    return _Together(found.miss, found.shift, found.share, tuple(names))


def gates_of(hole: Hole) -> list[tuple[Array, float]]:
    """The gates of one hole: directions (2, 3) and room m.

    A slot is taken as the rectangle between its two round ends, or as one round end where that is more:
    both lie inside it.
    """
    across, along = _square_to(hole.axis, _slot_way(hole))
    nowhere = np.zeros(3)
    gates: list[tuple[Array, float]] = []
    if hole.goes_by("slot") and _by(hole) / 2.0 > hole.room:
        gates += [
            (np.array([across, nowhere]), hole.room),
            (np.array([along, nowhere]), _by(hole) / 2.0),
        ]
    elif hole.goes_by("compliant mount"):
        gates.append((np.array([across, along]), hole.room + _by(hole)))
    elif hole.goes_by("adjustable end"):
        gates.append((np.array([across, nowhere]), hole.room))
    elif not hole.goes_by("drilled after") and not hole.goes_by("slot and weld washer"):
        gates.append((np.array([across, along]), hole.room))
    if hole.side is not None and not hole.goes_by("shim"):
        gates.append((np.array([hole.axis, nowhere]), hole.side))
    return gates


def _by(hole: Hole) -> float:
    assert hole.take_up is not None and hole.take_up.by is not None
    return hole.take_up.by


def _counts(hole: Hole) -> bool:
    return bool(gates_of(hole))


def _share_in(pattern: Pattern, errors: Array, kept: list[Hole]) -> float:
    return float((_put_together(pattern, errors, kept).miss <= _HARMLESS).mean()) if kept else 1.0


def _left_beside(pattern: Pattern, errors: Array) -> Mapping[str, float]:
    """Gaps along the bolts once the part lies as near to all its holes as it can (least squares)."""
    middle = np.mean([hole.at for hole in pattern.holes], axis=0)
    carried = np.concatenate([_carried(hole.at - middle) for hole in pattern.holes])
    flat = errors.reshape(len(errors), -1)
    left = (flat - flat @ np.linalg.pinv(carried).T @ carried.T).reshape(errors.shape)
    along = np.einsum("thc,hc->th", left, np.array([hole.axis for hole in pattern.holes])).std(axis=0)
    return dict(zip((hole.name for hole in pattern.holes), along.tolist(), strict=True))


def _carried(arm: Array) -> Array:
    """(3, 6): how a point at `arm` from the middle goes when the part is shifted and turned a little."""
    x, y, z = arm
    return np.hstack([np.eye(3), np.array([[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]])])


def _slot_way(hole: Hole) -> Array:
    """The way a slot runs or an end adjusts; any way square to the bolt when neither plays a part."""
    if hole.goes_by("adjustable end") and hole.adjusts is not None:
        return hole.adjusts
    if hole.take_up is not None and hole.take_up.along is not None:
        return np.array(AXES[hole.take_up.along])
    return np.asarray(np.eye(3)[int(np.abs(hole.axis).argmin())])


def _square_to(axis: Array, way: Array) -> tuple[Array, Array]:
    """Two unit vectors square to the axis, the second as near `way` as can be."""
    across = np.cross(axis, way)
    across /= np.linalg.norm(across)
    return across, np.cross(across, axis)
