"""A free motion in the trade's words: what moves, how, why, and what would hold it."""

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import qr
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from soapstone.errors import LooseError
from soapstone.frame.model import Frame

Floats = NDArray[np.float64]

_WAYS = ("fore and aft", "sideways", "up and down")
_PUSHED_WAYS = (("moves back", "moves forward"), ("moves right", "moves left"), ("drops", "rises"))
_LINES = ("the fore-and-aft line", "the line across", "the upright line")
# A motion counts as rigid, and a member as merely spinning, when all but this share of it is.
_CLOSE = 1e-5


def loose_motion(frame: Frame, motions: Floats, loads: Floats, case: int | None) -> LooseError:
    """The error for joints that can move.

    Parameters
    ----------
    motions : (6 n, p) float, m, rad
        All free motions, independent of each other.
    loads : (6 n, c) float
        What acts on all directions.
    case : int or None
        The case that pushes them; None where none does.
    """
    return (
        _unheld_body(frame, motions)
        or _spinning_member(frame, motions)
        or _moving_joint(frame, _localised(motions), None if case is None else loads[:, case])
    )


def loose_spin(frame: Frame, motion: Floats) -> LooseError:
    """The error for members or joints that can turn in place; motion (6 n,)."""
    found = _spinning_member(frame, motion[:, None])
    if found is not None:
        return found
    turns = motion.reshape(-1, 6)[:, 3:]
    node = int(np.linalg.norm(turns, axis=1).argmax())
    about = _LINES[int(np.abs(turns[node]).argmax())]
    return LooseError(
        f"joint {frame.node_names[node]} can spin about {about}: {_why_free(frame, node)}",
        remedy="make one of the ends that meet there fast, or take the turning load off it",
    )


def _localised(motions: Floats) -> Floats:
    """The same motions combined so that each has a direction to itself."""
    _, _, order = qr(motions.T, mode="economic", pivoting=True)
    chosen = motions[order[: motions.shape[1]]]
    return np.asarray(np.linalg.solve(chosen.T, motions.T).T, dtype=np.float64)


def _unheld_body(frame: Frame, motions: Floats) -> LooseError | None:
    """A part of the frame that can move as one piece."""
    n = len(frame.node_names)
    pairs = [*map(tuple, frame.ends), *((s.node, s.other) for s in frame.springs if s.other is not None)]
    links = np.array(pairs, dtype=np.int64).reshape(-1, 2)
    graph = coo_array((np.ones(len(links)), links.T), shape=(n, n))
    count, body = connected_components(graph, directed=False)
    orthonormal = np.linalg.qr(motions)[0]
    for index in range(count):
        found = _rigid(frame, orthonormal, body == index)
        if found is not None:
            who = "the whole frame" if count == 1 else _body_name(frame, body == index)
            return LooseError(f"{who} can {found[0]}: {found[1]}", remedy=found[2])
    return None


def _body_name(frame: Frame, nodes: NDArray[np.bool_]) -> str:
    members = [i for i, pair in enumerate(frame.ends) if nodes[pair].all()]
    if members:
        rest = " and what is fixed to it" if len(members) > 1 else ""
        return frame.member_names[members[0]] + rest
    return f"joint {frame.node_names[int(nodes.argmax())]}"


def _rigid(frame: Frame, motions: Floats, nodes: NDArray[np.bool_]) -> tuple[str, str, str] | None:
    """How a body (nodes given) moves as one piece, why, and the cure; None where it does not."""
    centre = frame.nodes[nodes].mean(axis=0)
    size = max(float(np.abs(frame.nodes[nodes] - centre).max()), 1e-3)
    rigid = np.zeros((len(nodes), 6, 6))
    for axis in range(3):
        rigid[nodes, axis, axis] = 1.0
        turn = np.eye(3)[axis] / size
        rigid[nodes, :3, axis + 3] = np.cross(turn, frame.nodes[nodes] - centre)
        rigid[nodes, 3:, axis + 3] = turn
    basis, mix = np.linalg.qr(rigid.reshape(-1, 6))
    _, share, combinations = np.linalg.svd(motions.T @ basis)
    free = combinations[: share.size][share > 1.0 - _CLOSE]
    if not len(free):
        return None
    slides = [axis for axis in range(3) if _contains(free, mix[:, axis])]
    if slides:
        ways = " and ".join(_WAYS[axis] for axis in slides)
        return f"move {ways}", "nothing holds it that way", "hold at least one of its joints that way"
    turn = np.linalg.solve(mix, free[0])[3:]
    line = _LINES[int(np.abs(turn).argmax())]
    return f"swing about {line}", "its supports let it turn", "hold one more joint away from that line"


