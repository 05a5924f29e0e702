from pathlib import Path

import pytest

TEXT = (Path(__file__).parent / "small.yaml").read_text(encoding="utf-8")


@pytest.fixture
def small() -> str:
    """A valid job that uses every section."""
    return TEXT


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A job folder with the scan that the small job names."""
    (tmp_path / "rail.stl").write_bytes(b"solid\nendsolid\n")
    (tmp_path / "job.yaml").write_text(TEXT, encoding="utf-8")
    return tmp_path
