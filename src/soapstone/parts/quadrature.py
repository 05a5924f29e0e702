"""What is left of a tube between two cuts: volume and centre, integrated over its section."""

import math

import numpy as np

from soapstone.parts.outline import Stations
from soapstone.parts.profile import Array, Profile

_RADIAL = 12
_AROUND = 32  # Gauss points to each flat and corner
_PLACE, _WEIGHT = np.polynomial.legendre.leggauss(_AROUND)
_DEEP, _DEEP_WEIGHT = np.polynomial.legendre.leggauss(4)  # a cut is smooth through the wall
_SHRINK, _SHRINK_WEIGHT = np.polynomial.legendre.leggauss(_RADIAL)


def between(outer: Profile, bore: Profile, lower: Stations, upper: Stations) -> tuple[float, Array]:
    """Volume and centroid of the wall between two cuts.

    Integrates over the wall's depth behind the outline; where the corners are sharper than the wall is thick,
    over the whole outline less the bore. Exact to rounding for plane cuts; where a cut pinches on a
    silhouette (two round tubes of one size) the cope's share is still good to some 1e-4 of itself.

    Returns
    -------
    volume : float
        m³.
    centroid : (3,) m
        In the tube's axes.
    """
    wall = outer.half_y - bore.half_y
    if wall <= outer.radius:
        moments = _moments(*_wall_points(outer, wall), lower, upper)
    else:
        moments = _moments(*area_points(outer), lower, upper) - _moments(*area_points(bore), lower, upper)
    return float(moments[0]), moments[1:] / moments[0]


def _moments(points: Array, weights: Array, lower: Stations, upper: Stations) -> Array:
    """∫dV, ∫x dV, ∫y dV, ∫z dV, (4,)."""
    low, high = lower(points), upper(points)
    return np.array(
        [
            weights @ (high - low),
            weights @ (high**2 - low**2) / 2,
            weights @ ((high - low) * points[:, 0]),
            weights @ ((high - low) * points[:, 1]),
        ]
    )


def _stretches(profile: Profile) -> tuple[Array, Array, Array]:
    """Abscissae (n,) m of Gauss points along the outline, their lengths, and which lie on a corner."""
    knots = profile.knots()
    spans = np.diff(knots)
    real = np.flatnonzero(spans > 0.0)
    starts, spans = knots[real], spans[real]
    abscissa = (starts[:, None] + spans[:, None] * (_PLACE + 1) / 2).ravel()
    return abscissa, (spans[:, None] * _WEIGHT / 2).ravel(), np.repeat(real, _AROUND)


def _wall_points(profile: Profile, wall: float) -> tuple[Array, Array]:
    """Integration points (n, 2) m and weights (n,) m² over a wall no thicker than the corners are round."""
    abscissa, length, stretch = _stretches(profile)
    depths, share = wall * (_DEEP + 1) / 2, wall * _DEEP_WEIGHT / 2
    points = np.concatenate([profile.generators(abscissa, depth) for depth in depths])
    narrower = np.where(stretch % 2 == 1, 1.0 - depths[:, None] / profile.radius, 1.0)
    return points, (share[:, None] * narrower * length).ravel()


def area_points(profile: Profile) -> tuple[Array, Array]:
    """Integration points (n, 2) m and weights (n,) m² over the inside of an outline.

    The outline, shrunk towards the axis by λ, sweeps the area: dA = λ dλ · (p·normal) ds.
    """
    abscissa, length, stretch = _stretches(profile)
    edge = profile.generators(abscissa, 0.0)
    # stretches alternate flat and corner; a corner's normal turns by a quarter, a flat's stands still
    place = np.tile(_PLACE, len(stretch) // _AROUND)
    turn = (stretch + stretch % 2 * place) * math.pi / 4
    reach = edge[:, 0] * np.cos(turn) + edge[:, 1] * np.sin(turn)
    shrink = (_SHRINK + 1) / 2
    points = (shrink[:, None, None] * edge[None, :, :]).reshape(-1, 2)
    weights = ((shrink * _SHRINK_WEIGHT / 2)[:, None] * (reach * length)[None, :]).ravel()
    return points, weights
