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
