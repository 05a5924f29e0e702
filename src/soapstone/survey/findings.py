"""What the survey has to say: one finding for each reading, each point, and the whole."""

from dataclasses import replace

import numpy as np
from scipy.stats import chi2

from soapstone.finding import Finding, Verdict, judge
from soapstone.formula import Chain
from soapstone.survey.index import Array
from soapstone.survey.loose import cure_words, direction_words
from soapstone.survey.records import Ambiguity, Checked, Datum, Loose, Network, ReadingKind, Survey
from soapstone.survey.snooping import CRITICAL, Suspect, snoop

BAARDA = "W. Baarda, A Testing Procedure for Use in Geodetic Networks, 1968"
ELLIPSOID = float(np.sqrt(chi2.ppf(0.95, 3)))  # half axis of the 95 % ellipsoid in standard deviations
WITHIN = 0.003
_WITHIN_SAID = (
    "point within 3 mm (1/8 in): normal working tolerance of a body datum reading, common practice, no source"
)
_AT_REST = 0.01
UNCONTROLLED = 0.1  # redundancy below which an error must exceed 13 standard deviations to be seen


def findings(survey: Survey, network: Network, within: float | None = None) -> tuple[Finding, ...]:
    """All findings of the survey.

    Parameters
    ----------
    survey : Survey
    network : Network
        What it came from.
    within : float, m, optional
        The accuracy that every point needs, as a 95 % half axis; 3 mm, listed as assumed, when not given.
    """
    snooped = snoop(network, survey)
    left = dict(zip(snooped.rows, snooped.survey.checked, strict=True))
    suspects = {s.row: s for s in snooped.suspects}
    rivals = {row: s.row for s in snooped.suspects for row in s.alike if row in left}
    readings: list[Finding] = []
    for row, checked in enumerate(survey.checked):
        if row in suspects:
            readings.append(_suspected(network, suspects[row]))
        elif row in rivals:
            readings.append(_rival(checked, network.readings[rivals[row]].label))
        elif left[row].redundancy < UNCONTROLLED:
            readings.append(_uncontrolled(checked))
        else:
            readings.append(_agreeing(left[row]))
    doubtful = {p for s in snooped.suspects for p in network.readings[s.row].touched}
    fixed = network.known if network.datum is Datum.FIXED else ()
    held = {name for name in fixed if name not in network.known_covariance}
    points = [_point(survey, name, within) for name in network.names if name not in held]
    points = [_doubted(p) if p.about in doubtful else p for p in points]
    return (*readings, *points, *_agreement(survey), *_at_rest(survey))


def _doubted(finding: Finding) -> Finding:
    return replace(
        finding, caution="a reading of this point is off: its place is pulled along until that is settled"
    )


def _text(kind: ReadingKind, value: float) -> str:
    return f"{np.degrees(value):.2f} deg" if kind is ReadingKind.LEVEL else f"{value * 1000:.1f} mm"


def _chain(checked: Checked, words: str) -> Chain:
    chain = Chain()
    unit = "rad" if checked.reading.kind is ReadingKind.LEVEL else "m"
    chain.given("l", checked.reading.value, unit, f"as read, {checked.reading.label}")
    chain.given("a", checked.adjusted, unit, words)
    chain.given("sigma", checked.reading.sigma, unit, "one standard deviation of the reading")
    chain.given("r", checked.redundancy, "1", "redundancy number, from the network")
    chain.step("v", "a - l", unit, "residual")
    chain.step("w", "abs(v) / (sigma * sqrt(r))", "1", "standardised residual")
    return chain


def _judged(label: str, claim: str, demand: float, chain: Chain) -> Finding:
    ratio, verdict = judge(demand, CRITICAL)
    return Finding(
        id=f"reading:{label}",
        about=label,
        claim=claim,
        verdict=verdict,
        demand=demand,
        capacity=CRITICAL,
        ratio=ratio,
        because=chain.steps,
        source=BAARDA,
        remedy=f"take {label} again" if verdict is Verdict.SHORT else "",
    )


def _agreeing(checked: Checked) -> Finding:
    reading = checked.reading
    seen = _text(reading.kind, checked.detectable)
    claim = f"{reading.label} agrees with the other readings, which would show an error of {seen}"
    chain = _chain(checked, "as the readings not in doubt have it")
    return _judged(reading.label, claim, chain["w"], chain)


def _rival(checked: Checked, other: str) -> Finding:
    label = checked.reading.label
    chain = _chain(checked, "as all readings together have it")
    return _judged(label, f"{label} or {other} is off, and the readings cannot tell which", chain["w"], chain)


def _suspected(network: Network, suspect: Suspect) -> Finding:
    reading = network.readings[suspect.row]
    unit = "rad" if reading.kind is ReadingKind.LEVEL else "m"
    claim = f"{reading.label} is off by {_signed(reading.kind, suspect.error)} against the other readings"
    if suspect.mistakes:
        claim += f"; best guess: {suspect.mistakes[0].words}{_beside(suspect)}"
    if suspect.alike:
        claim += f"; it could as well be {', '.join(network.readings[row].label for row in suspect.alike)}"
    chain = Chain()
    chain.given("l", reading.value, unit, f"as read, {reading.label}")
    chain.given("a", reading.value - suspect.error, unit, "as the readings not in doubt have it")
    chain.given("sigma", suspect.sigma, unit, "standard deviation of the difference")
    chain.step("e", "l - a", unit, "what the reading is off by")
    demand = chain.step("w", "abs(e) / sigma", "1", "standardised difference")
    return _judged(reading.label, claim, demand, chain)


