"""Motions of the network as one rigid piece, and what holds them."""

from itertools import product

import numpy as np
from numpy.typing import NDArray

from soapstone.survey.index import Array
from soapstone.survey.model import Model
from soapstone.survey.shown import evaluate

_NONE = 1e-6  # share of a motion of unit size that counts as none
_LAYS = 50
_NEAR = 0.05  # of the size of the job: as near as this no quarter turn brings it nearer


def rigid_motions(xyz: Array, size: float) -> Array:
    """Displacement of every point by three shifts and three turns about the datum origin, (n, 3, 6).

    The turns are scaled by 1/`size` so that all six are of one order.
    """
    motions = np.zeros((*xyz.shape, 6))
    motions[:, :, :3] = np.eye(3)
    for axis in range(3):
        motions[:, :, 3 + axis] = np.cross(np.eye(3)[axis], xyz) / size
    return motions


def null_basis(matrix: Array, least: float = _NONE) -> Array:
    """Orthonormal basis, (columns, k), of what a matrix maps to nothing, or to less than `least`."""
    if matrix.size == 0:
        return np.eye(matrix.shape[1])
    if matrix.shape[0] > matrix.shape[1]:  # what is mapped to nothing is the same for the triangle
        matrix = np.asarray(np.linalg.qr(matrix)[1])
    _, values, turned = np.linalg.svd(matrix)
    rank = int(np.count_nonzero(values > least))
    basis: Array = turned[rank:].T
    return basis


def unheld_motions(model: Model, held: NDArray[np.bool_], xyz: Array, size: float) -> Array:
    """The rigid motions that no reading and no held point notices, (6, k) in terms of `rigid_motions`."""
    motions = rigid_motions(xyz, size)
    _, slopes = evaluate(model, xyz)
    seen = np.einsum("mwa,mwak->mk", slopes, motions[model.ends])
    seen[model.rows_of["level"]] *= size
    stacked = np.concatenate([seen, motions[held].reshape(-1, 6)])
    return null_basis(stacked, 1e-9 * float(np.abs(motions).max(initial=1.0)))


def lay_onto(xyz: Array, target: Array, twists: Array, size: float) -> Array:
    """Move a network within its unheld motions so that it lies best on given positions.

    Parameters
    ----------
    xyz : (n, 3) m
    target : (n, 3) m
        NaN rows take no part. At the end the corrections `xyz - target` have no part along any unheld
        motion: the inner constraints of a free network.
    twists : (6, k)
        From `unheld_motions`.
    size : float, m

    Returns
    -------
    xyz : (n, 3) m
    """
    there = np.isfinite(target[:, 0])
    if not there.any() or twists.shape[1] == 0:
        return xyz
    if np.abs(target - xyz)[there].max() > _NEAR * size:
        xyz = _roughly_laid(xyz, target, there, twists, size)
    for _ in range(_LAYS):
        moves = (rigid_motions(xyz, size) @ twists)[there].reshape(-1, twists.shape[1])
        part, *_ = np.linalg.lstsq(moves, (target - xyz)[there].ravel(), rcond=None)
        xyz = _screw(xyz, twists @ part, size)
        if np.abs(moves @ part).max() < 1e-13 * size:
            break
    return xyz


def _roughly_laid(xyz: Array, target: Array, there: NDArray[np.bool_], twists: Array, size: float) -> Array:
    """Start of the laying: the best of quarter turns about the allowed axes, centre on centre."""
    centre = xyz[there].mean(axis=0)
    axes = _turn_axes(twists)
    laid = []
    for quarters in product(range(4), repeat=axes.shape[1]):
        trial = xyz
        for axis, quarter in zip(axes.T, quarters, strict=True):
            turn = axis * (quarter * np.pi / 2)
            wanted = np.concatenate([np.cross(centre, turn), turn * size])
            allowed = twists @ (twists.T @ wanted)
            trial = _screw(trial, allowed, size)
        trial = _centred(trial, target, there, twists)
        laid.append((float(np.sum((trial - target)[there] ** 2)), trial))
    return min(laid, key=lambda pair: pair[0])[1]


def _turn_axes(twists: Array) -> Array:
    left, values, _ = np.linalg.svd(twists[3:], full_matrices=False)
    axes: Array = left[:, values > _NONE]
    return axes


def _centred(xyz: Array, target: Array, there: NDArray[np.bool_], twists: Array) -> Array:
    shifts = twists[:3] @ null_basis(twists[3:])
    gap = (target - xyz)[there].mean(axis=0)
    part, *_ = np.linalg.lstsq(shifts, gap, rcond=None)
    moved: Array = xyz + shifts @ part
    return moved


def _screw(xyz: Array, twist: Array, size: float) -> Array:
    """Carry out a finite motion: shift and turn at constant rate for unit time."""
    turn = twist[3:] / size
    angle = float(np.linalg.norm(turn))
    whole, half, third = _turn_series(angle)
    spin = np.cross(turn, np.eye(3)).T
    square = spin @ spin
    rotation = np.eye(3) + whole * spin + half * square
    shift = (np.eye(3) + half * spin + third * square) @ twist[:3]
    moved: Array = xyz @ rotation.T + shift
    return moved


def _turn_series(angle: float) -> tuple[float, float, float]:
    """The factors sin a / a, (1 - cos a) / a^2 and (a - sin a) / a^3 of a finite turn (Rodrigues)."""
    if angle < 1e-3:  # next terms of the series are below 1e-14
        return 1 - angle**2 / 6, 0.5 - angle**2 / 24, 1 / 6 - angle**2 / 120
    sine, versine = float(np.sin(angle)), 2 * float(np.sin(angle / 2)) ** 2
    return sine / angle, versine / angle**2, (angle - sine) / angle**3
