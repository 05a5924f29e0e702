"""Published curved bars and pipe bends, answered by the frame room."""

from collections.abc import Mapping

from soapstone.frame import curved_rectangle, karman, ovalling
from soapstone.verify.units import INCH


def thick_hook() -> Mapping[str, float]:
    """A rectangle 20 mm wide between radii of 50 and 100 mm under 1 kN·m that straightens it; mm and MPa."""
    bar = curved_rectangle(0.020, 0.050, 0.100)
    inner, outer = bar.stress(1000.0, [bar.inner, bar.outer]) / 1e6
    return {
        "neutral": 1e3 * bar.neutral,
        "eccentricity": 1e3 * (bar.centroid - bar.neutral),
        "inner": float(inner),
        "outer": float(outer),
    }


def pipe_bend() -> Mapping[str, float]:
    """Outside 7.288 in, wall 0.241 in, bent to 36.3 in."""
    return {"flexibility": ovalling(7.288 * INCH, 0.241 * INCH, 36.3 * INCH).flexibility}


def thin_bend() -> Mapping[str, float]:
    """A thin bend of characteristic h = 0.5."""
    return {"flexibility": karman(0.5)}


PROBLEMS = {problem.__name__: problem for problem in (thick_hook, pipe_bend, thin_bend)}
