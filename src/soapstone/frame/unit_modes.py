"""How units on rubber swing on the frame that gives, not on a stiff one."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from soapstone.frame.idealise import Idealised
from soapstone.frame.model import LumpedMass
from soapstone.frame.modes import Modes, modes
from soapstone.frame.on_springs import ground_stiffness
from soapstone.job.schema import Job
from soapstone.place.on_rubber import OnRubber
from soapstone.place.placed import Placed

SIX = 6
_PIECES = 2  # each beam of a tube is short against the waves of the lowest modes


def unit_modes(
    job: Job, placed: Mapping[str, Placed], idealised: Idealised, rubber: Mapping[str, OnRubber]
) -> Modes | None:
    """Lowest six modes of frame and units together; None without rubber, or where an inertia is not known."""
    if not rubber or not all(unit.suspended.inertia_known for unit in rubber.values()):
        return None
    springs = list(idealised.frame.springs)
    for unit in rubber.values():
        for hung in unit.mounts:
            row = idealised.springs[hung.mount.name]
            give = job.supports[hung.support].stiffness if hung.support else None
            springs[row] = replace(springs[row], stiffness=ground_stiffness(hung.mount, give, shaken=True))
    lumps = [
        LumpedMass(
            node,
            placed[name].mass,
            np.zeros(3),
            rubber[name].body.inertia if name in rubber else np.zeros((3, 3)),
        )
        for name, node in idealised.bodies.items()
    ]
    return modes(replace(idealised.frame, springs=tuple(springs)), lumps, SIX, _PIECES)