def _beside(suspect: Suspect) -> str:
    """How much likelier the best guess is than the second."""
    if len(suspect.mistakes) == 1:
        return ""
    best, second = suspect.mistakes[:2]
    times = best.likelihood / second.likelihood
    said = "as likely as" if times < 2 else f"{times:.0f} times likelier than" if times < 100 else ""
    return f" ({said} {second.words})" if said else f" (far likelier than {second.words})"


def _signed(kind: ReadingKind, error: float) -> str:
    return f"{_text(kind, abs(error))} ({'too much' if error > 0 else 'too little'})"


def _uncontrolled(checked: Checked) -> Finding:
    label = checked.reading.label
    names = " and ".join(checked.reading.touched)
    return Finding(
        id=f"reading:{label}",
        about=label,
        claim=f"{label} is uncontrolled: no other reading would show a mistake in it",
        verdict=Verdict.OPEN,
        source=BAARDA,
        remedy=f"one more reading of {names} would control it",
    )


def _point(survey: Survey, name: str, within: float | None) -> Finding:
    loose = next((item for item in survey.loose if item.point == name), None)
    doubt = next((item for item in survey.ambiguous if name in item.moves), None)
    if loose is not None:
        return _open_point(name, loose.words, loose)
    if doubt is not None:
        far = float(np.linalg.norm(doubt.here - doubt.there)) * 1000
        return _open_point(name, f"two places suit the readings, {far:.0f} mm apart at {doubt.point}", doubt)
    covariance = survey.covariance_of(name)
    chain = Chain()
    capacity = WITHIN if within is None else within
    chain.given("s", _largest(covariance), "m", f"standard deviation of {name} along its worst line")
    chain.given("k", ELLIPSOID, "1", "root of chi-square, 3 degrees of freedom, 95 %")
    demand = chain.step("half_axis", "k * s", "m", "longest half axis of the 95 % ellipsoid")
    ratio, verdict = judge(demand, capacity)
    words = f"{name} is known within {capacity * 1000:.1f} mm"
    if verdict is Verdict.SHORT:
        words += f", but it is known only to {demand * 1000:.1f} mm {_worst_line(covariance)}"
    return Finding(
        id=f"point:{name}",
        about=name,
        claim=words,
        verdict=verdict,
        demand=demand,
        capacity=capacity,
        unit="m",
        ratio=ratio,
        because=chain.steps,
        remedy=_cure(covariance, name) if verdict is Verdict.SHORT else "",
        assumed=(_WITHIN_SAID,) if within is None else (),
    )


def _largest(covariance: Array) -> float:
    return float(np.sqrt(max(np.linalg.eigvalsh(covariance)[-1], 0.0)))


def _worst_line(covariance: Array) -> str:
    return direction_words(np.linalg.eigh(covariance)[1][:, -1])


def _cure(covariance: Array, name: str) -> str:
    return cure_words(name, np.linalg.eigh(covariance)[1][:, -1])


def _open_point(name: str, words: str, why: Loose | Ambiguity) -> Finding:
    remedy = why.cure if isinstance(why, Loose) else why.question
    return Finding(
        id=f"point:{name}",
        about=name,
        claim=f"{name} has one place: {words}" if isinstance(why, Ambiguity) else f"{name} is held: {words}",
        verdict=Verdict.OPEN,
        remedy=remedy,
    )


def _at_rest(survey: Survey) -> tuple[Finding, ...]:
    """Nothing when the points have settled."""
    chain = Chain()
    demand = chain.given("d", survey.unrest, "1", "what one more step takes off the sum of squares")
    capacity = chain.given("a", _AT_REST, "1", "a hundredth of one reading's scatter")
    if demand <= capacity:
        return ()
    return (
        Finding(
            id="survey:rest",
            about="survey",
            claim="the readings hold the points firmly enough to find their places",
            verdict=Verdict.OPEN,
            demand=demand,
            capacity=capacity,
            ratio=demand / capacity,
            because=chain.steps,
            remedy="their places are not yet the best ones: read across the long loose stretches, "
            "from firm points to far ones",
        ),
    )


def _agreement(survey: Survey) -> tuple[Finding, ...]:
    """The chi-square test of all readings together; nothing when no reading is left over."""
    if survey.variance_factor is None:
        return ()
    chain = Chain()
    chain.given("f", survey.freedom, "1", "readings more than needed")
    chain.given("S", survey.variance_factor * survey.freedom, "1", "weighted sum of squared residuals")
    demand = chain.step("s2", "S / f", "1", "variance factor")
    ratio, verdict = judge(demand, survey.variance_bounds[1])
    low = demand < survey.variance_bounds[0]
    return (
        Finding(
            id="survey:agreement",
            about="survey",
            claim="the readings together agree as well as their accuracies say",
            verdict=verdict,
            demand=demand,
            capacity=survey.variance_bounds[1],
            ratio=ratio,
            because=chain.steps,
            source="chi-square test, 95 %",
            remedy="find the wrong reading, or state poorer accuracies" if verdict is Verdict.SHORT else "",
            caution="the readings agree better than their stated accuracies: these may be too cautious"
            if low
            else "",
        ),
    )
