"""The largest value round a tube of what bending and shear make there: a trigonometric sum of order two."""

import numpy as np

from soapstone.strength.shapes import Array

_SAMPLES = 48
_NEWTON_STEPS = 6


def square(level: Array, cosine: Array, sine: Array) -> Array:
    """Coefficients of (level + cosine·cos θ + sine·sin θ)² over 1, cos θ, sin θ, cos 2θ, sin 2θ.

    Returns
    -------
    Array
        (..., 5) for inputs of shape (...).
    """
    return np.stack(
        [
            level**2 + (cosine**2 + sine**2) / 2,
            2 * level * cosine,
            2 * level * sine,
            (cosine**2 - sine**2) / 2,
            cosine * sine,
        ],
        axis=-1,
    )


def largest(coefficients: Array) -> tuple[Array, Array]:
    """Greatest value over θ, and the θ (rad, 0 to 2π) where it stands.

    Parameters
    ----------
    coefficients : Array
        (..., 5) of 1, cos θ, sin θ, cos 2θ, sin 2θ.

    Returns
    -------
    value, angle : Array
        Shape (...). Such a sum has at most two peaks; both are sought from the samples and sharpened by
        Newton steps.
    """
    grid: Array = np.arange(_SAMPLES, dtype=np.float64) * (2 * np.pi / _SAMPLES)
    samples: Array = np.matmul(coefficients, _basis(grid).T)
    peak = (samples >= np.roll(samples, 1, axis=-1)) & (samples >= np.roll(samples, -1, axis=-1))
    ranked = np.where(peak, samples, -np.inf)
    first = np.argmax(ranked, axis=-1)
    np.put_along_axis(ranked, first[..., None], -np.inf, axis=-1)
    second = np.argmax(ranked, axis=-1)
    angles = np.stack([_sharpen(coefficients, grid[first]), _sharpen(coefficients, grid[second])])
    values = np.stack([_value(coefficients, angle) for angle in angles])
    best = np.argmax(values, axis=0)[None]
    return np.take_along_axis(values, best, 0)[0], np.take_along_axis(angles, best, 0)[0] % (2 * np.pi)


def _basis(angle: Array) -> Array:
    return np.stack(
        [np.ones_like(angle), np.cos(angle), np.sin(angle), np.cos(2 * angle), np.sin(2 * angle)], axis=-1
    )


def _value(coefficients: Array, angle: Array) -> Array:
    value: Array = np.sum(coefficients * _basis(angle), axis=-1)
    return value


def _sharpen(coefficients: Array, angle: Array) -> Array:
    """Newton on the slope, kept within half a sample of the start; never leaves for a lower value."""
    _, c1, s1, c2, s2 = np.moveaxis(coefficients, -1, 0)
    half, start = np.pi / _SAMPLES, angle
    for _ in range(_NEWTON_STEPS):
        slope = (
            -c1 * np.sin(angle) + s1 * np.cos(angle) + 2 * (s2 * np.cos(2 * angle) - c2 * np.sin(2 * angle))
        )
        bend = (
            -c1 * np.cos(angle) - s1 * np.sin(angle) - 4 * (c2 * np.cos(2 * angle) + s2 * np.sin(2 * angle))
        )
        falling = bend < 0
        step = np.where(falling, -slope / np.where(falling, bend, -1.0), 0.0)
        angle = np.clip(angle + step, start - half, start + half)
    return np.where(_value(coefficients, angle) >= _value(coefficients, start), angle, start)
