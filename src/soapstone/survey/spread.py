"""How well the coordinates are known, and what the readings leave free."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.linalg import LinAlgError, cholesky_banded, qr

from soapstone.survey.covariance import Banded, Covariance, Dense, Projected
from soapstone.survey.descent import Layout, normal_band
from soapstone.survey.index import Array, Index
from soapstone.survey.model import Model
from soapstone.survey.motions import rigid_motions
from soapstone.survey.slack import Piece, beside, pieces_of, slack_of
from soapstone.survey.yielding import SPRING, springs_for


@dataclass(frozen=True)
class LoosePiece:
    """Points that move together, (p,), and an orthonormal basis of how they can, (p, 3, k)."""

    points: Index
    moves: Array


@dataclass(frozen=True)
class Spread:
    """Covariance of all coordinates.

    Attributes
    ----------
    covariance : Covariance
        Along a loose direction the square of the size of the job.
    loose : tuple of LoosePiece
        What the readings leave free, a free datum not counted.
    rank : int
        Number of unknowns that the readings determine.
    """

    covariance: Covariance
    loose: tuple[LoosePiece, ...]
    rank: int


def spread_of(model: Model, layout: Layout, xyz: Array, slopes: Array, size: float, free: Array) -> Spread:
    """Covariance by the stated accuracies.

    A direction counts as loose when its standard deviation exceeds the size of the job.

    Parameters
    ----------
    model : Model
    layout : Layout
    xyz : (n, 3) m
        At the least-squares answer.
    slopes : (m, 3 w)
        Weighted derivatives there.
    size : float, m
    free : (6, f)
        Unheld motions that a free datum takes care of (inner constraints over all points).
    """
    if layout.size == 0:
        return Spread(Dense(np.zeros((xyz.size, xyz.size))), (), 0)
    if free.shape[1] == 0:
        regular = _regular(layout, slopes, size)
        if regular is not None:
            return Spread(regular, (), layout.size)
    return _deficient(layout, slopes, xyz, size, free)


def _regular(layout: Layout, slopes: Array, size: float) -> Banded | None:
    try:
        factor = cholesky_banded(normal_band(layout, slopes), lower=True, check_finite=False)
    except LinAlgError:
        return None
    inverse = Banded(factor, layout.columns)
    return inverse if float(inverse.variances.max()) < (size / 10) ** 2 else None


def _deficient(layout: Layout, slopes: Array, xyz: Array, size: float, free: Array) -> Spread:
    band = normal_band(layout, slopes)
    slack = slack_of(band, size)
    datum = np.linalg.qr(_of_unknowns(layout, rigid_motions(xyz, size) @ free))[0]
    if datum.shape[1]:
        slack = beside(slack, datum)
    pieces = pieces_of(slack)
    covariance = _with_pieces(layout, band, pieces, datum, size)
    loose = tuple(_in_points(layout, piece) for piece in pieces)
    rank = layout.size - datum.shape[1] - sum(piece.moves.shape[1] for piece in pieces)
    return Spread(covariance, loose, rank)


def _with_pieces(
    layout: Layout, band: Array, pieces: Sequence[Piece], datum: Array, size: float
) -> Covariance:
    """Loose pieces get the size of the network for a standard deviation; a free datum its inner constraints.

    A piece that fits into the band stands there as stiffness 1/size^2. What reaches farther is held by
    springs, which the projection along it takes out again (the S-transformation of W. Baarda, 1973).
    """
    held = band.copy()
    wide = [piece for piece in pieces if np.ptp(piece.unknowns) >= len(band)]
    for piece in pieces:
        if np.ptp(piece.unknowns) < len(band):
            _stiffen(held, piece, size)
        datum[piece.unknowns] -= piece.moves @ (piece.moves.T @ datum[piece.unknowns])
    far = np.zeros((layout.size, sum(piece.moves.shape[1] for piece in wide)))
    at = 0
    for piece in wide:
        far[piece.unknowns, at : at + piece.moves.shape[1]] = piece.moves
        at += piece.moves.shape[1]
    whole = np.hstack([far, np.linalg.qr(datum)[0]])
    springs = qr(whole.T, pivoting=True, mode="r")[1][: whole.shape[1]] if whole.shape[1] else []
    held[0, springs] += SPRING * np.where(band[0] > 0, band[0], band[0].max())[springs]
    base = Banded(_factor(held, size), layout.columns)
    if not whole.shape[1]:
        return base
    variance = np.repeat([size**2, 0.0], [far.shape[1], datum.shape[1]])
    return Projected.along(base, _of_coordinates(layout, whole), variance)


def _factor(band: Array, size: float) -> Array:
    try:
        return cholesky_banded(band, lower=True, check_finite=False)
    except LinAlgError:  # what is neither loose nor held to the last digit is as good as loose
        held = band.copy()
        held[0, springs_for(band, 0.0)[0]] += size**-2
        return cholesky_banded(held, lower=True, check_finite=False)


def _stiffen(band: Array, piece: Piece, size: float) -> None:
    row, column = (part.ravel() for part in np.meshgrid(piece.unknowns, piece.unknowns, indexing="ij"))
    lower = row >= column
    stiffness = (piece.moves @ piece.moves.T / size**2).ravel()
    band[(row - column)[lower], column[lower]] += stiffness[lower]


def _in_points(layout: Layout, piece: Piece) -> LoosePiece:
    """A piece with points for unknowns."""
    point_of = np.full(layout.size // 3, -1)
    moving = np.flatnonzero(layout.columns[:, 0] >= 0)
    point_of[layout.columns[moving, 0] // 3] = moving
    return LoosePiece(point_of[piece.unknowns[::3] // 3], piece.moves.reshape(-1, 3, piece.moves.shape[1]))


def _of_unknowns(layout: Layout, moves: Array) -> Array:
    """Displacements of all points, (n, 3, k), as those of the unknowns, (u, k)."""
    free = layout.columns.ravel() >= 0
    rows = np.zeros((layout.size, moves.shape[2]))
    rows[layout.columns.ravel()[free]] = moves.reshape(len(free), moves.shape[2])[free]
    return rows


def _of_coordinates(layout: Layout, columns: Array) -> Array:
    """Columns of unknowns as displacements of all coordinates, (3n, k)."""
    flat = layout.columns.ravel()
    whole = np.zeros((len(flat), columns.shape[1]))
    whole[flat >= 0] = columns[flat[flat >= 0]]
    return whole


def leverage(model: Model, slopes: Array, covariance: Covariance) -> Array:
    """Share of each reading in its own adjusted value, (m,); 1 minus it is the redundancy number.

    Baarda, *A Testing Procedure for Use in Geodetic Networks* (1968): the diagonal of Q_v P.
    """
    share = np.zeros(model.rows)
    wide = model.ends.shape[1]
    by_end = slopes.reshape(model.rows, wide, 3)
    for one in range(wide):
        for two in range(one, wide):
            rows = np.flatnonzero(model.used[:, two])
            blocks = covariance.blocks(model.ends[rows, one], model.ends[rows, two])
            part = np.einsum("ma,mab,mb->m", by_end[rows, one], blocks, by_end[rows, two])
            share[rows] += part if one == two else 2 * part
    return share
