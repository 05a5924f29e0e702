"""What a network leaves free to move: a basis as local as it can be, piece by piece."""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.sparse import csc_array, csr_array, hstack
from scipy.sparse.csgraph import connected_components

from soapstone.survey.index import Array, Index
from soapstone.survey.yielding import springs_for

_NOTHING = 1e-10  # of the largest part of a displacement: rounding
_COUPLED = 1e-9  # share of a spring's support that another one gives: less is rounding
_NUMERIC = 1e-14  # stiffness, in parts of the largest, below which rounding alone explains what is left
_AT_ONCE = 256  # right sides solved for together
_DEPENDENT = 1e-6  # part of the largest displacement below which one counts as made of the others
_MOST = 0.2  # of the points: a displacement of more is taken to be one of the whole in part
_SHARED = 1e-7  # of a displacement: closer than this a point follows the motion of the whole
_WHOLE = 1e-5  # of a displacement: one with no more left over than this is one of the whole
_ROUNDS = 60


def slack_of(band: Array, size: float) -> csc_array:
    """Find every displacement whose standard deviation is beyond the size of the job.

    With springs C on some unknowns, A = N + C C' is regular; the inverse of N is that of A and
    A^-1 C S^-1 C' A^-1 with S = 1 - C' A^-1 C (Woodbury), so what S maps to nothing is what N leaves free.

    Parameters
    ----------
    band : (b, u)
        Normal matrix, lower band storage.
    size : float, m

    Returns
    -------
    (u, d) sparse
        Independent, each with as few unknowns as the springs tell; the largest part of each is 1.
    """
    soft = max(size**-2, _NUMERIC * float(band[0].max()))
    unknowns, stiffness = springs_for(band, soft)
    if not len(unknowns):
        return csc_array((band.shape[1], 0))
    root = np.sqrt(stiffness)
    stiff = band.copy()
    stiff[0, unknowns] += stiffness
    answers = _answers(cholesky_banded(stiff, lower=True, check_finite=False), unknowns, root)
    support = (answers.tocsr()[unknowns] * root[:, None]).tocoo()
    left = csr_array((-support.data, support.coords), shape=support.shape).tolil()
    left.setdiag(1.0 - support.diagonal())
    return _unsupported(answers, left.tocsr(), soft)


def _answers(factor: Array, unknowns: Index, root: Array) -> csc_array:
    """A^-1 C, column by column, without what rounding alone leaves."""
    parts = []
    for start in range(0, len(unknowns), _AT_ONCE):
        some = unknowns[start : start + _AT_ONCE]
        right = np.zeros((factor.shape[1], len(some)))
        right[some, np.arange(len(some))] = root[start : start + _AT_ONCE]
        solved = cho_solve_banded((factor, True), right, check_finite=False)
        solved[np.abs(solved) < _NOTHING * np.abs(solved).max(axis=0)] = 0.0
        parts.append(csc_array(solved))
    return csc_array(hstack(parts))


def _unsupported(answers: csc_array, left: csr_array, soft: float) -> csc_array:
    """What is free, group by group of springs that something couples; uncoupled ones as they are."""
    count, group = connected_components(csr_array(abs(left) > _COUPLED), directed=False)
    alone = np.bincount(group, minlength=count)[group] == 1
    squares = np.asarray((answers**2).sum(axis=0)).ravel()
    chosen = [answers[:, np.flatnonzero(alone & (left.diagonal() <= soft * squares))]]
    for one in np.unique(group[~alone]):
        members = np.flatnonzero(group == one)
        values, vectors = np.linalg.eigh(left[members][:, members].toarray())
        moved = answers[:, members] @ vectors
        loose = values <= soft * np.einsum("ua,ua->a", moved, moved)
        chosen.append(answers[:, members] if loose.all() else csc_array(moved[:, loose]))
    free = csc_array(hstack(chosen))
    return csc_array(free / np.maximum(abs(free).max(axis=0).toarray(), 1e-300))


