"""What can crack on one tube: its ends, the toes on the tubes it lands on, and whatever is welded to it."""

from collections.abc import Iterator
from functools import partial

import numpy as np

from soapstone.finding import Finding
from soapstone.formula import Chain
from soapstone.parts.layout import SeatKind, Tube
from soapstone.parts.sections import RoundTube
from soapstone.strength.fatigue import (
    THICKEST,
    Detail,
    Part,
    attachment_category,
    end_category,
    fatigue,
)
from soapstone.strength.hot_spots import CATEGORY, PLACES, RoundJoint, joint_gap, put_factors
from soapstone.strength.landings import brace_forces, landing_of, nominal_stress
from soapstone.strength.tube_joints import Landing
from soapstone.strength.work import Array, Work

_STEEL = 150e9
"""Pa: no structural steel is softer, no aluminium stiffer."""
_CLAUSE = "a hot spot at a fillet that carries, table B.1"


def tube_fatigue(work: Work, tube: Tube) -> Finding:
    """`fatigue`, at the tube's welded ends and wherever something is welded to it."""
    if tube.material.elastic_modulus < _STEEL:
        gap = f"{tube.material.name} is no steel: the categories are for steel; have its welds looked at"
        return fatigue(name=tube.name, details=(), cycles=work.cycles, cases=work.cases, gap=gap)
    ends = [_end(work, tube, end) for end in (0, 1) if work.is_welded(tube, end)]
    details = [*(detail for found, _ in ends for detail in found), *_landing_details(work, tube)]
    gap = next((gap for _, gap in ends if gap), "")
    if not details and not gap:
        details = [Detail("its own wall", 140e6, "table 8.1, hollow section", _ranges_along(work, tube))]
    return fatigue(name=tube.name, details=details, cycles=work.cycles, cases=work.cases, gap=gap)


def ranges(states: Array) -> Array:
    """(n, n) size of the difference between every two of (n,) stresses."""
    found: Array = np.abs(states[:, None] - states)
    return found


def _with_rest(work: Work, values: Array) -> Array:
    """(c + 1, ...) of (c, ...): behind all cases the one at rest, nothing where the job has none."""
    rest = np.zeros_like(values[:1]) if work.at_rest is None else values[work.at_rest : work.at_rest + 1]
    return np.concatenate([values, rest])


def _ranges(work: Work, tube: Tube, forces: Array) -> Array:
    """(c + 1, c + 1) Pa, greatest stress range between every two cases, the last being the frame at rest.

    Of forces (c, ..., 6) along the tube.
    """
    states = _with_rest(work, forces).reshape(len(forces) + 1, -1, 6)
    found: Array = nominal_stress(tube, states[:, None] - states[None]).max(axis=2)
    return found


def _ranges_along(work: Work, tube: Tube) -> Array:
    return _ranges(work, tube, np.concatenate([work.along(s) for s in work.segments(tube.name)], axis=1))


def _end(work: Work, tube: Tube, end: int) -> tuple[list[Detail], str]:
    """Details of a welded end, and why they cannot be judged."""
    word = "end" if end else "start"
    if tube.seats[end].kind is not SeatKind.WELD:
        return _on_bung(work, tube, end, word)
    factor = work.weld(f"{tube.name} {word}").hot_spot
    if factor is not None:
        return [_told(work, tube, end, word, factor)], ""
    landing = landing_of(work, tube, end)
    gap = joint_gap(landing)
    if gap:
        return [], f"its {word}: {gap}"
    return list(_hot_spots(work, tube, end, word, landing)), ""


def _on_bung(work: Work, tube: Tube, end: int, word: str) -> tuple[list[Detail], str]:
    if tube.section.wall > THICKEST:
        return [], "its wall is over 8 mm, where the categories of tube ends stop: have its ends looked at"
    category = end_category(isinstance(tube.section, RoundTube))
    clause = "a tube's end welded on its bung with fillets, table 8.6"
    return [Detail(f"its {word}", category, clause, _ranges(work, tube, work.at_end(tube, end)[0]))], ""


