"""What must hold for every text: there and back exactly, garbage turned away, the same in every country."""

import locale
import math
import os
import random
import re
import shutil
import subprocess
import sys
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from soapstone.errors import QuantityError
from soapstone.quantity import UNITS_FOR, Kind, Show, parse

SHOWS = [Show.of({}), Show.of({"length": "in 1/32", "number": "%"}), Show.of({"length": "ft 1/16"})]
SHOWS += [
    Show.of({kind: UNITS_FOR[kind][i % len(UNITS_FOR[kind])] for kind in Kind if kind is not Kind.NUMBER})
    for i in range(1, 5)
]
KINDS = st.sampled_from(list(Kind))
FINITE = st.floats(allow_nan=False, allow_infinity=False)


@settings(max_examples=400, deadline=None)
@given(kind=KINDS, value=FINITE, show=st.sampled_from(SHOWS))
def test_every_number_comes_back_from_its_exact_text(kind: Kind, value: float, show: Show) -> None:
    assert parse(show.exact(value, kind), kind) == value


@st.composite
def typed(draw: st.DrawFn) -> tuple[str, Kind]:
    """A quantity as someone would type it."""
    kind = draw(KINDS)
    whole, over = draw(st.integers(0, 99_999)), draw(st.integers(1, 63))
    forms = [f"{whole}", f"{whole}.{over:02d}", f"{whole}-{over}/64", f"{whole} {over}/64", f"{over}/64"]
    forms += [f"{whole},{over:02d}", f"{whole}½"]
    number = draw(st.sampled_from(["", "-", "−"])) + draw(st.sampled_from(forms))
    unit = draw(st.sampled_from(UNITS_FOR[kind]))
    return (f"{number} {unit}" if kind is not Kind.NUMBER or draw(st.booleans()) else number), kind


@settings(max_examples=400, deadline=None)
@given(case=typed(), show=st.sampled_from(SHOWS))
def test_text_to_si_to_text_to_si_is_exact(case: tuple[str, Kind], show: Show) -> None:
    text, kind = case
    value = parse(text, kind)
    assert parse(show.exact(value, kind), kind) == value


@settings(max_examples=200, deadline=None)
@given(
    feet=st.integers(0, 200),
    inch=st.integers(0, 11),
    over=st.integers(1, 63),
    form=st.sampled_from(
        ["{f}' {i}-{o}/64\"", "{f} ft {i} {o}/64 in", "{f}'-{i}-{o}/64\"", "{f}′ {i}-{o}⁄64″"]
    ),
)
def test_feet_and_inches_are_the_nearest_double(feet: int, inch: int, over: int, form: str) -> None:
    exact = (12 * feet + inch + Fraction(over, 64)) * Fraction(254, 10000)
    assert parse(form.format(f=feet, i=inch, o=over), Kind.LENGTH) == exact.numerator / exact.denominator


@settings(max_examples=200, deadline=None)
@given(metres=st.floats(-100, 100))
def test_what_is_shown_in_inches_adds_up(metres: float) -> None:
    shown = Show.of({"length": "in 1/32"}).text(metres, Kind.LENGTH)
    head, left = shown.split(" in")
    total = parse(f"{head} in", Kind.LENGTH) + parse(f"{left.strip() or '0'} in", Kind.LENGTH)
    # the remainder is given to a thousandth of an inch, so half of one may be missing (1e-9 for the sums)
    assert math.isclose(total, metres, rel_tol=0, abs_tol=0.0005 * 0.0254 + 1e-9)


# ---------------------------------------------------------------------------------------------------------
# Garbage. The pool mixes digits, marks, units, words and letters; `is_fair` is written apart from the
# grammar, from the description of what a fabricator may write, and takes out the few that are quantities.

