from pathlib import Path

import pytest

import soapstone.examples
from soapstone.build import Build, build
from soapstone.job.load import load
from soapstone.shop.packet import write_packet


@pytest.fixture(scope="session")
def heron() -> Build:
    return build(load(Path(soapstone.examples.__file__).parent / "heron"))


@pytest.fixture(scope="session")
def packet(heron: Build, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("shop") / "packet"
    write_packet(heron, out)
    return out