def _told(work: Work, tube: Tube, end: int, word: str, factor: float) -> Detail:
    nominal = _ranges(work, tube, work.at_end(tube, end)[0])

    def put(chain: Chain) -> None:
        chain.given("K_h", factor, "1", "hot-spot factor that the job gives for this weld")

    part = Part("a", "K_h", "nominal stress of the tube", nominal)
    return Detail(f"its {word}", CATEGORY, _CLAUSE, factor * nominal, tube.section.wall, put, (part,))


def _hot_spots(work: Work, tube: Tube, end: int, word: str, landing: Landing) -> Iterator[Detail]:
    host = work.layout.tubes[tube.seats[end].on]
    joint = _joint(landing, host)
    stresses = _stresses(work, tube, end, host)
    for on_chord, side in ((True, f"on {host.name}"), (False, "on its own side")):
        for place in PLACES:
            put = partial(put_factors, joint=joint, on_chord=on_chord, place=place)
            chain = Chain()
            put(chain)
            known = {step.symbol: step.value for step in chain.steps}
            parts = tuple(part for part in stresses if part.factor in known)
            total = sum((known[part.factor] * part.ranges for part in parts), np.zeros(()))
            wall = host.section.wall if on_chord else tube.section.wall
            where = f"its {word}'s toe {side}, {_WORDS[place]}"
            yield Detail(where, CATEGORY, _CLAUSE, np.asarray(total), wall, put, parts)


_WORDS = {"saddle": "at the flanks", "crown": "ahead and behind", "between": "between flank and crown"}


def _joint(landing: Landing, host: Tube) -> RoundJoint:
    chord, brace = landing.chord, landing.brace
    assert isinstance(chord, RoundTube) and isinstance(brace, RoundTube)
    return RoundJoint(
        chord=chord.outside_diameter,
        chord_wall=chord.wall,
        brace=brace.outside_diameter,
        brace_wall=brace.wall,
        angle=landing.angle,
        length=host.length,
        crossed=bool(landing.crossed),
        beside=attachment_category(landing.brace_along / np.sin(landing.angle)),
    )


def _stresses(work: Work, tube: Tube, end: int, host: Tube) -> tuple[Part, ...]:
    """Nominal stress ranges of a brace and of its chord."""
    section = tube.section.section
    axial, inside, outside = (_with_rest(work, force) for force in brace_forces(work, tube, end))
    chord = _ranges(work, host, work.at_station(host.name, tube.seats[end].station))
    return (
        Part("a", "K_a", "axial stress of the brace", ranges(axial / section.area)),
        Part("i", "K_i", "its bending in the plane", ranges(inside / section.elastic_modulus_y)),
        Part("o", "K_o", "its bending out of the plane", ranges(outside / section.elastic_modulus_y)),
        Part("c", "K_c", "the chord's own stress", chord),
    )


def _landing_details(work: Work, tube: Tube) -> Iterator[Detail]:
    for station, length, name in _landed(work, tube):
        forces = work.at_station(tube.name, station)
        clause = f"an attachment {1e3 * length:.0f} mm long, table 8.4"
        yield Detail(f"the weld of {name}", attachment_category(length), clause, _ranges(work, tube, forces))


def _landed(work: Work, tube: Tube) -> Iterator[tuple[float, float, str]]:
    """Station m, length along the tube m, and name of everything welded to it."""
    for other in work.layout.tubes.values():
        for end, seat in enumerate(other.seats):
            if seat.kind is SeatKind.WELD and seat.on == tube.name:
                landing = landing_of(work, other, end)
                yield seat.station, landing.brace_along / np.sin(landing.angle), other.name
    for fork in work.layout.forks.values():
        if fork.on_member and fork.host.on == tube.name:
            yield fork.host.station, fork.spec.width, fork.name
    for hanger in work.layout.hangers.values():
        if hanger.host.on == tube.name:
            yield hanger.host.station, hanger.spec.width, hanger.name
