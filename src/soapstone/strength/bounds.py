"""Two bounds of one frame, judged twice: of every check the worse answer counts."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from soapstone.finding import Finding, Verdict

_RANK = {Verdict.HOLDS: 0, Verdict.OPEN: 1, Verdict.SHORT: 2}
STIFF = "tabs count as stiff here; taken as giving they ask less of it"
GIVING = "{words}: asks more of it than stiff tabs do"
_SAME = 1e-3
"""Ratios nearer than a thousandth are the same answer: no word about bounds then."""


def worse(stiff: Iterable[Finding], soft: Iterable[Finding], words: str) -> Iterator[Finding]:
    """The findings of the stiff bound, exchanged for those of the soft one where these are worse.

    Parameters
    ----------
    words : what the soft bound assumes
    """
    others = {finding.id: finding for finding in soft}
    for finding in stiff:
        other = others.pop(finding.id, None)
        if other is None:
            yield finding
        elif _key(other) > _key(finding):
            yield _noted(other, GIVING.format(words=words)) if _apart(finding, other) else other
        else:
            yield _noted(finding, STIFF) if _apart(finding, other) else finding
    for other in others.values():
        yield _noted(other, GIVING.format(words=words))


def _key(finding: Finding) -> tuple[int, float]:
    return _RANK[finding.verdict], finding.ratio if finding.ratio is not None else float("inf")


def _apart(one: Finding, other: Finding) -> bool:
    if one.ratio is None or other.ratio is None:
        return one.verdict is not other.verdict
    return abs(one.ratio - other.ratio) > _SAME * max(one.ratio, other.ratio)


def _noted(finding: Finding, note: str) -> Finding:
    return replace(finding, assumed=(*finding.assumed, note))
