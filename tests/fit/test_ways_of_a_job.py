"""Ways in of a whole job: the example as it is, with a frame that is locked out, and with a bent tube."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from soapstone.examples import copy_example
from soapstone.finding import Verdict
from soapstone.fit.pieces import bodies_of
from soapstone.fit.ways_in import WaysIn, ways_in
from soapstone.job.load import load_text
from soapstone.parts.layout import lay_out
from soapstone.place.placed import place_bodies
from soapstone.shop.way_page import way_data
from soapstone.survey import adjust
from soapstone.survey.of_job import network_of

ARM = "gap: 0.5 mm, points: aft}"
UPRIGHT_ARM = "gap: 0.5 mm, points: aft, axis: up}"
MIDDLE = "reach: 51 mm, gap: 0.5 mm}"
TURNED_MIDDLE = "reach: 51 mm, gap: 0.5 mm, axis: along}"
FRAME = "way-in:frame with torque_arm"

Brought = Callable[..., WaysIn]


@pytest.fixture(scope="module")
def brought(tmp_path_factory: pytest.TempPathFactory) -> Brought:
    file = copy_example("heron", tmp_path_factory.mktemp("way") / "heron")
    folder, text = file.parent, file.read_text(encoding="utf-8")

    def make(*edits: tuple[str, str]) -> WaysIn:
        changed = text
        for old, new in edits:
            assert changed.count(old) == 1, old
            changed = changed.replace(old, new)
        job = load_text(changed, folder)
        survey = adjust(network_of(job))
        placed = place_bodies(job, survey)
        return ways_in(job, lay_out(job, survey, placed), placed, lambda words: None)

    return make


def test_heron_goes_straight_in_and_its_unit_comes_out_first(brought: Brought) -> None:
    ways = brought()
    assert all(one.straight for one in ways.brought)
    # the gap beside each bung as the job draws it; nothing else is nearer
    assert ways.brought[0].tight is not None and ways.brought[0].tight.gap == pytest.approx(5e-4, abs=1e-6)
    assert ways.order is not None
    assert ways.order.apart[0].name == "drive_unit" and not ways.order.knots
    assert len(ways.order.apart[0].bolts) == 4
    assert all(bolt.startswith("hanger_") for bolt in ways.order.apart[0].bolts)
    assert [f.verdict for f in ways.findings] == [Verdict.HOLDS] * 2


def test_a_locked_frame_is_proven_and_the_change_that_is_told_frees_it(brought: Brought) -> None:
    ways = brought((ARM, UPRIGHT_ARM), (MIDDLE, TURNED_MIDDLE))
    told = ways.findings[0]
    assert told.id == FRAME and told.verdict is Verdict.SHORT and told.because
    assert told.ratio is not None and told.ratio > 100.0  # 600 mm wanted, a millimetre or so to be had
    assert ways.brought[0].frees[0] == "turn the bolts of fork_arm_front across"
    assert "turn the bolts of fork_arm_front across" in told.remedy and "held fast" in told.remedy
    assert brought((MIDDLE, TURNED_MIDDLE)).brought[0].straight  # the change itself, nothing else
    assert ways.order is not None and ways.order.to_reach["torque_arm"] == ("drive_unit", "frame")


def test_without_the_middle_forks_turned_nothing_is_claimed(brought: Brought) -> None:
    few = ("shift: 100 mm}\n  - {move: drive", "shift: 100 mm, steps: 2}\n  - {move: drive")
    told = brought((ARM, UPRIGHT_ARM), few).findings[0]
    assert told.verdict is Verdict.OPEN and told.ratio is None
    assert "proves nothing" in told.remedy and "turn the bolts of fork_arm_front across" in told.remedy


def test_the_page_tells_moves_and_ways_out(brought: Brought) -> None:
    ways = brought()
    data = way_data(ways, ways.findings)
    frame = data["stages"][0]
    assert frame["moves"] == ["600 mm up"] and "fork" in frame["tight"] and frame["why"] == ""
    middle = [
        [dot["free"] for dot in half["dots"] if np.hypot(dot["x"] - 24.0, dot["y"] - 24.0) < 0.01]
        for half in frame["halves"]
    ]
    assert middle == [[True], [False]]
    assert data["order"][0]["name"] == "drive_unit"


def test_bent_tube_is_held_by_its_pieces(bent_parts) -> None:  # type: ignore[no-untyped-def]
    job, layout, placed = bent_parts
    bodies = bodies_of(job, layout, placed)
    pieces = [piece for some in bodies.moved.values() for piece in some]
    for tube in layout.tubes.values():
        if tube.path is None:
            continue
        own = [piece for piece in pieces if piece.name == tube.name]
        assert len(own) > len(tube.path.pieces)
        half = tube.section.outside_diameter / 2.0
        for station in np.linspace(0.01, tube.length - 0.01, 60):
            leg = tube.leg(station)
            for turn in np.linspace(0.0, 2.0 * np.pi, 16):
                across = leg.width_way * np.cos(turn) + np.cross(leg.axis, leg.width_way) * np.sin(turn)
                skin = tube.at(station) + 0.999 * half * across
                assert any(_inside(piece.points, piece.triangles, skin) for piece in own)


def _inside(points, triangles, at) -> bool:  # type: ignore[no-untyped-def]
    corners = points[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    middle = points.mean(axis=0)
    outward = np.sign(np.einsum("ij,ij->i", normals, corners[:, 0] - middle))
    return bool((np.einsum("ij,ij->i", normals * outward[:, None], at - corners[:, 0]) <= 0.0).all())


@pytest.fixture(scope="module")
def bent_parts():  # type: ignore[no-untyped-def]
    path = Path(__file__).parents[1] / "bent.yaml"
    job = load_text(path.read_text(encoding="utf-8"), path.parent)
    survey = adjust(network_of(job))
    placed = place_bodies(job, survey)
    return job, lay_out(job, survey, placed), placed
