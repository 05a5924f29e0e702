"""Hole-to-hole readings taken at the edges of the holes, brought to the centres."""

from enum import StrEnum

from soapstone.errors import GeometryError


class Edge(StrEnum):
    """Which edge of a hole was touched, seen along the tape."""

    CENTRE = "centre"
    NEAR = "near"  # towards the other hole
    FAR = "far"  # away from the other hole


_OUTWARD = {Edge.CENTRE: 0.0, Edge.NEAR: -0.5, Edge.FAR: 0.5}


def between_centres(value: float, first_hole: float, first: Edge, second_hole: float, second: Edge) -> float:
    """Distance between hole centres from one between hole edges.

    Parameters
    ----------
    value : float, m
        As read.
    first_hole, second_hole : float, m
        Diameters.
    first, second : Edge
        "Left edge to left edge" is far at the left hole and near at the right one.

    Returns
    -------
    float, m

    Raises
    ------
    GeometryError
        A hole of negative size, or a reading that leaves nothing between the centres.
    """
    if first_hole < 0 or second_hole < 0:
        raise GeometryError("a hole cannot have a negative diameter")
    centres = value - _OUTWARD[first] * first_hole - _OUTWARD[second] * second_hole
    if centres <= 0:
        raise GeometryError(
            f"{value * 1000:g} mm from {first} to {second} edge leaves no distance between the hole centres",
            remedy="check which edges were touched and the hole sizes",
        )
    return centres
