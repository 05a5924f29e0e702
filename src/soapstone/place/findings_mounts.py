"""What there is to say of a unit on elastic mounts."""

from collections.abc import Mapping, Sequence

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.place.answers import GEOMETRY, PRACTICE, STATICS, answered, cited, size_words, unanswered
from soapstone.place.broken import Broken
from soapstone.place.isolators import Array, Hung, Mount
from soapstone.place.measures import Clearance
from soapstone.place.modes import Shaken
from soapstone.place.rubber import strain_limits
from soapstone.place.sharing import Moved, Wrung, displaced


def mount_load_findings(
    mounts: Sequence[Mount], moves: Sequence[Moved], rated: Mapping[str, float]
) -> tuple[Finding, ...]:
    """Largest force N on each mount over all cases, against what it is rated for."""
    return tuple(_load(mount, row, moves, rated.get(mount.name)) for row, mount in enumerate(mounts))


def _load(mount: Mount, row: int, moves: Sequence[Moved], rated: float | None) -> Finding:
    claim = f"{mount.name} carries what falls to it"
    sizes = [float(np.linalg.norm(move.forces[row])) for move in moves]
    worst = moves[int(np.argmax(sizes))]
    chain = Chain()
    for axis, part in zip("xyz", worst.forces[row], strict=True):
        chain.given(f"F_{axis}", float(part), "N", f"force on the unit along {axis}, {worst.case}")
    demand = chain.step("F", "sqrt(F_x**2 + F_y**2 + F_z**2)", "N", "force of the mount")
    if rated is None:
        ask = f"give the rated load of {mount.name} from its data sheet"
        return unanswered("mount-load", mount.name, claim, "N", ask=ask, chain=chain)
    on_stop = bool(worst.on_stop) and worst.on_stop[row]
    return answered(
        "mount-load",
        mount.name,
        claim,
        chain,
        demand,
        chain.given("F_r", rated, "N", "rated load, from the job"),
        "N",
        case=worst.case,
        source=STATICS,
        remedy=f"a mount rated for {size_words(demand, 'N')}, or one more to share it",
        caution="it rests on its stop there and passes every shake on" if on_stop else "",
    )


def mount_strain_findings(
    mounts: Sequence[Mount],
    standing: Array,
    thickness: Mapping[str, float],
    *,
    pressed_axis: int = 2,
) -> tuple[Finding, ...]:
    """Standing strain of each mount's rubber, pressed and sheared, against what rubber lasts.

    Parameters
    ----------
    standing : (n, 3) m, movement of the unit at each mount under its weight, own axes
    thickness : m of rubber per mount
    pressed_axis : which own axis is square to the plates
    """
    found: list[Finding] = []
    for mount, moved in zip(mounts, standing, strict=True):
        sideways = np.delete(moved, pressed_axis)
        pressed = abs(float(moved[pressed_axis]))
        known = thickness.get(mount.name)
        found.append(_strain(mount.name, "pressed", pressed, known))
        found.append(_strain(mount.name, "sheared", float(np.linalg.norm(sideways)), known))
    return tuple(found)


def _strain(name: str, way: str, moved: float, thickness: float | None) -> Finding:
    about, claim = f"{name}.{way}", f"the rubber of {name} is {way} no further than it lasts"
    if thickness is None:
        ask = f"give the thickness of rubber of {name}"
        return unanswered("mount-strain", about, claim, "1", ask=ask)
    limits = strain_limits()
    chain = Chain()
    chain.given("x", moved, "m", f"how far it is {way}, standing still")
    chain.given("t", thickness, "m", "thickness of rubber")
    demand = chain.step("e", "x / t", "1", "strain")
    capacity = limits.compression if way == "pressed" else limits.shear
    return answered(
        "mount-strain",
        about,
        claim,
        chain,
        demand,
        chain.given("e_a", capacity, "1", "standing strain that rubber lasts"),
        "1",
        source=cited(limits.source),
        remedy=f"harder or larger rubber: it may give {size_words(capacity * thickness, 'm')}",
    )


