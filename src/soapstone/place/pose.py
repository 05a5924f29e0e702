"""A pose, and the rigid fit that finds one from matched points."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import block_diag

from soapstone.errors import GeometryError

Array = NDArray[np.float64]

_FLAT = 1e-6
"""Points closer to one line than this part of their spread leave a turn about it undecided."""


@dataclass(frozen=True)
class Pose:
    """Own axes into vehicle axes: `x = rotation @ own + origin`.

    Attributes
    ----------
    rotation : (3, 3), determinant +1
    origin : (3,) m
    """

    rotation: Array
    origin: Array

    def apply(self, own: Array) -> Array:
        """Points (..., 3) m of the body's own axes, in vehicle axes."""
        moved: Array = np.asarray(own) @ self.rotation.T + self.origin
        return moved

    def turn(self, vectors: Array) -> Array:
        """Directions (..., 3) of the body's own axes, in vehicle axes."""
        turned: Array = np.asarray(vectors) @ self.rotation.T
        return turned


@dataclass(frozen=True)
class RigidFit:
    """A pose fitted to matched points.

    Attributes
    ----------
    pose : Pose
    names : the matched body points
    residuals : (n, 3) m, vehicle point minus placed body point
    rms : m, root mean square length of the residuals
    mirrored_rms : m, what a body mirrored left for right would leave; less than `rms` hints that
        left and right were swapped
    weighted_square : sum of the residuals' squares in units of their own variance
    covariance : (6, 6) of origin m and small turn rad, about vehicle axes at the matched points' middle
    """

    pose: Pose
    names: tuple[str, ...]
    residuals: Array
    rms: float
    mirrored_rms: float
    weighted_square: float
    covariance: Array


def rotation_from_vector(turn: Array) -> Array:
    """Rotation matrix of a turn vector (3,) rad (Rodrigues' formula)."""
    angle = float(np.linalg.norm(turn))
    if angle == 0.0:
        return np.eye(3)
    axis = turn / angle
    cross = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    rotation: Array = np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross
    return rotation


def rotation_from_angles(*, turned_left: float, nose_down: float, left_up: float) -> Array:
    """Rotation by yaw, then pitch, then roll (ISO 8855: z, y, x), rad.

    Turned left, nose down and left side up are the positive ways, as in ISO 8855.
    """
    cz, sz = np.cos(turned_left), np.sin(turned_left)
    cy, sy = np.cos(nose_down), np.sin(nose_down)
    cx, sx = np.cos(left_up), np.sin(left_up)
    yaw = np.array([[cz, -sz, 0], [sz, cz, 0], [0, 0, 1]])
    pitch = np.array([[cy, 0, sy], [0, 1, 0], [-sy, 0, cy]])
    roll = np.array([[1, 0, 0], [0, cx, -sx], [0, sx, cx]])
    rotation: Array = yaw @ pitch @ roll
    return rotation


def _kabsch(own: Array, target: Array, weights: Array, sign: float) -> Array:
    """Best rotation of centred points; `sign` +1 for a proper one, -1 for a mirror image.

    Kabsch 1976; the determinant guard after Umeyama, IEEE PAMI 13(4) 1991.
    """
    u, _, vt = np.linalg.svd((target * weights[:, None]).T @ own)
    guard = np.diag([1.0, 1.0, sign * np.sign(np.linalg.det(u @ vt))])
    rotation: Array = u @ guard @ vt
    return rotation


def _rms(residuals: Array) -> float:
    return float(np.sqrt(np.mean(np.sum(residuals**2, axis=1))))


def _cross_matrices(vectors: Array) -> Array:
    """(n, 3, 3) matrices that do `v x`."""
    zero = np.zeros(len(vectors))
    x, y, z = vectors.T
    stacked: Array = np.stack([zero, -z, y, z, zero, -x, -y, x, zero], axis=1).reshape(-1, 3, 3)
    return stacked


def rigid_fit(
    names: Sequence[str], own: Array, target: Array, covariances: Array, *, body: str = "the body"
) -> RigidFit:
    """Place matched points onto each other, each weighted by how well it is known.

    Parameters
    ----------
    names : n names, for messages and the residuals
    own : (n, 3) m in the body's axes
    target : (n, 3) m in vehicle axes
    covariances : (n, 3, 3) or (3n, 3n) m², of target minus placed point; positive definite
    body : for messages

    Returns
    -------
    RigidFit

    Raises
    ------
    GeometryError
        With fewer than three points, or with all on one line.
    """
    own, target = np.asarray(own, float), np.asarray(target, float)
    if len(names) < 3:
        raise GeometryError(f"{body} is matched at {len(names)} points; three settle where it sits")
    spread = np.linalg.svd(own - own.mean(axis=0), compute_uv=False)
    if spread[1] <= _FLAT * spread[0]:
        raise GeometryError(
            f"the matched points of {body} stand on one line; it can still turn about it",
            remedy="match one point off that line",
        )
    whole = covariances if covariances.ndim == 2 else block_diag(*covariances)
    precision = np.linalg.inv(whole)
    weights = 3.0 / np.diag(whole).reshape(-1, 3).sum(axis=1)
    weights = weights / weights.sum()
    middle_own, middle = weights @ own, weights @ target
    rotation = _kabsch(own - middle_own, target - middle, weights, 1.0)
    mirrored = _kabsch(own - middle_own, target - middle, weights, -1.0)
    mirrored_residuals = (target - middle) - (own - middle_own) @ mirrored.T
    for _ in range(20):
        arms = (own - middle_own) @ rotation.T
        jacobian = np.concatenate([np.broadcast_to(np.eye(3), (len(own), 3, 3)), -_cross_matrices(arms)], 2)
        slopes = jacobian.reshape(-1, 6)
        misfit = (target - middle - arms).ravel()
        normal = slopes.T @ precision @ slopes
        step = np.linalg.solve(normal, slopes.T @ precision @ misfit)
        middle = middle + step[:3]
        rotation = rotation_from_vector(step[3:]) @ rotation
        if np.linalg.norm(step) < 1e-14 * (1.0 + np.linalg.norm(middle)):
            break
    pose = Pose(rotation, middle - rotation @ middle_own)
    residuals = target - pose.apply(own)
    return RigidFit(
        pose,
        tuple(names),
        residuals,
        _rms(residuals),
        _rms(mirrored_residuals),
        float(residuals.ravel() @ precision @ residuals.ravel()),
        np.linalg.inv(normal),
    )
