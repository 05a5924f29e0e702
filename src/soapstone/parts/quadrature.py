"""What is left of a tube between two cuts: volume and centre, integrated over its section."""

import math

import numpy as np

from soapstone.parts.outline import Stations
from soapstone.parts.profile import Array, Profile

_RADIAL = 12
_AROUND = 32  # Gauss points to each flat and corner


def between(outer: Profile, bore: Profile, lower: Stations, upper: Stations) -> tuple[float, Array]:
    """Volume and centroid of the wall between two cuts.

    Integrates over the outside outline and takes the bore away. Exact to rounding for plane cuts;
    where a cut pinches on a silhouette (two round tubes of one size) the wall's share of the cope is
    still good to some 1e-4 of itself.

    Returns
    -------
    volume : float
        m³.
    centroid : (3,) m
        In the tube's axes.
    """
    whole, gone = _moments(outer, lower, upper), _moments(bore, lower, upper)
    moments = whole - gone
    return float(moments[0]), moments[1:] / moments[0]


def _moments(profile: Profile, lower: Stations, upper: Stations) -> Array:
    """∫dV, ∫x dV, ∫y dV, ∫z dV, (4,)."""
    points, weights = area_points(profile)
    low, high = lower(points), upper(points)
    return np.array(
        [
            weights @ (high - low),
            weights @ (high**2 - low**2) / 2,
            weights @ ((high - low) * points[:, 0]),
            weights @ ((high - low) * points[:, 1]),
        ]
    )


def area_points(profile: Profile) -> tuple[Array, Array]:
    """Integration points (n, 2) m and weights (n,) m² over the inside of an outline.

    The outline, shrunk towards the axis by λ, sweeps the area: dA = λ dλ · (p·normal) ds.
    """
    place, weight = np.polynomial.legendre.leggauss(_AROUND)
    radial, radial_weight = np.polynomial.legendre.leggauss(_RADIAL)
    shrink, shrink_weight = (radial + 1) / 2, radial_weight / 2
    knots = profile.knots()
    starts, spans = knots[:-1], np.diff(knots)
    abscissa = (starts[:, None] + spans[:, None] * (place + 1) / 2).ravel()
    length = (spans[:, None] * weight / 2).ravel()
    edge = profile.generators(abscissa, 0.0)
    # stretches alternate flat and corner; a corner's normal turns by a quarter, a flat's stands still
    turn = np.arange(9)[:, None] * math.pi / 4 + (np.arange(9) % 2)[:, None] * math.pi / 4 * place
    reach = edge[:, 0] * np.cos(turn.ravel()) + edge[:, 1] * np.sin(turn.ravel())
    points = (shrink[:, None, None] * edge[None, :, :]).reshape(-1, 2)
    weights = ((shrink * shrink_weight)[:, None] * (reach * length)[None, :]).ravel()
    return points, weights
