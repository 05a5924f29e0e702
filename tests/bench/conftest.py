from collections.abc import Iterator
from pathlib import Path

import pytest

from soapstone.bench.worker import Worker
from soapstone.examples import copy_example


@pytest.fixture
def blank(tmp_path: Path) -> Path:
    """A job of one bar, in a folder of its own; gives its file."""
    return copy_example("blank", tmp_path / "job")


@pytest.fixture
def worker(blank: Path) -> Iterator[Worker]:
    one = Worker(blank.parent)
    yield one
    one.close()