POOL = [*"0123456789"] + [*"0123456789"] + [*".,/-−+:x%~^()*·"] + [" "] * 6
POOL += ["½", "¾", "⁄", "'", '"', "′", "″", "°", "\u2009", "\u00a0", "²", "⁻¹", "e", "E", "٣", "\t", "\n"]
POOL += ["mm", "in", "ft", "kg", "lb", "lbf", "N", "MPa", "deg", "rad", "min", "ga", "BWG", "steel", "up"]
POOL += ["nan", "inf", "None", "null", "true", "q", "w", "zoll", "€", "--", "1e", "0x", "é", "\u0000"]

NUMBER = r"""(?x: [-−+]? (?:
      \d+ (?:\.\d+)? (?:[eE][+-]?\d{1,3})? | \.\d+ (?:[eE][+-]?\d{1,3})?        # decimal dot
    | (?! [1-9]\d{0,2},\d{3} (?!\d)) \d+ , \d+ (?:[eE][+-]?\d{1,3})?            # comma, not for thousands
    | [1-9]\d{0,2} (?: ,\d{3} )+ \.\d+ | [1-9]\d{0,2} (?: \.\d{3} )+ ,\d+       # both marks
    | [1-9]\d{0,2} (?: \u2009\d{3} )+                                           # thin spaces
    | (?:\d+[- ])? \d+ [/⁄] 0*[1-9]\d* | (?:\d+[- ]?)? [½¾] ))"""
L = r"(?:mm|in|ft|'|\")"
F = r"(?:N|lbf)"
J = r"(?:\s*[·*.-]\s*|\s+)"
UNITS: dict[Kind, str] = {
    Kind.LENGTH: L,
    Kind.MASS: "(?:kg|lb)",
    Kind.FORCE: f"(?:{F}|MPa{J}{L}2)",
    Kind.TORQUE: f"(?:{F[:-1]}|lb){J}{L}|{L}{J}{F[:-1]}|lb))",
    Kind.ANGLE: rf"(?:deg|°|rad|{L}\s*/\s*{L})",
    Kind.STRESS: f"(?:MPa|{F}/{L}2)",
    Kind.STIFFNESS: rf"(?:{F}\s*/\s*{L}|MPa{J}{L})",
    Kind.DENSITY: f"(?:kg|lb)/{L}3",
    Kind.INERTIA: f"(?:kg|lb){J}{L}2",
    Kind.TIME: "min",
    Kind.NUMBER: "%?",
}


def is_fair(text: str, kind: Kind) -> bool:
    """Whether a string of the pool might be a quantity after all."""
    plain = text.replace("\u00a0", " ").replace("\t", " ").replace("′", "'").replace("″", '"')
    plain = re.sub(r" *\u2009(?!\d{3})", " ", plain)
    plain = re.sub(" +", " ", plain.replace("''", '"').replace("²", "2")).strip()
    forms = [rf"{NUMBER}[ \u2009]*(?:{UNITS[kind]})\.?"] if kind in UNITS else []
    if kind is Kind.LENGTH:
        forms += [r"\d+ ?ga ?steel", r"\d+ ?BWG", r"BWG ?\d+"]
        forms += [rf"[-−+]?\d+ ?(?:'|ft\.?)(?: - |-| )?{NUMBER} ?(?:in\.?|\")"]
    if kind is Kind.ANGLE:
        forms += [r"[-−+]?[\d.]+ ?: ?[\d.]+", r"[-−+]?\d+ ?(?:°|deg) ?[\d.]+ ?(?:'|min)(?: ?[\d.]+ ?\")?"]
    return any(re.fullmatch(form, plain) for form in forms)


def garbage(count: int) -> list[tuple[str, Kind]]:
    draw = random.Random(20240229)
    found: list[tuple[str, Kind]] = []
    while len(found) < count:
        text = "".join(draw.choice(POOL) for _ in range(draw.randint(1, 9)))
        kind = draw.choice(list(Kind))
        if not is_fair(text, kind):
            found.append((text, kind))
    return found


