"""How far every named place moves under load."""

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from soapstone.frame.idealise import Idealised
from soapstone.frame.recover import point_displacement
from soapstone.frame.solve import Solution
from soapstone.parts.layout import Layout
from soapstone.place.placed import Placed

Array = NDArray[np.float64]

_SAME_PLACE = 1e-6
"""m; a point nearer than a thousandth of a millimetre to a joint is that joint."""


def movements(
    layout: Layout, placed: Mapping[str, Placed], idealised: Idealised, solution: Solution
) -> dict[str, Array]:
    """Movement (c, 3) m in vehicle axes of everything that has a name and is part of the frame.

    Bodies' points and centres (`drive_unit.boss_1`, `drive_unit centre`), tube ends (`side_left start`)
    and the job's points that stand at a joint.
    """
    return {
        name: point_displacement(idealised.frame, solution, node, at)[:, :3]
        for name, node, at in _places(layout, placed, idealised)
    }


def _places(
    layout: Layout, placed: Mapping[str, Placed], idealised: Idealised
) -> Iterator[tuple[str, int, Array]]:
    frame = idealised.frame
    for body, node in idealised.bodies.items():
        yield f"{body} centre", node, placed[body].centre
        for point, at in placed[body].points.items():
            yield f"{body}.{point}", node, at
    for tube, segments in idealised.segments.items():
        for word, segment, end in (("start", segments[0], 0), ("end", segments[-1], 1)):
            node = int(frame.ends[segment.member, end])
            yield f"{tube} {word}", node, frame.nodes[node] + frame.offsets[segment.member, end]
    for point, at in layout.points.items() if len(frame.nodes) else ():
        apart = np.linalg.norm(frame.nodes - at, axis=1)
        nearest = int(apart.argmin())
        if apart[nearest] < _SAME_PLACE:
            yield point, nearest, at