def beside(free: csc_array, datum: Array) -> csc_array:
    """The same without what a free datum takes care of: motions of the whole, (u, f), orthonormal.

    From each displacement of most points the motion that most of them share is taken out, so that what is
    left names the points that are loose.
    """
    far = np.flatnonzero(_points_of(free) > _MOST * free.shape[0] / 3)
    if not len(far):
        return free
    rest = free[:, far].toarray()
    scale = np.abs(rest).max(axis=0)
    for k in range(rest.shape[1]):
        rest[:, k] -= datum @ _shared(rest[:, k], datum)
    rest[np.abs(rest) < _SHARED * scale] = 0.0
    rest[:, np.abs(rest).max(axis=0) < _WHOLE * scale] = 0.0
    near = np.setdiff1d(np.arange(free.shape[1]), far)
    left = csc_array(hstack([free[:, near], csc_array(rest)]))
    order = np.argsort(_points_of(left), kind="stable")
    return csc_array(left[:, order[_independent(left[:, order], datum)]])


def _independent(moves: csc_array, datum: Array) -> Index:
    """Columns that are made neither of those before them nor of the datum's motions."""
    basis = np.zeros((moves.shape[0], datum.shape[1] + moves.shape[1]))
    count = datum.shape[1]
    basis[:, :count] = datum
    chosen: list[int] = []
    for k in range(moves.shape[1]):
        vector = moves[:, [k]].toarray().ravel()
        length = float(np.linalg.norm(vector))
        if length == 0.0:
            continue
        vector /= length
        for _ in range(2):  # once more takes out what rounding left
            vector -= basis[:, :count] @ (basis[:, :count].T @ vector)
        if float(np.linalg.norm(vector)) > _DEPENDENT and len(chosen) < moves.shape[1] - datum.shape[1]:
            basis[:, count] = vector / np.linalg.norm(vector)
            chosen.append(k)
            count += 1
    return np.array(chosen, dtype=np.intp)


def _shared(moves: Array, datum: Array) -> Array:
    """The motion of the whole, (f,), with the least sum of distances to what each point does.

    Least squares with weights taken from the last round (E. Weiszfeld, 1937).
    """
    weights = np.ones(len(moves) // 3)
    part: Array = np.zeros(datum.shape[1])
    least = 1e-12 * float(np.abs(moves).max())
    for _ in range(_ROUNDS):
        root = np.sqrt(np.repeat(weights, 3))
        part = np.asarray(np.linalg.lstsq(datum * root[:, None], moves * root, rcond=None)[0], dtype=float)
        apart = np.linalg.norm((moves - datum @ part).reshape(-1, 3), axis=1)
        if np.median(apart) < 1e3 * least:  # most points follow it
            break
        weights = 1 / np.maximum(apart, least)
        weights /= weights.max()
    return part


@dataclass(frozen=True)
class Piece:
    """Free displacements of some unknowns that move together: (k,) unknowns, (k, d) orthonormal."""

    unknowns: Index
    moves: Array


def pieces_of(free: csc_array) -> list[Piece]:
    """Displacements that share a point belong together; those that are made of others are left out."""
    if not free.nnz:
        return []
    points = csr_array((np.ones(free.nnz), (free.indices // 3, _columns(free))))
    count, group = connected_components(points.T @ points, directed=False)
    found = []
    for one in range(count):
        own = csc_array(free[:, np.flatnonzero(group == one)])
        touched = np.unique(own.indices // 3)
        unknowns = (3 * touched[:, None] + np.arange(3)).ravel()
        left, values, _ = np.linalg.svd(own.tocsr()[unknowns].toarray(), full_matrices=False)
        found.append(Piece(unknowns, left[:, values > _DEPENDENT * values[0]]))
    return found


def _columns(matrix: csc_array) -> Index:
    return np.repeat(np.arange(matrix.shape[1]), np.diff(matrix.indptr))


def _points_of(matrix: csc_array) -> Index:
    """How many points each column moves."""
    moved = np.unique(np.stack([_columns(matrix), matrix.indices // 3]), axis=1)
    return np.bincount(moved[0], minlength=matrix.shape[1])
