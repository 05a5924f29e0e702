"""How units on rubber swing on the frame that gives, not on a stiff one."""

from collections.abc import Mapping

from soapstone.frame.idealise import Idealised
from soapstone.frame.modes import Modes, modes
from soapstone.place.on_rubber import OnRubber

SIX = 6
_PIECES = 2  # each beam of a tube is short against the waves of the lowest modes


def unit_modes(idealised: Idealised, rubber: Mapping[str, OnRubber]) -> Modes | None:
    """Lowest six modes of frame and units together; None without rubber, or where an inertia is not known."""
    if not rubber or not all(unit.suspended.inertia_known for unit in rubber.values()):
        return None
    return modes(idealised.shaken_frame, idealised.masses, SIX, _PIECES)
