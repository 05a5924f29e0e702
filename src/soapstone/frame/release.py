"""Ends that are free to turn or slide: static condensation, one freedom after the other.

A freedom along c takes k to k - (k c)(k c)ᵀ / (cᵀ k c) and the clamped-end forces f to
f - (k c)(cᵀ f) / (cᵀ k c). A zero pivot cᵀ k c means that the end moves freely along c already.
"""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import LooseError
from soapstone.frame.geometry import Geometry
from soapstone.frame.model import Frame

Floats = NDArray[np.float64]

# A pivot this far below the clamped member's own is rounding. Two axes meant to be parallel but written with
# six or more good digits differ by 1e-6, their pivot by the square of that.
_NOTHING_LEFT = 1e-11
# A load along a freedom that nothing resists, relative to the clamped-end forces it is the remainder of.
_UNLOADED = 1e-9


@dataclass(frozen=True, eq=False)
class Level:
    """The j-th release of every member that has so many; r of them.

    Attributes
    ----------
    members : (r,) int
    freedom : (r, 12) float
        c, in local axes at the true ends.
    deformation : (r, 6) float
        B c, the natural deformations it gives.
    pivot : (r,) float
        cᵀ k c; infinite where nothing was left to release.
    grip : (r, 6) float
        D B c / pivot.
    """

    members: NDArray[np.int64]
    freedom: Floats
    deformation: Floats
    pivot: Floats
    grip: Floats


def freedoms(frame: Frame, geometry: Geometry) -> list[tuple[NDArray[np.int64], Floats]]:
    """Releases sorted into levels: members (r,) and local directions (r, 12) of each."""
    levels: dict[int, list[tuple[int, Floats]]] = defaultdict(list)
    taken: dict[int, int] = defaultdict(int)
    for release in frame.releases:
        first = 6 * release.end + (3 if release.kind == "rotation" else 0)
        freedom = np.zeros(12)
        freedom[first : first + 3] = geometry.axes[release.member] @ release.axis
        levels[taken[release.member]].append((release.member, freedom))
        taken[release.member] += 1
    return [(np.array([m for m, _ in rows]), np.array([c for _, c in rows])) for rows in levels.values()]


def condense(frame: Frame, geometry: Geometry, diagonal: Floats, local: Floats) -> tuple[Floats, list[Level]]:
    """Natural stiffness (m, 6, 6) with the releases taken out, and how they were.

    Parameters
    ----------
    diagonal : (m, 6) float
        Of the clamped members.
    local : (m, 6, 12) float
        Local compatibility.
    """
    stiffness = np.zeros((*diagonal.shape, 6))
    stiffness[:, range(6), range(6)] = diagonal
    levels = []
    for members, freedom in freedoms(frame, geometry):
        deformation = np.einsum("rij,rj->ri", local[members], freedom)
        force = np.einsum("rij,rj->ri", stiffness[members], deformation)
        pivot = np.einsum("ri,ri->r", deformation, force)
        clamped = np.einsum("ri,ri,ri->r", deformation, diagonal[members], deformation)
        pivot = np.where(pivot > _NOTHING_LEFT * clamped, pivot, np.inf)
        grip = force / pivot[:, None]
        stiffness[members] -= np.einsum("ri,rj->rij", grip, force)
        levels.append(Level(members, freedom, deformation, pivot, grip))
    return stiffness, levels


def condense_forces(
    frame: Frame, clamped: Floats, local: Floats, levels: list[Level]
) -> tuple[Floats, list[Floats]]:
    """Clamped-end forces (m, 12, c) with the releases taken out, and cᵀ f (r, c) before each level of them.

    Raises
    ------
    LooseError
        A member is loaded along a freedom that it has at both ends.
    """
    forces, along = clamped.copy() if levels else clamped, []
    for level in levels:
        along.append(np.einsum("ri,ric->rc", level.freedom, forces[level.members]))
        _refuse_loose_members(frame, level, along[-1], clamped)
        hold = np.einsum("rij,ri->rj", local[level.members], level.grip)
        forces[level.members] -= hold[:, :, None] * along[-1][:, None, :]
    return forces, along


def _refuse_loose_members(frame: Frame, level: Level, along: Floats, clamped: Floats) -> None:
    scale = np.abs(clamped[level.members]).max(axis=(1, 2), initial=0.0)
    loose = np.isinf(level.pivot) & (np.abs(along).max(axis=1, initial=0.0) > _UNLOADED * scale)
    if not loose.any():
        return
    row = int(loose.argmax())
    name = frame.member_names[int(level.members[row])]
    along_axis = max(abs(level.freedom[row, 0]), abs(level.freedom[row, 6])) > 0.5
    motion = "slide along its own axis" if along_axis else "move across its own axis"
    raise LooseError(f"{name} can {motion}: its ends are free that way", remedy="make one of its ends fast")


def slip(natural: Floats, levels: list[Level], along: list[Floats]) -> Floats:
    """How far each released end has moved against its node.

    Parameters
    ----------
    natural : (m, 6, c) float
        Natural deformations that the nodes impose.
    levels, along
        From `condense` and `condense_forces`.

    Returns
    -------
    (m, 12, c) float, m, rad
        Slip in local axes, to be added to the movement of the rigid arm's tip.
    """
    natural = natural.copy()
    slips = np.zeros((natural.shape[0], 12, natural.shape[2]))
    for level, force in zip(reversed(levels), reversed(along), strict=True):
        rows = level.members
        amount = -np.einsum("ri,ric->rc", level.grip, natural[rows]) - force / level.pivot[:, None]
        slips[rows] += level.freedom[:, :, None] * amount[:, None, :]
        natural[rows] += level.deformation[:, :, None] * amount[:, None, :]
    return slips


def true_ends(local: Floats, levels: list[Level]) -> Floats:
    """Movements of the true ends from those of the arms' tips, released ends following; (m, 12, 12)."""
    ends = np.broadcast_to(np.eye(12), (len(local), 12, 12))
    if not levels:
        return ends
    still = [np.zeros((len(level.members), 12)) for level in levels]
    return ends + slip(local, levels, still)
