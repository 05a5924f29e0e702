"""Exact solids of cut tubes and their STEP files (ISO 10303-21, application protocol 214)."""

import math
import re
import tempfile
from collections.abc import Callable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

import numpy as np

from soapstone.errors import GeometryError
from soapstone.parts.axes import Axes
from soapstone.parts.ends import TubePart
from soapstone.parts.openings import Opening
from soapstone.parts.profile import Array, Profile
from soapstone.parts.tools import BarTool, BendTool, PlaneTool, Tool

_MM = 1000.0
_AGREES = 3e-4
"""Share of a tube's volume by which the kernel's may differ: our integral's own error at a pinch is 1e-4."""
_OPEN_DATE = "1970-01-01T00:00:00"


def kernel() -> Any:
    """The exact kernel."""
    # takes half a second to load, and only a packet needs it
    import netgen.occ as occ

    return occ


@lru_cache(maxsize=256)  # a part never changes; its own file and the assembly's ask for it
def exact_tube(part: TubePart) -> Any:
    """The kernel's solid of a cut tube, in mm and in the world.

    Raises
    ------
    GeometryError
        If the kernel finds another solid than the tube's own volume tells; names the tube.
    """
    low = part.end_a.outline.outer.min() - part.shape.wall
    high = part.end_b.outline.outer.max() + part.shape.wall
    solid = _bar(part.shape.outline, part.axes, low, high)
    solid = solid - _bar(part.shape.bore, part.axes, low - 1e-3, high + 1e-3)
    size = 4.0 * (high - low) + 1.0
    for end in (part.end_a, part.end_b):
        for tool in end.tools:
            for body in _bodies(tool, size, part):
                solid = solid - body
    for opening in part.openings:
        solid = solid - _opening(opening)
    return agreed(solid, part.volume, part.name)


def agreed(shape: Any, volume: float, name: str) -> Any:
    """The largest solid of a shape, if it is as large as the part's own volume, m³, tells.

    Raises
    ------
    GeometryError
        If it is not; names the part.
    """
    solid = max(shape.solids, key=lambda piece: piece.mass, default=None)
    found = 0.0 if solid is None else solid.mass / _MM**3
    if abs(found - volume) > _AGREES * volume:
        raise GeometryError(
            f"its exact solid comes out {1e9 * found:.0f} mm³ large, not {1e9 * volume:.0f}: no STEP "
            "file is written for it",
            where=name,
        )
    return solid


def step_text(solid: Any, name: str, unit: Literal["mm", "in"]) -> str:
    """A STEP file of a solid given in mm, the same for the same solid.

    Parameters
    ----------
    solid
        Of the kernel.
    name : str
        Of the product.
    unit : {'mm', 'in'}
        Of the coordinates, and named in the file.
    """
    solid.name = plain_name(name)
    return step_of(solid, name, unit)


def plain_name(name: str) -> str:
    """A name that the kernel's writer can take: it escapes nothing."""
    return re.sub(r"[^ -~]|['\\]", "_", name)


def step_of(shape: Any, name: str, unit: Literal["mm", "in"]) -> str:
    """A STEP file of a shape given in mm whose solids have their names already; as `step_text`."""
    occ = kernel()
    if unit == "in":
        shape = shape.Scale(occ.Pnt(0.0, 0.0, 0.0), 1.0 / 25.4)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "part.step"
        shape.WriteStep(str(path))
        text = path.read_text(encoding="ascii", errors="replace")
    text = re.sub(r"FILE_NAME\(.*?\);", _head(name), text, count=1, flags=re.DOTALL)
    text = re.sub(r"PRODUCT\('[^']*',\s*'[^']*'", lambda _: f"PRODUCT('{_safe(name)}','{_safe(name)}'", text)
    return _in_inches(text) if unit == "in" else text


def _safe(name: str) -> str:
    """Text of a STEP string: no quotes, and what ASCII has not as ISO 10303-21 spells it."""
    plain = name.replace("\\", "\\\\").replace("'", "''")
    return "".join(c if 32 <= ord(c) < 127 else f"\\X2\\{ord(c):04X}\\X0\\" for c in plain)


def _head(name: str) -> Callable[[re.Match[str]], str]:
    head = f"FILE_NAME('{_safe(name)}','{_OPEN_DATE}',(''),(''),'','Soapstone','')".replace("\n", "") + ";"
    return lambda _: head


def _in_inches(text: str) -> str:
    """Name the inch as the unit of length, as a conversion from the millimetre."""
    found = re.search(
        r"#(\d+) = \( LENGTH_UNIT\(\) NAMED_UNIT\(\*\) SI_UNIT\(\.MILLI\.,\.METRE\.\) \);", text
    )
    assert found is not None
    free = 1 + max(int(number) for number in re.findall(r"^#(\d+) =", text, flags=re.MULTILINE))
    inch = (
        f"#{found[1]} = ( CONVERSION_BASED_UNIT('INCH',#{free}) LENGTH_UNIT() NAMED_UNIT(#{free + 1}) );\n"
        f"#{free} = LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),#{free + 2});\n"
        f"#{free + 1} = DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.);\n"
        f"#{free + 2} = ( LENGTH_UNIT() NAMED_UNIT(*) SI_UNIT(.MILLI.,.METRE.) );"
    )
    return text[: found.start()] + inch + text[found.end() :]


