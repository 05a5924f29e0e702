"""How far a rigid part's holes miss their bolts once it is shifted to suit, for many tries at once.

Each gate (a round hole, or the room between two fork plates) lets its bolt stray by its room. A part with `d`
ways to move is shifted by `x` so that the worst gate is missed by as little as can be:

    least t   with   |e_i - A_i x| <= room_i + t   for every gate i

A second-order cone problem in `d + 1` unknowns, solved for all tries side by side by a primal-dual
interior-point method with the scaling of Nesterov and Todd (Andersen, Dahl and Vandenberghe in Sra, Nowozin
and Wright, Optimization for Machine Learning, 2011, chapter 3; from memory). Tries run along the last axis;
whatever the geometry fixes is one matrix product.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import SoapstoneError
from soapstone.fit.small_solve import solve_each

Array = NDArray[np.float64]

_TOGETHER = 4096
"""Tries solved in one go: few enough to stay in the processor's near memory."""
_ROUNDS = 60
_UNFELT = 1e-9
"""A movement that the gates feel less than this share of the most felt one is free."""
_CLOSE = 1e-8
"""Gap between answer and bound, as a share of the greatest error, at which a try is settled."""
_CENTRING = 0.05
_EDGE = 1e-14
_STRIDE = 0.99
"""How much of the way to the nearest bound a step may go."""


@dataclass(frozen=True)
class Gates:
    """The rooms that a rigid part's bolts must go through.

    Attributes
    ----------
    moves : (m, 2, d) m per unit of movement
        How far each gate's centre goes, in its own two directions, for each way the part can move; the second
        row of a gate that bounds one direction only is zero.
    room : (m,) m
        How far the bolt may stray from the centre.
    """

    moves: Array
    room: Array


@dataclass(frozen=True)
class Shifted:
    """The best shift of every try.

    Attributes
    ----------
    miss : (n,) m
        The least possible worst miss; at or below zero every bolt goes in.
    shift : (n, d)
        The movement that reaches it.
    share : (n, m)
        How much each gate has to do with it: zero where there is room to spare; one in all.
    """

    miss: Array
    shift: Array
    share: Array


def best_shift(gates: Gates, errors: Array) -> Shifted:
    """The shift of least worst miss for each try.

    Parameters
    ----------
    gates : Gates
    errors : (n, m, 2) m
        Where each bolt stands, seen from its gate's centre, the part unshifted.

    Raises
    ------
    SoapstoneError
        When a try is not settled within the rounds allowed.
    """
    n, m, _ = errors.shape
    ways, reach = _felt(gates.moves.reshape(2 * m, -1))
    scale = float(np.abs(errors).max(initial=0.0)) or 1.0
    rounds = _Rounds((gates.moves @ ways) / reach, gates.room / scale)
    flat = np.ascontiguousarray(errors.transpose(2, 1, 0).reshape(2 * m, n)) / scale
    found = [rounds.settle(flat[:, at : at + _TOGETHER]) for at in range(0, n, _TOGETHER)]
    miss, shift, share = (np.concatenate(part, axis=-1) for part in zip(*found, strict=True))
    return Shifted(miss * scale, (ways @ (shift * scale / reach[:, None])).T, share.T)


def _felt(rows: Array) -> tuple[Array, Array]:
    """Movements (d, k) that some gate feels, each alone on its own scale, and those scales (k,).

    Turning about a single bolt, say, is felt by none and left out.
    """
    sizes = np.sqrt((rows**2).sum(0))
    scaled = np.divide(1.0, sizes, out=np.zeros_like(sizes), where=sizes > 0.0)
    _, strength, ways = np.linalg.svd(rows * scaled, full_matrices=False)
    kept = strength > _UNFELT * strength[0]
    return scaled[:, None] * ways[kept].T, np.asarray(strength[kept])


@dataclass
class _Tries:
    """The tries still at work, one column each: room, stray and their duals, three rows of gates each."""

    place: NDArray[np.intp]
    moved: Array
    """(d + 1, n): the shift and the miss."""
    room: Array
    """(3, m, n): room left, and stray in the gate's two directions; always inside the cone."""
    force: Array
    """(3, m, n): the same of the dual."""
    gap: Array
    """(n,): between the miss and what is proven to be its least."""
    held: Array
    """(n,): the share of the last step that could not be gone."""

    def keep(self, which: NDArray[np.bool_]) -> "_Tries":
        return _Tries(
            self.place[which],
            self.moved[:, which],
            self.room[..., which],
            self.force[..., which],
            self.gap[which],
            self.held[which],
        )


