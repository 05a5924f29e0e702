"""Half-shafts and wheel carriers: plain geometry worked out by hand or apart from this program."""

import numpy as np
import pytest

from soapstone.errors import GeometryError, LooseError
from soapstone.place.half_shafts import angle_between, joint_moment, through_travel, tripod_orbit
from soapstone.place.linkage import Linkage, carrier_at, double_wishbone

ACROSS = np.array([0.0, 1.0, 0.0])
MM = 1e-3

WISHBONES = {
    "lower front": (120, 350, 180),
    "lower rear": (-160, 340, 185),
    "lower ball": (5, 700, 160),
    "upper front": (90, 420, 400),
    "upper rear": (-130, 410, 390),
    "upper ball": (-15, 660, 430),
    "track inner": (-150, 380, 230),
    "track outer": (-140, 690, 215),
    "wheel centre": (0, 740, 300),
}
OUTER, INNER = np.array([0, 640, 300]) * MM, np.array([-20, 200, 310]) * MM
TRAVEL = np.arange(-80, 81, 20) * MM


def linkage() -> Linkage:
    return double_wishbone({name: np.array(at) * MM for name, at in WISHBONES.items()})


def arm(dz: np.ndarray, inner: np.ndarray, arm_length: float = 300.0) -> np.ndarray:
    """Outer joint on equal parallel level arms, mm: it keeps its axis and runs on their circle."""
    inboard = arm_length - np.sqrt(arm_length**2 - dz**2)
    outer = np.stack([np.zeros_like(dz), inner[1] - inboard, dz], axis=1)
    return outer


@pytest.mark.parametrize(
    ("dz", "inner_height", "plunge", "angle"),
    [
        ((-50, 50), 0, (-1.68123088, -1.68123088), (5.75859868, 5.75859868)),
        ((-100, 100), 0, (-6.91067240, -6.91067240), (11.70091951, 11.70091951)),
        (
            (-100, -50, 0, 50, 100),
            30,
            (-0.86210784, 1.31749053, 0, -4.69198105, -13.00874782),
            (15.06891802, 9.16590781, 3.43363045, 2.30997466, 8.24897011),
        ),
    ],
)
def test_equal_arms(dz, inner_height, plunge, angle) -> None:  # type: ignore[no-untyped-def]
    """Arms 300, shaft 500 mm, and the same with the inner joint 30 higher; eight digits given."""
    outer = arm(np.array(dz, float), np.array([0, 500.0, 0]))
    inner = np.array([0, 0, inner_height], float)
    found = through_travel(inner, ACROSS, outer, ACROSS, ride_length=float(np.hypot(500, inner_height)))
    assert found.plunge == pytest.approx(plunge, abs=5e-9)
    assert np.degrees(found.inner_angle) == pytest.approx(
        angle, abs=1e-7
    )  # the last two digits were rounded on the way


def test_a_shaft_like_its_arm_never_plunges() -> None:
    dz = np.linspace(-100, 100, 21)
    found = through_travel(np.zeros(3), ACROSS, arm(dz, np.array([0, 300.0, 0])), ACROSS, ride_length=300.0)
    assert np.abs(found.plunge).max() < 1e-12
    assert np.degrees(found.inner_angle[-1]) == pytest.approx(19.47122063, abs=5e-9)
    low = through_travel(
        np.array([0, 0, -40.0]),
        ACROSS,
        arm(dz, np.array([0, 300.0, 0])),
        ACROSS,
        ride_length=float(np.hypot(300, 40)),
    )
    assert low.plunge[[0, -1]] == pytest.approx([-13.51827311, 12.93975775], abs=5e-9)


def test_hub_positions_from_a_table() -> None:
    outer = np.array([(420, 15, -60), (420, 15, 0), (420, 15, 80)], float)
    found = through_travel(
        np.zeros(3), np.array([1.0, 0, 0]), outer, np.array([1.0, 0, 0]), ride_length=420.26777
    )
    assert found.length == pytest.approx([424.52915, 420.26777, 427.81421], abs=5e-6)
    assert np.degrees(found.inner_angle) == pytest.approx([8.3768191, 2.0454085, 10.967708], abs=5e-7)


def carried() -> tuple[np.ndarray, np.ndarray]:
    poses = carrier_at(linkage(), TRAVEL)
    return np.array([p.apply(OUTER) for p in poses]), np.array([p.turn(ACROSS) for p in poses])


