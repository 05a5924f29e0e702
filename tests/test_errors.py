"""What an error says."""

import soapstone.errors as errors
from soapstone.errors import JobError, SoapstoneError


def test_where_what_and_the_way_out() -> None:
    assert (
        str(SoapstoneError("is too short", where="bar", remedy="move its ends"))
        == "bar: is too short; move its ends"
    )
    assert str(SoapstoneError("is too short")) == "is too short"


def test_one_family() -> None:
    for name, kind in vars(errors).items():
        if isinstance(kind, type) and issubclass(kind, Exception):
            assert issubclass(kind, SoapstoneError), name
            assert name in (errors.__doc__ or "")


def test_a_job_error_is_a_line_a_fault() -> None:
    assert str(JobError(["one", "two"])) == "one\ntwo"
