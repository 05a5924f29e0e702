"""What is taken off a tube's end, as exact bodies: the solid twin of the line round the end."""

from dataclasses import dataclass

import numpy as np

from soapstone.parts.axes import Axes, cross
from soapstone.parts.profile import Array, Profile

_LEVEL = 1e-9  # m; two corners that reach as far sideways stand in line with the way


@dataclass(frozen=True, eq=False)
class PlaneTool:
    """All beyond a plane.

    Attributes
    ----------
    point, normal : (3,)
        In the world, m and unit; the normal points to what is taken off.
    """

    point: Array
    normal: Array


@dataclass(frozen=True, eq=False)
class BarTool:
    """A straight bar, and what lies behind it for someone who comes along the tube.

    Attributes
    ----------
    axes : Axes
    profile : Profile
    way : (3,)
        Along the tube, towards the joint; unit.
    span : (float, float) or None
        m along the bar, for one that others end on beside; None for one that goes on.
    """

    axes: Axes
    profile: Profile
    way: Array
    span: tuple[float, float] | None = None

    @property
    def behind(self) -> Array:
        """Unit normal, in the world, of the plane through the bar's axis that parts its front from its back.

        The plane runs through the lines that a light along the way would graze; square to the way where the
        bar's sides stand along it.
        """
        flat = self.way - (self.way @ self.axes.x) * self.axes.x
        flat = flat / np.linalg.norm(flat)
        if self.profile.is_round:
            return flat
        y, z = float(flat @ self.axes.y), float(flat @ self.axes.z)
        side = np.array((-z, y))
        core = np.array((self.profile.core_y, self.profile.core_z))
        corners = np.array([[1.0, 1.0], [-1.0, 1.0], [-1.0, -1.0], [1.0, -1.0]]) * core
        reach = corners @ side
        grazed = corners[reach > reach.max() - _LEVEL].mean(axis=0) + self.profile.radius * side
        normal = np.array((grazed[1], -grazed[0]))
        normal *= np.sign(normal @ np.array((y, z))) / np.hypot(*normal)
        found: Array = normal[0] * self.axes.y + normal[1] * self.axes.z
        return found

    @property
    def half_width(self) -> float:
        """How far the bar reaches to either side, square to the way, m."""
        side = self.side
        return self.profile.support(float(side @ self.axes.y), float(side @ self.axes.z))

    @property
    def side(self) -> Array:
        """Unit vector square to the bar and to the way."""
        normal = cross(self.axes.x, self.way)
        found: Array = normal / np.linalg.norm(normal)
        return found


@dataclass(frozen=True, eq=False)
class BendTool:
    """A bent round bar: an arc with a leg at both of its ends; a piece cut off behind it is waste.

    Attributes
    ----------
    axes : Axes
        At the arc's centre, x towards its start, z about which it runs.
    bend_radius, radius, sweep : float
        m, m, rad.
    legs : (float, float)
        How far they reach before and past the arc, m.
    """

    axes: Axes
    bend_radius: float
    radius: float
    sweep: float
    legs: tuple[float, float]


Tool = PlaneTool | BarTool | BendTool
