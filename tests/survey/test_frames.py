"""Coordinates in frames of their own, straight and flush: solved along, without starting values."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from surveying import FRAME, KIND, frame, measured, reading

from soapstone.survey import (
    Datum,
    Frame,
    Network,
    Plane,
    adjust,
    framed_readings,
    straight_readings,
)

ARM = Frame("arm")


def seen_from(frame_: Frame, names: str, turn=(0.4, -1.1, 2.0), at=(3.0, -2.0, 0.7), scale=1.0, chance=None):
    """What an arm that stands anywhere reads of the points, sigma 0.1 mm."""
    rotation = Rotation.from_rotvec(turn).as_matrix()
    rows = []
    for name in names:
        own = rotation.T @ (np.array(FRAME[name]) - at) / scale
        noise = 1e-4 * chance.normal(size=3) if chance else np.zeros(3)
        rows += framed_readings(name, frame_, tuple(own + noise), 1e-4, f"arm {name}")
    return rows


def known(names: str):
    return {n: np.array(FRAME[n]) for n in names}


def test_an_arm_that_stands_anywhere_gives_points():
    net = Network(tuple(FRAME), known("ABE"), tuple(seen_from(ARM, "ABECDG")), frames=(ARM,))
    survey = adjust(Network(tuple("ABECDG"), net.known, net.readings, frames=(ARM,)))
    for name in "CDG":
        assert survey.point(name) == pytest.approx(FRAME[name], abs=1e-9)
    assert survey.ambiguous == ()
    assert survey.loose == ()
    assert survey.freedom == 18 - 9 - 6  # 18 coordinates, three free points, six unknowns of the frame


def test_the_scale_is_solved_along_when_asked():
    scan = Frame("scan", scaled=True)
    readings = seen_from(scan, "ABECDG", scale=1.003)
    survey = adjust(Network(tuple("ABECDG"), known("ABE"), tuple(readings), frames=(scan,)))
    assert survey.point("G") == pytest.approx(FRAME["G"], abs=1e-9)
    assert survey.freedom == 18 - 9 - 7
    stiff = adjust(
        Network(tuple("ABECDG"), known("ABE"), tuple(seen_from(ARM, "ABECDG", scale=1.003)), frames=(ARM,))
    )
    assert stiff.variance_factor > stiff.variance_bounds[1]  # a scale of 3 mm/m is no chance at 0.1 mm


def test_an_arm_and_tapes_together_and_a_wrong_reading_named():
    chance = np.random.default_rng(4)
    tapes = frame(chance).readings
    readings = (*tapes, *seen_from(ARM, "ABEFCDG", chance=chance))
    net = Network(tuple(FRAME), known("ABEF"), readings, frames=(ARM,))
    survey = adjust(net)
    assert np.abs(survey.xyz - np.array(list(FRAME.values()))).max() < 4e-4  # four sigma of the arm
    assert len(survey.checked) == len(readings)
    alone = adjust(frame(np.random.default_rng(4)))
    assert np.trace(survey.covariance_of("G")) < np.trace(alone.covariance_of("G"))


@pytest.mark.parametrize(
    ("turn", "at"), [((0.4, -1.1, 2.0), (3.0, -2.0, 0.7)), ((0, 0, np.pi), (0, 0, 0)), ((0, 0, 0), (5, 5, 5))]
)
def test_where_the_arm_stands_does_not_matter(turn, at):
    """The redundancy of a point's three coordinates together is the same from everywhere."""
    readings = tuple(seen_from(ARM, "ABECDG", turn, at))
    here = adjust(Network(tuple("ABECDG"), known("ABE"), tuple(seen_from(ARM, "ABECDG")), frames=(ARM,)))
    there = adjust(Network(tuple("ABECDG"), known("ABE"), readings, frames=(ARM,)))
    shares = [s.residuals.redundancy.reshape(-1, 3).sum(axis=1) for s in (here, there)]
    assert shares[1] == pytest.approx(shares[0], abs=1e-9)
    np.testing.assert_allclose(there.covariance_of("G"), here.covariance_of("G"), rtol=1e-6)


def test_two_points_leave_the_third_to_swing():
    survey = adjust(Network(tuple("ABG"), known("AB"), tuple(seen_from(ARM, "ABG")), frames=(ARM,)))
    assert [item.point for item in survey.loose] == ["G"]


