"""The sheet to measure with, its CSV, and the picture of the network."""

import csv
import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import chi2

from soapstone.build import Build
from soapstone.job.csv_readings import csv_readings
from soapstone.shop.measure_sheet import measure_csv, measure_data
from soapstone.shop.network_picture import exaggeration, names_at, network_data
from soapstone.shop.sheet import head, typeset
from soapstone.shop.words import Words
from soapstone.survey import adjust
from soapstone.survey.next_reading import Proposal, next_readings, tools_of
from soapstone.survey.reach import obstacles_of


@pytest.fixture(scope="module")
def proposals(heron: Build) -> tuple[Proposal, ...]:
    wanted = dict.fromkeys(("T", "U1", "U2"), 0.0015)
    return next_readings(heron.survey, wanted, tools_of(heron.job), obstacles_of(heron.job), most=4)


def test_every_reading_has_a_blank_and_the_proposals_come_first(heron, proposals):
    data = measure_data(heron.job, heron.survey, heron.network, proposals, Words.of(heron.job.show))
    assert len(proposals) > 0
    assert [row["label"] for row in data["next"]] == [p.reading.label for p in proposals]
    assert [row["label"] for row in data["again"]] == [r.label for r in heron.job.readings]
    numbers = [int(row["number"]) for row in (*data["next"], *data["again"])]
    assert numbers == list(range(1, len(numbers) + 1))
    named = {label["text"] for view in data["views"] for label in view["drawing"]["labels"]}
    assert named == set(heron.survey.names)


def test_the_csv_comes_back_when_it_is_filled_in(heron, proposals):
    """Every blank filled: the readings come back with their points, kinds and instruments."""
    text = measure_csv(heron.job, proposals)
    rows = list(csv.DictReader(io.StringIO(text)))
    assert len(rows) == len(proposals) + len(heron.job.readings)
    assert all(row["reading"] == "" for row in rows)
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0].keys())
    writer.writeheader()
    writer.writerows({**row, "reading": "1 left" if row["kind"] == "offset" else "1"} for row in rows)
    read, refused = csv_readings(out.getvalue().encode())
    assert refused == []
    labels = [label for row in read for label in row.item]
    assert labels == [p.reading.label for p in proposals] + [r.label for r in heron.job.readings]


def test_blank_rows_are_told_not_taken(heron):
    _, refused = csv_readings(measure_csv(heron.job, ()).encode())
    assert {one.what for one in refused} == {"the reading is missing"}


def test_edges_stand_in_their_own_columns(heron):
    edged = heron.job.readings[0].model_copy(update={"read": "715 mm, far edge to near edge"})
    job = heron.job.model_copy(update={"readings": (edged,)})
    (row,) = csv.DictReader(io.StringIO(measure_csv(job, ())))
    assert (row["from edge"], row["to edge"]) == ("far", "near")
    data = measure_data(job, heron.survey, heron.network, (), Words.of(job.show))
    assert data["again"][0]["how"] == "far edge to near edge"


@pytest.mark.parametrize("template", ["measure", "network"])
def test_the_pages_print(heron, proposals, template, tmp_path: Path):
    words = Words.of(heron.job.show)
    data = {
        "measure": measure_data(heron.job, heron.survey, heron.network, proposals, words),
        "network": network_data(heron.survey, heron.network),
    }[template]
    pdf = typeset(template, {"head": head(heron.job, units=words.names), template: data})
    assert pdf.startswith(b"%PDF-1.7")
    assert pdf == typeset(template, {"head": head(heron.job, units=words.names), template: data})


