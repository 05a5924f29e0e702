"""The frame as lines in a picture: bent under load, as it swings, and how hard its tubes are stressed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.frame import Frame, Loads, Modes, Solution, internal_forces_at, member_displacements
from soapstone.frame.assemble import assemble
from soapstone.frame.idealise import Idealised
from soapstone.frame.solve import resist
from soapstone.parts.layout import Layout
from soapstone.shop.drawing import CORNER, View
from soapstone.shop.labels import apart
from soapstone.strength.fibres import worst_fibre
from soapstone.tables import safety_factor

Array = NDArray[np.float64]

STATIONS = 9
"""Per beam: its bent line is a curve of the fourth degree, which eight chords show without corners."""
ROOM = (188.0, 82.0)
"""mm, width and height of a picture."""
CLASSES = ((0.25, "hair"), (0.5, "thin"), (0.75, "thick"), (np.inf, "bold"))
"""Share of the allowable stress up to which a piece of tube is drawn with a stroke."""
_SHOWN = 0.07
_AT_ONE = 1e-6
"""m; a member's end this near to its joint needs no line to it."""
_BORDER = 7.0


@dataclass(frozen=True, eq=False)
class Lines:
    """A frame's members as polylines.

    Attributes
    ----------
    still : (m, s, 3) m
    moved : (m, s, 3) m, how far each point moves
    arms : (k, 2, 3) m, from a member's end to the body that it carries
    arms_moved : (k, 2, 3) m
    links, links_moved : (k, 2, 3) m, from the face where a tube is welded on to its host's axis
    """

    still: Array
    moved: Array
    arms: Array
    arms_moved: Array
    links: Array
    links_moved: Array


def still_lines(frame: Frame, stations: int = STATIONS) -> Array:
    """(m, s, 3) m, evenly along the members."""
    geometry = frame.geometry
    along = geometry.lengths[:, None] * np.linspace(0.0, 1.0, stations)
    lines: Array = geometry.starts[:, None] + along[..., None] * geometry.axes[:, None, 0]
    return lines


def bent_lines(ideal: Idealised, solution: Solution, case: int) -> Lines:
    """The frame under one case."""
    return _lines(ideal, ideal.loads, solution, case)


def mode_lines(ideal: Idealised, swing: Modes, mode: int) -> Lines:
    """The frame at the outermost point of one mode; released ends follow their members."""
    frame = ideal.frame
    shape = swing.shapes[mode]
    system = assemble(frame)
    natural, _, _ = resist(frame, system, shape.reshape(-1, 1), None)
    ends = (system.local.transpose(0, 2, 1) @ natural).transpose(2, 0, 1)
    solution = Solution(shape[None], np.zeros_like(shape[None]), ends, 0.0)
    return _lines(ideal, Loads.none(frame, ["swing"]), solution, 0)


def _lines(ideal: Idealised, loads: Loads, solution: Solution, case: int) -> Lines:
    frame = ideal.frame
    moved = member_displacements(frame, loads, solution, STATIONS)[case, ..., :3]
    still = still_lines(frame)
    bodies = set(ideal.bodies.values())
    reach = np.linalg.norm(frame.offsets, axis=2)
    found: dict[bool, list[tuple[Any, Any]]] = {True: [], False: []}
    for member, end in np.argwhere(reach > _AT_ONE):
        node = int(frame.ends[member, end])
        place = (member, -end)
        pair = [still[place], frame.nodes[node]], [moved[place], solution.displacements[case, node, :3]]
        found[node in bodies].append(pair)
    parts = [
        np.array([pair[side] for pair in found[body]]).reshape(-1, 2, 3)
        for body in (True, False)
        for side in (0, 1)
    ]
    return Lines(still, moved, *parts)


def exaggeration(lines: Lines) -> float:
    """How many times too large the movement is drawn: a round number, so that it can be seen."""
    largest = float(np.linalg.norm(lines.moved, axis=-1).max(initial=0.0))
    size = float(np.ptp(lines.still.reshape(-1, 3), axis=0).max())
    if largest <= 0.0:
        return 1.0
    wanted = _SHOWN * size / largest
    power = 10.0 ** np.floor(np.log10(wanted))
    return float(max(step * power for step in (1.0, 2.0, 5.0) if step * power <= wanted * (1.0 + 1e-9)))