def kernel_point(at: Array) -> Any:
    """A point (3,) m, in the kernel's mm."""
    return kernel().Pnt(*(float(v) * _MM for v in at))


def kernel_vector(way: Array) -> Any:
    """A direction (3,)."""
    return kernel().Vec(*(float(v) for v in way))


def _bar(profile: Profile, axes: Axes, low: float, high: float) -> Any:
    """The bar of an outline between two stations."""
    occ = kernel()
    length = (high - low) * _MM
    if profile.is_round:
        start = kernel_point(axes.to_world(np.array((low, 0.0, 0.0))))
        return occ.Cylinder(start, kernel_vector(axes.x), r=profile.radius * _MM, h=length)
    return _face(profile, axes, low).Extrude(length)


def _face(profile: Profile, axes: Axes, station: float) -> Any:
    """The outline, filled, at a station."""
    occ = kernel()
    start = kernel_point(axes.to_world(np.array((station, 0.0, 0.0))))
    plane = occ.WorkPlane(occ.Axes(start, n=kernel_vector(axes.x), h=kernel_vector(axes.y)))
    if profile.is_round:
        return plane.Circle(profile.radius * _MM).Face()
    a, b, r = (size * _MM for size in (profile.core_y, profile.core_z, profile.radius))
    plane.MoveTo(-a, -b - r)
    for side in (2 * a, 2 * b, 2 * a, 2 * b):
        plane.Line(side)
        plane = plane.Arc(r, 90) if r > 0 else plane.Rotate(90)
    return plane.Face()


def _opening(opening: Opening) -> Any:
    return _bar(opening.bar, opening.axes, *opening.reach)


def _bodies(tool: Tool, size: float, part: TubePart) -> list[Any]:
    match tool:
        case PlaneTool():
            return [_beyond(tool.point, tool.normal, size)]
        case BarTool():
            return _bar_bodies(tool, size, part)
        case BendTool():
            return _bend_bodies(tool, size)


def _beyond(point: Array, normal: Array, size: float) -> Any:
    """A block with one face on the plane."""
    clocking = np.eye(3)[int(np.argmin(np.abs(normal)))]
    return _bar(Profile(size, size, 0.0), Axes.along(point, normal, clocking), 0.0, size)


def _bar_bodies(tool: BarTool, size: float, part: TubePart) -> list[Any]:
    foot = float(tool.axes.to_local(part.centroid)[0])
    low, high = tool.span if tool.span is not None else (foot - size, foot + size)
    bar = _bar(tool.profile, tool.axes, low, high)
    behind = tool.behind
    if tool.span is None:
        at = tool.axes.to_world(np.array((foot, 0.0, 0.0)))
        return [_beyond(at, behind, size), bar]
    return [bar, *_shadow(tool, low, high, size)]


def _shadow(tool: BarTool, low: float, high: float, size: float) -> Iterator[Any]:
    """What a bar of a certain length hides from a light along the way: behind its side and behind its end."""
    occ = kernel()
    far = kernel_vector(size * _MM * tool.way)
    # from the plane through its axis, as wide as it is there
    level = np.cross(tool.axes.x, tool.behind)
    width = 2.0 * tool.half_width / abs(float(level @ tool.side))
    corner = tool.axes.to_world(np.array((low, 0.0, 0.0))) - width / 2.0 * level
    place = occ.Axes(kernel_point(corner), n=kernel_vector(-tool.behind), h=kernel_vector(tool.axes.x))
    yield occ.WorkPlane(place).Rectangle((high - low) * _MM, width * _MM).Face().Extrude(far)
    # lines that have come in at its side leave at the end that looks along the way
    leaves = high if float(tool.way @ tool.axes.x) > 0.0 else low
    yield _face(tool.profile, tool.axes, leaves).Extrude(far)


def _bend_bodies(tool: BendTool, size: float) -> list[Any]:
    occ = kernel()
    start = tool.axes.to_world(np.array((tool.bend_radius, 0.0, 0.0)))
    plane = occ.WorkPlane(
        occ.Axes(kernel_point(start), n=kernel_vector(tool.axes.y), h=kernel_vector(tool.axes.x))
    )
    disc = plane.Circle(tool.radius * _MM).Face()
    axis = occ.Axis(kernel_point(tool.axes.origin), kernel_vector(tool.axes.z))
    bodies = [disc.Revolve(axis, math.degrees(tool.sweep))]
    for turn, outward, length in ((0.0, -1.0, tool.legs[0]), (tool.sweep, 1.0, tool.legs[1])):
        c, s = math.cos(turn), math.sin(turn)
        foot = tool.axes.to_world(tool.bend_radius * np.array((c, s, 0.0)))
        way = outward * np.array((-s, c, 0.0)) @ tool.axes.rotation
        reach = min(length, size) * _MM
        bodies.append(occ.Cylinder(kernel_point(foot), kernel_vector(way), r=tool.radius * _MM, h=reach))
    return bodies


def laid_out(solid: Any, part: TubePart) -> Any:
    """The solid in its tube's own axes: x along it from the long point of end A, y the clocking line."""
    occ = kernel()
    start = part.axes.to_world(np.array((part.end_a.outline.long_point.station, 0.0, 0.0)))
    axes = occ.Axes(kernel_point(start), n=kernel_vector(part.axes.z), h=kernel_vector(part.axes.x))
    return occ.gp_Trsf.Transformation(axes)(solid)
