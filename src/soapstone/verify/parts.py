"""Published tube cuts, solids and section tables, made by the parts room."""

import math
from collections.abc import Mapping

import numpy as np

from soapstone.parts.axes import Axes
from soapstone.parts.bars import angle, channel
from soapstone.parts.centreline import through_corners
from soapstone.parts.cope import Body, Tube, cope
from soapstone.parts.cuts import mitred, square
from soapstone.parts.ends import cut_tube
from soapstone.parts.outline import Outline
from soapstone.parts.sections import FlatBar, RectangularTube, RoundBar, RoundTube, Section, Shape
from soapstone.parts.sheet_bend import (
    HANDBOOK_K,
    Fold,
    bend_allowance,
    din_deduction,
    din_factor,
    flat_strip,
    shop_rule_allowance,
)
from soapstone.parts.solids import cylinder, intersection
from soapstone.verify.units import FOOT, INCH, POUND

_MM = 1e-3
_WALL = 1e-3  # m; the outer line of a cut does not depend on it
_SIDES = 720
"""Of the polygon that stands for a circle: short of its area by (2π/720)²/6 or 1.3e-5."""
_ROWS = 7201
"""Of a cut whose line is measured in space; a multiple of 360, so that whole degrees are rows."""


def _saddle(branch: float, main: float, degrees: float) -> Outline:
    """A tube of radius `branch` mm coped onto one of radius `main` mm at an angle; centres meet at x = 0.

    Row 0 (the clocking line) lies on the acute side, in the plane of the axes.
    """
    lean = math.radians(degrees)
    through = Body("main", RoundBar(2 * main * _MM), Axes.along((0, 0, 0), (1, 0, 0), (0, 1, 0)))
    # end B points at the main tube: the branch comes down from where it leans towards the main's +x
    down = (-math.cos(lean), 0.0, -math.sin(lean))
    axes = Axes.along((0, 0, 0), down, (math.sin(lean), 0.0, -math.cos(lean)))
    return cope(Tube("branch", RoundTube(2 * branch * _MM, _WALL), axes), through, points=_ROWS)


def _lengths(outline: Outline, radius: float, degrees: tuple[int, ...]) -> dict[str, float]:
    """From the axes' crossing to the cut, along lines so many degrees round the tube; mm."""
    angles = np.degrees(outline.abscissa / (radius * _MM))
    rows = [int(np.abs(angles - wanted).argmin()) for wanted in degrees]
    return {
        f"{wanted} deg": -1e3 * float(outline.outer[row]) for wanted, row in zip(degrees, rows, strict=True)
    }


def equal_tee() -> Mapping[str, float]:
    """Two tubes of radius 25 mm at a right angle; mm."""
    outline = _saddle(25.0, 25.0, 90.0)
    profile = RoundTube(50 * _MM, _WALL).outline
    return {**_lengths(outline, 25.0, (30, 60)), "line": 1e3 * outline.length_of_line(profile)}


def saddle_tee() -> Mapping[str, float]:
    """A tube of radius 19.05 mm on one of 25.4 mm at a right angle; mm."""
    outline = _saddle(19.05, 25.4, 90.0)
    profile = RoundTube(38.1 * _MM, _WALL).outline
    return {**_lengths(outline, 19.05, (0, 30, 60, 90)), "line": 1e3 * outline.length_of_line(profile)}


def saddle_at_60() -> Mapping[str, float]:
    """The same two tubes at 60 degrees; mm."""
    return _lengths(_saddle(19.05, 25.4, 60.0), 19.05, (0, 30, 60, 90, 120, 150, 180))


def _mitre(radius: float, degrees: float) -> Mapping[str, float]:
    """A tube of radius `radius` mm cut at an angle: from the middle of the cut to its tip; mm."""
    bend = math.radians(2 * degrees)
    part = cut_tube(
        "elbow",
        RoundTube(2 * radius * _MM, _WALL),
        (0, 0, 0),
        (0.5, 0, 0),
        (0, 1, 0),
        square(0.0),
        mitred("other", (math.cos(bend), math.sin(bend), 0.0)),
    )
    return {"tip": 1e3 * (part.end_b.outline.long_point.station - part.length)}


def triouleyre_mitre() -> Mapping[str, float]:
    """A tube of radius 57.15 mm cut at 30 degrees."""
    return _mitre(57.15, 30.0)


def mitre_at_45() -> Mapping[str, float]:
    """A tube of radius 19.05 mm cut at 45 degrees."""
    return _mitre(19.05, 45.0)


