"""Bent sheet: what a bend takes of the flat, the flat pattern with its bend lines, the order of folding.

Angles are those that the sheet is turned by: 0 flat, 90° for a square corner.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError

_DIN_FLAT = math.radians(15.0)
"""DIN 6935 takes nothing off for an opening angle over 165°."""


def bend_allowance(radius: float, thickness: float, angle: float, k: float) -> float:
    """Length m of the neutral line in a bend: angle (R + K t).

    Parameters
    ----------
    radius : float
        m, inside.
    thickness : float
        m.
    angle : float
        rad that the sheet is turned by.
    k : float
        K-factor: depth of the neutral line over thickness, from the inside.
    """
    _check(radius, thickness, angle)
    if not 0.0 <= k <= 0.5:
        raise GeometryError(f"a K-factor of {k:g} is not between 0 and 0.5")
    return angle * (radius + k * thickness)


def bend_deduction(radius: float, thickness: float, angle: float, k: float) -> float:
    """What two outside lengths, measured to their sharp corner, are longer than the flat, m.

    2 (R + t) tan(angle / 2) less the allowance; past 90° the outside is measured to its tangent, as
    DIN 6935 does, and the first term is 2 (R + t).
    """
    return 2.0 * setback(radius, thickness, angle) - bend_allowance(radius, thickness, angle, k)


def setback(radius: float, thickness: float, angle: float) -> float:
    """From a bend's line to the outside corner (past 90° to the outside tangent), m."""
    outside = radius + thickness
    return outside * math.tan(angle / 2.0) if angle <= math.pi / 2.0 else outside


def din_factor(radius: float, thickness: float) -> float:
    """k of DIN 6935: 0.65 + 0.5 log10(r / s), 1 where r / s exceeds 5. Half of it is the K-factor."""
    if not (radius > 0.0 and thickness > 0.0):
        raise GeometryError("DIN 6935 needs an inside radius and a thickness of more than nothing")
    ratio = radius / thickness
    return 1.0 if ratio > 5.0 else max(0.0, 0.65 + 0.5 * math.log10(ratio))


def din_deduction(radius: float, thickness: float, angle: float, k: float | None = None) -> float:
    """The compensation v of DIN 6935, m: flat = a + b − v, a and b outside.

    Over an opening angle of 165° v is 0. Source: DIN 6935, in the reading of a worked example in
    Tabellenbuch Metall (Europa-Lehrmittel).
    """
    _check(radius, thickness, angle)
    if angle < _DIN_FLAT:
        return 0.0
    factor = din_factor(radius, thickness) if k is None else k
    return 2.0 * setback(radius, thickness, angle) - angle * (radius + thickness * factor / 2.0)


HANDBOOK_K = {"soft": 0.55 / (math.pi / 2), "half-hard": 0.64 / (math.pi / 2), "hard": 0.71 / (math.pi / 2)}
"""K-factors by temper: L = 0.55 t + 1.57 R and its like for 90°, Machinery's Handbook (from memory)."""


def shop_rule_allowance(radius: float, thickness: float, angle: float) -> float:
    """(0.017453 R + 0.0078 t) for every degree, m: a sheet-metal workbook's rule."""
    _check(radius, thickness, angle)
    return math.degrees(angle) * (0.017453 * radius + 0.0078 * thickness)


def _check(radius: float, thickness: float, angle: float) -> None:
    if not (radius >= 0.0 and thickness > 0.0 and 0.0 <= angle <= math.pi):
        raise GeometryError("a bend needs a thickness, a radius and an angle from 0 to half a turn")


@dataclass(frozen=True)
class Fold:
    """One bend of a strip.

    Attributes
    ----------
    angle : float
        rad; positive folds up, negative down.
    radius : float
        m, inside.
    """

    angle: float
    radius: float


@dataclass(frozen=True)
class Flat:
    """A strip laid flat, lengths m along it from its edge.

    Attributes
    ----------
    length : float
    lines : tuple of float
        Middle of each bend: where the press strikes.
    zones : tuple of (float, float)
        From where to where the sheet turns round.
    flanges : tuple of float
        Flat lengths between the bends.
    """

    length: float
    lines: tuple[float, ...]
    zones: tuple[tuple[float, float], ...]
    flanges: tuple[float, ...]


