from pathlib import Path

import pytest

from soapstone.build import Build
from soapstone.shop.packet import write_packet


@pytest.fixture(scope="session")
def packet(heron: Build, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("shop") / "packet"
    write_packet(heron, out)
    return out
