"""What a frame is made of and what loads it.

Axes are ISO 8855 (x forward, y left, z up) in metres. A rigid body (a drive unit, a cast mount) is one node
at any point of it; members reach it through long `offsets`, springs through `Spring.other`: both are rigid
arms that carry force and moment without bending.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Literal, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from soapstone.errors import GeometryError
from soapstone.frame.geometry import Geometry, measure

Floats = NDArray[np.float64]
Kind = Literal["rotation", "translation"]


@dataclass(frozen=True, eq=False)
class Release:
    """One freedom left to a member's end: a single bolt is a hinge about its own axis.

    Attributes
    ----------
    member : int
        Index of the member.
    end : {0, 1}
        Start or end; the release sits at the true end, beyond the rigid arm.
    axis : (3,) float
        Global direction; need not be a unit vector.
    kind : {'rotation', 'translation'}
        Free to turn about the axis, or free to slide along it.
    """

    member: int
    end: int
    axis: Floats
    kind: Kind = "rotation"

    def __post_init__(self) -> None:
        axis = np.asarray(self.axis, dtype=float)
        length = float(np.linalg.norm(axis))
        if axis.shape != (3,) or not np.isfinite(length) or length == 0.0:
            raise GeometryError("a release needs a direction of three numbers, not all zero")
        object.__setattr__(self, "axis", axis / length)


@dataclass(frozen=True, eq=False)
class Spring:
    """An elastic tie from a node to the ground or to another node.

    Attributes
    ----------
    node : int
        Where it acts and where its relative movement is measured.
    stiffness : (6, 6) float, N/m, N, N·m
        Symmetric, global axes, order x y z, about x y z.
    other : int or None
        The node at its other side, carried rigidly to the place of `node`; None for the ground.
    """

    node: int
    stiffness: Floats
    other: int | None = None

    def __post_init__(self) -> None:
        stiffness = np.asarray(self.stiffness, dtype=float)
        if stiffness.shape != (6, 6) or not np.allclose(stiffness, stiffness.T, rtol=1e-9, atol=0.0):
            raise GeometryError("a spring needs a symmetric table of 6 by 6 stiffnesses")
        object.__setattr__(self, "stiffness", stiffness)


@dataclass(frozen=True, eq=False)
class LumpedMass:
    """A mass carried by a node.

    Attributes
    ----------
    node : int
    mass : float, kg
    offset : (3,) float, m
        Global vector from the node to its centre of mass.
    inertia : (3, 3) float, kg·m²
        About its own centre of mass, global axes; left out it is a point. Only modes need it.
    """

    node: int
    mass: float
    offset: Floats
    inertia: Floats = field(default_factory=lambda: np.zeros((3, 3)))


_MEMBER_FLOATS = (
    "elastic_modulus",
    "shear_modulus",
    "area",
    "second_moment_y",
    "second_moment_z",
    "torsion_constant",
    "shear_area_y",
    "shear_area_z",
    "density",
)


@dataclass(frozen=True, eq=False)
class Frame:
    """Nodes, prismatic members, releases, springs and what is held. n nodes, m members.

    Local axes of a member: x from its true start to its true end, y = `up` × x made a unit vector, z = x × y.
    With x forward and `up` up, y is to the left and z up. A section's width lies along y, its height along z;
    `second_moment_y` is about y (bending in the x-z plane, together with `shear_area_z`).
    The arrays are not to be changed afterwards.

    Attributes
    ----------
    node_names, member_names : tuple of str
    nodes : (n, 3) float, m
    ends : (m, 2) int
        Start and end node.
    offsets : (m, 2, 3) float, m
        Global vectors from each node to the member's true end (rigid arms).
    up : (m, 3) float
        Reference direction that fixes local z; not along the member.
    elastic_modulus, shear_modulus : (m,) float, Pa
    area : (m,) float, m²
    second_moment_y, second_moment_z, torsion_constant : (m,) float, m⁴
    shear_area_y, shear_area_z : (m,) float, m²
        Infinite where shear deformation is to be left out.
    density : (m,) float, kg/m³
    held : (n, 6) bool
        Directions (x y z, about x y z, global) in which a node is fixed.
    releases : tuple of Release
    springs : tuple of Spring
    """

    node_names: tuple[str, ...]
    nodes: Floats
    member_names: tuple[str, ...]
    ends: NDArray[np.int64]
    offsets: Floats
    up: Floats
    elastic_modulus: Floats
    shear_modulus: Floats
    area: Floats
    second_moment_y: Floats
    second_moment_z: Floats
    torsion_constant: Floats
    shear_area_y: Floats
    shear_area_z: Floats
    density: Floats
    releases: tuple[Release, ...]
    springs: tuple[Spring, ...]
    held: NDArray[np.bool_]

    def __post_init__(self) -> None:
        n, m = len(self.node_names), len(self.member_names)
        _shape(self, "nodes", (n, 3))
        _shape(self, "ends", (m, 2), np.int64)
        _shape(self, "offsets", (m, 2, 3))
        _shape(self, "up", (m, 3))
        _shape(self, "held", (n, 6), np.bool_)
        for name in _MEMBER_FLOATS:
            _shape(self, name, (m,))
        self._check_references(n, m)
        self._check_sections()

    def _check_references(self, n: int, m: int) -> None:
        nodes = [i for s in self.springs for i in (s.node, s.other) if i is not None]
        if (
            np.any((self.ends < 0) | (self.ends >= n))
            or any(not 0 <= i < n for i in nodes)
            or any(not 0 <= r.member < m or r.end not in (0, 1) for r in self.releases)
        ):
            raise GeometryError("a member, spring or release names a joint or member that is not there")

    def _check_sections(self) -> None:
        for name in _MEMBER_FLOATS:
            values = getattr(self, name)
            bad = ~(values >= 0.0) if name == "density" else ~(values > 0.0)
            if not name.startswith("shear_area"):
                bad |= np.isinf(values)
            if bad.any():
                member = self.member_names[int(bad.argmax())]
                remedy = "give its section and material in full"
                raise GeometryError(f"the {name.replace('_', ' ')} is missing", where=member, remedy=remedy)

    @cached_property
    def geometry(self) -> Geometry:
        """Lengths and local axes of the members."""
        return measure(self.nodes, self.ends, self.offsets, self.up, self.member_names)


def _shape(record: Any, name: str, shape: tuple[int, ...], dtype: type = np.float64) -> None:
    """Turn a field into an array of the given shape; say which field is wrong otherwise."""
    value: NDArray[Any] = np.asarray(getattr(record, name), dtype=dtype)
    if value.shape != shape:
        raise GeometryError(f"{name} has shape {value.shape} where {shape} belongs")
    object.__setattr__(record, name, value)


@dataclass(frozen=True, eq=False)
class Loads:
    """What acts on a frame in each of c cases; what is None does not act.

    Attributes
    ----------
    case_names : tuple of str
    nodal : (c, n, 6) float, N, N·m
        Forces and moments at the nodes, global.
    line : (c, m, 3) float, N/m
        Uniform along each member's true length, global.
    settled : (c, n, 6) float or None, m, rad
        Movements forced on held directions, global.
    misfit : (c, m, 2, 6) float or None, m, rad
        How far each end of an unstrained member lies off the tip of its joint's arm, and is turned against
        it, global; joining them pulls the two into one.
    strain : (c, m, 3) float or None, 1, 1/m, 1/m
        What a free member would do: stretch, and curve about local y and z (right-handed, of the end against
        the start).
    """

    case_names: tuple[str, ...]
    nodal: Floats
    line: Floats
    settled: Floats | None = None
    misfit: Floats | None = None
    strain: Floats | None = None

    def __post_init__(self) -> None:
        c = len(self.case_names)
        n, m = np.shape(self.nodal)[1:2], np.shape(self.line)[1:2]
        shapes = {"nodal": (c, *n, 6), "line": (c, *m, 3)}
        shapes |= {"settled": (c, *n, 6), "misfit": (c, *m, 2, 6), "strain": (c, *m, 3)}
        for name, shape in shapes.items():
            if getattr(self, name) is None:
                continue
            value = np.asarray(getattr(self, name), dtype=float)
            if value.shape != shape:
                raise GeometryError(f"{name} loads are not given for each of the {c} cases")
            if not np.isfinite(value).all():
                raise GeometryError(f"{name} loads hold something that is no number")
            object.__setattr__(self, name, value)

    @classmethod
    def none(cls, frame: Frame, case_names: Sequence[str]) -> Self:
        """Cases without any load yet."""
        c, n, m = len(case_names), len(frame.node_names), len(frame.member_names)
        return cls(tuple(case_names), np.zeros((c, n, 6)), np.zeros((c, m, 3)))

    def case(self, index: int) -> Self:
        """One case by itself."""
        only = slice(index, index + 1)
        asked = (self.settled, self.misfit, self.strain)
        settled, misfit, strain = (None if part is None else part[only] for part in asked)
        return type(self)(self.case_names[only], self.nodal[only], self.line[only], settled, misfit, strain)

    def with_self_weight(self, frame: Frame, field: Floats) -> Self:
        """Add each member's own weight.

        Parameters
        ----------
        frame : Frame
        field : (c, 3) float, m/s²
            Force per mass in each case: (0, 0, -9.80665) at rest on level ground. A vehicle that brakes
            (accelerates backwards by a) adds +a along x: the pull of its inertia.
        """
        mass_per_length = frame.density * frame.area
        return replace(self, line=self.line + np.asarray(field)[:, None, :] * mass_per_length[:, None])

    def with_masses(self, masses: Sequence[LumpedMass], field: Floats) -> Self:
        """Add the pull of `field` ((c, 3) m/s²) on lumped masses, moments of their offsets included."""
        nodal = self.nodal.copy()
        for lump in masses:
            force = lump.mass * np.asarray(field, dtype=float)
            nodal[:, lump.node, :3] += force
            nodal[:, lump.node, 3:] += np.cross(np.asarray(lump.offset, dtype=float), force)
        return replace(self, nodal=nodal)

    def with_settlement(self, node: int, movement: ArrayLike) -> Self:
        """Add a movement ((6,) or (c, 6) m, rad) forced on the held directions of a node."""
        settled = np.zeros_like(self.nodal) if self.settled is None else self.settled.copy()
        settled[:, node] += np.asarray(movement, dtype=float)
        return replace(self, settled=settled)

    def with_misfit(self, member: int, end: int, gap: ArrayLike) -> Self:
        """Add a gap at a member's end.

        Parameters
        ----------
        member, end : int
            Which end (0 start, 1 end).
        gap : (6,) or (c, 6) float, m, rad
            From the tip of the joint's arm to where the free end lies, and how far the end is turned against
            it: a hole 3 mm too far forward in the member is (0.003, 0, 0, 0, 0, 0). Along a released
            direction a gap asks for nothing.
        """
        shape = (*self.line.shape[:2], 2, 6)
        misfit = np.zeros(shape) if self.misfit is None else self.misfit.copy()
        misfit[:, member, end] += np.asarray(gap, dtype=float)
        return replace(self, misfit=misfit)

    def with_temperature(
        self, expansion: ArrayLike, warmer: ArrayLike, gradient: ArrayLike | None = None
    ) -> Self:
        """Add warmth.

        Parameters
        ----------
        expansion : (m,) float, 1/K
            Thermal expansion of each member's material.
        warmer : (c, m) float, K
            Above the temperature at which everything was joined.
        gradient : (c, m, 2) float, K/m
            Rise along local y and along local z; left out the sections are evenly warm.
        """
        expansion = np.asarray(expansion, dtype=float)
        strain = np.zeros(self.line.shape) if self.strain is None else self.strain.copy()
        strain[..., 0] += expansion * np.asarray(warmer, dtype=float)
        if gradient is not None:
            rise = expansion[:, None] * np.asarray(gradient, dtype=float)
            # A fibre at (y, z) stretches by z ry' - y rz'.
            strain[..., 1] += rise[..., 1]
            strain[..., 2] -= rise[..., 0]
        return replace(self, strain=strain)
