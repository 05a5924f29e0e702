"""The report's section on weights, free bodies, and units on rubber."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from soapstone.frame.modes import Modes
from soapstone.frame.statics import Held, exact_bodies
from soapstone.job.schema import Job
from soapstone.place.loads import LoadCase
from soapstone.place.on_rubber import OnRubber
from soapstone.place.placed import Placed
from soapstone.shop.free_body import free_bodies, free_body_data
from soapstone.shop.words import WAYS, Words, millimetres

if TYPE_CHECKING:
    from soapstone.build import Build

Array = NDArray[np.float64]


def mounts_data(build: "Build", words: Words) -> dict[str, Any]:
    """Plain data for the section, empty lists where the job has none of it."""
    pictures = [
        drawn | {"body": name}
        for name in build.idealised.bodies
        for picture in free_bodies(build.layout, build.placed, build.cases, build.rubber.get(name), name)
        for drawn in free_body_data(build.job, build.placed[name], picture, words)
    ]
    return {
        "whole": _whole(build, words),
        "free_bodies": pictures,
        "held": [row for held in build.statics.held.values() for row in _held_rows(held, build.cases, words)],
        "units": [
            _unit(build.job, unit, build.placed[name], build.cases, build.unit_modes, words)
            for name, unit in build.rubber.items()
        ],
    }


def _whole(build: "Build", words: Words) -> str:
    whole = build.statics.whole
    if whole is None:
        return ""
    exact = exact_bodies(build.job, build.idealised)
    centre = ", ".join(
        f"{millimetres(abs(at), 0)} mm {WAYS[axis][int(at < 0.0)]} ±{millimetres(1.96 * sigma, 0)} mm"
        for axis, (at, sigma) in enumerate(
            zip(whole.centre.tolist(), whole.centre_sigma.tolist(), strict=True)
        )
    )
    parts = [
        f"All that is hung and built weighs {words.mass(whole.mass)}"
        f" ±{196.0 * whole.mass_sigma / whole.mass:.1f} %; its centre of mass is {centre}",
        "Each within that in 95 of 100 cases, of what the job says of its bodies and steel to 3 %"
        " (common practice)",
        f"{whole.largest_doubt} adds most to the doubt",
    ]
    return ". ".join([*parts, f"But {exact}"] if exact else parts) + "."


def _held_rows(held: Held, cases: Sequence[LoadCase], words: Words) -> list[dict[str, str]]:
    """Each mount with its largest force and the case of it."""
    rows = []
    for row, name in enumerate(held.names):
        sizes = np.linalg.norm(held.forces[:, row], axis=1)
        worst = int(sizes.argmax())
        parts = (words.force(float(value)).replace("-", "−") for value in held.forces[worst, row])
        x, y, z = parts
        rows.append(
            {
                "body": held.body,
                "name": name,
                "case": cases[worst].name,
                "x": x,
                "y": y,
                "z": z,
                "size": words.force(float(sizes[worst])),
            }
        )
    return rows


def _unit(
    job: Job, unit: OnRubber, placed: Placed, cases: Sequence[LoadCase], on_frame: Modes | None, words: Words
) -> dict[str, Any]:
    return {
        "name": unit.suspended.name,
        "mounts": _mounts(unit, cases, words),
        "torque_case": _torque_case(unit, cases),
        "modes": _modes(unit, on_frame),
        "roll_axis": _roll_axis(unit, words),
        "shakes": [
            {
                "name": shook.name,
                "frequency": f"{shook.frequency:.1f}",
                "passed": f"{100.0 * _passed(shook.load, shook.answer.passed):.1f}",
            }
            for shook in unit.shaken
        ],
        "sways": [
            {"name": sway.point, **_box(sway.low, sway.high)}
            for sway in unit.sways
            if sway.point in placed.points
        ],
        "broken": _broken(unit),
        "unwatched": ", ".join(unit.suspended.unwatched),
    }


def _passed(load: Array, passed: Any) -> float:
    part = slice(0, 3) if np.any(load[:3]) else slice(3, 6)
    return float(np.linalg.norm(np.abs(passed[part])) / np.linalg.norm(load[part]))


def _torque_case(unit: OnRubber, cases: Sequence[LoadCase]) -> str:
    """The case with the largest torque on the unit; empty without one."""
    sizes = [float(np.linalg.norm(c.wrench(unit.suspended.name, unit.body.centre)[3:])) for c in cases]
    return cases[int(np.argmax(sizes))].name if sizes and max(sizes) > 0.0 else ""


def _mounts(unit: OnRubber, cases: Sequence[LoadCase], words: Words) -> list[dict[str, str]]:
    case = _torque_case(unit, cases)
    shares = unit.shares[case] if case else ()
    upright = unit.rest.forces[:, 2]
    shares = shares or unit.shares[cases[0].name]
    rows = []
    for row, hung in enumerate(unit.mounts):
        across, other, along = (f"{value / 1e3:.0f}" for value in hung.mount.stiffness)
        moved = hung.mount.axes @ unit.rest.squeezed[row]
        rows.append(
            {
                "name": hung.mount.name,
                "on": hung.hanger or hung.support,
                "stiffness": f"{along} / {across} / {other}",
                "origin": hung.origin,
                "sag": millimetres(-float(moved[2]), 2),
                "load": words.force(float(upright[row])),
                "weight": f"{100.0 * shares[row].weight:.0f} %",
                "torque": f"{100.0 * shares[row].torque:.0f} %".replace("-", "−") if case else "–",
            }
        )
    return rows


def _modes(unit: OnRubber, on_frame: Modes | None) -> list[dict[str, Any]]:
    if unit.modes is None:
        return []
    given: list[float] = [] if on_frame is None else on_frame.frequencies.tolist()
    return [
        {
            "frequency": f"{frequency:.2f}",
            "words": unit.modes.words(row).partition(" (")[0],
            "shares": [f"{100.0 * value:.0f}".replace("-0", "0") for value in unit.modes.shares[row]],
            "on_frame": f"{given[row]:.2f}" if row < len(given) else "–",
        }
        for row, frequency in enumerate(unit.modes.frequencies)
    ]


def _roll_axis(unit: OnRubber, words: Words) -> str:
    if unit.roll_axis is None:
        return ""
    x, y, z = (f"{value:.3f}".replace("-", "−") for value in unit.roll_axis.axis)
    return (
        f"Free of its mounts a torque of the motor would turn it about the line ({x}, {y}, {z})"
        f" through its centre of mass, {words.degrees(unit.roll_axis.angle)} off the motor's shaft:"
        " mounts set about that line keep the firing or ripple out of the other modes."
    )


def _box(low: Array, high: Array) -> dict[str, str]:
    return {
        axis: f"{1e3 * float(a):+.1f} to {1e3 * float(b):+.1f}".replace("-", "−")
        for axis, a, b in zip("xyz", low, high, strict=True)
    }


def _broken(unit: OnRubber) -> list[dict[str, str]]:
    """For each mount the case that brings the unit nearest to something, or where it falls."""
    rows = []
    for name in dict.fromkeys(one.mount for one in unit.broken):
        cases = [one for one in unit.broken if one.mount == name]
        worst = min(cases, key=lambda one: (one.held, min((t.gap for t in one.watched), default=np.inf)))
        nearest = min(worst.watched, key=lambda touch: touch.gap, default=None)
        gap = (
            f"{nearest.name}, {millimetres(max(nearest.gap, 0.0), 0)} mm left"
            if nearest
            else "nothing is watched"
        )
        rows.append(
            {
                "name": name,
                "case": worst.case,
                "held": "the others hold it" if worst.held else "not held",
                "moved": millimetres(float(np.linalg.norm(worst.displacement[:3]))),
                "turned": f"{np.degrees(float(np.linalg.norm(worst.displacement[3:]))):.1f}°",
                "nearest": gap,
                "words": worst.words,
            }
        )
    return rows
