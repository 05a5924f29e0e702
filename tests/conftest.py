"""Fixtures that several rooms share; one whole mount is built once a run.

`mount.yaml` is the example heron as it once was, kept so that the example may grow without a test noticing.
"""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings

from soapstone.build import Build, build
from soapstone.job.load import load_text
from soapstone.job.schema import Job

# the same examples on every run: what is green here is green on a clean checkout
settings.register_profile("steady", derandomize=True)
settings.load_profile("steady")


@pytest.fixture(scope="session")
def heron_text() -> str:
    return Path(__file__).with_name("mount.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def heron_job(heron_text: str) -> Job:
    return load_text(heron_text, Path("heron"))


@pytest.fixture(scope="session")
def heron(heron_job: Job) -> Build:
    return build(heron_job)


@pytest.fixture(scope="session")
def changed(heron_text: str) -> Callable[..., Build]:
    """Build heron with pieces of its text exchanged; each must stand in it exactly once."""

    def make(*edits: tuple[str, str]) -> Build:
        text = heron_text
        for old, new in edits:
            assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
            text = text.replace(old, new)
        return build(load_text(text, Path("heron")))

    return make


RUBBER = """
mounts:
  mount_front_left:
    at: hanger_front_left
    rubber: {hardness: 55, round: 60 x 40 mm}
    rated: 3 kN
    along: [0, -0.5, 0.866]
    stops: {pressed: {at: 6 mm, stiffness: 2 kN/mm}, lifted: {at: 5 mm, stiffness: 2 kN/mm}}
  mount_front_right: {mirror: mount_front_left}
  mount_rear_left:
    at: hanger_rear_left
    stiffness: {along: 320 N/mm, across: [80 N/mm, 60 N/mm], source: measured}
    thickness: 40 mm
  mount_rear_right: {mirror: mount_rear_left}

welds:
"""
ACTING = """
  brakes: {torque: 700 N·m}
  lift: {at: cross_2 middle, mass: 400 kg, times: 1.2}
  tow: {at: cross_2 at 100 mm, mass: 600 kg, wheel radius: 300 mm, kerb: 100 mm, times: 1.2}
  shaking:
    ripple: {body: drive_unit, speed: 9000 rpm, force: 30 N, about: up}
    idle: {body: drive_unit, speed: 800 rpm, cylinders: 4, torque: 50 N·m, about: across, passed on: 0.5}
  cases:
    lifted: {with: [lift], source: statics}
    towed over a kerb: {with: [tow], torque: towed back, source: statics}
    braking inboard: {forward: 0.8, with: [brakes], source: own choice}
"""
INERTIA = """
    mass accuracy: 2 kg
    centre accuracy: 10 mm
    inertia: {roll: 2.1 kg·m², pitch: 4.0 kg·m², yaw: 3.8 kg·m², roll yaw: 0.2 kg·m², source: estimate}
    joint:
      {at: flange_left, axis: across, stands: 900 N·m, mass: 50 kg, centre: [0 mm fwd, 150 mm left, 0 mm up],
       mounts: [mount_front_left, mount_rear_left]}
"""
SHAFT = """obstacles:
  brake_pipe_2:
    shapes:
      - cylinder:
          from: [40 mm aft, 285 mm left, 470 mm up]
          to: [1150 mm aft, 285 mm left, 470 mm up]
          diameter: 8 mm
  steering_shaft:
    shapes:
      - cylinder:
          from: [200 mm aft, 400 mm left, 440 mm up]
          to: [200 mm aft, 400 mm right, 440 mm up]
          diameter: 20 mm
"""


@pytest.fixture(scope="session")
def soft_heron(changed: Callable[..., Build]) -> Build:
    """Heron's drive unit on rubber at its hangers, with brakes, a hoist and a tow hook."""
    return changed(
        ("\nwelds:\n", RUBBER),
        ("    point accuracy: 0.3 mm\n", f"    point accuracy: 0.3 mm{INERTIA}"),
        ('layout: "transverse', 'shock: 1.2, flanges: [flange_left, flange_right], layout: "transverse'),
        ("\n  cases:\n", ACTING),
        ("obstacles:\n", SHAFT),
    )


@pytest.fixture(scope="session")
def boat_text() -> str:
    return Path(__file__).with_name("boat.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def boat(boat_text: str) -> Build:
    """An engine on four rubber mounts that stand on supports, with nothing built."""
    return build(load_text(boat_text, Path("boat")))
