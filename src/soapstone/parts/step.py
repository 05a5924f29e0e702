"""Exact solids of cut tubes and their STEP files (ISO 10303-21, application protocol 214)."""

import math
import re
import tempfile
from collections.abc import Callable
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


def _kernel() -> Any:
    # takes half a second to load, and only a packet needs it
    import netgen.occ as occ

    return occ


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
    solid = max(solid.solids, key=lambda piece: piece.mass, default=None)
    found = 0.0 if solid is None else solid.mass / _MM**3
    if abs(found - part.volume) > _AGREES * part.volume:
        raise GeometryError(
            f"its exact solid comes out {1e9 * found:.0f} mm³ large, not {1e9 * part.volume:.0f}: no STEP "
            "file is written for it",
            where=part.name,
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
    occ = _kernel()
    if unit == "in":
        solid = solid.Scale(occ.Pnt(0.0, 0.0, 0.0), 1.0 / 25.4)
    solid.name = re.sub(r"[^ -~]|['\\]", "_", name)  # its writer escapes nothing
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "part.step"
        solid.WriteStep(str(path))
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


def _point(at: Array) -> Any:
    return _kernel().Pnt(*(float(v) * _MM for v in at))


def _vector(way: Array) -> Any:
    return _kernel().Vec(*(float(v) for v in way))


def _bar(profile: Profile, axes: Axes, low: float, high: float) -> Any:
    """The bar of an outline between two stations."""
    occ = _kernel()
    start = _point(axes.to_world(np.array((low, 0.0, 0.0))))
    length = (high - low) * _MM
    if profile.is_round:
        return occ.Cylinder(start, _vector(axes.x), r=profile.radius * _MM, h=length)
    plane = occ.WorkPlane(occ.Axes(start, n=_vector(axes.x), h=_vector(axes.y)))
    a, b, r = (size * _MM for size in (profile.core_y, profile.core_z, profile.radius))
    plane.MoveTo(-a, -b - r)
    for side in (2 * a, 2 * b, 2 * a, 2 * b):
        plane.Line(side)
        plane = plane.Arc(r, 90) if r > 0 else plane.Rotate(90)
    return plane.Face().Extrude(length)


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
    # a shaft as wide as the bar, from the plane through its axis along the tube
    across = tool.half_width
    middle = tool.axes.to_world(np.array(((low + high) / 2, 0.0, 0.0)))
    axes = Axes.along(middle, tool.way, tool.side)
    shaft = _bar(Profile(across, size, 0.0), axes, -size, size)
    return [bar, shaft - _beyond(middle, -behind, 4.0 * size)]


def _bend_bodies(tool: BendTool, size: float) -> list[Any]:
    occ = _kernel()
    start = tool.axes.to_world(np.array((tool.bend_radius, 0.0, 0.0)))
    plane = occ.WorkPlane(occ.Axes(_point(start), n=_vector(tool.axes.y), h=_vector(tool.axes.x)))
    disc = plane.Circle(tool.radius * _MM).Face()
    axis = occ.Axis(_point(tool.axes.origin), _vector(tool.axes.z))
    bodies = [disc.Revolve(axis, math.degrees(tool.sweep))]
    for turn, outward in ((0.0, -1.0), (tool.sweep, 1.0)):
        c, s = math.cos(turn), math.sin(turn)
        foot = tool.axes.to_world(tool.bend_radius * np.array((c, s, 0.0)))
        way = outward * np.array((-s, c, 0.0)) @ tool.axes.rotation
        bodies.append(occ.Cylinder(_point(foot), _vector(way), r=tool.radius * _MM, h=size * _MM))
    return bodies


def laid_out(solid: Any, part: TubePart) -> Any:
    """The solid in its tube's own axes: x along it from the long point of end A, y the clocking line."""
    occ = _kernel()
    start = part.axes.to_world(np.array((part.end_a.outline.long_point.station, 0.0, 0.0)))
    axes = occ.Axes(_point(start), n=_vector(part.axes.z), h=_vector(part.axes.x))
    return occ.gp_Trsf.Transformation(axes)(solid)
