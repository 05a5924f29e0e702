"""Published surveying networks, adjusted by the survey room without starting values.

Plane networks become space networks whose points all read height 0.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from soapstone.survey import (
    Datum,
    Network,
    Reading,
    ReadingKind,
    Survey,
    adjust,
    coordinate_readings,
    snoop,
)
from soapstone.survey.adjust import variance_bounds
from soapstone.survey.scatter_search import descend_together
from soapstone.verify.sketch import Array

_PLANE_SIGMA = (
    1e-3  # m, of the height readings that keep a plane network plane; all agree, so any value serves
)


@cache
def _networks() -> dict[str, Any]:
    return tomllib.loads(files("soapstone.verify").joinpath("networks.toml").read_text(encoding="utf-8"))


def network(name: str, *sides: tuple[str, str, str]) -> Network:
    """A network of networks.toml; `sides` tell which of two mirrored answers is meant."""
    data = _networks()[name]
    kind = ReadingKind.PLAN if data["dimension"] == 2 else ReadingKind.TAPE
    readings = [
        Reading(kind, (a, b), float(value), float(sigma), f"{kind} {a} {b}")
        for a, b, value, sigma in data["distances"]
    ]
    known = {point: np.array([*at, 0.0][:3]) for point, at in data["known"].items()}
    names = tuple(dict.fromkeys([*known, *(point for reading in readings for point in reading.points)]))
    if data["dimension"] == 2:
        flat = [point for point in names if data["free"] or point not in known]
        readings += [
            Reading(ReadingKind.HEIGHT, (point,), 0.0, _PLANE_SIGMA, f"height {point}") for point in flat
        ]
    datum = Datum.FREE if data["free"] else Datum.FIXED
    return Network(names, known, tuple(readings), sides, datum=datum)


def _adjusted(survey: Survey) -> dict[str, float]:
    """Coordinates (m), their standard deviations by the variance factor (cm), and that factor's root."""
    root = float(np.sqrt(survey.variance_factor or 0.0))
    found = {"s0": root}
    for point in survey.names:
        for axis, at, sigma in zip("xyz", survey.point(point), survey.sigma_of(point), strict=True):
            found[f"{point} {axis}"] = float(at)
            found[f"{point} {axis} sigma"] = 100 * root * float(sigma)
    return found


def wolf() -> Mapping[str, float]:
    """One point in space by four slope distances."""
    return _adjusted(adjust(network("wolf", ("P", "above", "1"))))


def wolf_band() -> Mapping[str, float]:
    """Between what limits s0 of that network lies in 95 of 100 surveys."""
    low, high = adjust(network("wolf", ("P", "above", "1"))).variance_bounds
    return {"low": float(np.sqrt(low)), "high": float(np.sqrt(high))}


def ghilani() -> Mapping[str, float]:
    """Two points in plan by five distances, from two fixed points 3.6 km apart."""
    survey = adjust(network("ghilani", ("Wisconsin", "forward of", "Bucky")))
    residuals = {f"v{i}": checked.residual for i, checked in enumerate(survey.checked[:5], start=1)}
    return {**_adjusted(survey), **residuals}


def strang_borre_fixed() -> Mapping[str, float]:
    """One point in plan by three distances to fixed points."""
    return _adjusted(adjust(network("strang_borre_fixed")))


def strang_borre_free() -> Mapping[str, float]:
    """Four points in plan by six distances, nothing held."""
    return _adjusted(adjust(network("strang_borre_free")))


def benning() -> Mapping[str, float]:
    """Two points in plan by five distances from two fixed points."""
    return _adjusted(adjust(network("benning", ("3", "right of", "1"))))


def hoepke() -> Mapping[str, float]:
    """Eight points in plan by 27 distances, nothing held."""
    return _adjusted(adjust(network("hoepke")))


def hoepke_misread() -> Mapping[str, float]:
    """The same with the distance 1059-75 as the book's list prints it, 5 cm longer than its results need."""
    net = network("hoepke")
    readings = tuple(replace(r, value=1789.499) if r.points == ("1059", "75") else r for r in net.readings)
    spoiled = replace(net, readings=readings)
    survey = adjust(spoiled)
    struck = survey.checked[snoop(spoiled, survey).suspects[0].row]
    return {
        "strike": struck.standardised,
        "error": 100 * struck.error,
        "corrected": struck.reading.value - struck.error,
        "from": float(struck.reading.points[0]),
        "to": float(struck.reading.points[1]),
    }


def baarda() -> Mapping[str, float]:
    """The smallest error that Wolf's distances would show, brought back to the non-centrality of the test."""
    first = adjust(network("wolf", ("P", "above", "1"))).checked[0]
    share = first.detectable * float(np.sqrt(first.redundancy)) / first.reading.sigma
    return {"delta": share, "lambda": share**2}


def bands() -> Mapping[str, float]:
    """Between what limits s0 lies in 95 of 100 surveys, by the readings too many."""
    found = {}
    for freedom in (5, 27):
        for word, limit in zip(("low", "high"), variance_bounds(freedom), strict=True):
            found[f"{freedom} {word}"] = float(np.sqrt(limit))
    return found


_RISES = (
    *(("A", "B", 25.42, 18.1), ("B", "C", 10.34, 9.4), ("C", "A", -35.20, 14.2), ("B", "D", -15.54, 17.6)),
    *(("D", "E", 21.32, 13.5), ("E", "C", 4.82, 9.9), ("E", "A", -31.02, 13.8), ("C", "D", -26.11, 14.0)),
)
"""From, to, rise in m, length of the line in km."""


def mikhail() -> Mapping[str, float]:
    """Five heights by eight rises, weighed by one over the line's length; where they lie in plan is given."""
    rises = [
        Reading(ReadingKind.HEIGHT, (a, b), rise, float(np.sqrt(km)), f"rise {a} {b}")
        for a, b, rise, km in _RISES
    ]
    plan = [
        reading
        for point in "BCDE"
        for reading in coordinate_readings(point, (float(ord(point)), 0.0, 0.0), 1.0, f"at {point}")[:2]
    ]
    return _adjusted(adjust(Network(tuple("ABCDE"), {"A": np.array([0.0, 0.0, 800.0])}, (*rises, *plan))))


def box_bod() -> Mapping[str, float]:
    """Six points of a rising exponential b1 (1 - exp(-b2 x)), fitted from 1, 1."""
    x, y = np.array([1.0, 2, 3, 5, 7, 10]), np.array([109.0, 149, 149, 191, 213, 224])

    def function(b: Array) -> tuple[Array, Array]:
        left = np.exp(np.minimum(-b[:, 1:] * x, 300.0))
        return b[:, :1] * (1 - left) - y, np.stack([1 - left, b[:, :1] * x * left], axis=2)

    ends, sums = descend_together(function, np.array([[1.0, 1.0]]), steps=500, still=1e-12)
    return {"b1": float(ends[0, 0]), "b2": float(ends[0, 1]), "sum": float(sums[0])}


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        wolf,
        wolf_band,
        ghilani,
        strang_borre_fixed,
        strang_borre_free,
        benning,
        hoepke,
        hoepke_misread,
        baarda,
        bands,
        mikhail,
        box_bod,
    )
}
