"""What this room needs to know of a tube; any stock that has these attributes will do."""

from typing import Protocol, runtime_checkable

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class SectionLike(Protocol):
    """Section properties, SI; y and z are the section's own axes through its centroid."""

    @property
    def area(self) -> float:
        """Area, m²."""
        ...

    @property
    def second_moment_y(self) -> float:
        """Second moment about the y axis, ∫z² dA, m⁴."""
        ...

    @property
    def second_moment_z(self) -> float:
        """Second moment about the z axis, ∫y² dA, m⁴."""
        ...

    @property
    def torsion_constant(self) -> float:
        """Saint-Venant torsion constant, m⁴."""
        ...

    @property
    def torsion_modulus(self) -> float:
        """Torque over greatest shear stress, m³."""
        ...

    @property
    def elastic_modulus_y(self) -> float:
        """Elastic section modulus about y, m³."""
        ...

    @property
    def elastic_modulus_z(self) -> float:
        """Elastic section modulus about z, m³."""
        ...

    @property
    def plastic_modulus_y(self) -> float:
        """Plastic section modulus about y, m³."""
        ...

    @property
    def plastic_modulus_z(self) -> float:
        """Plastic section modulus about z, m³."""
        ...


@runtime_checkable
class RoundTubeLike(Protocol):
    """A round tube; lengths in m."""

    @property
    def outside_diameter(self) -> float:
        """Outside diameter, m."""
        ...

    @property
    def wall(self) -> float:
        """Wall thickness, m."""
        ...

    @property
    def section(self) -> SectionLike:
        """Its section properties."""
        ...


@runtime_checkable
class RectangularTubeLike(Protocol):
    """A square or rectangular tube; `width` lies along y, `height` along z; lengths in m."""

    @property
    def width(self) -> float:
        """Outside size along y, m."""
        ...

    @property
    def height(self) -> float:
        """Outside size along z, m."""
        ...

    @property
    def wall(self) -> float:
        """Wall thickness, m."""
        ...

    @property
    def outside_corner_radius(self) -> float:
        """Outside corner radius, m."""
        ...

    @property
    def section(self) -> SectionLike:
        """Its section properties."""
        ...


TubeLike = RoundTubeLike | RectangularTubeLike
