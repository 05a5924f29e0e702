"""Where things come nearest: plan and side with the closest points of the tightest pairs."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.fit.clearances import Pair
from soapstone.parts.assembly import Thing
from soapstone.parts.cutting import CutParts
from soapstone.place.shafting import HalfRun
from soapstone.shop.clear_page import measured
from soapstone.shop.drawing import PLAN, SIDE, View, draw

Array = NDArray[np.float64]

TIGHTEST = 5
_RING = 0.008
"""m; radius of the ring round the closest points, so that a gap of a few millimetres is found."""
_AROUND = np.linspace(0.0, 2.0 * np.pi, 25)
_ROOMS = ((PLAN, (188.0, 110.0)), (SIDE, (188.0, 80.0)))


def closest_data(
    pairs: Sequence[Pair], found: Sequence[Thing], parts: CutParts, shafts: Sequence[HalfRun]
) -> list[dict[str, Any]]:
    """Two views, mm, numbered as the table is; empty where nothing is measured."""
    tight = measured(pairs)[:TIGHTEST]
    if not tight:
        return []
    labels = {str(number): (str(number), _middle(pair)) for number, pair in enumerate(tight, 1)}
    return [
        draw(view, found, parts.both, labels, room, fill=True, over=tuple(_over(view, tight, shafts)))
        for view, room in _ROOMS
    ]


def _middle(pair: Pair) -> Array:
    return (pair.worst.apart.here + pair.worst.apart.there) / 2.0


def _over(view: View, tight: Sequence[Pair], shafts: Sequence[HalfRun]) -> Iterator[tuple[str, Array]]:
    for run in shafts:
        if run.moves is not None and run.spec.diameter is not None:
            ride = int(np.abs(run.moves.travel).argmin())
            yield "centre", np.array([run.inner, run.moves.at[ride]])
    for pair in tight:
        apart = pair.worst.apart
        ring = np.outer(np.cos(_AROUND), view.right) + np.outer(np.sin(_AROUND), view.up)
        radius = max(_RING, 0.6 * float(np.linalg.norm(view.flat(apart.there - apart.here))))
        yield "thick", np.array([apart.here, apart.there])
        yield "thin", _middle(pair) + radius * ring
