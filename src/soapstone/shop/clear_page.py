"""The report's pages on room: what clears what, what reaches the bolts, what hangs low."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from soapstone.finding import Finding, Verdict
from soapstone.fit.clearances import Pair, matrix
from soapstone.fit.ground import Low
from soapstone.fit.reach import From, Reached
from soapstone.fit.stage import Room

_LOWEST = 6
_WIDEST = 16
"""Groups that a matrix has room for on a page."""


def clear_data(room: Room, findings: Sequence[Finding]) -> dict[str, Any]:
    """Plain data for the sheets.

    Parameters
    ----------
    room : Room
    findings : of the whole job: the verdicts are theirs
    """
    verdicts = {finding.id: finding.verdict for finding in findings}
    pairs = measured(room.pairs)
    return {
        "pairs": [_pair(number, pair, verdicts) for number, pair in enumerate(pairs, 1)],
        "matrix": _matrix(room.pairs, verdicts),
        "skipped": _skipped(room.pairs),
        "joined": list(dict.fromkeys(why for pair in pairs for why in pair.joined)),
        "bolts": [_bolt(one, verdicts) for one in room.reached],
        "lows": [_low(low) for low in room.lows[:_LOWEST]],
    }


def measured(pairs: Sequence[Pair]) -> list[Pair]:
    """Those that a gap was found of, the tightest first."""
    found = [pair for pair in pairs if pair.rest is not None]
    return sorted(found, key=lambda pair: pair.worst.slack)


def _mm(size: float) -> str:
    return f"{1e3 * size:.1f}"


def _verdict(pair: Pair, verdicts: Mapping[str, Verdict]) -> str:
    return verdicts[f"clearance:{pair.first}/{pair.second}"].value


def _pair(number: int, pair: Pair, verdicts: Mapping[str, Verdict]) -> dict[str, str]:
    assert pair.rest is not None
    rest, moved, worst = pair.rest, pair.moved, pair.worst
    middle = 1e3 * (worst.apart.here + worst.apart.there) / 2.0
    return {
        "number": f"{number}",
        "first": rest.first,
        "second": rest.second,
        "rest": _mm(rest.gap),
        "wanted": _mm(rest.wanted.size),
        "moved": _mm(moved.gap) if moved else "–",
        "state": moved.state if moved else "nothing moves",
        "within": _mm(worst.within),
        "at": ", ".join(f"{value:.0f}" for value in middle + 0.0).replace("-", "−"),
        "verdict": _verdict(pair, verdicts),
    }


def _matrix(pairs: Sequence[Pair], verdicts: Mapping[str, Verdict]) -> dict[str, Any]:
    """Every group against every other: the least gap, mm, or a dash where nothing is measured."""
    rows = list(matrix(pairs))
    names = [name for name, _ in rows]
    if not 1 < len(names) <= _WIDEST:
        return {"names": [], "rows": []}
    cells = []
    for row, (_, others) in enumerate(rows):
        line = []
        for name in names[:row]:
            pair = others[name]
            if pair.rest is None:
                line.append({"text": "·", "verdict": ""})
                continue
            least = min(one.gap for one in (pair.rest, pair.moved) if one is not None)
            line.append({"text": f"{1e3 * least:.0f}", "verdict": _verdict(pair, verdicts)})
        cells.append(line)
    return {"names": names, "rows": cells}


def _skipped(pairs: Sequence[Pair]) -> list[dict[str, str]]:
    """What is not measured, gathered by its reason."""
    reasons: dict[str, list[str]] = {}
    for pair in pairs:
        if pair.rest is None:
            reasons.setdefault(pair.skipped, []).append(f"{pair.first} and {pair.second}")
    return [{"why": why, "pairs": "; ".join(names)} for why, names in reasons.items()]


def _bolt(one: Reached, verdicts: Mapping[str, Verdict]) -> dict[str, str]:
    way, bolt = one.best, one.bolt
    worst = [verdicts[f"{kind}:{bolt.name}"] for kind in ("reach", "draw-out", "bolt-seat")]
    rank = next((v for v in (Verdict.SHORT, Verdict.OPEN) if v in worst), Verdict.HOLDS)
    turning = way.turned
    swing = "" if turning is None else f"{min(np.degrees(turning.swing), 360.0):.0f}°"
    return {
        "name": bolt.name,
        "size": bolt.size.name,
        "side": way.side.words,
        "tool": turning.tool.name if turning else "none",
        "swing": swing,
        "nut": _nut(way),
        "needed": "not known" if way.needed is None else _mm(way.needed),
        "free": f"{_mm(way.free)}" + (f" to {way.stopped_by}" if way.stopped_by else " or more"),
        "verdict": rank.value,
    }


def _nut(way: From) -> str:
    if not way.nut:
        return "in the boss"
    return next((one.tool.name for one in way.nut if one.put_on and one.way is not None), "not reached")


def _low(low: Low) -> dict[str, str]:
    return {"name": low.name, "height": _mm(low.height), "sway": _mm(low.sway), "within": _mm(low.within)}
