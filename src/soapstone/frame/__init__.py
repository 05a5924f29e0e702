"""The frame: straight beams with shear deformation, eccentric ends, springs and rigid bodies, solved at once.

`Frame` and `Loads` (model) go into `solve`, its `Solution` into `member_forces` and the other functions of
recover; `balance` proves that loads and reactions cancel.
"""

from soapstone.frame.balance import Balance, balance
from soapstone.frame.model import Frame, Loads, LumpedMass, Release, Spring
from soapstone.frame.recover import (
    internal_forces_at,
    member_displacements,
    member_forces,
    point_displacement,
)
from soapstone.frame.solve import Solution, solve

__all__ = [
    "Balance",
    "Frame",
    "Loads",
    "LumpedMass",
    "Release",
    "Solution",
    "Spring",
    "balance",
    "internal_forces_at",
    "member_displacements",
    "member_forces",
    "point_displacement",
    "solve",
]