def _contains(space: Floats, vector: Floats) -> bool:
    left = vector - space.T @ (space @ vector)
    return bool(np.linalg.norm(left) < _CLOSE * np.linalg.norm(vector))


def _spinning_member(frame: Frame, motions: Floats) -> LooseError | None:
    """Members that turn about their own axis while their ends stay where they are."""
    x = frame.geometry.axes[:, 0]
    for motion in motions.T:
        movement = motion.reshape(-1, 6)[frame.ends]
        tips = movement[..., :3] + np.cross(movement[..., 3:], frame.offsets)
        turns = np.linalg.norm(movement[..., 3:], axis=2)
        along = np.abs(np.einsum("mei,mi->me", movement[..., 3:], x))
        fastest = turns.max(initial=0.0)
        if fastest == 0.0:
            continue
        still = np.linalg.norm(tips, axis=2).max(axis=1) < _CLOSE * fastest * frame.geometry.lengths
        spinning = still & ((turns - along).max(axis=1) < _CLOSE * fastest)
        spinning &= along.min(axis=1) > 0.5 * fastest
        if spinning.any():
            names = [frame.member_names[i] for i in np.flatnonzero(spinning)]
            axis = "its own axis" if len(names) == 1 else "their own axis"
            return LooseError(
                f"{_list(names)} can spin about {axis}: both ends are pinned",
                remedy="clamp one end so that it cannot turn (a second bolt, or weld it)",
            )
    return None


def _moving_joint(frame: Frame, motions: Floats, load: Floats | None) -> LooseError:
    """The joint that moves most in the motion that the load pushes hardest."""
    work = np.zeros(motions.shape[1]) if load is None else load @ motions
    motion = motions[:, int(np.abs(work).argmax())]
    if load is not None and work[np.abs(work).argmax()] < 0.0:
        motion = -motion
    shifts = motion.reshape(-1, 6)[:, :3]
    far = np.linalg.norm(shifts, axis=1)
    given = 0.0 if load is None else (motion * load).reshape(-1, 6).sum(axis=1)
    node = int(np.where(far > 0.99 * far.max(), 1.0 + np.abs(given), 0.0).argmax())
    way = int(np.abs(shifts[node]).argmax())
    name = frame.node_names[node]
    pushed = load is not None and np.abs(work).max() > 0.0
    how = _PUSHED_WAYS[way][int(shifts[node, way] > 0.0)] if pushed else f"can move {_WAYS[way]}"
    remedy = "tie it to something that holds it, hold it, or make one of those ends fast"
    if not _releases_at(frame, node):
        remedy = "tie it to something that holds it, or hold it that way"
    return LooseError(f"joint {name} {how}: {_why_free(frame, node)}", remedy=remedy)


def _releases_at(frame: Frame, node: int) -> list[str]:
    names = [frame.member_names[r.member] for r in frame.releases if frame.ends[r.member, r.end] == node]
    return list(dict.fromkeys(names))


def _why_free(frame: Frame, node: int) -> str:
    released = _releases_at(frame, node)
    if len(released) == 1:
        return f"the end of {released[0]} that meets it is free to give way"
    if released:
        return f"the ends of {_list(released)} that meet there are free to give way"
    return "nothing holds it that way"


def _list(names: list[str], most: int = 3) -> str:
    """At most three names in a sentence."""
    shown = names if len(names) <= most else [*names[: most - 1], f"{len(names) - most + 1} more"]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}"
