"""The weld round a coped end as it really runs: the line where the two outsides meet, piece by piece.

Along it the angle between the two faces changes, and with it the throat that a fillet of one leg has.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.parts.axes import Axes
from soapstone.parts.bent import BentTube
from soapstone.parts.ends import TubePart
from soapstone.parts.outline import Outline
from soapstone.parts.profile import Profile
from soapstone.strength.shapes import Array

SHARPEST = math.radians(60.0)  # AWS D1.1, from memory: below it a fillet is not taken to reach its root
LOST_SHARE = 0.25  # of the length, own rule: a round tube on a flat loses so much at about 36°


@dataclass(frozen=True, eq=False)
class Seam:
    """A weld line cut into short straight pieces, in the tube's own axes (x along it, y its clocking line).

    Attributes
    ----------
    points : (n, 3) m
        Middles of the pieces.
    lengths : (n,) m
    openings : (n,) rad
        Angle between the two outside faces, in the air: 90° for a tube square on a flat.
    """

    points: Array
    lengths: Array
    openings: Array

    @property
    def length(self) -> float:
        """Once round, m."""
        return float(self.lengths.sum())

    @property
    def fused(self) -> NDArray[np.bool_]:
        """(n,) whether a fillet reaches the root there."""
        reached: NDArray[np.bool_] = self.openings >= SHARPEST - 1e-9
        return reached

    @property
    def lost_share(self) -> float:
        """Share of the length where it does not."""
        return float(self.lengths[~self.fused].sum() / self.length)

    def throats(self, leg: float) -> Array:
        """Throat (n,) m of a fillet with both legs `leg` m: w cos(ψ/2), nothing where it is not fused."""
        throat: Array = np.where(self.fused, leg * np.cos(self.openings / 2), 0.0)
        return throat


@dataclass(frozen=True, eq=False)
class ThroatArea:
    """The throats of a seam as one area.

    Attributes
    ----------
    area : float
        m².
    centre : (3,) m
    second : (3, 3) m⁴
        ∫(ρ² 1 − ρρᵀ) dA about the centre.
    """

    area: float
    centre: Array
    second: Array


def seam_of(part: TubePart, outline: Outline, through: Profile, host: Axes) -> Seam:
    """The line where the outside of `part` meets the outside `through` of its host.

    Parameters
    ----------
    part : TubePart
    outline : Outline
        Of the end in question.
    through : Profile
        The host's outside, along the x of `host`.
    """

    def normals(points: Array) -> Array:
        found: Array = _normals(through, host.to_local(points)[:, 1:]) @ np.array([host.y, host.z])
        return found

    return _seam(part, outline, normals)


def seam_on_bend(part: TubePart, outline: Outline, host: BentTube) -> Seam:
    """The same on the outside of a bent tube, whose normals point away from its centre line."""

    def normals(points: Array) -> Array:
        away = points - np.array([host.nearest(point)[0] for point in points])
        found: Array = away / np.linalg.norm(away, axis=1)[:, None]
        return found

    return _seam(part, outline, normals)


def _seam(part: TubePart, outline: Outline, normals: Callable[[Array], Array]) -> Seam:
    """The line as pieces; `normals` gives the host's outward unit normals at points in the vehicle."""
    flat = part.shape.outline.generators(outline.abscissa, 0.0)
    rows = np.column_stack((outline.outer, flat))
    steps, points = np.diff(rows, axis=0), (rows[1:] + rows[:-1]) / 2
    turn = np.diff(flat, axis=0)
    mine = np.column_stack((np.zeros(len(turn)), turn[:, 1], -turn[:, 0]))
    mine /= np.linalg.norm(mine, axis=1)[:, None]
    theirs = normals(part.axes.to_world(points)) @ part.axes.rotation.T
    cosine = np.clip(-(mine * theirs).sum(axis=1), -1.0, 1.0)
    return Seam(points, np.linalg.norm(steps, axis=1), np.arccos(cosine))


def _normals(profile: Profile, points: Array) -> Array:
    """Outward unit normals (n, 2) at points (n, 2) m on or very near the outline."""
    over = np.abs(points) - np.array([profile.core_y, profile.core_z])
    beyond = np.maximum(over, 0.0)
    inside = beyond.max(axis=1) <= 0.0
    beyond[inside] = over[inside] >= over[inside].max(axis=1, keepdims=True)
    normals: Array = np.sign(points) * beyond
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    return normals


def throat_area(seam: Seam, leg: float) -> ThroatArea:
    """Area, centre and second moments of the throats; the unfused part counts as no weld."""
    pieces = seam.throats(leg) * seam.lengths
    area = float(pieces.sum())
    centre = pieces @ seam.points / area
    arm = seam.points - centre
    square = (arm**2).sum(axis=1)
    second = np.einsum(
        "n,nij->ij", pieces, square[:, None, None] * np.eye(3) - arm[:, :, None] * arm[:, None]
    )
    return ThroatArea(area, centre, second)


def turning(throats: ThroatArea, forces: Array, at: Array) -> tuple[Array, Array]:
    """Moments about the throats' centre (n, 3) N·m, and the vector that turns them into stress (n, 3) Pa/m.

    Parameters
    ----------
    forces : (n, 6) N, N·m
        [N, Vy, Vz, T, My, Mz] that act at the point `at` (3,) m, tube axes.
    """
    moments = np.asarray(forces[:, 3:] + np.cross(at - throats.centre, forces[:, :3]), dtype=np.float64)
    turn = np.asarray(np.linalg.solve(throats.second, moments.T).T, dtype=np.float64)
    return moments, turn


def throat_stress(seam: Seam, throats: ThroatArea, forces: Array, at: Array) -> Array:
    """Size (n_cases, n) Pa of the stress on every piece's throat: the elastic vector method, in space.

    The two parts are taken as stiff against the weld: it stretches as they move against each other.
    """
    _, turn = turning(throats, forces, at)
    arm = seam.points - throats.centre
    stress = forces[:, None, :3] / throats.area + np.cross(turn[:, None, :], arm[None])
    size: Array = np.sqrt((stress**2).sum(axis=2))
    return np.where(seam.fused, size, 0.0)
