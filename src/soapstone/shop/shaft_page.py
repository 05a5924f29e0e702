"""The report's page on shafts: angles and plunge over the travel, joints, evenness, a rigid coupling."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from soapstone.job.schema import Job
from soapstone.place.alignment import alignment
from soapstone.place.placed import Placed
from soapstone.place.propeller_shafts import (
    Line,
    peak_acceleration,
    residual_angle,
    residual_unevenness,
    turned_through,
    unevenness,
)
from soapstone.place.shafting import HalfRun, PropellerRun
from soapstone.place.stage import Driveline
from soapstone.shop.curves import Curve, curves
from soapstone.shop.units import figures
from soapstone.survey.records import Survey

Array = NDArray[np.float64]

_CURVE = (92.0, 52.0)  # mm
_WAVE = (150.0, 46.0)
_TURN = np.linspace(0.0, 2.0 * np.pi, 721)
_RPM = np.pi / 30.0


def shaft_data(job: Job, survey: Survey, placed: Mapping[str, Placed], found: Driveline) -> dict[str, Any]:
    """Plain data: half-shafts that could be run, propeller shafts with joints, and rigid ones."""
    runs = [run for run in found.propeller_shafts if run.joints is not None]
    return {
        "halves": [_half(run) for run in found.half_shafts if run.shaft is not None],
        "jointed": [_jointed(run) for run in runs if run.spec.coupling == "joint"],
        "rigid": [_rigid(run, job, survey, placed) for run in runs if run.spec.coupling == "rigid"],
    }


def _degrees(value: float, places: int = 1) -> str:
    return f"{np.degrees(value):.{places}f}"


def _signed(value: float) -> str:
    return f"{1000.0 * value:+.1f}".replace("-", "−") if abs(value) > 5e-5 else "0.0"


def _half(run: HalfRun) -> dict[str, Any]:
    moves, shaft, spec = run.moves, run.shaft, run.spec
    assert moves is not None and shaft is not None
    rows = [
        {
            "name": name,
            "travel": _signed(float(moves.travel[i])),
            "length": f"{1000.0 * shaft.length[i]:.1f}",
            "plunge": _signed(float(shaft.plunge[i])),
            "inner": _degrees(float(shaft.inner_angle[i])),
            "outer": _degrees(float(shaft.outer_angle[i])),
        }
        for i, name in enumerate(moves.names)
    ]
    travel = 1000.0 * moves.travel
    angles = [
        Curve("", travel, np.degrees(shaft.inner_angle)),
        Curve("", travel, np.degrees(shaft.outer_angle), "thin"),
    ]
    allowed = [
        float(np.degrees(joint.angle)) for joint in (spec.inner, spec.outer) if joint.angle is not None
    ]
    closes = [-1000.0 * joint.closes for joint in (spec.inner, spec.outer) if joint.closes]
    opens = [1000.0 * joint.opens for joint in (spec.inner, spec.outer) if joint.opens]
    length = f"{1000.0 * run.ride_length:.1f} mm"
    return {
        "name": run.name,
        "length": f"{length} between the joints' centres, "
        + ("as given, both joints in their middle" if spec.length else "as at ride height: what to make it"),
        "limits": _joint_words(run),
        "rows": rows,
        "angles": curves(angles, "travel, mm, up to the right", "joint angle, deg", _CURVE, allowed),
        "plunge": curves(
            [Curve("", travel, 1000.0 * shaft.plunge)],
            "travel, mm, up to the right",
            "plunge, mm, apart is up",
            _CURVE,
            [sum(closes), sum(opens)] if closes and opens else [],
        ),
        "assumed": list(moves.assumed),
    }


def _joint_words(run: HalfRun) -> str:
    said = []
    for name, joint in (("inner", run.spec.inner), ("outer", run.spec.outer)):
        parts = [
            "angle not given" if joint.angle is None else f"{_degrees(joint.angle)}°",
            *([] if joint.closes is None else [f"closes {1000.0 * joint.closes:.1f} mm"]),
            *([] if joint.opens is None else [f"opens {1000.0 * joint.opens:.1f} mm"]),
        ]
        said.append(f"{name} joint: {', '.join(parts)}")
    return "; ".join(said)


def _jointed(run: PropellerRun) -> dict[str, Any]:
    assert run.joints is not None
    rows = []
    for number, (name, line) in enumerate(zip(run.names, run.lines, strict=True)):
        lengths = np.linalg.norm(np.diff(run.joints[number], axis=0), axis=1)
        rows.append(
            {
                "name": name or "as it stands",
                "angles": [_degrees(float(angle), 2) for angle in line.angles],
                "left": _degrees(residual_angle(line), 2) if run.whole else "–",
                "uneven": figures(100.0 * residual_unevenness(line), 3) if run.whole else "–",
                "lengths": ", ".join(f"{1000.0 * length:.1f}" for length in lengths),
            }
        )
    speed = run.spec.speed
    joints = [_joint(number, float(angle), speed) for number, angle in enumerate(run.lines[0].angles, 1)]
    return {
        "name": run.name,
        "speed": "not given" if speed is None else f"{speed / _RPM:.0f} rpm",
        "count": len(run.lines[0].angles),
        "rows": rows,
        "joints": joints,
        "phases": ", ".join(f"{_degrees(phase, 0)}°" for phase in run.spec.phases) or "in phase (assumed)",
        "wave": _wave(run.lines[0]) if run.whole else None,
    }


def _joint(number: int, angle: float, speed: float | None) -> dict[str, str]:
    _, peak = peak_acceleration(angle, speed or 0.0)
    return {
        "number": str(number),
        "angle": _degrees(angle, 2),
        "uneven": figures(100.0 * unevenness(angle), 3),
        "peak": figures(peak, 3) if speed else "–",
    }


def _wave(line: Line) -> dict[str, Any]:
    """Speed over one turn of the output, behind the first joint and behind the last, in per cent off."""

    def off(of: Line) -> Array:
        rate: Array = 100.0 * (np.gradient(turned_through(of, _TURN), _TURN) - 1.0)
        return rate

    alone = Line(line.directions[:2], ())
    degrees = np.degrees(_TURN)
    lines = [
        Curve("behind the first joint", degrees, off(alone), "thin"),
        Curve("behind the last", degrees, off(line)),
    ]
    return curves(lines, "turn of the output, deg", "speed off the mean, %", _WAVE)


def _fine(value: float) -> str:
    return f"{1000.0 * value:.2f} mm"


def _rigid(run: PropellerRun, job: Job, survey: Survey, placed: Mapping[str, Placed]) -> dict[str, Any]:
    drawn, flange, read = alignment(run, job, survey, placed), run.spec.flange, run.spec.read
    gap = "–" if flange is None else _fine(flange * float(np.sin(drawn.angle)))
    return {
        "name": run.name,
        "rows": [
            [
                "offset of the two centres",
                f"{1000.0 * drawn.offset:.2f} mm",
                f"{1000.0 * drawn.offset_known:.2f} mm",
            ],
            ["angle of the two axes", f"{_degrees(drawn.angle, 3)}°", f"{_degrees(drawn.angle_known, 3)}°"],
            ["widest less narrowest gap at the rim", gap, "–"],
        ],
        "read": ""
        if read is None
        else f"By the gauges: offset {_fine(read.offset)}, rim gap {_fine(read.rim_gap)}.",
    }