def test_a_point_on_a_line_and_in_a_plane():
    """P halfway between A and E by a string and one tape; Q in the plane of A, B, E by two tapes."""
    a, b, e = (np.array(FRAME[n]) for n in "ABE")
    p, q = (a + e) / 2, 0.2 * a + 0.5 * b + 0.3 * e
    at = {**FRAME, "P": p, "Q": q}
    readings = [
        *straight_readings("P", ("A", "E"), 0.0005, "straight P A E"),
        *measured(at, [(KIND.TAPE, "A P"), (KIND.TAPE, "B P"), (KIND.TAPE, "A Q"), (KIND.TAPE, "B Q")]),
        reading(KIND.FLUSH, "Q A B E", 0.0, 0.0005),
    ]
    net = Network(tuple("ABEPQ"), known("ABE"), tuple(readings), (("Q", "aft of", "A"),))
    survey = adjust(net)
    assert survey.point("P") == pytest.approx(p, abs=1e-9)
    assert survey.point("Q") == pytest.approx(q, abs=1e-9)
    normal = np.cross(b - a, e - a) / np.linalg.norm(np.cross(b - a, e - a))
    assert normal @ survey.covariance_of("Q") @ normal == pytest.approx(0.0005**2, rel=1e-9)


def test_a_height_above_a_plane_of_points_has_its_sign():
    at = {**FRAME, "P": (-0.5, 0.1, 0.9)}
    a, b, e, p = (np.array(at[n]) for n in "ABEP")
    normal = np.cross(b - a, e - a)
    normal *= np.sign(normal[2]) / np.linalg.norm(normal)
    readings = [
        *measured(at, [(KIND.TAPE, "A P"), (KIND.TAPE, "B P"), (KIND.TAPE, "E P")]),
        reading(KIND.FLUSH, "P A B E", float(normal @ (p - a))),
    ]
    survey = adjust(Network(tuple("ABEP"), known("ABE"), tuple(readings)))
    assert survey.point("P") == pytest.approx(p, abs=1e-9)
    assert survey.ambiguous == ()  # the sign tells above from below


def test_a_body_on_the_shop_floor_gives_its_shape():
    """Tapes among all points of a body, held nowhere: its shape, laid on its own drawing."""
    names = "CDEFG"
    wanted = [(KIND.TAPE, f"{a} {b}") for i, a in enumerate(names) for b in names[i + 1 :]]
    net = Network(tuple(names), known(names), tuple(measured(FRAME, wanted)), datum=Datum.FREE)
    survey = adjust(net)
    assert survey.xyz == pytest.approx(np.array([FRAME[n] for n in names]), abs=1e-9)


def test_planes_with_a_name():
    bench = Plane((0.0, 0.0, 1.0), 0.2)
    readings = measured(FRAME, [(KIND.TAPE, "A G"), (KIND.TAPE, "B G"), (KIND.TAPE, "E G")])
    readings.append(reading(KIND.HEIGHT, "G", FRAME["G"][2] - 0.2, plane=bench))
    survey = adjust(Network(tuple("ABEG"), known("ABE"), tuple(readings)))
    assert survey.point("G") == pytest.approx(FRAME["G"], abs=1e-9)


def test_a_long_scan_is_braced_from_a_few_of_its_points():
    chance = np.random.default_rng(2)
    at = {f"S{i}": chance.uniform(-1, 1, 3) for i in range(14)}
    turn = Rotation.from_rotvec((0.3, 0.2, -0.5)).as_matrix()
    rows = [
        row
        for name, xyz in at.items()
        for row in framed_readings(name, ARM, tuple(turn.T @ (xyz - [1.0, 0, 0])), 1e-4, f"arm {name}")
    ]
    held = {name: at[name] for name in ("S0", "S1", "S2", "S3")}
    survey = adjust(Network(tuple(at), held, tuple(rows), frames=(ARM,)))
    assert survey.xyz == pytest.approx(np.array(list(at.values())), abs=1e-9)


def test_blocks_far_apart_in_the_band_are_those_of_the_whole():
    """A chain of points, each held by the one before: the inverse is full, the band is not."""
    names = tuple(f"P{i}" for i in range(30))
    xyz = np.array([(0.1 * i, 0.05 * (i % 3), 0.04 * (i % 2)) for i in range(30)])
    at = dict(zip(names, xyz, strict=True))
    pairs = [(KIND.TAPE, f"{names[i]} {names[j]}") for i in range(30) for j in range(i + 1, min(i + 5, 30))]
    net = Network(names, {n: at[n] for n in names[:4]}, tuple(measured(at, pairs)))
    survey = adjust(net, start=xyz)
    whole = survey.covariance.reshape(30, 3, 30, 3)
    first, second = np.array([29, 5, 12]), np.array([6, 28, 13])
    scale = np.abs(whole).max()
    np.testing.assert_allclose(
        survey.spread.blocks(first, second), whole[first, :, second, :], atol=1e-9 * scale
    )
