"""The size of a stock section as it stands in an order: `1-1/4 in x 0.120 in`, `40 x 20 x 2 mm`."""

import re
from fractions import Fraction

from soapstone.quantity.gauges import read_gauge
from soapstone.quantity.kind import Kind, offer
from soapstone.quantity.number import scan
from soapstone.quantity.reading import clean, read, to_float
from soapstone.quantity.refusal import Refusal, quoting
from soapstone.quantity.unit import is_length

_PIPE = re.compile(r"\b(?:sch|sched|schedule|pipe|nps|nb)\b", re.IGNORECASE)
_BETWEEN = re.compile(r" ?[x×X] ?")


def parse_sizes(text: str) -> tuple[float, ...]:
    """Read the sizes of a section, outside first.

    Parameters
    ----------
    text : str
        Lengths with x or × between; a unit given once, behind the last, serves all.

    Returns
    -------
    tuple of float
        Metres, all greater than zero, in the order given.

    Raises
    ------
    QuantityError
        A pipe name, a size without a unit, one that is not greater than zero.
    """
    with quoting(text):
        tidy = clean(text)
        if _PIPE.search(tidy):
            raise Refusal(
                "is a pipe name, and pipe names are not outside sizes",
                "write the outside diameter and the wall, such as 1.900 in x 0.145 in",
            )
        sizes = _read_all(_BETWEEN.split(tidy))
        if min(sizes) <= 0:
            raise Refusal("has a size that is not greater than zero")
        return tuple(to_float(size) for size in sizes)


def _read_all(parts: list[str]) -> list[Fraction]:
    if not all(parts):
        raise Refusal("has an x with no size beside it")
    bare = [_is_bare(part) for part in parts]
    *ahead, last = parts
    if any(bare):
        shared = _unit_behind(last) if all(bare[:-1]) and not bare[-1] else None
        if shared is None:
            raise Refusal(
                "has a size without a unit",
                f"write one behind each size, or one behind the last for all: {offer(Kind.LENGTH)}",
            )
        return [scan(part)[0] * shared for part in ahead] + [read(last, Kind.LENGTH)]
    return [read(part, Kind.LENGTH) for part in parts]


def _is_bare(part: str) -> bool:
    return read_gauge(part) is None and not scan(part)[1]


def _unit_behind(part: str) -> Fraction | None:
    """Metres in the one unit behind a size; None when it is a gauge, or feet and inches."""
    return is_length(scan(part)[1]) if read_gauge(part) is None else None
