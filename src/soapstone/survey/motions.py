"""Motions of the network as one rigid piece, and what holds them."""

from itertools import product

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm

from soapstone.survey.model import Model, evaluate
from soapstone.survey.records import Array

_NONE = 1e-6  # relative size below which a motion counts as not seen by any reading
_LAYS = 50


def rigid_motions(xyz: Array, size: float) -> Array:
    """Displacement of every point by three shifts and three turns about the datum origin, (n, 3, 6).

    The turns are scaled by 1/`size` so that all six are of one order.
    """
    motions = np.zeros((*xyz.shape, 6))
    motions[:, :, :3] = np.eye(3)
    for axis in range(3):
        motions[:, :, 3 + axis] = np.cross(np.eye(3)[axis], xyz) / size
    return motions


def null_basis(matrix: Array, relative: float = _NONE) -> Array:
    """Orthonormal basis, (columns, k), of what a matrix maps to (nearly) nothing."""
    if matrix.size == 0:
        return np.eye(matrix.shape[1])
    _, values, turned = np.linalg.svd(matrix)
    rank = int(np.count_nonzero(values > relative * max(float(values.max()), 1e-300)))
    basis: Array = turned[rank:].T
    return basis


def unheld_motions(model: Model, held: NDArray[np.bool_], xyz: Array, size: float) -> Array:
    """The rigid motions that no reading and no held point notices, (6, k) in terms of `rigid_motions`."""
    motions = rigid_motions(xyz, size)
    _, by_first, by_second = evaluate(model, xyz)
    seen = np.einsum("ma,mak->mk", by_first, motions[model.first])
    seen += np.einsum("ma,mak->mk", by_second, motions[model.second])
    seen[model.level] *= size
    stacked = np.concatenate([seen, motions[held].reshape(-1, 6)])
    return null_basis(np.concatenate([stacked, np.zeros((1, 6))]), 1e-7) if stacked.any() else np.eye(6)


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
    shifts = twists[:3] @ null_basis(np.concatenate([twists[3:], np.zeros((1, twists.shape[1]))]))
    gap = (target - xyz)[there].mean(axis=0)
    part, *_ = np.linalg.lstsq(shifts, gap, rcond=None)
    moved: Array = xyz + shifts @ part
    return moved


def _screw(xyz: Array, twist: Array, size: float) -> Array:
    """Carry out a finite motion: shift and turn at constant rate for unit time."""
    rate = np.zeros((4, 4))
    rate[:3, :3] = np.cross(twist[3:] / size, np.eye(3)).T
    rate[:3, 3] = twist[:3]
    pose = expm(rate)
    moved: Array = xyz @ pose[:3, :3].T + pose[:3, 3]
    return moved