def test_ellipses_are_as_large_as_they_say(heron):
    """Half width of an outline = root of chi-square (3, 95 %) times sigma, enlarged as stated."""
    data = network_data(heron.survey, heron.network)
    scale = 1 / float(data["scale"].removeprefix("1 : "))
    times = exaggeration(heron.survey, scale)
    assert f"{times:g} times" in data["said"]
    rings = [line["points"] for line in data["views"][0]["drawing"]["lines"] if len(line["points"]) == 36]
    free = [n for n in heron.survey.names if n not in heron.network.known]
    assert len(rings) == len(free)
    for name, ring in zip(free, rings, strict=True):
        wide = np.ptp(np.array(ring)[:, 0]) / 2
        told = np.sqrt(chi2.ppf(0.95, 3)) * heron.survey.sigma_of(name)[0] * 1000 * scale * times
        assert wide == pytest.approx(told, rel=0.01)  # 36 corners miss the rim by up to 0.4 %
    assert max(np.ptp(np.array(ring), axis=0).max() for ring in rings) < 20


def test_a_wrong_reading_stands_out(heron):
    wrong = heron.network.readings[0]
    readings = (replace(wrong, value=wrong.value + 0.0254), *heron.network.readings[1:])
    network = replace(heron.network, readings=readings)
    bars = [
        bar
        for strip in network_data(adjust(network, start=heron.survey.xyz), network)["strips"]
        for bar in strip
    ]
    assert len(bars) == len(readings)
    assert bars[0]["mark"] == "short"
    assert abs(bars[0]["w"]) == pytest.approx(9.9)  # drawn no longer than the strip


def test_a_network_all_given_has_no_ellipsoid(heron):
    known = dict(zip(heron.survey.names, heron.survey.xyz, strict=True))
    network = replace(heron.network, known=known)
    data = network_data(adjust(network), network)
    assert data["said"] == "no point has an ellipsoid: all are given"


def boxes_of(labels) -> np.ndarray:
    """What each name takes on paper, a little less than is kept free for it (7 point semibold), mm."""
    half = np.array([[0.6 * len(label["text"]), 1.2] for label in labels])
    at = np.array([[label["x"], label["y"]] for label in labels])
    return np.hstack([at - half, at + half])


def covered(boxes: np.ndarray) -> int:
    """How many pairs of boxes share a place."""
    low = np.maximum(boxes[:, None, :2], boxes[None, :, :2])
    high = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:])
    return (int(np.all(low < high, axis=2).sum()) - len(boxes)) // 2


@pytest.mark.parametrize("count", [3, 12, 60])
def test_names_do_not_cover_each_other(count):
    """Bunches of points, closer than their names are long."""
    chance = np.random.default_rng(count)
    paper = 9 + np.concatenate([chance.uniform(0, 160, (count // 3, 2)) * (1, 0.6) + d for d in (0, 2, 4)])
    names = [f"point_{i}" for i in range(len(paper))]
    labels, leaders = names_at(names, paper, [], (190.0, 120.0))
    boxes = boxes_of(labels)
    assert [label["text"] for label in labels] == names
    assert covered(boxes) == 0
    assert boxes.min() > 0
    assert np.all(boxes[:, 2:] < (190.0, 120.0))
    for name, at, box in zip(names, paper, boxes, strict=True):
        gap = np.linalg.norm(np.clip(at, box[:2], box[2:]) - at)
        led = any(np.linalg.norm(np.array(line["points"][0]) - at) < 2 for line in leaders)
        assert gap < 4 or led, name


def test_names_of_the_example_stand_free(heron):
    data = network_data(heron.survey, heron.network)
    for drawn in data["views"]:
        assert covered(boxes_of(drawn["drawing"]["labels"])) == 0


def test_a_body_has_readings_of_its_own_on_the_sheet(heron):
    one = heron.job.readings[0].model_copy(update={"kind": "height", "points": ("boss_1",), "read": "1 m"})
    body = heron.job.bodies["drive_unit"].model_copy(update={"readings": (one,)})
    job = heron.job.model_copy(update={"bodies": {**heron.job.bodies, "drive_unit": body}})
    (told,) = measure_data(job, heron.survey, heron.network, (), Words.of(job.show))["bodies"]
    assert told["name"] == "drive_unit"
    assert told["readings"] == [
        {"number": "1", "label": "height boss_1", "how": "plumb, above the shop floor", "with": "height"}
    ]