def moved_picture(lines: Lines, times: float, name: str, view: View = CORNER) -> dict[str, Any]:
    """Grey as it stands, black as it moves, `times` too large."""
    strokes = [("grey", line) for line in lines.still]
    strokes += [("hair", line) for line in lines.links + times * lines.links_moved]
    strokes += [("dashed", line) for line in lines.arms + times * lines.arms_moved]
    strokes += [("thick", line) for line in lines.still + times * lines.moved]
    return _picture(strokes, {}, name, view)


def stress_shares(layout: Layout, each: Sequence[tuple[Idealised, Solution]], stations: int = 41) -> Array:
    """Largest share of the allowable stress over all cases and bounds, (m, s); NaN where it is not known.

    The parent metal's yield over the safety factor; what a weld takes of it stands in the findings.
    """
    frame = each[0][0].frame
    share = np.full((len(frame.member_names), stations), np.nan)
    positions = frame.geometry.lengths[:, None] * np.linspace(0.0, 1.0, stations)
    for ideal, solution in each:
        forces = internal_forces_at(ideal.frame, ideal.loads, solution, positions)
        for tube in layout.tubes.values():
            rows = [segment.member for segment in ideal.segments[tube.name]]
            strength = tube.material.yield_strength
            if strength and rows:
                stress, _ = worst_fibre(tube.section, forces[:, rows])
                allowed = strength / safety_factor("yield").value
                share[rows] = np.fmax(share[rows], stress.max(axis=0) / allowed)
    return share


def stress_picture(
    ideal: Idealised, share: Array, marks: Mapping[str, str], name: str, view: View = CORNER
) -> dict[str, Any]:
    """Each piece of tube as broad as it is stressed; the highest share of each tube in figures."""
    lines = still_lines(ideal.frame, share.shape[1])
    strokes: list[tuple[str, Array]] = []
    labels: dict[str, Array] = {}
    for line, shares in zip(lines, share, strict=True):
        strokes += _runs(line, shares)
    for tube, segments in ideal.segments.items():
        rows = [segment.member for segment in segments]
        if np.isfinite(share[rows]).all():
            row, place = np.unravel_index(int(share[rows].argmax()), share[rows].shape)
            labels[f"{marks[tube]} {100.0 * share[rows].max():.0f} %"] = lines[rows[row], place]
    return _picture(strokes, labels, name, view)


def _runs(line: Array, shares: Array) -> list[tuple[str, Array]]:
    """A member's line cut where its stroke changes."""
    between = np.fmax(shares[:-1], shares[1:])
    kinds = ["grey" if np.isnan(s) else next(k for top, k in CLASSES if s <= top) for s in between]
    cuts = [0, *(i for i in range(1, len(kinds)) if kinds[i] != kinds[i - 1]), len(kinds)]
    return [(kinds[a], line[a : b + 1]) for a, b in pairwise(cuts)]


def _picture(
    strokes: Sequence[tuple[str, Array]], labels: Mapping[str, Array], name: str, view: View
) -> dict[str, Any]:
    flat = [view.flat(line) for _, line in strokes]
    low, high = np.vstack(flat).min(axis=0), np.vstack(flat).max(axis=0)
    border = np.array([_BORDER, _BORDER])
    factor = float(((np.array(ROOM) - 2 * border) / np.maximum(high - low, 1e-9)).min())

    def paper(points: Array) -> list[list[float]]:
        rounded: list[list[float]] = np.round(factor * (points - low) + border, 3).tolist()
        return rounded

    size = factor * (high - low) + 2 * border
    drawn = [{"points": paper(line), "stroke": kind} for (kind, _), line in zip(strokes, flat, strict=True)]
    names, leaders = apart(
        [(text, paper(view.flat(at))) for text, at in labels.items()],
        room=(float(size[0]), float(size[1])),
        drawn=[line["points"] for line in drawn],
    )
    return {
        "width": float(size[0]),
        "height": float(size[1]),
        "lines": [*drawn, *leaders],
        "labels": names,
        "scale": "no scale",
        "name": name,
    }
