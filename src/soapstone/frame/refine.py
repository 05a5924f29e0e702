"""The same frame with every member cut into equal pieces.

A piece bends between its ends as an unloaded beam does; what buckles or swings inside a member shows only
between pieces.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.frame.model import _MEMBER_FLOATS, Frame, Loads, Release

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Refined:
    """A frame in pieces.

    Attributes
    ----------
    frame : Frame
        The first n nodes are those of the whole frame; the p pieces of member i are i p … i p + p - 1.
    loads : Loads or None
    pieces : int
    """

    frame: Frame
    loads: Loads
    pieces: int

    def along(self, member: int) -> NDArray[np.int64]:
        """The nodes along a member of the whole frame, its own two included; (p + 1,)."""
        first = member * self.pieces
        ends = self.frame.ends[first : first + self.pieces]
        return np.append(ends[:, 0], ends[-1, 1])


def refine(frame: Frame, loads: Loads, pieces: int) -> Refined:
    """Cut every member of a frame, and what loads it, into so many pieces."""
    if pieces < 1:
        raise GeometryError("a member cannot be cut into less than one piece")
    if pieces == 1:
        return Refined(frame, loads, 1)
    n, m = len(frame.node_names), len(frame.member_names)
    geometry, inner = frame.geometry, pieces - 1
    fractions = np.arange(1, pieces) / pieces
    reach = (geometry.lengths[:, None] * fractions)[..., None] * geometry.axes[:, None, 0]
    between = n + np.arange(m * inner).reshape(m, inner)
    rows = np.concatenate([frame.ends[:, :1], between, frame.ends[:, 1:]], axis=1)
    offsets = np.zeros((m, pieces, 2, 3))
    offsets[:, 0, 0], offsets[:, -1, 1] = frame.offsets[:, 0], frame.offsets[:, 1]
    properties: dict[str, Any] = {name: np.repeat(getattr(frame, name), pieces) for name in _MEMBER_FLOATS}
    cut = replace(
        frame,
        node_names=frame.node_names
        + tuple(f"{t} at {j}/{pieces}" for t in frame.member_names for j in range(1, pieces)),
        nodes=np.concatenate([frame.nodes, (geometry.starts[:, None] + reach).reshape(-1, 3)]),
        member_names=tuple(f"{t} piece {j + 1}" for t in frame.member_names for j in range(pieces)),
        ends=np.stack([rows[:, :-1], rows[:, 1:]], axis=2).reshape(-1, 2),
        offsets=offsets.reshape(-1, 2, 3),
        up=np.repeat(frame.up, pieces, axis=0),
        held=np.concatenate([frame.held, np.zeros((m * inner, 6), dtype=bool)]),
        releases=tuple(_at_its_piece(release, pieces) for release in frame.releases),
        **properties,
    )
    return Refined(cut, _cut_loads(loads, n + m * inner, pieces), pieces)


def _at_its_piece(release: Release, pieces: int) -> Release:
    return replace(release, member=release.member * pieces + release.end * (pieces - 1))


def _cut_loads(loads: Loads, nodes: int, pieces: int) -> Loads:
    misfit = None
    if loads.misfit is not None:
        c, m = loads.misfit.shape[:2]
        spread = np.zeros((c, m, pieces, 2, 6))
        spread[:, :, 0, 0], spread[:, :, -1, 1] = loads.misfit[:, :, 0], loads.misfit[:, :, 1]
        misfit = spread.reshape(c, m * pieces, 2, 6)
    return replace(
        loads,
        nodal=_longer(loads.nodal, nodes),
        line=np.repeat(loads.line, pieces, axis=1),
        settled=None if loads.settled is None else _longer(loads.settled, nodes),
        misfit=misfit,
        strain=None if loads.strain is None else np.repeat(loads.strain, pieces, axis=1),
    )


def _longer(nodal: Floats, nodes: int) -> Floats:
    whole = np.zeros((len(nodal), nodes, 6))
    whole[:, : nodal.shape[1]] = nodal
    return whole