def test_ten_thousand_garbage_strings_are_quoted_and_never_a_number() -> None:
    for text, kind in garbage(10_000):
        with pytest.raises(QuantityError) as caught:
            parse(text, kind)
            pytest.fail(f"{text!r} was read as {kind}: {parse(text, kind)}")
        line = str(caught.value)
        shown = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in text)
        assert line.startswith(f"“{shown}” ")
        assert "\n" not in line


def test_the_sieve_lets_real_quantities_pass() -> None:
    for text, kind in [("5' 3-1/2\"", Kind.LENGTH), ("1,5 mm", Kind.LENGTH), ("12 lbf·ft", Kind.TORQUE)]:
        assert is_fair(text, kind)
        assert parse(text, kind) > 0


def test_random_characters_of_any_script_never_escape_as_another_error() -> None:
    draw = random.Random(7)
    for _ in range(2000):
        text = "".join(chr(draw.randint(1, 0x2FFF)) for _ in range(draw.randint(1, 6)))
        with pytest.raises(QuantityError):
            parse(text, draw.choice(list(Kind)))


# ---------------------------------------------------------------------------------------------------------

COMMA_COUNTRY = """LC_NUMERIC
decimal_point ","
thousands_sep "."
grouping 3;3
END LC_NUMERIC
"""
IN_COUNTRY = """
import locale, sys
locale.setlocale(locale.LC_NUMERIC, sys.argv[1])
from soapstone.errors import QuantityError
from soapstone.quantity import Kind, Show, parse
print(locale.localeconv()["decimal_point"])
for text in ("1.5 mm", "1,5 mm", "1.234,5 mm", "1,234 mm", "23-7/16 in", "5' 3.25\\"", "1e3 mm"):
    try:
        value = parse(text, Kind.LENGTH)
        print(value.hex(), Show.of({}).text(value, Kind.LENGTH), Show.of({}).exact(value, Kind.LENGTH))
    except QuantityError as refused:
        print(refused)
"""


def in_country(name: str, folder: Path) -> tuple[str, str]:
    """Decimal mark in force, and everything printed under it."""
    done = subprocess.run(
        [sys.executable, "-c", IN_COUNTRY, name],
        env={
            **os.environ,
            "LOCPATH": str(folder),
            "PYTHONPATH": os.pathsep.join(sys.path),
            "PYTHONUTF8": "1",
        },
        capture_output=True,
        check=True,
        encoding="utf-8",
    )
    mark, _, rest = done.stdout.partition("\n")
    return mark, rest


def comma_countries(folder: Path) -> list[str]:
    """A locale with a decimal comma, made on the spot when the machine can."""
    compiler = shutil.which("localedef")
    if compiler is None:
        return []
    (folder / "comma").write_text(COMMA_COUNTRY, encoding="ascii")
    # exit status 1 stands for warnings: the other categories are left undefined
    subprocess.run(
        [compiler, "-c", "-i", "comma", "-f", "ANSI_X3.4-1968", "./xx_XX"],
        cwd=folder,
        capture_output=True,
        check=False,
    )
    return ["xx_XX"] if (folder / "xx_XX" / "LC_NUMERIC").exists() else []


def test_the_same_answer_under_every_country_s_decimal_mark(tmp_path: Path) -> None:
    mark, expected = in_country("C", tmp_path)
    assert mark == "."
    assert "0.0015 m" not in expected
    assert float.hex(0.0015) in expected
    for name in comma_countries(tmp_path):
        mark, answer = in_country(name, tmp_path)
        assert mark == ","
        assert answer == expected


def test_nothing_here_asks_for_the_country(monkeypatch: pytest.MonkeyPatch) -> None:
    def asked(*_: object) -> None:
        raise AssertionError("the country was asked for")

    for name in ("localeconv", "atof", "format_string", "str", "getlocale"):
        monkeypatch.setattr(locale, name, asked)
    value = parse("1.234,5 mm", Kind.LENGTH)
    assert Show.of({}).text(value, Kind.LENGTH) == "1234.5 mm"
