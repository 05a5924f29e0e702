"""Whatever stands in the file, the answer is a job or a list of lines."""

from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from soapstone.errors import JobError
from soapstone.job import Job, load_text
from soapstone.job.load import decode

SMALL = (Path(__file__).parent / "small.yaml").read_text(encoding="utf-8")
FOLDER = Path(__file__).parent
LINES = SMALL.splitlines()
PIECES = [
    *"[]{},:'\"|>&*!%@#?-~\t\n\\",
    "&a ", "*a", "<<: ", "!!int ", "- ", ": ", "{mirror: x}", "1e3", "nan", "left", " at 6 in", "null",
    "\ufeff", "½", "---\n", "...\n", "\x85", "\u2028", "\x00", "\ud7ff", "from table", "x" * 300,
]  # fmt: skip
RUNS = settings(deadline=None, max_examples=80, suppress_health_check=[HealthCheck.too_slow])
FEWER = settings(RUNS, max_examples=30)


def answers(data: bytes) -> None:
    try:
        job = load_text(decode(data), FOLDER)
    except JobError as error:
        assert error.faults
        assert all(line and "\n" not in line and line.startswith("job.yaml") for line in error.faults)
        assert "Input should" not in str(error)
        str(error).encode("utf-8")
    else:
        assert isinstance(job, Job)


@RUNS
@given(st.binary(max_size=200))
def test_random_bytes(data: bytes) -> None:
    answers(data)


@RUNS
@given(st.lists(st.sampled_from(PIECES), max_size=25).map("".join))
def test_random_marks(text: str) -> None:
    answers(text.encode())


@FEWER
@given(
    st.lists(
        st.tuples(st.integers(0, len(SMALL)), st.integers(0, 6), st.sampled_from(["", *PIECES])),
        min_size=1,
        max_size=3,
    )
)
def test_a_valid_file_with_a_few_characters_changed(edits: list[tuple[int, int, str]]) -> None:
    text = SMALL
    for at, length, piece in edits:
        text = text[:at] + piece + text[at + length :]
    answers(text.encode())


@FEWER
@given(
    st.integers(0, len(LINES) - 1), st.integers(0, len(LINES) - 1), st.sampled_from(["drop", "swap", "copy"])
)
def test_a_valid_file_with_its_lines_mixed(first: int, second: int, how: str) -> None:
    lines = list(LINES)
    if how == "drop":
        del lines[first]
    elif how == "swap":
        lines[first], lines[second] = lines[second], lines[first]
    else:
        lines.insert(first, lines[second])
    answers("\n".join(lines).encode())
