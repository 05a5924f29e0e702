"""The command line: what it prints, where, and how it ends."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from soapstone import __version__
from soapstone.cli import main
from soapstone.examples import copy_example


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch):  # type: ignore[no-untyped-def]
    monkeypatch.setenv("COLUMNS", "140")

    def call(*words: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["soapstone", *words])
        with pytest.raises(SystemExit) as left:
            main()
        out, err = capsys.readouterr()
        code = left.value.code
        return (code if isinstance(code, int) else 0), out, err

    return call


@pytest.fixture(scope="module")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return copy_example("blank", tmp_path_factory.mktemp("jobs") / "blank").parent


def edited(blank: Path, folder: Path, old: str, new: str) -> Path:
    text = (blank / "job.yaml").read_text(encoding="utf-8")
    assert text.count(old) == 1
    folder.mkdir(exist_ok=True)
    (folder / "job.yaml").write_text(text.replace(old, new), encoding="utf-8")
    return folder


def test_new_makes_a_folder_once(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    folder = tmp_path / "job"
    assert run("new", str(folder), "--example", "heron") == (
        0,
        f"{folder / 'job.yaml'} is ready; look at it with: soapstone check {folder}\n",
        "",
    )
    code, out, err = run("new", str(folder))
    assert (code, out) == (2, "")
    assert err.replace("\n", " ").strip() == f"{folder} is there already; name a new or an empty folder"


def test_check_ends_with_the_verdict(run, blank: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    code, out, err = run("check", str(blank))
    assert code == 0 and err == "" and out.rstrip().endswith("0 short, 0 open.")
    assert "more hold with less than 50% used; --all lists them." in out and "weld:bar start" not in out
    code, out, _ = run("check", str(blank), "--all")
    assert code == 0 and "weld:bar start" in out and "more hold" not in out
    thin = edited(blank, tmp_path / "short", "tube: 42.4 x 2.6 mm", "tube: 42.4 x 0.02 mm")
    assert run("check", str(thin))[0] in (
        1,
        3,
    )  # so thin a wall is either short or out of the formula's range
    loose = edited(
        blank,
        tmp_path / "open",
        "  - height L: 351.5 mm                                # taken twice: a slip shows\n",
        "",
    )
    code, out, _ = run("check", str(loose))
    assert code == 3 and "reading:height L" in out and "= = = open" in out


def test_a_broken_file_is_a_line_a_fault(run, blank: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    bad = edited(blank, tmp_path / "bad", "stock: main}", "stock: mian}")
    code, out, err = run("check", str(bad))
    assert (code, out) == (2, "")
    line = (bad / "job.yaml").read_text(encoding="utf-8").splitlines().index(
        "  bar: {from: fork_left, to: fork_right, stock: mian}"
    ) + 1
    assert err == f"job.yaml:{line} members.bar.stock: 'mian' is not in stock; nearest: main\n"


def test_a_missing_job_is_one_line(run, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    code, out, err = run("check", str(tmp_path / "nothing"))
    assert code == 2 and out == "" and "Traceback" not in err and len(err.strip().splitlines()) == 1


def test_json_is_one_object_and_nothing_else(run, blank: Path) -> None:  # type: ignore[no-untyped-def]
    code, out, err = run("check", str(blank), "--json")
    report = json.loads(out)
    assert code == 0 and err == ""
    assert set(report) == {"soapstone", "job", "points", "findings", "load_path"}
    assert report["soapstone"] == __version__
    assert {point["name"] for point in report["points"]} == {"A", "B", "L", "R"}
    finding = next(f for f in report["findings"] if f["id"] == "member-stress:bar")
    assert finding["verdict"] == "holds" and finding["because"] and 0 < finding["ratio"] < 1


def test_explain_shows_every_formula(run, blank: Path) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = run("explain", str(blank), "bolt:fork_left")
    assert code == 0
    for piece in ("==== holds  bolt:fork_left", "A_b = pi / 4 * d_n**2", "source: AISC 360-22", "assumed: "):
        assert piece in out


def test_explain_knows_near_spellings(run, blank: Path) -> None:  # type: ignore[no-untyped-def]
    code, out, err = run("explain", str(blank), "bolt:fork_lft")
    assert (code, out) == (2, "") and "nearest: bolt:fork_left" in err


def test_packet_names_its_files(run, blank: Path, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    out_folder = tmp_path / "packet"
    code, out, err = run("packet", str(blank), "--out", str(out_folder))
    assert code == 0 and "The packet is in" in err.replace("\n", " ")
    named = {Path(line) for line in out.split()}
    assert out_folder / "report.pdf" in named and all(file.is_file() for file in named)


def test_schema_is_json(run) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = run("schema")
    assert code == 0 and json.loads(out)["title"] == "Soapstone job"


def test_verify_prints_every_check(run) -> None:  # type: ignore[no-untyped-def]
    code, out, _ = run("verify", "--json")
    checks = json.loads(out)["checks"]
    assert code == 0 and len(checks) >= 25
    assert set(checks[0]) == {
        "id", "area", "what", "published", "computed", "unit",
        "relative_error", "tolerance", "source", "from_memory", "holds",
    }  # fmt: skip
    code, out, err = run("verify")
    assert code == 0 and f"{len(checks)} of {len(checks)} checks hold." in err


def test_red_demands_that_every_check_fails(run) -> None:  # type: ignore[no-untyped-def]
    code, _, err = run("verify", "--red")
    assert code == 0 and "fail when shifted, as they must." in err


def test_version_and_help(run) -> None:  # type: ignore[no-untyped-def]
    assert run("--version") == (0, f"soapstone {__version__}\n", "")
    code, out, _ = run("--help")
    assert code == 0 and all(
        word in out for word in ("new", "check", "packet", "explain", "verify", "schema")
    )


def test_it_runs_as_a_module(blank: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "soapstone", "check", str(blank)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0 and done.stderr == ""
