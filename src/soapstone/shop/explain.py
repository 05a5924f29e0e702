"""A finding in plain text: for the terminal."""

import math

from soapstone.finding import Finding
from soapstone.formula import Step
from soapstone.job.schema import Job
from soapstone.job.service import Show as Units
from soapstone.quantity import Kind
from soapstone.shop.formulas import figures_needed
from soapstone.shop.units import FIGURES, UnitSet, coherent, figures, units_of
from soapstone.shop.words import Words

_KINDS = {"Pa": Kind.STRESS, "N": Kind.FORCE, "N*m": Kind.TORQUE, "m": Kind.LENGTH, "rad": Kind.ANGLE}
_RPM = math.pi / 30.0


def amount(value: float | None, unit: str, job: Job) -> str:
    """A finding's demand or capacity in the job's units; empty when there is none."""
    if value is None:
        return ""
    if unit in _KINDS:
        return Words.of(job.show).show.text(value, _KINDS[unit])
    if unit == "rad/s":
        return f"{figures(value / _RPM)} rpm"
    return _with_unit(*units_of(job.show).shown(value, unit))


def explained(finding: Finding, units: Units) -> list[str]:
    """Lines that a person can follow with a calculator: each formula, its numbers, its result."""
    used = coherent(finding.because, units_of(units))
    lines = [
        f"{finding.verdict.mark} {finding.verdict}  {finding.id}",
        finding.claim + (f", in the case {finding.case}" if finding.case else ""),
        "",
    ]
    lines += [line for step in finding.because for line in _step(step, used)]
    if finding.demand is not None and finding.capacity is not None and finding.ratio is not None:
        asked = _with_unit(*used.shown(finding.demand, finding.unit))
        allowed = _with_unit(*used.shown(finding.capacity, finding.unit))
        lines += ["", f"asked {asked}, allowed {allowed}: {figures(finding.ratio, 3)} of it is used"]
    lines.append(f"source: {finding.source}")
    lines += [f"assumed: {note}" for note in finding.assumed]
    if finding.remedy:
        lines.append(f"what to do: {finding.remedy}")
    if finding.caution:
        lines.append(f"beware: {finding.caution}")
    return lines


def _step(step: Step, units: UnitSet) -> list[str]:
    value = _with_unit(*units.shown(step.value, step.unit))
    if not step.formula:
        return [f"  {step.symbol} = {value}    {step.words}"]
    if not step.numbers:  # a plain number, which needs no saying twice
        return [f"  {step.symbol} = {value}    {step.words}"]
    count = figures_needed(step, units)
    numbers = ", ".join(f"{s} = {_with_unit(*units.shown(v, u), count)}" for s, v, u in step.numbers)
    return [f"  {step.symbol} = {step.formula} = {value}    {step.words}", f"      with {numbers}"]


def _with_unit(number: float, unit: str, count: int = FIGURES) -> str:
    return f"{figures(number, count)} {unit}".rstrip()
