"""From the job's stock to a bar, turned the way its member wants it."""

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.job.hardware import Stock
from soapstone.parts.bars import Bar, angle, channel, flat_bar

Array = NDArray[np.float64]

_WAYS = {
    "forward": (1.0, 0.0, 0.0),
    "aft": (-1.0, 0.0, 0.0),
    "left": (0.0, 1.0, 0.0),
    "right": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}
_TOLD = 0.2
"""Cosine from which a way says on which side of a bar something lies: within 78 degrees."""


def bar_of(stock: Stock) -> Bar:
    """The bar as it is drawn: heel or back at the lower left."""
    root = stock.root or 0.0
    if stock.flat is not None:
        return flat_bar(stock.flat[0], stock.flat[1])
    if stock.angle is not None:
        up, across, thickness = stock.angle
        return angle(up, across, thickness, root)
    if stock.channel is not None:
        height, flange, web = stock.channel[:3]
        return channel(height, flange, web, stock.channel[-1], root)
    assert stock.outline is not None
    return Bar("own outline", (), stock.outline)


def set_in_place(bar: Bar, name: str, heel: str | None, ways: tuple[Array, Array]) -> Bar:
    """Mirrored so that its heel (a channel's back, the drawing's lower left) points where the job says.

    Parameters
    ----------
    ways : (3,) unit, along its width and along its height

    Raises
    ------
    GeometryError
        When the job does not say it clearly.
    """
    if bar.words == "flat bar":
        return bar
    wanted = np.sum([_WAYS[word] for word in (heel or "").split()], axis=0) if heel else np.zeros(3)
    sides = [float(wanted @ way) for way in ways]
    needed = sides[:1] if bar.words == "channel" else sides
    if min(abs(side) for side in needed) < _TOLD:
        what = "back" if bar.words == "channel" else "heel"
        raise GeometryError(
            f"nothing says to which side the {what} of its {bar.words} points",
            where=name,
            remedy=f"give it heel, square to its axis: {_example(needed, ways)}",
        )
    return bar.flipped(sides[0] > 0.0, sides[1] > 0.0 and bar.words != "channel")


def _example(needed: list[float], ways: tuple[Array, Array]) -> str:
    words = []
    for way in ways[: len(needed)]:
        words.append(max(_WAYS, key=lambda word: float(np.dot(_WAYS[word], way))))
    return "heel: " + " ".join(words)
