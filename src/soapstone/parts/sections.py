"""Tube and bar sections: size in, section properties out.

Local axes: x along the member, y across its width, z across its height. `second_moment_y` is about
the y axis (∫z² dA, bending that lifts along z), `shear_area_y` belongs to a shear force along y.

Shear areas are those of Cowper (The shear coefficient in Timoshenko's beam theory, J. Appl. Mech. 33,
1966) with Poisson's ratio set to zero, so that a section needs no material; a positive ratio only
raises them (thin round tube: 0.500 of the area here, 0.531 at 0.3).
"""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

from soapstone.errors import GeometryError
from soapstone.parts.profile import Profile


@dataclass(frozen=True)
class Section:
    """Properties of a doubly symmetric section.

    Attributes
    ----------
    area : m²
    second_moment_y, second_moment_z : m⁴
    torsion_constant : m⁴
        Saint-Venant.
    shear_area_y, shear_area_z : m²
    extreme_y, extreme_z : m
        Farthest fibre from the centroid along y and along z.
    elastic_modulus_y, elastic_modulus_z : m³
        Bending about y, about z.
    torsion_modulus : m³
        Torque over largest shear stress.
    plastic_modulus_y, plastic_modulus_z : m³
    perimeter : m
        Once round the outside.
    """

    area: float
    second_moment_y: float
    second_moment_z: float
    torsion_constant: float
    shear_area_y: float
    shear_area_z: float
    extreme_y: float
    extreme_z: float
    elastic_modulus_y: float
    elastic_modulus_z: float
    torsion_modulus: float
    plastic_modulus_y: float
    plastic_modulus_z: float
    perimeter: float


class Shape(Protocol):
    """Any tube or bar: its outside outline and its section properties."""

    @property
    def outline(self) -> Profile:
        """Outside outline."""
        ...

    @property
    def section(self) -> Section:
        """Section properties."""
        ...


class TubeShape(Shape, Protocol):
    """A tube: a shape with one wall thickness."""

    @property
    def wall(self) -> float:
        """Wall thickness, m."""
        ...

    @property
    def bore(self) -> Profile:
        """Inside outline."""
        ...


@dataclass(frozen=True)
class RoundTube:
    """Round tube.

    Parameters
    ----------
    outside_diameter, wall : float
        m.

    Raises
    ------
    GeometryError
        If a size is not positive or the wall leaves no bore.
    """

    outside_diameter: float
    wall: float

    def __post_init__(self) -> None:
        _positive("round tube", outside_diameter=self.outside_diameter, wall=self.wall)
        if not self.wall < self.outside_diameter / 2:
            raise GeometryError(
                f"round tube: a wall of {_mm(self.wall)} leaves no bore in {_mm(self.outside_diameter)}",
                remedy="the wall must be less than half the outside diameter",
            )

    @property
    def outline(self) -> Profile:
        """Outside outline."""
        return Profile(0.0, 0.0, self.outside_diameter / 2)

    @property
    def bore(self) -> Profile:
        """Inside outline."""
        return self.outline.inset(self.wall)

    @cached_property
    def section(self) -> Section:
        """Exact annulus formulas."""
        return _ring(self.outside_diameter / 2, self.outside_diameter / 2 - self.wall)


@dataclass(frozen=True)
class RoundBar:
    """Solid round bar.

    Parameters
    ----------
    diameter : float
        m.

    Raises
    ------
    GeometryError
        If the diameter is not positive.
    """

    diameter: float

    def __post_init__(self) -> None:
        _positive("round bar", diameter=self.diameter)

    @property
    def outline(self) -> Profile:
        """Outside outline."""
        return Profile(0.0, 0.0, self.diameter / 2)

    @cached_property
    def section(self) -> Section:
        """Exact disc formulas."""
        return _ring(self.diameter / 2, 0.0)


@dataclass(frozen=True)
class RectangularTube:
    """Rectangular or square tube; where the corner radius is below the wall, the bore's corners are sharp.

    Parameters
    ----------
    width, height : float
        Outside, along local y and along local z, m.
    wall, outside_corner_radius : float
        m; a radius of zero is a sharp corner.

    Raises
    ------
    GeometryError
        If a size is not positive, the wall leaves no bore or the corners do not fit the sides.
    """

    width: float
    height: float
    wall: float
    outside_corner_radius: float

    def __post_init__(self) -> None:
        _positive("rectangular tube", width=self.width, height=self.height, wall=self.wall)
        size = f"{_mm(self.width)} by {_mm(self.height)}"
        smaller = min(self.width, self.height)
        if not self.wall < smaller / 2:
            raise GeometryError(
                f"rectangular tube: a wall of {_mm(self.wall)} leaves no bore in {size}",
                remedy="the wall must be less than half the smaller side",
            )
        if not 0.0 <= self.outside_corner_radius <= smaller / 2:
            raise GeometryError(
                f"rectangular tube: a corner radius of {_mm(self.outside_corner_radius)} does not fit {size}",
                remedy="it must lie between zero and half the smaller side",
            )

    @property
    def outline(self) -> Profile:
        """Outside outline."""
        r = self.outside_corner_radius
        return Profile(self.width / 2 - r, self.height / 2 - r, r)

    @property
    def bore(self) -> Profile:
        """Inside outline."""
        return self.outline.inset(self.wall)

    @cached_property
    def section(self) -> Section:
        """Exact area and moments; torsion by EN 10219-2, annex B (from memory): cell plus open wall.

        Torsion constant t³h/3 + 2·K·A_h with K = 2·A_h·t/h on the wall's mid-line (length h, enclosing
        A_h); its first term is the open wall's, its second Bredt's thin-walled cell. Torsion modulus
        I_t/(t + K/t).
        """
        outer, inner, t = self.outline, self.bore, self.wall
        area = outer.area - inner.area
        iy, iz = (o - i for o, i in zip(outer.second_moments, inner.second_moments, strict=True))
        zy, zz = (o - i for o, i in zip(outer.first_moments, inner.first_moments, strict=True))
        corner = (outer.radius + inner.radius) / 2
        across, up = self.width - t, self.height - t
        middle = Profile(across / 2 - corner, up / 2 - corner, corner)
        k = 2 * middle.area * t / middle.perimeter
        torsion = t**3 * middle.perimeter / 3 + 2 * k * middle.area
        return Section(
            area=area,
            second_moment_y=iy,
            second_moment_z=iz,
            torsion_constant=torsion,
            shear_area_y=area * _box_shear(up, across),
            shear_area_z=area * _box_shear(across, up),
            extreme_y=self.width / 2,
            extreme_z=self.height / 2,
            elastic_modulus_y=iy / (self.height / 2),
            elastic_modulus_z=iz / (self.width / 2),
            torsion_modulus=torsion / (t + k / t),
            plastic_modulus_y=zy,
            plastic_modulus_z=zz,
            perimeter=outer.perimeter,
        )


