"""The survey drawn: points with their ellipsoids in two views, readings as lines, residuals as bars."""

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2, norm

from soapstone.shop.name_places import names_at
from soapstone.survey.records import Checked, Network, ReadingKind, Survey

Array = NDArray[np.float64]

_HALF_AXIS = float(np.sqrt(chi2.ppf(0.95, 3)))  # of the 95 % ellipsoid, in standard deviations
_CRITICAL = float(norm.ppf(1 - 0.001 / 2))
_UNCONTROLLED = 0.1
_VIEWS = {"plan": ((0, 1), "from above, forward is to the right"), "side": ((0, 2), "from the right side")}
_MARGIN = 9.0  # mm, for names at the rim
_LARGEST = 9.0  # mm, the longest half axis on paper
_ROUND = (1, 2, 5)
_ROWS = 30  # bars on one strip


def network_data(survey: Survey, network: Network) -> dict[str, Any]:
    """Plain data for the `network` template."""
    scale = _scale(survey)
    times = exaggeration(survey, scale)
    bars = [_bar(checked) for checked in survey.checked]
    return {
        "views": [
            {"name": name, "said": said, "drawing": view(survey, network, axes, scale, times)}
            for name, (axes, said) in _VIEWS.items()
        ],
        "scale": f"1 : {1 / scale:.0f}",
        "said": f"95 % ellipsoids drawn {times:g} times as large as the drawing around them"
        if times
        else "no point has an ellipsoid: all are given",
        "strips": [bars[start : start + _ROWS] for start in range(0, len(bars), _ROWS)],
        "limit": _CRITICAL,
    }


def _scale(survey: Survey, room: tuple[float, float] = (186.0, 112.0)) -> float:
    """Paper per vehicle (1/10, 1/20, …) at which both views fit their room, mm."""
    spans = np.ptp(survey.xyz, axis=0) * 1000 if len(survey.xyz) else np.ones(3)
    wide, high = room[0] - 2 * _MARGIN, room[1] - 2 * _MARGIN
    least = max(float(spans[0]) / wide, float(max(spans[1], spans[2])) / high, 1e-3)
    return 1 / next(step for step in _steps(1) if step >= least)


def _steps(start: int) -> Iterator[float]:
    decade = float(start)
    while True:
        yield from (decade * step for step in _ROUND)
        decade *= 10


def exaggeration(survey: Survey, scale: float) -> float:
    """How many times larger than the drawing the ellipsoids are: a round number; 0 without any."""
    loose = {item.point for item in survey.loose}
    halves = [_largest(survey.covariance_of(name)) for name in survey.names if name not in loose]
    largest = max(halves, default=0.0) * 1000 * scale
    if largest <= 0:
        return 0.0
    most = _LARGEST / largest
    times = 1.0
    for step in _steps(1):
        if step > most:
            break
        times = step
    return times


def _largest(covariance: Array) -> float:
    return _HALF_AXIS * float(np.sqrt(max(np.linalg.eigvalsh(covariance)[-1], 0.0)))


def view(
    survey: Survey, network: Network, axes: tuple[int, int], scale: float, times: float
) -> dict[str, Any]:
    """One view as strokes on paper, mm.

    Parameters
    ----------
    axes : (int, int)
        Vehicle axes to the right and up.
    scale : float
        Paper per vehicle.
    times : float
        Exaggeration of the ellipsoids.
    """
    flat = survey.xyz[:, axes] * 1000 * scale
    low = flat.min(axis=0) if len(flat) else np.zeros(2)
    paper = flat - low + _MARGIN
    width, height = (paper.max(axis=0) if len(paper) else np.zeros(2)) + _MARGIN
    lines = [*_sights(survey, network, paper)]
    given = {n for n in network.known if n not in network.known_covariance}
    for name, at in zip(survey.names, paper, strict=True):
        if name not in given and times:
            block = survey.covariance_of(name)[np.ix_(axes, axes)]
            lines.append(_ellipse(at, block, 1000 * scale * times))
        lines += _mark(at, given=name in given)
    labels, leaders = names_at(survey.names, paper, lines, (float(width), float(height)))
    return {
        "width": float(width),
        "height": float(height),
        "lines": lines + leaders,
        "labels": labels,
    }


def _sights(survey: Survey, network: Network, paper: Array) -> Iterator[dict[str, Any]]:
    """A line for every reading between two points, once."""
    pairs = {
        tuple(sorted(survey.index[p] for p in r.touched)) for r in network.readings if len(r.touched) == 2
    }
    for one, two in sorted(pairs):
        yield {"points": [paper[one].tolist(), paper[two].tolist()], "stroke": "grey"}


def _ellipse(at: Array, block: Array, times: float) -> dict[str, Any]:
    """The outline of an ellipsoid in a view: half axes from the block of its covariance, (2, 2) m^2."""
    values, vectors = np.linalg.eigh(block)
    half = np.minimum(_HALF_AXIS * np.sqrt(np.maximum(values, 0.0)) * times, 4 * _LARGEST)
    turn = np.linspace(0.0, 2 * np.pi, 37)[:-1]
    ring = at + (np.stack([np.cos(turn), np.sin(turn)], axis=1) * half) @ vectors.T
    return {"points": ring.tolist(), "stroke": "thin", "closed": True}


def _mark(at: Array, *, given: bool) -> list[dict[str, Any]]:
    """A cross for a point; a triangle round it where it is given."""
    x, y = at.tolist()
    cross = [[[x - 1, y], [x + 1, y]], [[x, y - 1], [x, y + 1]]]
    marks: list[dict[str, Any]] = [{"points": line, "stroke": "thin"} for line in cross]
    if given:
        corners = [[x, y + 2.2], [x - 2, y - 1.3], [x + 2, y - 1.3]]
        marks.append({"points": corners, "stroke": "thin", "closed": True})
    return marks


def _bar(checked: Checked) -> dict[str, Any]:
    """How far a reading stands from the others, in standard deviations of its residual."""
    level = checked.reading.kind is ReadingKind.LEVEL
    residual = f"{np.degrees(checked.residual):+.2f}°" if level else f"{1000 * checked.residual:+.1f} mm"
    controlled = checked.redundancy >= _UNCONTROLLED
    return {
        "label": checked.reading.label,
        "w": float(np.clip(checked.standardised, -9.9, 9.9)) if controlled else 0.0,
        "residual": residual.replace("-", "−"),
        "mark": ("short" if abs(checked.standardised) > _CRITICAL else "holds") if controlled else "open",
    }
