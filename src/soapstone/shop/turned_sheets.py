"""A dimensioned drawing of each turned part: half in section, sizes with their limits."""

from collections.abc import Sequence
from typing import Any

import shapely

from soapstone.job.schema import Job
from soapstone.parts.turned import TurnedMade, mass_of, weld_words
from soapstone.shop.words import Words
from soapstone.tables.fits import Limits

_ROOM = (150.0, 74.0)
_SCALES = (1, 2, 5, 10)
_LEFT = 14.0
_HATCH = 2.2
"""mm between hatch lines."""


def turned_pages(job: Job, parts: Sequence[TurnedMade], words: Words) -> list[dict[str, Any]]:
    """Plain data for the `turned` template, one block a part."""
    return [_block(job, made, words) for made in parts]


def _block(job: Job, made: TurnedMade, words: Words) -> dict[str, Any]:
    spec = made.spec
    facts = [
        ["of", f"round bar, {spec.of}"],
        ["how many", str(spec.quantity)],
        ["outside", _size(spec.outside, made.outside, words)],
        *_inside(made, words),
        ["length", words.both(spec.length)],
    ]
    if made.spigot is not None and spec.spigot is not None and spec.clearance is not None:
        facts.append(
            [
                "spigot",
                f"{words.both(made.spigot)} diameter, {words.both(spec.spigot)} long: bore of {spec.into}"
                f" less {1e3 * spec.clearance:.2f} mm; measure the tube's bore first, flash and all",
            ]
        )
    facts.append(["edges", f"{words.size(spec.chamfer)} at 45°" if spec.chamfer else "broken 0.3 mm"])
    facts.append(["mass of one", words.mass(mass_of(job, made))])
    return {
        "name": made.name,
        "kind": spec.what or spec.kind,
        "facts": facts,
        "drawing": turned_drawing(made, words),
        "weld": weld_words(made),
    }


def _inside(made: TurnedMade, words: Words) -> list[list[str]]:
    spec = made.spec
    if made.thread:
        return [["thread", f"{made.thread} through, drill {1e3 * made.hole:.2f} mm, tap from the wide end"]]
    if spec.bore is None:
        return []
    return [["bore", _size(spec.bore, made.bore, words)]]


def _size(size: float, limits: Limits | None, words: Words) -> str:
    if limits is None:
        return words.both(size)
    return f"{words.both(size)} {limits.text}: {1e3 * limits.least:.3f} to {1e3 * limits.largest:.3f} mm"


