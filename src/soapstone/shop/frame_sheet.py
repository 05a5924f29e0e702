"""The report's pages on the frame as a whole: tables and pictures."""

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from soapstone.frame import hardest, influence
from soapstone.frame.findings_whole import plain
from soapstone.frame.idealise import Idealised
from soapstone.frame.whole import Whole
from soapstone.parts.sections import RoundTube
from soapstone.quantity import Kind
from soapstone.shop import frame_pictures
from soapstone.shop.marks import Marks
from soapstone.shop.units import figures
from soapstone.shop.words import Words
from soapstone.strength.misfits import a_millimetre

if TYPE_CHECKING:
    from soapstone.build import Build

Array = NDArray[np.float64]
_MODES = 8
_SHAPES = 2
_AROUND = 16
_KILONEWTON = 1e3


def frame_data(build: "Build", marks: Marks, words: Words) -> dict[str, Any] | None:
    """Plain data for the report; None where there is no frame."""
    ideal, whole, said = build.bounds.governing
    if not ideal.frame.member_names or not whole.swing.frequencies.size:
        return None
    return {
        "bound": said,
        "nearest": whole.under,
        "assumed": list(ideal.assumed),
        "cases": _cases(build),
        "modes": _modes(whole),
        "influence": _influence(build, words),
        "millimetre": _millimetre(build, words),
        "pictures": _pictures(build, ideal, whole, marks),
    }


def _cases(build: "Build") -> list[dict[str, str]]:
    """Each case by the bound that buckles first."""
    both = [build.bounds.stiff, *([build.bounds.soft] if build.bounds.soft else [])]
    rows = []
    for case, name in enumerate(build.idealised.loads.case_names):
        whole = min((whole for _, whole in both), key=lambda one, case=case: float(one.factors[case]))  # type: ignore[misc]
        buckled = whole.buckling[case]
        rows.append(
            {
                "case": name,
                "factor": figures(float(whole.factors[case]), 3),
                "words": plain(buckled.words[0]) if buckled.words else "nothing is pushed",
                "growth": _percent(float(whole.growth[case])),
                "order": "bent frame" if whole.second[case] else "straight frame",
            }
        )
    return rows


def _percent(share: float) -> str:
    if not np.isfinite(share):
        return "it buckles"
    return f"{100.0 * share:.1f} %" if abs(share) >= 5e-4 else "< 0.1 %"


def _modes(whole: Whole) -> list[dict[str, str]]:
    free, loaded = whole.swing, whole.loaded
    rows = []
    for mode in range(min(_MODES, len(free.frequencies))):
        under = loaded is not None and mode < len(loaded.frequencies)
        x, y, z = (f"{100.0 * share:.0f} %" for share in free.shares[mode])
        rows.append(
            {
                "free": f"{free.frequencies[mode]:.1f}",
                "loaded": f"{loaded.frequencies[mode]:.1f}" if loaded is not None and under else "–",
                "words": plain(free.words[mode]),
                "x": x,
                "y": y,
                "z": z,
            }
        )
    return rows


def _influence(build: "Build", words: Words) -> list[dict[str, str]]:
    """Which point of what is hung hurts each tube most, pushed which way."""
    ideal, _ = build.bounds.stiff
    points = [
        (f"{body}.{point}", node, at - ideal.frame.nodes[node])
        for body, node in ideal.bodies.items()
        for point, at in build.placed[body].points.items()
    ]
    if not points:
        return []
    found = hardest(influence(ideal.frame, [(node, arm) for _, node, arm in points]), _fibres(build, ideal))
    rows = []
    for tube, segments in ideal.segments.items():
        members = np.array([segment.member for segment in segments])
        member = members[int(found.stress[:, members].max(axis=0).argmax())]
        point = int(found.point[member])
        stress = float(found.stress[point, member]) * _KILONEWTON
        rows.append(
            {
                "tube": tube,
                "point": points[point][0],
                "way": _way(found.direction[member]),
                "stress": words.show.text(stress, Kind.STRESS),
                "size": f"{stress:.6e}",
            }
        )
    return sorted(rows, key=lambda row: -float(row["size"]))


def _fibres(build: "Build", ideal: Idealised) -> Array:
    """Stress per force in fibres round each member's outside, (m, k, 6)."""
    frame = ideal.frame
    table = np.zeros((len(frame.member_names), _AROUND, 6))
    turn = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)
    for tube, segments in ideal.segments.items():
        section = build.layout.tubes[tube].section
        ring = np.stack([np.cos(turn), np.sin(turn)], axis=1)
        if isinstance(section, RoundTube):
            half = np.full(2, section.outside_diameter / 2.0)
        else:
            half = np.array([section.width, section.height]) / 2.0
            ring = ring / np.abs(ring).max(axis=1, keepdims=True)
        y, z = (half * ring).T
        for segment in segments:
            row = segment.member
            table[row, :, 0] = 1.0 / frame.area[row]
            table[row, :, 4] = z / frame.second_moment_y[row]
            table[row, :, 5] = -y / frame.second_moment_z[row]
    return table


_WAYS = (("forward", "aft"), ("left", "right"), ("up", "down"))


def _way(direction: Array) -> str:
    """The parts of a unit vector above a third, largest first."""
    order = sorted(range(3), key=lambda axis: -abs(direction[axis]))
    told = [_WAYS[axis][int(direction[axis] < 0.0)] for axis in order if abs(direction[axis]) > 1.0 / 3.0]
    return " and ".join(told)


def _millimetre(build: "Build", words: Words) -> list[dict[str, Any]]:
    ideal, _ = build.bounds.stiff
    return [
        {
            "name": name,
            "forces": [words.show.text(float(force), Kind.FORCE) for force in forces],
            "stress": words.show.text(float(stresses.max()), Kind.STRESS) if tube else "–",
            "tube": tube or "–",
        }
        for name, forces, stresses, tube in a_millimetre(build.layout, ideal)
    ]


def _pictures(build: "Build", ideal: Idealised, whole: Whole, marks: Marks) -> list[dict[str, Any]]:
    sizes = np.linalg.norm(whole.solution.displacements[..., :3], axis=2).max(axis=1)
    case = int(sizes.argmax())
    bent = frame_pictures.bent_lines(ideal, whole.solution, case)
    times = frame_pictures.exaggeration(bent)
    share = frame_pictures.stress_shares(build.layout, build.bounds.solved)
    said = f"{ideal.loads.case_names[case]}: movement {times:g} times too large"
    pictures = [
        frame_pictures.moved_picture(bent, times, said),
        frame_pictures.stress_picture(
            build.idealised,
            share,
            marks.tubes,
            "highest stress of any case, in parts of what the metal away from welds may carry",
        ),
    ]
    for mode in range(min(_SHAPES, len(whole.swing.frequencies))):
        lines = frame_pictures.mode_lines(ideal, whole.swing, mode)
        name = f"swing at {whole.swing.frequencies[mode]:.1f} Hz: {plain(whole.swing.words[mode])}"
        pictures.append(frame_pictures.moved_picture(lines, frame_pictures.exaggeration(lines), name))
    return pictures
