"""How a drivetrain shakes on its mounts: six modes, what it passes on, the axis a torque turns it about."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import eigh

from soapstone.errors import GeometryError
from soapstone.place.isolators import Array, Hung, Mount, arms, stiffness_at

_DIRECTIONS = ("fore and aft", "side to side", "up and down", "roll", "pitch", "yaw")


@dataclass(frozen=True, eq=False)
class Modes:
    """Six modes in rising order.

    Attributes
    ----------
    frequencies : (6,) Hz
    shapes : (6, 6), column per mode, mass-normalised, of the centre
    shares : (6, 6)
        Row per mode, share of its kinetic energy in x, y, z, roll, pitch, yaw; rows and columns sum to 1.
        Single shares can be below zero when the inertia has products.
    """

    frequencies: Array
    shapes: Array
    shares: Array

    def words(self, mode: int) -> str:
        """What a mode mainly is, `mostly roll (88 %)`."""
        main = int(self.shares[mode].argmax())
        return f"mostly {_DIRECTIONS[main]} ({100 * self.shares[mode, main]:.0f} %)"


@dataclass(frozen=True, eq=False)
class Shaken:
    """The answer to a steady shake; complex amplitudes.

    Attributes
    ----------
    displacement : (6,) m and rad, of the centre
    forces : (n, 3) N, of each mount on the frame
    passed : (6,) N and N·m, all mounts on the frame, about the centre
    """

    displacement: NDArray[np.complex128]
    forces: NDArray[np.complex128]
    passed: NDArray[np.complex128]


def mass_matrix(body: Hung) -> Array:
    """(6, 6) kg, kg·m² about the centre."""
    mass = np.zeros((6, 6))
    mass[:3, :3] = body.mass * np.eye(3)
    mass[3:, 3:] = body.inertia
    return mass


def rigid_modes(body: Hung, mounts: Sequence[Mount]) -> Modes:
    """Modes of the body on its mounts as they are when shaken, undamped, the frame taken as stiff.

    A direction that nothing holds comes out at zero.
    """
    mass = mass_matrix(body)
    values, shapes = eigh(stiffness_at(mounts, body.centre, shaken=True), mass)
    shares = (shapes * (mass @ shapes)).T
    return Modes(np.sqrt(np.maximum(values, 0.0)) / (2 * np.pi), shapes, shares)


def shake(body: Hung, mounts: Sequence[Mount], load: Array, frequency: float) -> Shaken:
    """Steady answer to a load (6,) N and N·m at the centre that swings at a frequency (Hz).

    Rubber loses energy by its loss factor at every frequency alike: stiffness `k (1 + i loss)`.

    Raises
    ------
    GeometryError
        At a resonance of mounts without any loss.
    """
    b = arms(mounts, body.centre)
    tensors = np.array([m.tensor * m.dynamic * (1.0 + 1j * m.loss) for m in mounts])
    stiffness = np.einsum("nia,nij,njb->ab", b, tensors, b)
    moving = stiffness - (2 * np.pi * frequency) ** 2 * mass_matrix(body)
    if np.linalg.cond(moving) > 1e14:
        raise GeometryError(
            f"at {frequency:.2f} Hz it swings without bound", remedy="give the mounts a loss factor"
        )
    displacement = np.linalg.solve(moving, np.asarray(load, complex))
    forces = np.einsum("nij,nja,a->ni", tensors, b, displacement)
    return Shaken(displacement, forces, np.einsum("nia,ni->a", b, forces))


def sag_frequency(sag: float, gravity: float) -> float:
    """Hz of a mass on springs that its weight presses by `sag` m: `sqrt(g / sag) / 2 pi`."""
    return float(np.sqrt(gravity / sag) / (2 * np.pi))


def transmissibility(ratio: float, damping: float) -> float:
    """Force passed on per force, one mass on one spring; frequency over natural frequency, damping ratio.

    `sqrt[(1 + (2 z r)²) / ((1 - r²)² + (2 z r)²)]` (any vibration handbook).
    """
    swing = (2.0 * damping * ratio) ** 2
    return float(np.sqrt((1.0 + swing) / ((1.0 - ratio**2) ** 2 + swing)))


def firing_frequency(speed: float, cylinders: int, *, strokes: int = 4) -> float:
    """Firings per second, Hz, at an engine speed in rad/s."""
    if strokes not in (2, 4):
        raise GeometryError(f"an engine of {strokes} strokes is not known", remedy="two or four")
    return speed / (2 * np.pi) * cylinders * (1.0 if strokes == 2 else 0.5)


def torque_roll_axis(inertia: Array, torque: Array) -> tuple[Array, float]:
    """The axis, through the centre of mass, about which a torque sets a free body turning: `I⁻¹ T`.

    Returns
    -------
    (3,) unit vector, and its angle rad to the torque
    """
    turn = np.linalg.solve(inertia, torque)
    axis: Array = turn / np.linalg.norm(turn)
    along = float(axis @ torque)
    return axis, float(np.arctan2(np.linalg.norm(np.cross(axis, torque)), along))


@dataclass(frozen=True)
class Vee:
    """A pair of mounts that lean towards each other.

    Attributes
    ----------
    height : float, m, of the elastic centre above the mounts
    upright, sideways : float, N/m
    roll : float, N·m/rad, about the elastic centre
    """

    height: float
    upright: float
    sideways: float
    roll: float


def vee_pair(half_spread: float, lean: float, pressed: float, sheared: float) -> Vee:
    """Two equal mounts `half_spread` m off centre, stiff axes leaning inboard by `lean` rad from upright.

    Classic focusing: a sideways force through the elastic centre shifts the pair without turning it. With
    D = kp sin² + ks cos²: height a (kp - ks) sin cos / D, roll 2 a² kp ks / D.

    Parameters
    ----------
    pressed, sheared : float, N/m
        Along and square to the stiff axis.
    """
    sine, cosine = np.sin(lean), np.cos(lean)
    below = pressed * sine**2 + sheared * cosine**2
    if not below > 0.0:
        raise GeometryError("an upright pair without any shear stiffness is not held sideways")
    return Vee(
        float(half_spread * (pressed - sheared) * sine * cosine / below),
        float(2 * (pressed * cosine**2 + sheared * sine**2)),
        float(2 * below),
        float(2 * half_spread**2 * pressed * sheared / below),
    )
