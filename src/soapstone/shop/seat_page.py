"""The report's page on where the drivetrain sits: targets, limits, free play, screws."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from soapstone.finding import Verdict
from soapstone.job.schema import Job
from soapstone.place.findings_seat import telling
from soapstone.place.jacking import Jacked
from soapstone.place.known import upright
from soapstone.place.measures import Measure, Slope
from soapstone.place.placed import Placed
from soapstone.place.seating import Seat
from soapstone.place.solve import Miss, Room
from soapstone.place.wanting import tilted
from soapstone.shop.words import Words


def seat_data(
    job: Job, placed: Sequence[Placed], jacked: Sequence[Jacked], words: Words
) -> list[dict[str, Any]]:
    """Plain data, one record for each body that is set."""
    screws = {one.body: one for one in jacked}
    return [_seat(job, body, screws.get(body.name), words) for body in placed if body.seat is not None]


def _seat(job: Job, body: Placed, screws: Jacked | None, words: Words) -> dict[str, Any]:
    seat = body.seat
    assert seat is not None
    return {
        "name": body.name,
        "state": _state(job, body.name),
        "possible": seat.answer.possible,
        "fights": [limit.measure.name for limit in seat.fights],
        "targets": [_target(miss, words) for miss in seat.answer.misses],
        "limits": [_limit(room, words) for room in telling(seat)],
        "missing": [f"{ask.name}: {ask.missing}" for ask in seat.asks if ask.missing],
        "free": [freedom.words for freedom in seat.free] if seat.problem.targets else [],
        "rests": job.place[body.name].rest is not None,
        "plays": _plays(seat),
        "look": f"{words.length(seat.look[0])} and {np.degrees(seat.look[1]):.3g}°",
        "faces": _faces(job, seat, words),
        "points": [_point(job, seat, name, words) for name in body.points],
        "jacks": _jacks(screws, words),
    }


def _state(job: Job, name: str) -> list[list[str]]:
    datum, dressed = job.datum, job.bodies[name].dressed
    on = datum.measured_on or "not said"
    carried = f"{datum.state}; measured on: {on}; aboard: {datum.aboard or 'not said'}"
    worn = ", ".join(f"{thing}: {how}" for thing, how in dressed.items()) or "nothing said of it"
    return [["the vehicle", carried], ["on the unit", worn]]


def reading_words(measure: Measure, value: float, words: Words) -> str:
    """A measure's value: a slope with its way, an angle, or a length."""
    if isinstance(measure, Slope):
        fore_aft = abs(measure.axis[0]) >= abs(measure.axis[1])
        sense = float(np.sign(measure.axis[0] if fore_aft else measure.axis[1]))
        up, down = ("nose up", "nose down") if fore_aft else ("left up", "left down")
        shown = f"{np.degrees(abs(value)):.2f}°"
        return f"{shown} {up if value * sense > 0.0 else down}" if abs(value) > 8.7e-5 else "level"
    if measure.unit == "rad":
        return f"{np.degrees(value) if abs(value) > 8.7e-5 else 0.0:.2f}°".replace("-", "−")
    return words.length(value)


def _size(value: float, unit: str, words: Words) -> str:
    return f"{np.degrees(value):.2f}°" if unit == "rad" else f"{1000.0 * value:.1f} mm"


def _target(miss: Miss, words: Words) -> dict[str, str]:
    measure, wanted = miss.target.measure, float(miss.target.wanted[0])
    two = len(miss.off) > 1
    return {
        "name": measure.name,
        "wanted": "on it" if two else reading_words(measure, wanted, words),
        "sits": "–" if two else reading_words(measure, wanted + float(miss.off[0]), words),
        "off": _size(miss.largest, measure.unit, words),
        "within": _size(miss.target.within, measure.unit, words),
        "verdict": (Verdict.HOLDS if miss.met else Verdict.SHORT).value,
    }


