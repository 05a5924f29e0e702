"""What gives first: the load path from boss to chassis as a table, its weakest links, and what would help."""

import math
from collections.abc import Sequence
from typing import Any

from soapstone.finding import Finding
from soapstone.shop.report import in_order
from soapstone.shop.units import figures
from soapstone.strength.load_path import DEEPEST, STAGES, Link, Station

_COLUMNS = tuple(dict.fromkeys(STAGES.values()))
_SORTS = {"mount": "hangs on", "tube": "tube", "bar": "bar", "fork": "pinned by"}


def first_data(
    links: Sequence[Link], stations: Sequence[Station], findings: Sequence[Finding]
) -> dict[str, Any]:
    """Plain data for the page; reserves are the inverse of the ratios."""
    numbers = {finding.id: str(number) for number, finding in enumerate(in_order(findings), 1)}
    columns = [c for c in _COLUMNS if any(c in station.weakest for station in stations)]
    worst = max((r for s in stations for r in s.weakest.values() if r is not None), default=0.0)
    return {
        "columns": columns,
        "stations": [_station(station, columns, worst) for station in stations],
        "links": [_link(rank, link, numbers) for rank, link in enumerate(links[:DEEPEST], 1)],
        "more": len(links) - len(links[:DEEPEST]),
    }


def _station(station: Station, columns: Sequence[str], worst: float) -> dict[str, Any]:
    return {
        "part": station.part,
        "sort": _SORTS[station.sort],
        "onto": ", ".join(station.onto),
        "cells": [_cell(station, column, worst) for column in columns],
    }


def _cell(station: Station, column: str, worst: float) -> dict[str, Any]:
    if column not in station.weakest:
        return {"text": "", "use": 0.0, "first": False}
    ratio = station.weakest[column]
    if ratio is None:
        return {"text": "open", "use": 0.0, "first": False}
    return {"text": _reserve(ratio), "use": min(ratio, 1.0), "first": ratio == worst}


def _reserve(ratio: float) -> str:
    """How many times the load, two decimals under ten."""
    if ratio <= 1e-3:
        return "> 1000"
    reserve = 1.0 / ratio
    return f"{reserve:.2f}" if reserve < 10.0 else f"{math.floor(reserve)}"


def _link(rank: int, link: Link, numbers: dict[str, str]) -> dict[str, Any]:
    return {
        "rank": str(rank),
        "number": numbers[link.finding.id],
        "stage": link.stage,
        "verdict": link.finding.verdict.value,
        "about": link.finding.about,
        "claim": link.finding.claim,
        "case": link.finding.case,
        "ratio": figures(link.ratio, 3),
        "reserve": _reserve(link.ratio),
        "buys": [
            {
                "change": buy.change,
                "reserve": _reserve(buy.ratio),
                "weakest": buy.weakest.partition(":")[2],
                "stage": buy.stage,
                "worst": _reserve(buy.worst),
            }
            for buy in link.buys
        ],
    }