def flat_strip(
    name: str, outside: Sequence[float], folds: Sequence[Fold], thickness: float, k: float | None
) -> Flat:
    """Lay a folded strip flat.

    Parameters
    ----------
    outside : sequence of float
        m, one more than folds: each leg measured over the outside, to the sharp corner (past 90° to the
        outside tangent).
    folds : sequence of Fold
    thickness : float
        m.
    k : float or None
        K-factor; None takes DIN 6935.

    Raises
    ------
    GeometryError
        A leg is shorter than its own bends take.
    """
    if len(outside) != len(folds) + 1:
        raise GeometryError("a strip has one leg more than it has folds", where=name)
    backs = [setback(fold.radius, thickness, abs(fold.angle)) for fold in folds]
    allowances = [_allowance(fold, thickness, k) for fold in folds]
    flats: list[float] = []
    for row, leg in enumerate(outside):
        flat = leg - (backs[row - 1] if row else 0.0) - (backs[row] if row < len(folds) else 0.0)
        if flat < -1e-9:
            raise GeometryError(
                f"its leg {row + 1} of {1e3 * leg:.1f} mm is {-1e3 * flat:.1f} mm too short for its bends",
                where=name,
                remedy="take a longer leg or a tighter radius",
            )
        flats.append(max(flat, 0.0))
    zones: list[tuple[float, float]] = []
    here = 0.0
    for flat, allowance in zip(flats, allowances, strict=False):
        zones.append((here + flat, here + flat + allowance))
        here += flat + allowance
    lines = tuple((low + high) / 2.0 for low, high in zones)
    return Flat(here + flats[-1], lines, tuple(zones), tuple(flats))


def _allowance(fold: Fold, thickness: float, k: float | None) -> float:
    angle = abs(fold.angle)
    if k is not None:
        return bend_allowance(fold.radius, thickness, angle, k)
    return 2.0 * setback(fold.radius, thickness, angle) - din_deduction(fold.radius, thickness, angle)


def folded_points(flat: Flat, folds: Sequence[Fold], thickness: float) -> NDArray[np.float64]:
    """Corners of the folded strip's upper face line seen from its side, (n, 2) m, flat legs exact.

    The line is the face that is up while flat; on it a fold up has the inside radius, a fold down the
    outside one. Used to draw the strip and to see whether a fold runs into what is folded already.
    """
    here, way = np.zeros(2), 0.0
    found = [here]
    for leg, fold in zip(flat.flanges, folds, strict=False):
        here = here + leg * np.array([math.cos(way), math.sin(way)])
        found.append(here)
        radius = fold.radius if fold.angle > 0 else fold.radius + thickness
        sense = math.copysign(1.0, fold.angle)
        side = sense * np.array([-math.sin(way), math.cos(way)])
        for turned in np.linspace(0.0, abs(fold.angle), 9)[1:]:
            along = np.array([math.cos(way), math.sin(way)])
            found.append(here + radius * (math.sin(turned) * along + (1.0 - math.cos(turned)) * side))
        here = found[-1]
        way += fold.angle
    found.append(here + flat.flanges[-1] * np.array([math.cos(way), math.sin(way)]))
    return np.array(found)


def fold_order(flat: Flat) -> tuple[int, ...]:
    """An order of folding, indices of the folds: the outer ones first, so that no leg is trapped.

    From the two ends inwards, always the shorter outer part next: the part that swings is the smaller one
    and the longer rests on the table. Common practice, no source.
    """
    order: list[int] = []
    left, right = 0, len(flat.lines) - 1
    while left <= right:
        if flat.lines[left] <= flat.length - flat.lines[right]:
            order.append(left)
            left += 1
        else:
            order.append(right)
            right -= 1
    return tuple(order)


@dataclass(frozen=True)
class Relief:
    """A cut at the end of a bend that does not run across the whole sheet: width and depth m."""

    width: float
    depth: float


def relief(radius: float, thickness: float) -> Relief:
    """A slot as wide as the sheet is thick and as deep as the bend and one thickness more.

    Common practice, no source.
    """
    return Relief(thickness, radius + 2.0 * thickness)
