"""A unit on rubber in the frame: its mounts as springs, what its stops take, and where a hook pulls."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError
from soapstone.frame.model import Frame, Loads
from soapstone.job.places import Spot, parse_place
from soapstone.parts.layout import Layout
from soapstone.place.isolators import Mount
from soapstone.place.on_rubber import OnRubber

Array = NDArray[np.float64]


def spring_stiffness(mount: Mount, *, shaken: bool = False) -> Array:
    """(6, 6) N/m: a mount resists shifts alone."""
    found = np.zeros((6, 6))
    found[:3, :3] = mount.tensor * (mount.dynamic if shaken else 1.0)
    return found


def ground_stiffness(mount: Mount, support: float | None, *, shaken: bool = False) -> Array:
    """The same with the give of the support it stands on (N/m each way) in a row behind it."""
    found = spring_stiffness(mount, shaken=shaken)
    if support is not None:
        values, ways = np.linalg.eigh(found[:3, :3])
        found[:3, :3] = (ways * (values * support / (values + support))) @ ways.T
    return found


def stop_forces(
    loads: Loads,
    frame: Frame,
    springs: Mapping[str, int],
    bodies: Mapping[str, int],
    rubber: Mapping[str, OnRubber],
) -> None:
    """Add what stops take beyond the rubber to the loads in place: on the body, and back on its foot."""
    for unit in rubber.values():
        for row, hung in enumerate(unit.mounts):
            mount, spring = hung.mount, frame.springs[springs[hung.mount.name]]
            body = bodies[unit.suspended.name]
            for case, move in enumerate(unit.moves):
                extra = move.forces[row] + mount.tensor @ (mount.axes @ move.squeezed[row])
                loads.nodal[case, body, :3] += extra
                loads.nodal[case, body, 3:] += np.cross(mount.place - frame.nodes[body], extra)
                loads.nodal[case, spring.node, :3] -= extra


def hook_station(layout: Layout, text: str) -> tuple[str, float]:
    """Tube and station m of a place along it.

    Raises
    ------
    GeometryError
        When it lies beyond the tube's end.
    """
    place = parse_place(text)
    length = layout.tubes[place.name].length
    station = length / 2.0 if place.spot is Spot.MIDDLE else place.distance
    if place.from_end:
        station = length - station
    if not 0.0 <= station <= length:
        raise GeometryError(f"{text} lies beyond the end of {place.name}, {1e3 * length:.0f} mm long")
    return place.name, station
