"""Small curves on paper: one or more lines over a common axis, as strokes for a drawing."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_LEFT, _RIGHT, _LOW, _HIGH = 12.0, 3.0, 7.5, 5.0  # mm round the field, for figures and names
_STEPS = (1.0, 2.0, 5.0)
_MOST_TICKS = 7
_SIZE = 6.5  # points, of the figures


@dataclass(frozen=True, eq=False)
class Curve:
    """A line of a picture.

    Attributes
    ----------
    name : written at its end
    x, y : (n,) in the units of the axes
    stroke : of the sheets: thick, thin, dashed, …
    """

    name: str
    x: Array
    y: Array
    stroke: str = "thick"


def curves(
    lines: Sequence[Curve], across: str, up: str, size: tuple[float, float], limits: Sequence[float] = ()
) -> dict[str, Any]:
    """Plain data for `drawing` of the sheets.

    Parameters
    ----------
    lines : Sequence of Curve
    across, up : what the two axes say, with their units
    size : (width, height) mm
    limits : levels drawn as dashed lines over the whole width, where they lie within reach of the curves
    """
    width, height = size
    x_range = _range(np.concatenate([line.x for line in lines]))
    values = np.concatenate([line.y for line in lines])
    reach = max(float(np.ptp(values)), 1e-9)
    shown = [level for level in limits if values.min() - 2 * reach <= level <= values.max() + 2 * reach]
    y_range = _range(np.concatenate([values, shown]))

    def at(x: float, y: float) -> tuple[float, float]:
        return (
            _LEFT + (x - x_range[0]) / (x_range[1] - x_range[0]) * (width - _LEFT - _RIGHT),
            _LOW + (y - y_range[0]) / (y_range[1] - y_range[0]) * (height - _LOW - _HIGH),
        )

    strokes: list[dict[str, Any]] = []
    labels: list[dict[str, Any]] = []
    for tick in ticks(*x_range):
        strokes.append(_stroke("grey", [at(tick, y_range[0]), at(tick, y_range[1])]))
        labels.append(_label(*at(tick, y_range[0]), _figure(tick), "center-top", dy=-0.8))
    for tick in ticks(*y_range):
        strokes.append(_stroke("grey", [at(x_range[0], tick), at(x_range[1], tick)]))
        labels.append(_label(*at(x_range[0], tick), _figure(tick), "right-horizon", dx=-0.8))
    strokes += [_stroke("dashed", [at(x_range[0], level), at(x_range[1], level)]) for level in shown]
    for line in lines:
        strokes.append(_stroke(line.stroke, [at(*one) for one in zip(line.x, line.y, strict=True)]))
    labels += _names(lines, at)
    labels.append(_label(width - _RIGHT, 0.0, across, "right-bottom"))
    labels.append(_label(0.0, height, up, "left-top"))
    return {"width": width, "height": height, "lines": strokes, "labels": labels}


def _names(lines: Sequence[Curve], at: Any) -> Iterator[dict[str, Any]]:
    """The name of each line above its highest place, a little off the rim."""
    for line in lines:
        if line.name:
            inner = slice(len(line.y) // 8, len(line.y) - len(line.y) // 8)
            top = int(line.y[inner].argmax()) + (inner.start or 0)
            x, y = at(float(line.x[top]), float(line.y[top]))
            yield _label(x, y, line.name, "center-bottom", dy=0.8)


def _range(values: Array) -> tuple[float, float]:
    low, high = float(values.min()), float(values.max())
    room = 0.06 * (high - low) if high > low else max(abs(high), 1.0) * 0.1
    return low - room, high + room


def ticks(low: float, high: float) -> list[float]:
    """Round values between two, no more than seven."""
    power = 10.0 ** math.floor(math.log10((high - low) / _MOST_TICKS))
    every = next(
        step * power * ten
        for ten in (1.0, 10.0, 100.0)
        for step in _STEPS
        if (high - low) / (step * power * ten) <= _MOST_TICKS
    )
    return [every * number for number in range(math.ceil(low / every), math.floor(high / every) + 1)]


def _figure(value: float) -> str:
    return f"{round(value, 6) + 0.0:g}".replace("-", "−")


def _stroke(kind: str, points: Sequence[tuple[float, float]]) -> dict[str, Any]:
    return {"stroke": kind, "points": [[float(x), float(y)] for x, y in points]}


def _label(x: float, y: float, text: str, anchor: str, *, dx: float = 0.0, dy: float = 0.0) -> dict[str, Any]:
    return {"x": x + dx, "y": y + dy, "text": text, "anchor": anchor, "size": _SIZE}