def isolation_finding(
    name: str, shaken: Shaken, load: Array, frequency: float, *, allowed: float | None = None
) -> Finding:
    """Share of a shaking force or torque that the mounts pass on to the frame.

    Parameters
    ----------
    load : (6,) N and N·m at the centre; only its forces, or only its torques, are other than zero
    frequency : float, Hz
    allowed : float or None
        Share that may be passed on; 1 (no worse than bolted down), listed as assumed, when None.
    """
    part = slice(0, 3) if np.any(load[:3]) else slice(3, 6)
    unit = "N" if part.start == 0 else "N*m"
    chain = Chain()
    chain.given("f", frequency, "1/s", "how often it shakes")
    chain.given("Q", float(np.linalg.norm(load[part])), unit, "what shakes the unit")
    chain.given("P", float(np.linalg.norm(np.abs(shaken.passed[part]))), unit, "what reaches the frame")
    demand = chain.step("T", "P / Q", "1", "share passed on")
    capacity = chain.given("T_a", 1.0 if allowed is None else allowed, "1", "share that may be passed on")
    return answered(
        "isolation",
        name,
        "the mounts keep the shake from the frame",
        chain,
        demand,
        capacity,
        "1",
        source="steady swing of a stiff body on mounts with a loss factor",
        remedy="softer mounts, or more of them nearer the axis it shakes about",
        caution="a frame that gives passes on more than a stiff one" if demand <= capacity else "",
        assumed=()
        if allowed is not None
        else (f"passing on no more than bolted down is the aim ({PRACTICE})",),
    )


def sway_findings(
    body: Hung, moves: Sequence[Moved], watched: Sequence[Clearance], least: float
) -> tuple[Finding, ...]:
    """Every watched gap at its narrowest over all cases, against the least that must be left (m)."""
    return tuple(_sway(body, moves, clearance, least) for clearance in watched)


def _sway(body: Hung, moves: Sequence[Moved], clearance: Clearance, least: float) -> Finding:
    gaps = []
    for move in moves:
        pose = displaced(body, move.displacement)
        gaps.append(float(clearance.of(pose, pose.apply(body.centre)).value.min()))
    worst = int(np.argmin(gaps))
    chain = Chain()
    found = chain.given("g", gaps[worst], "m", f"narrowest gap, {moves[worst].case}")
    needed = chain.given("g_min", least, "m", "what must be left, from the job")
    return answered(
        "unit-sway",
        clearance.name,
        f"the unit keeps clear at {clearance.name} while it moves on its mounts",
        chain,
        needed,
        found,
        "m",
        case=moves[worst].case,
        source=GEOMETRY,
        remedy=f"make {size_words(least - found, 'm')} more room, or stiffen the mounts, or set a stop",
    )


def broken_findings(found: Sequence[Broken], least: float) -> tuple[Finding, ...]:
    """For each mount the worst case with it broken: its narrowest watched gap against the least, m."""
    return tuple(
        _broken([b for b in found if b.mount == name], least)
        for name in dict.fromkeys(b.mount for b in found)
    )


def _broken(cases: Sequence[Broken], least: float) -> Finding:
    mount = cases[0].mount
    claim = f"the unit keeps clear with {mount} broken"
    if not any(case.watched for case in cases):
        ask = "name what the unit must not touch, steering first"
        return unanswered("mount-broken", mount, claim, "m", ask=ask)
    worst = min(cases, key=lambda case: (case.held, min(touch.gap for touch in case.watched)))
    nearest = min(worst.watched, key=lambda touch: touch.gap)
    chain = Chain()
    gap = chain.given("g", nearest.gap, "m", f"gap at {nearest.name}, {worst.case}")
    needed = chain.given("g_min", least, "m", "what must be left, from the job")
    loose = "" if worst.held else "; the other mounts do not hold the unit"
    fault = worst.words or f"it comes within {size_words(gap, 'm')} of {nearest.name}"
    return answered(
        "mount-broken",
        mount,
        claim,
        chain,
        needed,
        gap if worst.held else min(gap, 0.0),
        "m",
        case=worst.case,
        source=GEOMETRY,
        remedy=f"{fault}{loose}; a captive mount or a strap would catch it",
    )


def wring_finding(name: str, wrung: Wrung, axis: Array, *, case: str, allowed: float | None) -> Finding:
    """Moment N·m that the mounts wring through a bolted joint, against what the case stands."""
    claim = f"{name} is spared by the way the mounts share the load"
    chain = Chain()
    chain.given("M_t", wrung.twist(axis), "N*m", "about the shaft line")
    chain.given("M_b", wrung.bending(axis), "N*m", "square to the shaft line")
    demand = chain.step("M", "sqrt(M_t**2 + M_b**2)", "N*m", "moment through the joint")
    if allowed is None:
        ask = f"give what moment the joint of {name} stands, or soften the mounts on one side and compare"
        return unanswered("case-wring", name, claim, "N*m", ask=ask, chain=chain)
    return answered(
        "case-wring",
        name,
        claim,
        chain,
        demand,
        chain.given("M_a", allowed, "N*m", "what the joint stands, from the job"),
        "N*m",
        case=case,
        source=STATICS,
        remedy="soften the mounts on one side, as a rule the gearbox's, or set them closer together there",
    )
