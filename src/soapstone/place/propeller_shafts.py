"""Propeller shafts with universal joints: angles, unevenness, phasing, and the whip of the tube.

Theory letters: β joint angle, ω speed in rad/s, θ turn of the driving yoke; at θ = 0 its arms stand in the
plane of both shafts and the driven shaft is at its fastest.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.errors import GeometryError

Array = NDArray[np.float64]

_SAMPLES = 360  # of one turn; harmonics of joints up to 60 deg die out well before the half of it
_DRAWN = 14400


def compound_angle(side: float, plan: float) -> float:
    """Joint angle from the angle seen from the side and the one seen from above, rad.

    `atan sqrt(tan² side + tan² plan)`: both are measured against the same straight line.
    """
    return float(np.arctan(np.hypot(np.tan(side), np.tan(plan))))


def speed_ratio(beta: float, theta: ArrayLike) -> Array:
    """Speed of the driven shaft per speed of the driving one: `cos β / (1 - sin² β cos² θ)`."""
    ratio: Array = np.asarray(np.cos(beta) / (1.0 - np.sin(beta) ** 2 * np.cos(theta) ** 2))
    return ratio


def unevenness(beta: float) -> float:
    """Greatest minus least speed of the driven shaft, per mean speed: `1 / cos β - cos β = tan β sin β`."""
    return float(np.tan(beta) * np.sin(beta))


def residual_for(spread: float) -> float:
    """Angle rad of a single joint that has a given unevenness; turns `unevenness` round."""
    return float(np.arccos((-spread + np.sqrt(spread**2 + 4.0)) / 2.0))


def greatest_lag(beta: float) -> float:
    """Greatest lead or lag of the driven shaft, rad: `atan((1 - cos β) / (2 sqrt(cos β)))`."""
    return float(np.arctan((1.0 - np.cos(beta)) / (2.0 * np.sqrt(np.cos(beta)))))


def equal_speed_turn(beta: float) -> float:
    """Turn θ rad at which both shafts have the same speed: `cos θ = 1 / sqrt(1 + cos β)`."""
    return float(np.arccos(1.0 / np.sqrt(1.0 + np.cos(beta))))


def acceleration(beta: float, theta: ArrayLike, omega: float) -> Array:
    """Angular acceleration of the driven shaft, rad/s², the driving one running evenly.

    `-ω² cos β sin² β sin 2θ / (1 - sin² β cos² θ)²`.
    """
    sine2 = np.sin(beta) ** 2
    below = (1.0 - sine2 * np.cos(theta) ** 2) ** 2
    value: Array = np.asarray(-(omega**2) * np.cos(beta) * sine2 * np.sin(2.0 * np.asarray(theta)) / below)
    return value


def peak_acceleration(beta: float, omega: float) -> tuple[float, float]:
    """Turn θ rad and size rad/s² of the greatest acceleration; exact.

    From the derivative of `acceleration`: with c = cos 2θ and q = sin² β, `q c² + (2 - q) c - 2 q = 0`.
    """
    q = float(np.sin(beta) ** 2)
    if q == 0.0:
        return np.pi / 4, 0.0
    cosine = (-(2.0 - q) + np.sqrt((2.0 - q) ** 2 + 8.0 * q**2)) / (2.0 * q)
    theta = float(np.arccos(cosine)) / 2.0
    return theta, float(abs(acceleration(beta, theta, omega)))


@dataclass(frozen=True, eq=False)
class Line:
    """Shafts in a row with a universal joint between each and the next.

    Attributes
    ----------
    directions : (n, 3)
        Of the shafts, along the flow of power, n - 1 joints.
    phases : (n - 2,) rad
        For each shaft between two joints: how far its far yoke is turned from its near yoke, right-handed
        about the shaft; 0 is "in phase", the usual way.
    """

    directions: Array
    phases: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.phases) != max(len(self.directions) - 2, 0):
            raise GeometryError("each shaft between two joints needs one phase")

    @property
    def angles(self) -> Array:
        """(n - 1,) rad."""
        first, second = self.directions[:-1], self.directions[1:]
        square = np.linalg.norm(np.cross(first, second), axis=1)
        angle: Array = np.arctan2(square, np.sum(first * second, axis=1))
        return angle


def turned_through(line: Line, turn: Array) -> Array:
    """Turn (n,) rad of the last shaft for turns (n,) of the first, unwrapped; exact geometry of the crosses.

    Each cross keeps the driven yoke's arms square to the driving yoke's arms and to the driven shaft.
    """
    out = np.asarray(turn, float)
    arm = _square(line.directions[0], line.directions[1])
    yokes = _about(arm, line.directions[0], out)
    for joint in range(len(line.directions) - 1):
        driven = line.directions[joint + 1] / np.linalg.norm(line.directions[joint + 1])
        arms = np.cross(driven, yokes)
        arms = arms / np.linalg.norm(arms, axis=1, keepdims=True)
        first = arms[0]
        other = np.cross(driven, first)
        out = np.unwrap(np.arctan2(arms @ other, arms @ first))
        if joint + 2 < len(line.directions):
            yokes = _about_each(arms, driven, line.phases[joint])
    return out


def residual_unevenness(line: Line) -> float:
    """Greatest minus least speed of the last shaft per mean speed, the first running evenly; exact geometry.

    The turn is sampled over one revolution, differentiated as a Fourier sum and drawn finely enough that its
    peaks are read to a ten-millionth.
    """
    turn: Array = np.arange(_SAMPLES, dtype=float) * (2.0 * np.pi / _SAMPLES)
    wave = turned_through(line, turn) - turn
    order = np.fft.rfftfreq(_SAMPLES, 1.0 / _SAMPLES)
    order[-1] = 0.0
    spectrum = 1j * order * np.fft.rfft(wave - wave.mean())
    speed = np.fft.irfft(spectrum, _DRAWN) * (_DRAWN / _SAMPLES)
    return float(speed.max() - speed.min())


def residual_angle(line: Line) -> float:
    """Angle rad of one joint that would turn as unevenly as the whole line, for small angles.

    Each joint counts as a vector of length β² at twice the turn of its driving yoke from the plane of its
    two shafts; a yoke carried on by the shaft meets the next joint a quarter turn on. Both joints of a shaft
    in one plane and in phase leave `sqrt(|β₁² - β₂²|)` (SAE universal-joint manual AE-7, from memory).
    """
    total, at = 0.0 + 0.0j, 0.0
    for joint, angle in enumerate(line.angles):
        if joint:
            square_before = _square(line.directions[joint - 1], line.directions[joint])
            square_here = _square(line.directions[joint], line.directions[joint + 1])
            at += (
                np.pi / 2
                + line.phases[joint - 1]
                - _signed(square_before, square_here, line.directions[joint])
            )
        total += angle**2 * np.exp(2j * at)
    return float(np.sqrt(abs(total)))


def _square(driving: Array, driven: Array) -> Array:
    """Unit vector square to both shafts, or to the first where they run straight on."""
    normal = np.cross(driving, driven)
    length = float(np.linalg.norm(normal))
    if length > 1e-12 * float(np.linalg.norm(driving) * np.linalg.norm(driven)):
        unit: Array = normal / length
        return unit
    least = np.cross(driving, np.eye(3)[int(np.abs(driving).argmin())])
    fallback: Array = least / np.linalg.norm(least)
    return fallback


def _signed(start: Array, end: Array, axis: Array) -> float:
    axis = axis / np.linalg.norm(axis)
    return float(np.arctan2(np.cross(start, end) @ axis, start @ end))


def _about(vector: Array, axis: Array, turns: Array) -> Array:
    """(n, 3): a vector square to an axis, turned about it."""
    axis = axis / np.linalg.norm(axis)
    turned: Array = np.cos(turns)[:, None] * vector + np.sin(turns)[:, None] * np.cross(axis, vector)
    return turned


def _about_each(vectors: Array, axis: Array, turn: float) -> Array:
    turned: Array = np.cos(turn) * vectors + np.sin(turn) * np.cross(axis, vectors)
    return turned


def critical_speed(*, length: float, outer: float, inner: float, modulus: float, density: float) -> float:
    """Speed rad/s at which a round tube between two joints whips, both ends simply supported.

    `(π / L)² sqrt(E I / (ρ A))`, the first bending frequency of a plain uniform beam (Rayleigh); with
    `sqrt(I / A) = sqrt(D² + d²) / 4`. Yokes, slip and balance weights only lower it.

    Parameters
    ----------
    length, outer, inner : m, between joint centres; diameters
    modulus, density : Pa, kg/m³
    """
    if not 0.0 <= inner < outer or length <= 0.0:
        raise GeometryError("a shaft's tube needs a length, and an outer diameter above the inner")
    gyration = np.sqrt(outer**2 + inner**2) / 4.0
    return float((np.pi / length) ** 2 * gyration * np.sqrt(modulus / density))
