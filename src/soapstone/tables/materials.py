"""Metals: stiffness, mass and strength, with the strength left beside a weld."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from soapstone.tables.rows import Status, table, to_si, to_si_or_none, unknown_name


@dataclass(frozen=True)
class Material:
    """One metal in one condition, SI.

    Attributes
    ----------
    elastic_modulus, shear_modulus : float
        Pa.
    density : float
        kg/m³.
    yield_strength, ultimate_strength : float or None
        Pa; None when the grade is not known.
    weld_zone_yield, weld_zone_ultimate : float or None
        Pa, what is left beside a weld; None when the table has no separate value.
    expansion : float
        1/K.
    source : str
        Key of the source of the strengths (see `sources`).
    clause : str
        Where in the source, or the condition.
    elastic_source : str
        Key of the source of the elastic constants and the density.
    status, weld_zone_status : Status
        How well the strengths are known.
    """

    name: str
    elastic_modulus: float
    shear_modulus: float
    density: float
    yield_strength: float | None
    ultimate_strength: float | None
    weld_zone_yield: float | None
    weld_zone_ultimate: float | None
    expansion: float
    source: str
    clause: str
    elastic_source: str
    status: Status
    weld_zone_status: Status
    note: str

    @property
    def strength_is_known(self) -> bool:
        """Whether a check may lean on the strengths at all."""
        known = self.yield_strength is not None and self.ultimate_strength is not None
        return known and self.status is not Status.UNKNOWN


@cache
def _catalogue() -> dict[str, Material]:
    families = table("materials")["family"]
    return {row["name"]: _material(row, families[row["family"]]) for row in table("materials")["material"]}


def _material(row: dict[str, Any], family: dict[str, Any]) -> Material:
    return Material(
        name=row["name"],
        elastic_modulus=to_si(family["elastic_modulus"]),
        shear_modulus=to_si(family["shear_modulus"]),
        density=to_si(family["density"]),
        yield_strength=to_si_or_none(row.get("yield")),
        ultimate_strength=to_si_or_none(row.get("ultimate")),
        weld_zone_yield=to_si_or_none(row.get("weld_zone_yield")),
        weld_zone_ultimate=to_si_or_none(row.get("weld_zone_ultimate")),
        expansion=to_si(family["expansion"]),
        source=row["source"],
        clause=row["clause"],
        elastic_source=family["source"],
        status=Status(row["status"]),
        weld_zone_status=Status(row.get("weld_zone_status", row["status"])),
        note=row["note"],
    )


def materials() -> tuple[str, ...]:
    """The names that `material` takes."""
    return tuple(_catalogue())


def material(name: str) -> Material:
    """The metal called `name` (`DOM 1020`, `S355`, `6061-T6`), whatever its case.

    Raises
    ------
    SoapstoneError
        Names the nearest spelling when the table has no such metal.
    """
    known = {key.casefold(): key for key in _catalogue()}
    key = known.get(" ".join(name.split()).casefold())
    if key is None:
        raise unknown_name("material", name, materials())
    return _catalogue()[key]
