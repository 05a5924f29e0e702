"""The frame: beams with shear deformation, eccentric ends, springs and rigid bodies.

`Frame` and `Loads` (model) go into `solve`, its `Solution` into `member_forces` and the other functions of
recover; `balance` proves that loads and reactions cancel. The same pair goes into `second_order`, `buckling`,
`modes`, `influence` and `pull_in`; `rework` answers for other sections without solving anew.
"""

from soapstone.frame.balance import Balance, balance
from soapstone.frame.bend import CurvedBar, Ovalling, arc, curved_rectangle, curved_tube, karman, ovalling
from soapstone.frame.buckle import Buckling, buckling
from soapstone.frame.fit import Pull, pull_in
from soapstone.frame.influence import Hardest, Influence, hardest, influence
from soapstone.frame.model import Frame, Loads, LumpedMass, Release, Spring
from soapstone.frame.modes import Modes, modes
from soapstone.frame.recover import (
    internal_forces_at,
    member_displacements,
    member_forces,
    point_displacement,
)
from soapstone.frame.refine import Refined, refine
from soapstone.frame.rework import Rework, rework
from soapstone.frame.second import second_order
from soapstone.frame.solve import Solution, solve

__all__ = [
    "Balance",
    "Buckling",
    "CurvedBar",
    "Frame",
    "Hardest",
    "Influence",
    "Loads",
    "LumpedMass",
    "Modes",
    "Ovalling",
    "Pull",
    "Refined",
    "Release",
    "Rework",
    "Solution",
    "Spring",
    "arc",
    "balance",
    "buckling",
    "curved_rectangle",
    "curved_tube",
    "hardest",
    "influence",
    "internal_forces_at",
    "karman",
    "member_displacements",
    "member_forces",
    "modes",
    "ovalling",
    "point_displacement",
    "pull_in",
    "refine",
    "rework",
    "second_order",
    "solve",
]
