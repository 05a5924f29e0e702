"""Bolts: sizes, strength classes and the holes they go through."""

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from soapstone.errors import SoapstoneError
from soapstone.tables.rows import Status, nearest, table, to_si, unknown_name

_INCH = 0.0254
FITS = ("fine", "medium", "coarse")
_FIT_WORDS = {"close": "fine", "normal": "medium", "loose": "coarse"}


@dataclass(frozen=True)
class BoltSize:
    """A thread size with its hexagon head and nut, SI (m, m²)."""

    name: str
    diameter: float
    pitch: float
    coarse: bool
    head_width_across_flats: float
    head_height: float
    nut_height: float
    source: str
    status: Status

    @property
    def metric(self) -> bool:
        """Whether the size is an ISO metric one."""
        return self.name.startswith("M")

    @property
    def shank_area(self) -> float:
        """Area of the plain shank, m²."""
        return math.pi / 4 * self.diameter**2

    @property
    def stress_area(self) -> float:
        """Tensile stress area, m².

        ISO 898-1, 9.1.6.1: (π/4)(d - 0.9382 P)² for metric; ASME B1.1: (π/4)(d - 0.9743 P)² for inch threads.
        """
        factor = 0.938194 if self.metric else 0.9743
        return math.pi / 4 * (self.diameter - factor * self.pitch) ** 2

    @property
    def stress_diameter(self) -> float:
        """Diameter of a round bar of the stress area, m."""
        return math.sqrt(4 * self.stress_area / math.pi)


@dataclass(frozen=True)
class BoltClass:
    """A strength class; stresses in Pa, least values.

    Attributes
    ----------
    system : str
        `metric` (ISO 898-1) or `inch` (SAE J429).
    stocked : bool
        Whether a bolt counter usually has it (common practice, no source).
    """

    name: str
    system: str
    stocked: bool
    proof_strength: float
    yield_strength: float
    ultimate_strength: float
    source: str
    status: Status


@dataclass(frozen=True)
class ClearanceHole:
    """A hole that lets a bolt through; diameter in m."""

    diameter: float
    fit: str
    source: str
    status: Status


def _size(row: dict[str, Any]) -> BoltSize:
    pitch = to_si(row["pitch"]) if "pitch" in row else _INCH / row["threads_per_inch"]
    return BoltSize(
        name=row["name"],
        diameter=to_si(row["diameter"]),
        pitch=pitch,
        coarse=row["coarse"],
        head_width_across_flats=to_si(row["flats"]),
        head_height=to_si(row["head"]),
        nut_height=to_si(row["nut"]),
        source=row["source"],
        status=Status(row["status"]),
    )


def _class(row: dict[str, Any]) -> BoltClass:
    return BoltClass(
        name=row["name"],
        system=row["system"],
        stocked=row.get("stocked", False),
        proof_strength=to_si(row["proof"]),
        yield_strength=to_si(row["yield"]),
        ultimate_strength=to_si(row["ultimate"]),
        source=row["source"],
        status=Status(row["status"]),
    )


@cache
def _sizes() -> dict[str, BoltSize]:
    return {row["name"]: _size(row) for row in table("bolts")["size"]}


@cache
def _classes() -> dict[str, BoltClass]:
    return {row["name"]: _class(row) for row in table("bolts")["class"]}


@cache
def _size_spellings() -> dict[str, str]:
    """Every way to write a size, folded: a coarse metric size may also name its pitch."""
    spellings = {name.casefold(): name for name in _sizes()}
    for size in _sizes().values():
        if size.metric and size.coarse:
            spellings[f"{size.name}x{size.pitch * 1e3:g}".casefold()] = size.name
    return spellings


def bolt_sizes() -> tuple[BoltSize, ...]:
    """Every size in the table."""
    return tuple(_sizes().values())


def bolt_classes() -> tuple[BoltClass, ...]:
    """Every strength class in the table, weakest first within its system."""
    return tuple(_classes().values())


def bolt_size(name: str) -> BoltSize:
    """The size called `name`: `M12` (coarse), `M10x1.25`, `1/2-13`.

    Raises
    ------
    SoapstoneError
        Names the nearest size when the table has none so called.
    """
    key = _size_spellings().get(_fold(name))
    if key is None:
        raise unknown_name("bolt size", name, _sizes())
    return _sizes()[key]


def bolt_class(name: str) -> BoltClass:
    """The class called `name`: `10.9`, `class 8.8`, `grade 8`, `gr 5`.

    Raises
    ------
    SoapstoneError
        Names the nearest class when the table has none so called.
    """
    folded = " ".join(name.split()).casefold().removeprefix("class ")
    folded = re.sub(r"^(?:grade|gr\.?)\s*(?=\d)", "grade ", folded)
    if folded not in _classes():
        raise unknown_name("bolt class", name, _classes())
    return _classes()[folded]


def parse_bolt(text: str) -> tuple[BoltSize, BoltClass]:
    """Size and class from one text: `M12 10.9`, `1/2-13 grade 8`.

    Raises
    ------
    SoapstoneError
        When the size or the class is not in the table or the two do not belong together.
    """
    first, _, rest = " ".join(text.split()).partition(" ")
    try:
        size, grade = bolt_size(first), bolt_class(rest)
    except SoapstoneError as fault:
        raise SoapstoneError(f"cannot read {text!r} as a bolt", remedy=_spelling(first, rest)) from fault
    if (grade.system == "metric") != size.metric:
        wanted = "a class such as 8.8 or 10.9" if size.metric else "a grade such as grade 5 or grade 8"
        raise SoapstoneError(
            f"{text!r}: {grade.name} does not belong to {size.name}", remedy=f"give {wanted}"
        )
    return size, grade


def clearance_hole(size: BoltSize | str, fit: str = "medium") -> ClearanceHole:
    """The hole for `size` with the wanted `fit` (fine, medium, coarse; close, normal, loose), diameter in m.

    ISO 273 for metric sizes, ASME B18.2.8 for inch ones.

    Raises
    ------
    SoapstoneError
        When the fit is none of these or the table has no hole for the size.
    """
    bolt = bolt_size(size) if isinstance(size, str) else size
    word = _FIT_WORDS.get(fit, fit)
    if word not in FITS:
        raise unknown_name("fit", fit, (*FITS, *_FIT_WORDS))
    for row in table("bolts")["hole"]:
        if math.isclose(to_si(row["diameter"]), bolt.diameter, rel_tol=1e-9):
            return ClearanceHole(to_si(row[word]), word, row["source"], Status(row["status"]))
    raise SoapstoneError(f"no clearance hole for {bolt.name} in the table", remedy="give the hole's diameter")


def _fold(name: str) -> str:
    return "".join(name.split()).replace("×", "x").casefold()


def _spelling(size: str, grade: str) -> str:
    close = _size_spellings().get(_fold(size)) or nearest(size, _sizes())
    if not close:
        return "write it as 'M12 10.9' or '1/2-13 grade 8'"
    system = "metric" if close.startswith("M") else "inch"
    names = [row.name for row in bolt_classes() if row.system == system]
    guess = nearest(grade, names)
    return f"did you mean {f'{close} {guess}'!r}?" if guess else f"add its class: {', '.join(names)}"
