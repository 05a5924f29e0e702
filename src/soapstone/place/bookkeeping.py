"""Weight and centre of mass of an assembly, with doubts, and mount reactions by statics alone."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from soapstone.errors import GeometryError, LooseError

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Item:
    """One thing that weighs something.

    Attributes
    ----------
    name : str
    mass : float, kg
    centre : (3,) m
    mass_sigma : float, kg, one standard deviation
    centre_covariance : (3, 3) m²
    inertia : (3, 3) kg·m² about its own centre, vehicle axes; zeros for a thing small beside its distances
    """

    name: str
    mass: float
    centre: Array
    mass_sigma: float
    centre_covariance: Array
    inertia: Array

    def __post_init__(self) -> None:
        if not self.mass > 0.0 or self.mass_sigma < 0.0:
            raise GeometryError("a thing that is weighed needs a mass above zero", where=self.name)


@dataclass(frozen=True, eq=False)
class Whole:
    """An assembly.

    Attributes
    ----------
    mass, mass_sigma : kg
    centre : (3,) m
    centre_covariance : (3, 3) m²
    inertia : (3, 3) kg·m² about the centre
    largest_doubt : str
        The item that adds most to the doubt of the centre.
    """

    mass: float
    mass_sigma: float
    centre: Array
    centre_covariance: Array
    inertia: Array
    largest_doubt: str

    @property
    def centre_sigma(self) -> Array:
        """(3,) m, one standard deviation."""
        return np.sqrt(np.diag(self.centre_covariance))


def add_up(items: Sequence[Item]) -> Whole:
    """Mass, centre and inertia of all together; doubts of first order, items independent of one another.

    `C = Σ m c / M`, so `dC = Σ [(c - C) dm + m dc] / M`; inertia by Steiner.
    """
    if not items:
        raise GeometryError("nothing to add up")
    mass = np.array([item.mass for item in items])
    centres = np.array([item.centre for item in items])
    total = float(mass.sum())
    centre = mass @ centres / total
    away = centres - centre
    sigmas = np.array([item.mass_sigma for item in items])
    own = np.array([item.centre_covariance for item in items])
    doubts = sigmas[:, None, None] ** 2 * np.einsum("ni,nj->nij", away, away) + mass[:, None, None] ** 2 * own
    doubts = doubts / total**2
    worst = items[int(np.trace(doubts, axis1=1, axis2=2).argmax())].name
    spread = np.einsum("n,ni,nj->ij", mass, away, away)
    inertia = np.sum([item.inertia for item in items], axis=0) + np.trace(spread) * np.eye(3) - spread
    return Whole(total, float(np.hypot.reduce(sigmas)), centre, doubts.sum(axis=0), inertia, worst)


@dataclass(frozen=True, eq=False)
class Support:
    """One direction in which a body is held at a place.

    Attributes
    ----------
    name : str
    place : (3,) m
    direction : (3,) unit vector
    stiffness : float, N/m
        Only how supports compare matters, and only where there are more than statics need.
    """

    name: str
    place: Array
    direction: Array
    stiffness: float = 1.0


def reactions(supports: Sequence[Support], load: Array, at: Array) -> Array:
    """Force N of each support on the body, along its direction.

    With just as many supports as statics need these are the only forces that balance; with more, those that
    store least energy (`Σ f² / k` least), as on springs under a stiff body.

    Parameters
    ----------
    load : (6,) N and N·m at the point `at` (3,) m

    Raises
    ------
    LooseError
        When no forces balance the load.
    """
    arms = np.array([s.place - at for s in supports])
    ways = np.array([s.direction for s in supports])
    rows = np.hstack([ways, np.cross(arms, ways)]).T
    reach = max(float(np.linalg.norm(arms, axis=1).max()), 1e-9)
    scale = np.array([1.0, 1.0, 1.0, 1 / reach, 1 / reach, 1 / reach])
    root = np.sqrt([s.stiffness for s in supports])
    matrix, goal = rows * scale[:, None] * root, -np.asarray(load) * scale
    forces: Array = root * np.linalg.lstsq(matrix, goal, rcond=1e-10)[0]
    left = rows * scale[:, None] @ forces - goal
    if float(np.abs(left).max()) > 1e-8 * max(float(np.abs(goal).max()), 1e-300):
        raise LooseError(
            "the supports cannot balance the load", remedy="add a support in the way that is free"
        )
    # one more round of the same solve takes out what rounding left
    forces = forces - root * np.linalg.lstsq(matrix, left, rcond=1e-10)[0]
    return forces


def out_of_balance(supports: Sequence[Support], forces: Array, load: Array, at: Array) -> float:
    """Largest part of what forces and load leave, per largest action of its kind; 0 for perfect balance."""
    arms = np.array([s.place - at for s in supports])
    pushes = forces[:, None] * np.array([s.direction for s in supports])
    turns = np.cross(arms, pushes)
    force = np.abs(pushes.sum(axis=0) + load[:3]).max() / max(
        np.abs(pushes).max(), np.abs(load[:3]).max(), 1e-300
    )
    moment = np.abs(turns.sum(axis=0) + load[3:]).max() / max(
        np.abs(turns).max(), np.abs(load[3:]).max(), 1e-300
    )
    return float(max(force, moment))