class _Rounds:
    """Newton rounds on scaled gates; what the geometry fixes is prepared once."""

    def __init__(self, moves: Array, room: Array) -> None:
        m, _, d = moves.shape
        widen = np.zeros((m, d + 1))
        widen[:, d] = -1.0
        self.gates, self.unknowns = m, d + 1
        self.parts = np.stack([widen, *(np.pad(moves[:, k], ((0, 0), (0, 1))) for k in (0, 1))])
        self.rows = self.parts.reshape(3 * m, d + 1)
        self.fit = np.linalg.pinv(self.rows[m:, :d])
        self.room = room[:, None]
        a, b = np.triu_indices(d + 1)
        self.pairs = list(zip(a.tolist(), b.tolist(), strict=True))
        of = [(i, j) for i in range(3) for j in range(i, 3)]
        self.squares = np.hstack([self._products(i, j, a, b).T for i, j in of])

    def _products(self, i: int, j: int, a: NDArray[np.intp], b: NDArray[np.intp]) -> Array:
        one, two = self.parts[i], self.parts[j]
        straight = one[:, a] * two[:, b]
        return np.asarray(straight if i == j else straight + two[:, a] * one[:, b])

    def settle(self, errors: Array) -> tuple[Array, Array, Array]:
        """Miss (n,), shift (d, n) and share (m, n) for errors (2 m, n)."""
        n, d = errors.shape[1], self.unknowns - 1
        moved, share = np.empty((d + 1, n)), np.empty((self.gates, n))
        tries = self._start(errors)
        for _ in range(_ROUNDS):
            done = self._step(tries)
            if done.any():
                at = tries.place[done]
                moved[:, at], share[:, at] = tries.moved[:, done], tries.force[0][:, done]
                tries = tries.keep(~done)
            if not tries.place.size:
                return moved[d], moved[:d], share
        raise SoapstoneError(f"{tries.place.size} tries of the pattern could not be settled")

    def _start(self, errors: Array) -> _Tries:
        n = errors.shape[1]
        moved = np.zeros((self.unknowns, n))
        moved[:-1] = self.fit @ errors
        stray = errors - self.rows[self.gates :] @ moved
        room = np.concatenate([np.broadcast_to(self.room, (self.gates, n)), stray]).reshape(3, self.gates, n)
        moved[-1] = (np.sqrt(room[1] ** 2 + room[2] ** 2) - room[0]).max(0) + 0.3
        room[0] += moved[-1]
        force = np.zeros_like(room)
        force[0] = 1.0 / self.gates  # balanced, and so it stays
        return _Tries(np.arange(n), moved, room, force, (room * force).sum((0, 1)), np.full(n, 0.5))

    def _step(self, tries: _Tries) -> NDArray[np.bool_]:
        """One Newton step, in place; which tries are settled by it."""
        m, s, z = self.gates, tries.room, tries.force
        inside, beyond = _cone(s), _cone(z)
        target = np.maximum(_CENTRING, tries.held) * tries.gap / m / inside * s
        target[1:] *= -1.0
        stiff = _stiffness(s, z, inside, beyond)
        known = -(self.rows.T @ target.reshape(3 * m, -1))
        known[-1] -= 1.0
        matrix = self.squares @ stiff.reshape(6 * m, -1)
        step = np.array(solve_each({pair: matrix[k] for k, pair in enumerate(self.pairs)}, list(known)))
        along = (self.rows @ step).reshape(3, m, -1)
        pull = _apply(stiff, along)
        pull += target
        pull -= z
        share = np.minimum(
            1.0, _STRIDE / np.maximum(_hindrance(s, -along, inside), _hindrance(z, pull, beyond))
        )
        tries.held = 1.0 - share
        tries.moved += share * step
        s -= share * along
        z += share * pull
        tries.gap = np.einsum("kij,kij->j", s, z)
        return np.asarray(tries.gap < _CLOSE)


def _cone(v: Array) -> Array:
    """How far inside the cone, squared; what rounding puts on or past its edge counts as just inside."""
    size = np.sqrt(v[1] ** 2 + v[2] ** 2)
    return np.asarray(np.maximum(v[0] - size, _EDGE * v[0]) * (v[0] + size))


def _stiffness(s: Array, z: Array, inside: Array, beyond: Array) -> Array:
    """The inverse square of the scaling that takes s and z to one point: upper triangle (6, m, n)."""
    sized, shared = np.sqrt(inside), np.sqrt(beyond)
    a = s / sized
    a[1:] *= -1.0
    a += z / shared
    a *= np.sqrt(2.0) / np.sqrt(_cone(a))
    out = np.stack([a[i] * a[j] for i in range(3) for j in range(i, 3)])
    out[0] -= 1.0
    out[3] += 1.0
    out[5] += 1.0
    out *= shared / sized
    return out


def _apply(stiff: Array, v: Array) -> Array:
    return np.stack(
        [
            stiff[0] * v[0] + stiff[1] * v[1] + stiff[2] * v[2],
            stiff[1] * v[0] + stiff[3] * v[1] + stiff[4] * v[2],
            stiff[2] * v[0] + stiff[4] * v[1] + stiff[5] * v[2],
        ]
    )


def _hindrance(v: Array, step: Array, inside: Array) -> Array:
    """One over the share (n,) of a step at which the first cone (m) is left; tiny where none is."""
    a = _signed(step, step)
    b = _signed(v, step)
    root = np.sqrt(np.maximum(b * b - a * inside, 0.0)) - b
    return np.asarray((root / inside).max(0).clip(1e-300))


def _signed(v: Array, w: Array) -> Array:
    return np.asarray(v[0] * w[0] - v[1] * w[1] - v[2] * w[2])