def test_double_wishbone() -> None:
    """Nine heights, six digits after the point in mm and deg, worked out apart from this program."""
    outer, axes = carried()
    found = through_travel(INNER, ACROSS, outer, axes, ride_length=float(np.linalg.norm(OUTER - INNER)))
    plunge = [1.265134, 1.656851, 1.572373, 1.020024, 0, -1.495290, -3.481457, -5.982948, -9.034551]
    inner = [11.492262, 9.055155, 6.721018, 4.563822, 2.909253, 2.794200, 4.335829, 6.448517, 8.747414]
    outer_angle = [9.184617, 7.299712, 5.585108, 4.079526, 2.909253, 2.380929, 2.718053, 3.580593, 4.603947]
    assert found.plunge / MM == pytest.approx(plunge, abs=1e-6)
    assert np.degrees(found.inner_angle) == pytest.approx(inner, abs=1e-6)
    assert np.degrees(found.outer_angle) == pytest.approx(outer_angle, abs=1e-6)
    assert outer[0] / MM == pytest.approx([1.960867, 632.974915, 224.754478], abs=1e-6)
    assert int(found.plunge.argmax()) == 1  # the largest pull is not at full droop


@pytest.mark.parametrize(
    ("movement", "plunge"),
    [
        ((0, 0, -4), (0.510853, -0.072640, -8.434159)),
        ((0, 6, 0), (-4.612936, -5.992160, -14.963783)),
        ((3, 6, -4), (-5.518477, -6.193553, -14.478216)),
    ],
)
def test_the_unit_moves_along(movement: tuple[float, ...], plunge: tuple[float, ...]) -> None:
    outer, axes = carried()
    inner = INNER + np.array(movement) * MM
    found = through_travel(inner, ACROSS, outer, axes, ride_length=float(np.linalg.norm(OUTER - INNER)))
    assert found.plunge[[0, 4, 8]] / MM == pytest.approx(plunge, abs=1e-6)


def test_links_keep_their_length_in_any_order_of_heights() -> None:
    chain = linkage()
    mixed = np.array([0.03, -0.05, 0.0, 0.06, -0.01])
    for height, pose in zip(mixed, carrier_at(chain, mixed), strict=True):
        run = np.linalg.norm(pose.apply(chain.carrier_ends) - chain.vehicle_ends, axis=1)
        assert run == pytest.approx(chain.lengths, abs=1e-12)
        assert pose.apply(chain.centre)[2] - chain.centre[2] == pytest.approx(height, abs=1e-12)


def test_links_that_do_not_lead() -> None:
    with pytest.raises(GeometryError, match="do not let the wheel travel"):
        carrier_at(linkage(), np.array([0.9]))
    with pytest.raises(GeometryError, match="lack track outer"):
        double_wishbone({name: np.array(at) for name, at in WISHBONES.items() if name != "track outer"})
    with pytest.raises(GeometryError, match="five links"):
        Linkage(np.zeros((4, 3)), np.zeros((4, 3)), np.zeros(3))
    twice = linkage()
    twin = Linkage(
        np.vstack([twice.vehicle_ends[:4], twice.vehicle_ends[:1]]),
        np.vstack([twice.carrier_ends[:4], twice.carrier_ends[:1]]),
        twice.centre,
    )
    with pytest.raises(LooseError):
        carrier_at(twin, np.array([0.01]))


def test_joint_moment_is_the_torque_along_both_shafts() -> None:
    """The part along flange and shaft is the torque; square to the flange it is T tan(angle / 2)."""
    angle = np.radians(20.0)
    flange, shaft = ACROSS, np.array([0.0, np.cos(angle), np.sin(angle)])
    moment = joint_moment(300.0, 2 * flange, 3 * shaft)
    assert moment @ flange == pytest.approx(300.0, rel=1e-14)
    assert moment @ shaft == pytest.approx(300.0, rel=1e-14)
    assert np.linalg.norm(moment - 300.0 * flange) == pytest.approx(300.0 * np.tan(angle / 2), rel=1e-13)


def test_small_things() -> None:
    assert tripod_orbit(40.0, np.radians(12.0)) == pytest.approx(0.4468119, abs=5e-8)
    assert angle_between(ACROSS, -ACROSS) == 0.0
    with pytest.raises(GeometryError, match="same place"):
        through_travel(OUTER, ACROSS, OUTER, ACROSS, ride_length=0.5)