def crossing_cylinders() -> Mapping[str, float]:
    """What two crossing cylinders have in common; mm³."""

    def common(first: float, second: float) -> float:
        reach = 0.120
        along = Axes.along((-reach / 2, 0, 0), (1, 0, 0), (0, 1, 0))
        upright = Axes.along((0, 0, -reach / 2), (0, 0, 1), (1, 0, 0))
        both = intersection(
            cylinder(first * _MM, reach, along, _SIDES), cylinder(second * _MM, reach, upright, _SIDES)
        )
        return 1e9 * both.volume

    return {"equal": common(25.0, 25.0), "unequal": common(25.4, 19.05)}


def _inches(section: Section) -> dict[str, float]:
    """In in², in⁴, in³ and in; x about the stronger axis, as the tables have it."""
    second, weak = section.second_moment_y, section.second_moment_z
    return {
        "A": section.area / INCH**2,
        "Ix": second / INCH**4,
        "Sx": section.elastic_modulus_y / INCH**3,
        "rx": math.sqrt(second / section.area) / INCH,
        "Zx": section.plastic_modulus_y / INCH**3,
        "Iy": weak / INCH**4,
        "Zy": section.plastic_modulus_z / INCH**3,
        "J": section.torsion_constant / INCH**4,
        "C": section.torsion_modulus / INCH**3,
    }


def _all_of(shapes: Mapping[str, Shape]) -> dict[str, float]:
    found = {name: _inches(shape.section) for name, shape in shapes.items()}
    return {f"{name} {key}": value for name, values in found.items() for key, value in values.items()}


def round_sections() -> Mapping[str, float]:
    """Round tubes of the tables with their design wall, by diameter and nominal wall in inches."""
    sizes = {"1.900x0.120": (1.9, 0.111), "2.375x0.154": (2.375, 0.143), "5x0.250": (5.0, 0.233)}
    sizes["1.900x0.145"] = (1.9, 0.135)
    return _all_of({name: RoundTube(d * INCH, t * INCH) for name, (d, t) in sizes.items()})


def rectangular_sections() -> Mapping[str, float]:
    """Rectangular tubes of the tables: design wall 0.116 in, outside corners twice the wall."""
    wall = 0.116 * INCH
    sizes = {"2x2": (2, 2), "3x2": (3, 2), "3x1": (3, 1)}
    return _all_of({n: RectangularTube(b * INCH, h * INCH, wall, 2 * wall) for n, (h, b) in sizes.items()})


def frame_tubes() -> Mapping[str, float]:
    """Round tubes by diameter and wall in inches, the wall as it is."""
    sizes = ((1.75, "0.120"), (1.5, "0.095"), (1.625, "0.120"), (2, "0.120"), (1.75, "0.095"), (1.5, "0.120"))
    return _all_of({f"{d:g}x{wall}": RoundTube(d * INCH, float(wall) * INCH) for d, wall in sizes})


def sharp_tubes() -> Mapping[str, float]:
    """Rectangular tubes with square corners by width, height and wall; mm², mm³."""
    found: dict[str, float] = {}
    for width, height, wall in ((200, 200, 8), (150, 250, 10), (100, 200, 8)):
        section = RectangularTube(width * _MM, height * _MM, wall * _MM, 0.0).section
        name = f"{width}x{height}x{wall}"
        found |= {f"{name} A": 1e6 * section.area, f"{name} S": 1e9 * section.elastic_modulus_y}
        found[f"{name} Z"] = 1e9 * section.plastic_modulus_y
        found[f"{name} Zw"] = 1e9 * section.plastic_modulus_z
    return found


def tube_mass() -> Mapping[str, float]:
    """500 mm of tube 40 by 2.5 mm, cut square, at 7850 kg/m³; kg."""
    shape = RoundTube(40 * _MM, 2.5 * _MM)
    part = cut_tube("tube", shape, (0, 0, 0), (0.5, 0, 0), (0, 1, 0), square(0.0), square(0.0))
    return {"mass": part.mass(7850.0)}


def bar_torsion() -> Mapping[str, float]:
    """Solid rectangles: torsion constant over b t³, and torsion modulus over b t²."""
    found: dict[str, float] = {}
    for ratio in (1.0, 2.0):
        section = FlatBar(ratio, 1.0).section
        found[f"{ratio:g} constant"] = section.torsion_constant / ratio
        found[f"{ratio:g} modulus"] = section.torsion_modulus / ratio
    return found


