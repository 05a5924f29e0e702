"""Parts beside the frame: what they weigh is told, and left out only on the job's word."""

import re
from pathlib import Path

import pytest

from soapstone.finding import Verdict
from soapstone.job.load import load_text
from soapstone.parts.shop_parts import shop_parts
from soapstone.parts.unplaced import unplaced_findings

TEXT = """\
soapstone: 1
title: Bracket (invented)
invented: yes
datum: {origin: a corner, state: on stands}
points: {A: {at: [0 mm fwd, 0 mm left, 0 mm up]}}
service: {}
stock: {box: {tube: 40 x 25 x 2 mm, of: S235}}
plates:
  lid: {plate: 5 mm S235, rectangle: 100 mm x 60 mm, quantity: 2}
  door:
    plate: 2 mm S235
    rectangle: 200 mm x 100 mm
    cut outs: [{at: [0 mm, 0 mm], size: 60 mm x 40 mm, corners: 8 mm, inner wall: 12 mm, wall: 2 mm S235}]
    sits on: the dashboard
folded: {rest: {stock: box, legs: [180 mm, 130 mm], folds: [{angle: 90 deg, to: up}], kerf: 1 mm}}
turned: {pin: {kind: pin, of: S355, outside: 10 mm, length: 100 mm}}
"""


def test_what_is_left_out_is_open_until_the_job_says_what_carries_it() -> None:
    job = load_text(TEXT, Path())
    found = {f.about: f for f in unplaced_findings(job, shop_parts(job))}
    verdicts = {name: f.verdict for name, f in found.items()}
    assert verdicts == {
        "lid": Verdict.OPEN,
        "door": Verdict.HOLDS,
        "door-wall-1": Verdict.HOLDS,
        "rest": Verdict.OPEN,
        "pin": Verdict.OPEN,
    }
    # 0.1 x 0.06 x 0.005 m of steel at 7850 kg/m3, twice
    assert "0.471 kg (2 of 0.235 kg)" in found["lid"].remedy + found["lid"].caution
    assert "the dashboard" in found["door"].assumed[0] and not found["door"].remedy
    # pi / 4 of 10 mm squared, 100 mm long: 61.7 g
    assert "0.0617 kg" in found["pin"].remedy


@pytest.mark.parametrize("name", ["rest", "pin"])
def test_every_kind_can_say_what_carries_it(name: str) -> None:
    text = re.sub(rf"({name}: {{)", r"\1sits on: the floor, ", TEXT)
    job = load_text(text, Path())
    verdicts = {f.about: f.verdict for f in unplaced_findings(job, shop_parts(job))}
    assert verdicts[name] is Verdict.HOLDS and verdicts["lid"] is Verdict.OPEN