@dataclass(frozen=True)
class FlatBar:
    """Solid rectangular bar: width along local y, thickness along local z.

    Parameters
    ----------
    width, thickness : float
        m.

    Raises
    ------
    GeometryError
        If a size is not positive.
    """

    width: float
    thickness: float

    def __post_init__(self) -> None:
        _positive("flat bar", width=self.width, thickness=self.thickness)

    @property
    def outline(self) -> Profile:
        """Outside outline."""
        return Profile(self.width / 2, self.thickness / 2, 0.0)

    @cached_property
    def section(self) -> Section:
        """Exact; torsion by Saint-Venant's series."""
        b, t = self.width, self.thickness
        torsion, modulus = _rectangle_torsion(max(b, t), min(b, t))
        return Section(
            area=b * t,
            second_moment_y=b * t**3 / 12,
            second_moment_z=t * b**3 / 12,
            torsion_constant=torsion,
            shear_area_y=b * t * 5 / 6,
            shear_area_z=b * t * 5 / 6,
            extreme_y=b / 2,
            extreme_z=t / 2,
            elastic_modulus_y=b * t**2 / 6,
            elastic_modulus_z=t * b**2 / 6,
            torsion_modulus=modulus,
            plastic_modulus_y=b * t**2 / 4,
            plastic_modulus_z=t * b**2 / 4,
            perimeter=2 * (b + t),
        )


def _ring(outer: float, inner: float) -> Section:
    area = math.pi * (outer**2 - inner**2)
    moment = math.pi / 4 * (outer**4 - inner**4)
    plastic = 4 / 3 * (outer**3 - inner**3)
    shear = area * _ring_shear(inner / outer)
    return Section(
        area=area,
        second_moment_y=moment,
        second_moment_z=moment,
        torsion_constant=2 * moment,
        shear_area_y=shear,
        shear_area_z=shear,
        extreme_y=outer,
        extreme_z=outer,
        elastic_modulus_y=moment / outer,
        elastic_modulus_z=moment / outer,
        torsion_modulus=2 * moment / outer,
        plastic_modulus_y=plastic,
        plastic_modulus_z=plastic,
        perimeter=2 * math.pi * outer,
    )


def _ring_shear(m: float) -> float:
    """Cowper 1966, hollow circle, ν = 0; m is inside over outside radius (6/7 solid, 1/2 thin)."""
    square = (1 + m * m) ** 2
    return 6 * square / (7 * square + 20 * m * m)


def _box_shear(width: float, height: float) -> float:
    """Cowper 1966, thin-walled box of one wall thickness, ν = 0, shear along the height; mid-line sizes."""
    m = n = width / height
    return 10 * (1 + 3 * m) ** 2 / (12 + 72 * m + 150 * m**2 + 90 * m**3 + 10 * n**2 * (3 * m + 3 * m**2))


def _rectangle_torsion(b: float, t: float) -> tuple[float, float]:
    """Torsion constant and modulus of a solid rectangle b ≥ t.

    Timoshenko & Goodier, Theory of Elasticity, art. 109. Odd terms to 199: the rest of Σ1/n⁵ is below
    1e-10 of the sum; the stress series is cut where cosh would overflow, long past its last digit.
    """
    odd = range(1, 200, 2)
    ratio = math.pi * b / (2 * t)
    series = sum(math.tanh(n * ratio) / n**5 for n in odd)
    constant = b * t**3 / 3 * (1 - 192 / math.pi**5 * t / b * series)
    slope = 1 - 8 / math.pi**2 * sum(1 / (n * n * math.cosh(n * ratio)) for n in odd if n * ratio < 300)
    return constant, constant / (t * slope)


def _positive(what: str, **sizes: float) -> None:
    for name, size in sizes.items():
        if not (math.isfinite(size) and size > 0.0):
            raise GeometryError(f"{what}: its {name.replace('_', ' ')} is {_mm(size)}, not more than zero")


def _mm(length: float) -> str:
    return f"{length * 1000:.6g} mm"
