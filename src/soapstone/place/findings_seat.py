"""What there is to say of a body that is set by what is wanted of it."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from soapstone.finding import Finding, Verdict
from soapstone.formula import Chain
from soapstone.place.answers import GEOMETRY, unanswered
from soapstone.place.findings_pose import pose_findings
from soapstone.place.placed import Placed
from soapstone.place.seating import Seat
from soapstone.place.solve import Room
from soapstone.place.wanting import Ask


def seat_findings(placed: Mapping[str, Placed], resting: Iterable[str]) -> tuple[Finding, ...]:
    """Of every body that is set: its targets and limits, what is missing, and what is still free.

    Parameters
    ----------
    placed : of the build
    resting : bodies of which the job says that what is not settled stays as it hangs
    """
    rest = set(resting)
    seats = [body.seat for body in placed.values() if body.seat is not None]
    return tuple(finding for one in seats for finding in _of(one, one.body in rest))


def _of(seat: Seat, rests: bool) -> Iterator[Finding]:
    answer = replace(seat.answer, rooms=tuple(telling(seat)))
    found = pose_findings(seat.body, answer, seat.fights)
    notes = {target.measure.name: ask.assumed for ask in seat.asks for target in ask.targets}
    broken = seat.fights or [room.limit for room in seat.answer.rooms if room.room < 0.0]
    fights = " and ".join(limit.measure.name for limit in broken)
    for finding in found:
        name = finding.about.partition(".")[2]
        if finding.kind == "pose-target" and not seat.answer.possible:
            ask = f"first settle what stands against it: {fights} cannot all be kept"
            yield unanswered(finding.kind, finding.about, finding.claim, finding.unit, ask=ask)
            continue
        assumed = notes.get(name, ()) if finding.kind == "pose-target" else ()
        yield replace(finding, assumed=finding.assumed + assumed)
    yield from (_lacks(seat.body, ask) for ask in seat.asks if ask.missing)
    if seat.problem.targets and seat.answer.possible:
        yield _free(seat, rests)


def telling(seat: Seat) -> Iterator[Room]:
    """Of the limits of each entry the tightest, and every one that is met, fights or holds something back."""
    rooms = {id(room.limit): room for room in seat.answer.rooms}
    for ask in seat.asks:
        mine = [rooms[id(limit)] for limit in ask.limits]
        tightest = min(mine, key=lambda room: room.room, default=None)
        for room in mine:
            fights = any(room.limit is other for other in seat.fights)
            if room is tightest or room.touched or room.pressure > 0.0 or fights:
                yield room


def _lacks(body: str, ask: Ask) -> Finding:
    kind = "pose-limit" if ask.name.startswith(("gap", "height")) else "pose-target"
    return unanswered(kind, f"{body}.{ask.name}", f"{ask.name} is as asked", "1", ask=ask.missing)


def _free(seat: Seat, rests: bool) -> Finding:
    chain = Chain()
    words = [freedom.words for freedom in seat.free]
    chain.given("n", float(len(words)), "1", "ways to move that nothing wanted settles")
    chain.given("n_r", float(len(words) if rests else 0), "1", "of them stay as it hangs, as the job says")
    count = chain.step("n_o", "n - n_r", "1", "ways that nobody has settled")
    allowed = chain.given("n_a", 1.0, "1", "one is too many")
    about, claim = seat.body, f"what is wanted settles where {seat.body} sits"
    if words and not rests:
        ask = f"{'; '.join(words)}: want more of it, or say rest: as it hangs"
        return unanswered("pose-free", about, claim, "1", ask=ask, chain=chain)
    return Finding(
        id=f"pose-free:{about}",
        about=about,
        claim=claim,
        verdict=Verdict.HOLDS,
        demand=count,
        capacity=allowed,
        ratio=count / allowed,
        because=chain.steps,
        source=GEOMETRY,
        caution=f"left as it hangs, as the job says: {'; '.join(words)}" if words else "",
    )


def seats_of(placed: Mapping[str, Placed]) -> Sequence[Seat]:
    """Of the bodies that are set, in the job's order."""
    return [body.seat for body in placed.values() if body.seat is not None]
