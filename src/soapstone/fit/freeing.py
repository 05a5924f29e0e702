"""Single changes that might let a part in, the smallest first."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from soapstone.fit.pieces import Bodies, bodies_of
from soapstone.job.fields import AXES
from soapstone.job.schema import Job
from soapstone.job.ways import WayIn
from soapstone.parts.layout import ForkPart, Layout
from soapstone.place.placed import Placed

_WIDER = (1e-3, 3e-3)
"""m; by how much gaps are opened, each side."""


def single_changes(
    job: Job, layout: Layout, placed: Mapping[str, Placed], bodies: Bodies, stage: WayIn
) -> Iterator[tuple[str, Bodies]]:
    """Bolts turned, gaps opened, tabs made to come off, things put in only afterwards."""
    own = {member for name in stage.move.split(" with ") for member in bodies.groups.get(name, ())}
    pairs = list(_pairs([fork for fork in layout.forks.values() if _between(fork, own)]))
    for pair in pairs:
        for word, axis in AXES.items():
            if not any(
                abs(fork.axis @ np.array(axis)) > 0.9 or _along_reach(layout, fork, axis) for fork in pair
            ):
                turned = {fork.name: replace(fork, axis=np.array(axis)) for fork in pair}
                changed = replace(layout, forks={**layout.forks, **turned})
                yield f"turn the bolts of {_named(pair)} {word}", bodies_of(job, changed, placed)
    for pair in pairs:
        for more in _WIDER:
            wider = {fork.name: _opened(fork, more) for fork in pair}
            changed = replace(layout, forks={**layout.forks, **wider})
            yield f"open the gaps of {_named(pair)} by {1e3 * more:.0f} mm", bodies_of(job, changed, placed)
    for pair in pairs:
        gone = {fork.name for fork in pair}
        left = {name: some for name, some in bodies.vehicle.items() if name not in gone}
        if len(left) < len(bodies.vehicle):
            yield f"make the tabs of {_named(pair)} bolt on", replace(bodies, vehicle=left)
    for name in job.obstacles:
        left = {other: some for other, some in bodies.vehicle.items() if other != name}
        yield f"take {name} off first", replace(bodies, vehicle=left)


def _between(fork: ForkPart, own: set[str]) -> bool:
    """Whether the fork is half on what is moved, half on what stands."""
    if fork.holds is None:
        return False
    return (fork.holds[0] in own) != (fork.on_member and fork.host.on in own)


def _along_reach(layout: Layout, fork: ForkPart, axis: Sequence[float]) -> bool:
    return abs(float(layout.foot_to_hole(fork) @ np.array(axis))) > 0.5


def _opened(fork: ForkPart, more: float) -> ForkPart:
    return replace(fork, spec=fork.spec.model_copy(update={"gap": fork.spec.gap + more}))


def _pairs(forks: Sequence[ForkPart]) -> Iterator[list[ForkPart]]:
    """Forks with their counterparts on the other side, so that both sides stay alike."""
    left = {fork.name: fork for fork in forks}
    while left:
        name, fork = next(iter(left.items()))
        del left[name]
        twin = left.pop(_other_side(name), None)
        yield [fork] if twin is None else [fork, twin]


def _other_side(name: str) -> str:
    words = {"left": "right", "right": "left"}
    return "_".join(words.get(word, word) for word in name.split("_"))


def _named(pair: Sequence[ForkPart]) -> str:
    return " and ".join(fork.name for fork in pair)
