"""Rubber by hardness and shape: moduli from the table, stiffness of a block by the Gent-Lindley formula."""

from dataclasses import dataclass

import numpy as np

from soapstone.errors import GeometryError, SoapstoneError
from soapstone.formula import Chain, Step
from soapstone.tables.rows import Status, table, to_si


@dataclass(frozen=True)
class Rubber:
    """Natural rubber of one hardness.

    Attributes
    ----------
    hardness : float, IRHD
    young, shear, bulk : float, Pa
    shape : float
        k of the Gent-Lindley formula.
    between : bool
        Whether the row was read off between two rows of the table.
    """

    hardness: float
    young: float
    shear: float
    bulk: float
    shape: float
    source: str
    status: Status
    between: bool


@dataclass(frozen=True)
class Block:
    """A rubber block between two bonded plates.

    Attributes
    ----------
    area : float, m², loaded
    free_area : float, m², that can bulge
    thickness : float, m
    """

    area: float
    free_area: float
    thickness: float

    def __post_init__(self) -> None:
        if not min(self.area, self.free_area, self.thickness) > 0.0:
            raise GeometryError("a rubber block needs an area, a rim and a thickness above zero")

    @property
    def shape_factor(self) -> float:
        """Loaded area per free area."""
        return self.area / self.free_area


@dataclass(frozen=True)
class BlockStiffness:
    """Stiffness of a block: N/m in compression and in shear, and how it came about."""

    compression: float
    shear: float
    because: tuple[Step, ...]
    source: str


@dataclass(frozen=True)
class StrainLimits:
    """What rubber lasts under a standing load, as shares of its thickness."""

    compression: float
    shear: float
    source: str


def round_block(diameter: float, thickness: float) -> Block:
    """A solid cylinder pressed along its axis; m."""
    return Block(np.pi * diameter**2 / 4, np.pi * diameter * thickness, thickness)


def square_block(length: float, width: float, thickness: float) -> Block:
    """A cuboid pressed through its thickness; m."""
    return Block(length * width, 2 * (length + width) * thickness, thickness)


def rubber(hardness: float) -> Rubber:
    """Moduli of natural rubber of a hardness (IRHD, near Shore A), read along straight lines between rows.

    Raises
    ------
    SoapstoneError
        Outside the table.
    """
    rows = table("rubber")["grade"]
    known = np.array([row["hardness"] for row in rows], float)
    if not known[0] <= hardness <= known[-1]:
        raise SoapstoneError(
            f"no rubber of hardness {hardness:g} is known",
            remedy=f"the table runs from {known[0]:g} to {known[-1]:g}; or give measured stiffnesses",
        )

    def at(values: list[float]) -> float:
        return float(np.interp(hardness, known, values))

    exact = [row for row in rows if row["hardness"] == hardness]
    return Rubber(
        hardness,
        young=at([to_si(row["young"]) for row in rows]),
        shear=at([to_si(row["shear"]) for row in rows]),
        bulk=at([to_si(row["bulk"]) for row in rows]),
        shape=at([row["shape"] for row in rows]),
        source=rows[0]["source"],
        status=Status(exact[0]["status"]) if exact else Status.INFERRED,
        between=not exact,
    )


def block_stiffness(block: Block, material: Rubber, *, with_bulk: bool = False) -> BlockStiffness:
    """Stiffness of a bonded block.

    `E = E0 (1 + 2 k S²)`, pressed `E A / t`, sheared `G A / t` (Gent and Lindley 1959; Lindley, Engineering
    Design with Natural Rubber). `with_bulk` adds the give of the rubber's volume, `1/E + 1/B`, which tells in
    thin blocks.
    """
    chain = Chain()
    chain.given("A", block.area, "m**2", "loaded area")
    chain.given("A_f", block.free_area, "m**2", "free area, which can bulge")
    chain.given("t", block.thickness, "m", "thickness")
    chain.given("E_0", material.young, "Pa", f"Young's modulus at hardness {material.hardness:g}")
    chain.given("G", material.shear, "Pa", f"shear modulus at hardness {material.hardness:g}")
    chain.given("k", material.shape, "1", "shape number of the hardness")
    chain.step("S", "A / A_f", "1", "shape factor")
    chain.step("E_c", "E_0 * (1 + 2 * k * S**2)", "Pa", "modulus pressed between plates")
    modulus = "E_c"
    if with_bulk:
        chain.given("B", material.bulk, "Pa", "bulk modulus")
        chain.step("E_b", "1 / (1 / E_c + 1 / B)", "Pa", "same with the volume's own give")
        modulus = "E_b"
    compression = chain.step("k_c", f"{modulus} * A / t", "N/m", "stiffness pressed")
    shear = chain.step("k_s", "G * A / t", "N/m", "stiffness sheared")
    return BlockStiffness(
        compression, shear, chain.steps, "Gent and Lindley 1959; table by Lindley, from memory"
    )


def strain_limits() -> StrainLimits:
    """The design strains of the table."""
    row = table("rubber")["limits"]
    return StrainLimits(row["compression"], row["shear"], row["source"])


def dynamic_factors() -> tuple[float, float, str]:
    """How many times stiffer rubber is when shaken: low, high, source."""
    row = table("rubber")["dynamic"]
    return row["low"], row["high"], row["source"]
