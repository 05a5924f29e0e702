"""The spread to the second order against what can be worked out by hand."""

import numpy as np
import pytest
from surveying import KIND, network, reading, tape

from soapstone.survey import Plane, Reading, adjust, findings
from soapstone.survey.curved import curved_spread
from soapstone.survey.model import compile_model

LENGTH = 0.4


def at(name: str, axis: int, value: float, sigma: float) -> Reading:
    return reading(KIND.COORDINATE, name, value, sigma, Plane(tuple(np.eye(3)[axis])))


def test_what_a_wobble_square_to_a_tape_adds():
    """B stands off A by L +- s along the tape and wobbles by w both ways square to it.

    The tape grows by q = (y^2 + z^2) / 2 L; its root mean square is sqrt(8) w^2 / 2 L, and where the tape
    alone gives x, that is what x is off besides s. What the curvature itself holds changes w by less than
    one part in a thousand here.
    """
    wobble, sigma = 0.005, 0.001
    firm = [at("A", axis, 0.0, 1e-9) for axis in range(3)]
    loose = [at("B", axis, 0.0, wobble) for axis in (1, 2)]
    net = network({}, [*firm, *loose, tape("A B", LENGTH, sigma)])
    xyz = np.array([[0.0, 0.0, 0.0], [LENGTH, 0.0, 0.0]])
    curved = curved_spread(compile_model(net), xyz, np.zeros((6, 0)), 10.0)
    added = np.sqrt(8) * wobble**2 / (2 * LENGTH)
    assert curved.bent[-1] == pytest.approx(added / sigma, rel=2e-3)
    assert curved.bent[:-1] == pytest.approx(0, abs=1e-9)  # planes do not bend
    assert curved.covariance[3, 3] == pytest.approx(sigma**2 + added**2, rel=1e-3)
    assert curved.covariance[4, 4] == pytest.approx(wobble**2, rel=2e-3)


def test_a_point_in_the_plane_of_its_tapes_is_held_by_their_curvature():
    """Four tapes in one plane say nothing square to it to the first order: the spread is finite all the same.

    A wobble w that adds as much to each tape as its accuracy s is sqrt(2 L s) = 28 mm; what is stated lies
    between half and twice that, not at the size of the job.
    """
    corners = {"A": (0.4, 0, 0), "B": (-0.4, 0, 0), "C": (0, 0.4, 0), "D": (0, -0.4, 0)}
    firm = [at(name, axis, place[axis], 1e-6) for name, place in corners.items() for axis in range(3)]
    net = network({}, [*firm, *(tape(f"{name} P", LENGTH) for name in corners)])
    xyz = np.array([*corners.values(), (0, 0, 0)], dtype=float)
    curved = curved_spread(compile_model(net), xyz, np.zeros((15, 0)), 10.0)
    assert 0.014 < np.sqrt(curved.covariance[14, 14]) < 0.056


def test_points_that_have_not_come_to_rest_are_told(monkeypatch):
    """A descent cut short says so; one that ended does not."""
    from surveying import frame

    net = frame()
    start = adjust(net).xyz + 0.05
    assert not [f for f in findings(adjust(net, start=start), net) if f.id == "survey:rest"]
    monkeypatch.setattr("soapstone.survey.descent._STEPS", 1)
    (told,) = [f for f in findings(adjust(net, start=start), net) if f.id == "survey:rest"]
    assert told.verdict == "open"
    assert told.ratio > 1