def turned_drawing(made: TurnedMade, words: Words) -> dict[str, Any]:
    """Upper half in section, lower half from outside; lengths run from one datum, the left face."""
    spec = made.spec
    needed = max(1e3 * spec.length / (_ROOM[0] - 60.0), 1e3 * spec.outside / (_ROOM[1] - 8.0))
    scale = next((one for one in _SCALES if one >= needed), _SCALES[-1])
    factor = 1e3 / scale
    half, hole, long = factor * spec.outside / 2.0, factor * made.hole / 2.0, factor * spec.length
    axis = 10.0 + 7.0 * (1 if spec.spigot is None else 2) + half
    profile = [[_LEFT + factor * x, factor * r] for x, r in made.profile]
    upper = [[x, axis + r] for x, r in profile]
    lower = [[x, axis - r] for x, r in profile]
    ends = [[_LEFT, axis + hole], *upper, [_LEFT + long, axis + hole]]
    lines: list[dict[str, Any]] = [
        {"points": [*ends, ends[0]], "stroke": "thick"},
        {"points": [[_LEFT, axis], *lower, [_LEFT + long, axis]], "stroke": "thick"},
        {"points": [[_LEFT - 4.0, axis], [_LEFT + long + 4.0, axis]], "stroke": "centre"},
        *_hatch(profile, hole, axis),
        *_steps(profile, axis),
    ]
    if made.hole:
        lines.append({"points": [[_LEFT, axis], [_LEFT, axis + hole]], "stroke": "thick"})
        lines.append({"points": [[_LEFT + long, axis], [_LEFT + long, axis + hole]], "stroke": "thick"})
    labels: list[dict[str, Any]] = []
    stations = [spec.length] if spec.spigot is None else [spec.spigot, spec.length]
    for row, station in enumerate(stations):
        own, text = _running(
            _LEFT + factor * station, axis - half - 7.0 - 7.0 * row, axis - half, words.length(station)
        )
        lines += own
        labels.append(text)
    diameters = [(f"ø {words.length(spec.outside)}{_class(made.outside)}", half)]
    if made.hole:
        inner = made.thread or f"ø {words.length(made.hole)}{_class(made.bore)}"
        diameters.append((inner, hole))
    if made.spigot is not None and spec.spigot is not None:
        x, reach = _LEFT + factor * spec.spigot / 2.0, factor * made.spigot / 2.0
        lines.append({"points": [[x, axis + reach], [x, axis + half + 2.0]], "stroke": "hair"})
        told = f"spigot ø {words.length(made.spigot)}"
        labels.append({"x": x, "y": axis + half + 2.4, "text": told, "anchor": "center-bottom", "size": 8})
    for row, (told, reach) in enumerate(diameters):
        right = _LEFT + long + 8.0
        y = axis + half - 5.0 * row
        start = [_LEFT + long, axis + reach]
        lines.append({"points": [start, [right, y], [right + 2.0, y]], "stroke": "hair"})
        labels.append({"x": right + 2.5, "y": y, "text": told, "anchor": "left-horizon", "size": 8})
    return {
        "width": _LEFT + long + 62.0,
        "height": axis + half + 6.0,
        "lines": lines,
        "labels": labels,
        "scale": f"1 : {scale}",
    }


def _class(limits: Limits | None) -> str:
    return "" if limits is None else f" {limits.text}"


def _running(x: float, y: float, edge: float, text: str) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """A running dimension from the left face: a small ring at its origin, an arrow at its end."""
    lines = [
        {"points": [[_LEFT, y - 1.5], [_LEFT, edge - 1.0]], "stroke": "hair"},
        {"points": [[x, y - 1.5], [x, edge - 1.0]], "stroke": "hair"},
        {"points": [[_LEFT, y], [x, y]], "stroke": "hair"},
        {"points": [[x - 2.4, y + 0.5], [x, y], [x - 2.4, y - 0.5]], "stroke": "thin"},
    ]
    turn = [[_LEFT + 0.7 * c, y + 0.7 * s] for c, s in ((1, 0), (0.7, 0.7), (0, 1), (-0.7, 0.7), (-1, 0))]
    turn += [[_LEFT + 0.7 * c, y + 0.7 * s] for c, s in ((-0.7, -0.7), (0, -1), (0.7, -0.7), (1, 0))]
    lines.append({"points": turn, "stroke": "thin"})
    return lines, {"x": x - 3.0, "y": y + 0.6, "text": text, "anchor": "right-bottom", "size": 8}


def _steps(profile: list[list[float]], axis: float) -> list[dict[str, Any]]:
    """Edges across the lower half, where the outside turns."""
    return [{"points": [[x, axis], [x, axis - r]], "stroke": "thin"} for x, r in profile[1:-1]]


def _hatch(profile: list[list[float]], hole: float, axis: float) -> list[dict[str, Any]]:
    """Section lines at 45°, cut to the metal of the upper half."""
    corners = [(profile[0][0], hole), *((x, r) for x, r in profile), (profile[-1][0], hole)]
    metal = shapely.Polygon(corners).buffer(0)
    left, bottom, right, top = metal.bounds
    found: list[dict[str, Any]] = []
    at = left - (top - bottom)
    while at < right:
        cut = metal.intersection(shapely.LineString([(at, bottom), (at + top - bottom, top)]))
        for part in getattr(cut, "geoms", [cut]):
            if part.geom_type == "LineString" and not part.is_empty:
                found.append({"points": [[x, axis + r] for x, r in part.coords], "stroke": "hair"})
        at += _HATCH
    return found
