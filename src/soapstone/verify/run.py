"""Running the table: every problem set up and solved once, every value compared."""

from collections.abc import Callable, Iterable, Mapping

from soapstone.errors import SoapstoneError
from soapstone.verify import (
    bolted,
    buckling,
    curved,
    fatigue,
    frame,
    members,
    modes,
    movements,
    parts,
    place,
    plates,
    quantity,
    strength,
    survey,
    tables,
    tube_joints,
    welds,
)
from soapstone.verify.compare import Result, compare
from soapstone.verify.table import Check, checks

Problem = Callable[[], Mapping[str, float]]
PROBLEMS: Mapping[str, Mapping[str, Problem]] = {
    "quantity": quantity.PROBLEMS,
    "tables": tables.PROBLEMS,
    "survey": survey.PROBLEMS,
    "place": place.PROBLEMS,
    "parts": parts.PROBLEMS,
    "frame": frame.PROBLEMS,
    "movements": movements.PROBLEMS,
    "curved": curved.PROBLEMS,
    "modes": modes.PROBLEMS,
    "buckling": buckling.PROBLEMS,
    "strength": strength.PROBLEMS,
    "members": members.PROBLEMS,
    "tube_joints": tube_joints.PROBLEMS,
    "welds": welds.PROBLEMS,
    "bolted": bolted.PROBLEMS,
    "plates": plates.PROBLEMS,
    "fatigue": fatigue.PROBLEMS,
}
"""The functions that set a published problem up and answer it, by area and name."""


def run_checks(*, shifted: bool = False, only: Iterable[Check] | None = None) -> tuple[Result, ...]:
    """Run every check of the table on this machine.

    Parameters
    ----------
    shifted : bool
        Compare with each published value shifted by three tolerances; every check must then fail.
    only : iterable of Check, optional
        Run these instead of the whole table.

    Raises
    ------
    SoapstoneError
        When a row names a function or value that is not there, or could never fail.
    """
    answers: dict[tuple[str, str], Mapping[str, float]] = {}
    results = []
    for check in checks() if only is None else only:
        key = (check.area, check.by)
        if key not in answers:
            answers[key] = _problem(check)()
        results.append(compare(check, _value(check, answers[key]), shifted=shifted))
    return tuple(results)


def _problem(check: Check) -> Problem:
    problem = PROBLEMS.get(check.area, {}).get(check.by)
    if problem is None:
        raise SoapstoneError(f"no function {check.by!r} sets this problem up", where=check.id)
    return problem


def _value(check: Check, answer: Mapping[str, float]) -> float:
    if check.pick not in answer:
        raise SoapstoneError(f"{check.by!r} answers {', '.join(answer)}, not {check.pick!r}", where=check.id)
    return float(answer[check.pick])
