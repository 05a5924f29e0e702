"""Where the plates of forks and hangers stand: thickness along x, the outline's own axes along y and z."""

import numpy as np

from soapstone.parts.axes import Axes
from soapstone.parts.layout import ForkPart, HangerPart, Layout
from soapstone.parts.plates import PlateOutline
from soapstone.parts.profile import Array
from soapstone.parts.tabs import hanger_foot


def tab_axes(layout: Layout, fork: ForkPart, outline: PlateOutline) -> list[Axes]:
    """One tab each side of the bung, or a single one on the axis's side."""
    along = _square_to(layout.foot_to_hole(fork), fork.axis)
    foot = fork.pin - outline.holes[0].centre[1] * along
    half = (fork.bung.length / 2 if fork.bung else 0.0) + fork.spec.gap
    places = [half] if fork.spec.tabs == "1" else [half, -half - outline.thickness]
    return [_upright(foot + place * fork.axis, fork.axis, along) for place in places]


def hanger_axes(layout: Layout, hanger: HangerPart, outline: PlateOutline) -> Axes:
    """A hanger's plate, its middle where the boss is bolted."""
    foot = hanger_foot(layout, hanger)
    x, y = outline.holes[0].centre
    origin = hanger.boss - x * foot.run - y * foot.normal - outline.thickness / 2 * hanger.axis
    return _upright(origin, hanger.axis, foot.normal)


def _square_to(vector: Array, axis: Array) -> Array:
    across: Array = vector - (vector @ axis) * axis
    return across / np.linalg.norm(across)


def _upright(origin: Array, thick: Array, along: Array) -> Axes:
    """Thickness along x, the way from base to hole along z."""
    return Axes.along(origin, thick, np.cross(along, thick))
