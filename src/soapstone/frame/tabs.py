"""The other bound of a frame: forks that give as their tabs bend, and do not hold a tube against turning.

The first bound takes every tab as stiff and lets a tube turn about its bolt alone. A real tab bends, and a
bolt in its clearance hole holds no small turn; how much it holds is not known, so here it holds none. What a
tube really carries lies between the two wherever stiffness only shares the load out.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import LooseError
from soapstone.frame.idealise import Idealised
from soapstone.frame.model import Frame, Loads, Spring
from soapstone.frame.solve import Solution, solve
from soapstone.parts.layout import ForkPart, Layout
from soapstone.tables import Material

Array = NDArray[np.float64]
FREE = "tabs taken as bending bars, their bolts as holding no turn"
HOLDING = "tabs taken as bending bars that hold a turn by their own stiffness alone"


@dataclass(frozen=True)
class Bound:
    """A frame with giving tabs.

    Attributes
    ----------
    words : str
        What was assumed.
    idealised : Idealised
    solution : Solution
    loose : str
        What moves freely unless forks hold a turn; empty where nothing does.
    """

    words: str
    idealised: Idealised
    solution: Solution
    loose: str = ""


def giving(layout: Layout, metals: Mapping[str, Material], ideal: Idealised) -> Bound | None:
    """The frame on giving tabs; None without forks.

    Parameters
    ----------
    metals : fork name to the metal of its tabs

    Where the frame only stands because its forks hold a turn, their tabs' own stiffness holds it: what stood
    on stiff tabs then stands on these.
    """
    if not ideal.pins:
        return None
    free = _softened(layout, metals, ideal, turning=False)
    try:
        return Bound(FREE, free, solve(free.frame, free.loads))
    except LooseError as error:
        held = _softened(layout, metals, ideal, turning=True)
        return Bound(HOLDING, held, solve(held.frame, held.loads), str(error))


def tab_stiffness(fork: ForkPart, metal: Material, along: Array, *, turning: bool) -> Array:
    """(6, 6) N/m, N, N·m at the pin: every tab a bar clamped at its foot, its other end free.

    Parameters
    ----------
    along : (3,) unit, from the foot to the hole
    turning : bool
        Whether it holds a turn at all; never about the bolt.

    Bending 3 E I / L³ with shear in the plate's plane (Timoshenko), pull E A / L; a pair of tabs holds a turn
    by the couple of its two bars, a single one by twist G J / L and bending E I / L. Elementary beams.
    """
    e, g = metal.elastic_modulus, metal.shear_modulus
    t, w, length = fork.spec.plate.thickness, fork.spec.width, fork.spec.reach
    count = int(fork.spec.tabs)
    bolt = fork.axis
    foot = along - (along @ bolt) * bolt
    foot = foot / np.linalg.norm(foot)
    ways = np.stack([bolt, foot, np.cross(bolt, foot)])
    sideways = 3.0 * e * (w * t**3 / 12.0) / length**3
    pull = e * w * t / length
    plane = 1.0 / (length**3 / (3.0 * e * t * w**3 / 12.0) + 1.2 * length / (g * w * t))
    table = np.zeros((6, 6))
    table[:3, :3] = ways.T @ np.diag([count * sideways, count * pull, count * plane]) @ ways
    if turning:
        apart = (fork.bung.length if fork.bung else 0.0) + 2.0 * fork.spec.gap + t
        pair = np.array([0.0, plane, pull]) * apart**2 / 2.0
        single = np.array([0.0, g * w * t**3 / 3.0, e * w * t**3 / 12.0]) / length
        table[3:, 3:] = ways.T @ np.diag(pair if count == 2 else single) @ ways
    return table


def _softened(
    layout: Layout, metals: Mapping[str, Material], ideal: Idealised, *, turning: bool
) -> Idealised:
    frame, loads = ideal.frame, ideal.loads
    for name, (member, end) in ideal.pins.items():
        fork = layout.forks[name]
        stiffness = tab_stiffness(fork, metals[name], layout.foot_to_hole(fork), turning=turning)
        frame = replace(
            frame, releases=tuple(r for r in frame.releases if (r.member, r.end) != (member, end))
        )
        if fork.on_member:
            frame, loads = _on_member(frame, loads, (member, end), name, stiffness)
        else:
            frame, loads = _on_vehicle(frame, loads, int(frame.ends[member, end]), stiffness)
    return replace(ideal, frame=frame, loads=loads)


def _on_vehicle(frame: Frame, loads: Loads, node: int, stiffness: Array) -> tuple[Frame, Loads]:
    """The fork's node stands on its tabs, these on the support; what moves the support pushes through."""
    table, nodal = stiffness.copy(), loads.nodal.copy()
    settled = None if loads.settled is None else loads.settled.copy()
    behind = [s for s in frame.springs if s.node == node and s.other is None]
    for spring in behind:
        give = np.linalg.inv(spring.stiffness[:3, :3])
        table[:3, :3] = np.linalg.inv(np.linalg.inv(table[:3, :3]) + give)
        nodal[:, node, :3] = nodal[:, node, :3] @ (table[:3, :3] @ give).T
    if settled is not None:
        nodal[:, node, :3] += settled[:, node, :3] @ table[:3, :3]
        settled[:, node] = 0.0
    held = frame.held.copy()
    held[node] = False
    springs = tuple(s for s in frame.springs if s not in behind)
    frame = replace(frame, held=held, springs=(*springs, Spring(node, table)))
    return frame, replace(loads, nodal=nodal, settled=settled)


def _on_member(
    frame: Frame, loads: Loads, at: tuple[int, int], name: str, stiffness: Array
) -> tuple[Frame, Loads]:
    """A node of its own at the pin, on a spring to the tube that carries the fork."""
    host, new = int(frame.ends[at]), len(frame.nodes)
    ends, offsets = frame.ends.copy(), frame.offsets.copy()
    pin = frame.nodes[host] + offsets[at]
    ends[at], offsets[at] = new, 0.0
    frame = replace(
        frame,
        node_names=(*frame.node_names, name),
        nodes=np.vstack([frame.nodes, pin]),
        held=np.vstack([frame.held, np.zeros(6, dtype=bool)]),
        ends=ends,
        offsets=offsets,
        springs=(*frame.springs, Spring(new, stiffness, host)),
    )
    settled = None if loads.settled is None else _longer(loads.settled)
    return frame, replace(loads, nodal=_longer(loads.nodal), settled=settled)


def _longer(values: Array) -> Array:
    return np.concatenate([values, np.zeros((len(values), 1, 6))], axis=1)