def _limit(room: Room, words: Words) -> dict[str, str]:
    limit, measure = room.limit, room.limit.measure
    ends = [
        f"{word} {reading_words(measure, value, words)}"
        for word, value in (("at least", limit.least), ("at most", limit.most))
        if np.isfinite(value)
    ]
    if len(ends) == 2:
        ends = [
            f"{reading_words(measure, limit.least, words)} to {reading_words(measure, limit.most, words)}"
        ]
    left = 0.0 if room.touched and room.room > -1e-6 else room.room
    kept = room.room >= -1e-6
    return {
        "name": measure.name,
        "limit": ends[0],
        "room": _size(left, measure.unit, words).replace("-", "−"),
        "verdict": (Verdict.HOLDS if kept else Verdict.SHORT).value,
    }


def _plays(seat: Seat) -> list[dict[str, str]]:
    rows = []
    for play, near in zip(seat.plays, seat.near_enough, strict=True):
        ahead, back = _two(play.name)
        for way, far, by, close, by_close in (
            (ahead, play.ahead, play.stopped_ahead, near.ahead, near.stopped_ahead),
            (back, play.back, play.stopped_back, near.back, near.stopped_back),
        ):
            far_words, near_words = _reach(far, by, play.unit), _reach(close, by_close, play.unit)
            rows.append({"way": way, "far": far_words, "by": by or "nothing", "near": near_words})
    return rows


def _two(name: str) -> tuple[str, str]:
    """`left side up, down` is left side up and left side down."""
    first, _, second = name.partition(", ")
    start = first.rpartition(" ")[0]
    return first, f"{start} {second}".strip()


def _reach(far: float, by: str, unit: str) -> str:
    way = f"{np.degrees(far):.2f}°" if unit == "rad" else f"{1000.0 * far:.1f} mm"
    return way if by else f"more than {way}"


def _faces(job: Job, seat: Seat, words: Words) -> list[dict[str, str]]:
    """What a level reads on each face of known angle, and how its axis then runs."""
    body, rows = job.bodies[seat.body], []
    for name, face in body.faces.items():
        if face.angle is None:
            continue
        axis = np.array(body.axes[face.level_to])
        reads = Slope(name, tilted(axis, face.angle), upright(job))
        runs = Slope(face.level_to, axis, upright(job))
        shown = [
            reading_words(one, float(one.of(seat.answer.pose, np.zeros(3)).value[0]), words)
            for one in (reads, runs)
        ]
        rows.append({"name": name, "reads": shown[0], "axis": face.level_to, "runs": shown[1]})
    return rows


def _point(job: Job, seat: Seat, name: str, words: Words) -> dict[str, str]:
    own = np.array(job.bodies[seat.body].points[name])
    at = seat.answer.pose.apply(own)
    move = at - seat.now.apply(own)
    along, across, up = (words.side(float(value), axis) for axis, value in enumerate(np.round(at, 5)))
    moves = [f"{1000.0 * value:+.1f}".replace("-", "−") for value in np.round(move, 7) + 0.0]
    return {"name": name, "along": along, "across": across, "up": up, "moves": ", ".join(moves)}


def _jacks(screws: Jacked | None, words: Words) -> dict[str, Any]:
    if screws is None:
        return {"rows": [], "hand": [], "trouble": ""}
    if screws.lift is None:
        return {"rows": [], "hand": [], "trouble": screws.trouble}
    rows = []
    for turn in screws.lift.turns:
        jack = screws.jacks[turn.screw]
        rows.append(
            {
                "name": turn.screw,
                "point": jack.point,
                "lift": f"{1000.0 * turn.lift:+.1f} mm".replace("-", "−"),
                "turns": f"{turn.turns:.2f}" if jack.pitch else "–",
                "way": turn.way if jack.pitch else "no thread given",
            }
        )
    return {"rows": rows, "hand": list(screws.lift.words), "trouble": ""}
