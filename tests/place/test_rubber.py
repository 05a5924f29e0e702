"""Rubber blocks against worked figures."""

import numpy as np
import pytest

from soapstone.errors import GeometryError, SoapstoneError
from soapstone.place.rubber import (
    Block,
    block_stiffness,
    dynamic_factors,
    round_block,
    rubber,
    square_block,
    strain_limits,
)
from soapstone.tables import Status


def test_a_cylinder() -> None:
    """40 mm round, 25 mm thick, hardness 50: S 0.4, 136.4165 and 32.16991 N/mm, 511.562 N at 15 %."""
    block = round_block(0.040, 0.025)
    found = block_stiffness(block, rubber(50))
    assert block.shape_factor == pytest.approx(0.4, rel=1e-12)
    assert found.compression == pytest.approx(136416.50, abs=0.005)
    assert found.shear == pytest.approx(32169.91, abs=0.005)
    assert found.compression * strain_limits().compression * 0.025 == pytest.approx(511.562, abs=5e-4)
    assert found.because[-1].value == found.shear


def test_a_square_block() -> None:
    """100 x 100 x 25 mm, E0 2.2 MPa: 2640 N/mm with k = 1, 2006.4 with k = 0.64, less with the bulk's
    give.
    """
    block = square_block(0.1, 0.1, 0.025)
    soft = rubber(50)
    plain = type(soft)(50, 2.2e6, 0.64e6, 1000e6, 1.0, "", soft.status, False)
    assert block_stiffness(block, plain).compression == pytest.approx(2640e3, rel=1e-12)
    black = type(soft)(50, 2.2e6, 0.64e6, 1000e6, 0.64, "", soft.status, False)
    assert block_stiffness(block, black).compression == pytest.approx(2006.4e3, rel=1e-12)
    assert block_stiffness(block, plain, with_bulk=True).compression == pytest.approx(
        6.556725e6 * 0.4, rel=1e-6
    )


def test_between_rows() -> None:
    row, between = rubber(60), rubber(62.5)
    assert row.young == 4.45e6 and not row.between and row.status is Status.INFERRED
    assert between.young == pytest.approx((4.45e6 + 5.85e6) / 2, rel=1e-12) and between.between
    assert rubber(65).status is Status.VERIFIED and between.status is Status.INFERRED


def test_the_table_against_a_second_copy() -> None:
    """E0 of 830 and 1340 psi at hardness 65 and 75 in another handbook: within 2.3 %, shape numbers alike."""
    psi = 4.4482216152605 / 0.0254**2
    for hardness, young, shape in ((65, 830, 0.54), (75, 1340, 0.52)):
        assert rubber(hardness).young == pytest.approx(young * psi, rel=0.023)
        assert rubber(hardness).shape == shape


def test_stiffness_grows_with_hardness() -> None:
    block = round_block(0.05, 0.03)
    stiff = [block_stiffness(block, rubber(h)).compression for h in np.linspace(30, 75, 46)]
    assert np.all(np.diff(stiff) > 0)


def test_outside() -> None:
    with pytest.raises(SoapstoneError, match="hardness 90"):
        rubber(90)
    with pytest.raises(GeometryError):
        Block(0.0, 1.0, 1.0)
    low, high, _ = dynamic_factors()
    assert (low, high) == (1.2, 1.4)
