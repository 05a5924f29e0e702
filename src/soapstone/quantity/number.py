"""The number in front of a unit, as a fabricator writes it: an exact fraction, or a refusal."""

import re
from fractions import Fraction
from unicodedata import numeric

from soapstone.quantity.refusal import Refusal

VULGAR = "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"
SIGNS = "+−-"  # the hyphen last: it stands in character classes
_RAISED = "⁰¹²³⁴⁵⁶⁷⁸⁹"
_LOWERED = "₀₁₂₃₄₅₆₇₈₉"
_DIGITS = str.maketrans(_RAISED + _LOWERED, "0123456789" * 2)
_THIN = "\u2009\u202f"
_SLASH = "[/⁄]"

_PLAIN = rf"[0-9]+{_SLASH}[0-9]+(?![0-9.,])"
_GLUED = rf"[{VULGAR}]|[{_RAISED}]+{_SLASH}[{_LOWERED}]+"
_NUMBER = re.compile(
    rf"(?P<sign>[{SIGNS}]?)"
    rf"(?:(?P<whole>[0-9]+)(?:[- ](?P<plain>{_PLAIN})|[- ]?(?P<glued>{_GLUED}))"
    rf"|(?P<fraction>{_PLAIN}|{_GLUED})"
    rf"|(?P<decimal>[0-9.,]+(?:[{_THIN}][0-9]{{3}}(?![0-9]))*(?:[.,][0-9]+)?)"
    rf"(?:[eE](?P<power>[+-]?[0-9]{{1,3}})(?![0-9.,]))?)"
)

_DOT = re.compile(r"[0-9]+(?:\.[0-9]+)?|\.[0-9]+")
_COMMA = re.compile(r"[0-9]+,[0-9]+")
_TWO_WAY = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+")
_GROUPED = {
    re.compile(r"[1-9][0-9]{0,2}(?:\.[0-9]{3})+,[0-9]+"): ".",
    re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+\.[0-9]+"): ",",
    re.compile(rf"[1-9][0-9]{{0,2}}(?:[{_THIN}][0-9]{{3}})+(?:[.,][0-9]+)?"): _THIN,
}


def scan(text: str) -> tuple[Fraction, str]:
    """Take the number off the front of a text.

    Returns
    -------
    tuple of (Fraction, str)
        The exact number, sign included, and what stands behind it with spaces stripped.

    Raises
    ------
    Refusal
        When no number stands in front, or it can be read two ways.
    """
    match = _NUMBER.match(text)
    if not match:
        raise Refusal("does not begin with a number")
    found = match.groupdict()
    if found["decimal"]:
        size = _decimal(found["decimal"]) * Fraction(10) ** int(found["power"] or 0)
    elif found["fraction"]:
        size = _fraction(found["fraction"])
    else:
        size = int(found["whole"]) + _proper(found["plain"] or found["glued"])
    return -size if found["sign"] in ("-", "−") else size, text[match.end() :].strip()


def _fraction(text: str) -> Fraction:
    if text in VULGAR:
        return Fraction(numeric(text)).limit_denominator(10)
    top, bottom = re.split(_SLASH, text.translate(_DIGITS))
    if int(bottom) == 0:
        raise Refusal("divides by zero")
    return Fraction(int(top), int(bottom))


def _proper(text: str) -> Fraction:
    part = _fraction(text)
    if part >= 1:
        raise Refusal("has a whole number in front of a fraction that is not less than one")
    return part


def _decimal(text: str) -> Fraction:
    if _DOT.fullmatch(text):
        return Fraction(text)
    if _TWO_WAY.fullmatch(text):
        alone = f"{text.replace(',', '.')} or " if text.count(",") == 1 else ""
        raise Refusal(
            "has a comma that can be read two ways",
            f"write {alone}{text.replace(',', '')}, whichever is meant",
        )
    if _COMMA.fullmatch(text):
        return Fraction(text.replace(",", "."))
    for pattern, group_mark in _GROUPED.items():
        if pattern.fullmatch(text):
            return Fraction(re.sub(f"[{group_mark}]", "", text).replace(",", "."))
    raise Refusal("has dots or commas that make no number", "write it like 1234.5")