def bar_sections() -> Mapping[str, float]:
    """Angles of the European tables; cm, cm², cm⁴."""
    found: dict[str, float] = {}
    for name, bar in {
        "L40x4": angle(0.040, 0.040, 0.004, 0.006),
        "L50x5": angle(0.050, 0.050, 0.005, 0.007),
        "L60x30x5": angle(0.060, 0.030, 0.005, 0.005),
    }.items():
        section = bar.section
        low, high = sorted((section.second_moment_y, section.second_moment_z))
        found |= {f"{name} A": 1e4 * section.area, f"{name} e": 1e2 * section.centroid[1]}
        found |= {f"{name} I_u": 1e8 * high, f"{name} I_v": 1e8 * low}
    return found


def thin_bars() -> Mapping[str, float]:
    """Thin angle and channel: torsion constant and shear centre over their closed forms."""
    t = 0.02
    ell, cee = angle(1.0, 1.0, t).section, channel(2.0 + t, 1.0 + t / 2.0, t, t).section
    centre = float(cee.centroid[0] - t / 2.0 + cee.shear_centre[0])
    heel = math.hypot(*(ell.centroid - t / 2.0))
    return {
        "angle torsion": ell.torsion_constant / (2.0 * (1.0 - t / 2.0) * t**3 / 3.0),
        "channel torsion": cee.torsion_constant / (4.0 * t**3 / 3.0),
        "channel shear centre": -centre / (3.0 / (2.0 + 6.0)),
        "angle shear centre": float(np.linalg.norm(ell.shear_centre)) / heel,
    }


def cowper_shear() -> Mapping[str, float]:
    """Shear area over area, where nothing contracts sideways: solid round bar, thin round and square tube."""
    shapes: Mapping[str, Shape] = {
        "bar": RoundBar(1.0),
        "round tube": RoundTube(1.0, 1e-6),
        "square tube": RectangularTube(1.0, 1.0, 1e-6, 0.0),
    }
    sections = {name: shape.section for name, shape in shapes.items()}
    return {name: section.shear_area_z / section.area for name, section in sections.items()}


def pipe_weight() -> Mapping[str, float]:
    """A foot of pipe 1.900 by 0.145 in, cut square, of steel at 490 lb/ft³; lb."""
    shape = RoundTube(1.9 * INCH, 0.145 * INCH)
    part = cut_tube("pipe", shape, (0, 0, 0), (FOOT, 0, 0), (0, 1, 0), square(0.0), square(0.0))
    return {"weight": part.mass(490 * POUND / FOOT**3) / POUND}


def din_6935() -> Mapping[str, float]:
    """Legs 16 and 21 mm outside, opening 60°, inside radius 6, sheet 5 mm; mm."""
    turned = math.radians(120)
    flat = flat_strip("leg", (16 * _MM, 21 * _MM), [Fold(turned, 6 * _MM)], 5 * _MM, None)
    return {
        "factor": din_factor(6 * _MM, 5 * _MM),
        "deduction": 1e3 * din_deduction(6 * _MM, 5 * _MM, turned),
        "deduction by chart": 1e3 * din_deduction(6 * _MM, 5 * _MM, turned, k=0.7),
        "length": 1e3 * flat.length,
    }


def handbook_bends() -> Mapping[str, float]:
    """A square bend: sheet 0.125, radius 0.25 in by temper and by the shop's rule; in."""
    square_bend = math.pi / 2
    found = {
        temper: bend_allowance(0.25, 0.125, square_bend, k) - (square_bend - 1.57) * 0.25
        for temper, k in HANDBOOK_K.items()
    }
    found["shop rule"] = shop_rule_allowance(0.25, 0.125, square_bend)
    found["K 0.33"] = bend_allowance(0.125, 0.1196, square_bend, 0.33)
    found["K 0.44"] = bend_allowance(0.125, 0.1196, square_bend, 0.44)
    return found


def quarter_torus() -> Mapping[str, float]:
    """A whole ring of round bar of radius 19 mm bent to 100 mm, as four square bends; m³."""
    points = [(0.0, -100.0), (100.0, -100.0), (100.0, 0.0)]
    line = through_corners("quarter", [(x * _MM, y * _MM, 0.0) for x, y in points], 100 * _MM)
    return {"volume": 4 * line.length * math.pi * (19 * _MM) ** 2}


PROBLEMS = {
    problem.__name__: problem
    for problem in (
        equal_tee,
        saddle_tee,
        saddle_at_60,
        triouleyre_mitre,
        mitre_at_45,
        crossing_cylinders,
        round_sections,
        rectangular_sections,
        frame_tubes,
        sharp_tubes,
        tube_mass,
        bar_torsion,
        bar_sections,
        thin_bars,
        cowper_shear,
        pipe_weight,
        din_6935,
        handbook_bends,
        quarter_torus,
    )
}
