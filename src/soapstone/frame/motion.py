"""The shape of a buckling or vibration mode in the trade's words."""

import numpy as np
from numpy.typing import NDArray

from soapstone.frame.assemble import System
from soapstone.frame.refine import Refined

Floats = NDArray[np.float64]

_WAYS = ("fore and aft", "sideways", "up and down")
_LINES = ("the fore-and-aft line", "the line across", "the upright line")
# Share of the strain energy that sits in twist: told beside the rest above the one, alone above the other.
_ALSO, _ONLY = 0.1, 0.9


def name_shape(cut: Refined, system: System, shape: Floats) -> str:
    """What moves most in a mode (n, 6), and how.

    A member bows where its inside leaves the line between its ends by more than any joint moves; else a joint
    sways. A member twists where that takes a good part of the strain energy.
    """
    frame = cut.frame
    bows = _bows(cut, shape)
    members, m = len(bows), len(frame.member_names)
    joints = len(frame.nodes) - members * (cut.pieces - 1)
    sway = np.linalg.norm(shape[:joints, :3], axis=1)
    told = _turn(cut, shape, joints)
    depth = np.linalg.norm(bows, axis=1)
    if depth.max(initial=0.0) > sway.max(initial=0.0):
        deepest = int(depth.argmax())
        told = f"{_whole(cut, deepest)} bows {_way(bows[deepest])}"
    elif sway.max(initial=0.0) > 0.0:
        node = int(sway.argmax())
        told = f"joint {frame.node_names[node]} sways {_way(shape[node, :3])}"
    natural = system.compatibility @ shape.reshape(-1)[system.directions[:m]][..., None]
    energy = (natural * (system.stiffness @ natural))[..., 0]
    share = energy[:, 1].sum() / total if (total := energy.sum()) > 0.0 else 0.0
    if share > _ALSO:
        twisting = _whole(cut, int(energy[:, 1].argmax()) // cut.pieces)
        turning = f"{twisting} twists about its own axis"
        return turning if share > _ONLY else f"{told} and {turning}"
    return told


def _turn(cut: Refined, shape: Floats, joints: int) -> str:
    """Where nothing shifts: the joint that turns most."""
    turns = shape[:joints, 3:]
    node = int(np.linalg.norm(turns, axis=1).argmax())
    return f"joint {cut.frame.node_names[node]} turns about {_LINES[int(np.abs(turns[node]).argmax())]}"


def _way(vector: Floats) -> str:
    return _WAYS[int(np.abs(vector).argmax())]


def _whole(cut: Refined, member: int) -> str:
    name = cut.frame.member_names[member * cut.pieces]
    return name.removesuffix(" piece 1") if cut.pieces > 1 else name


def _bows(cut: Refined, shape: Floats) -> Floats:
    """Deepest departure of each whole member's inside from the line between its ends; (m, 3)."""
    frame = cut.frame
    ends = shape[frame.ends]
    tips = ends[..., :3] + np.cross(ends[..., 3:], frame.offsets)
    tips = tips.reshape(-1, cut.pieces, 2, 3)
    share = (np.arange(1, cut.pieces) / cut.pieces)[:, None]
    line = (1.0 - share) * tips[:, :1, 0] + share * tips[:, -1:, 1]
    off = tips[:, 1:, 0] - line
    if cut.pieces == 1:
        return np.zeros((len(tips), 3))
    deepest = np.linalg.norm(off, axis=2).argmax(axis=1)
    found: Floats = off[np.arange(len(off)), deepest]
    return found
