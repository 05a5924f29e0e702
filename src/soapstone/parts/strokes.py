"""Single-stroke letters for an etched mark: every cutter can follow a line, not every one has a typeface."""

from soapstone.parts.contour import Point

MARK_HEIGHT = 5e-3
"""m; read with the part in the hand. Common practice, no source."""
_WIDE = 4
_ADVANCE = 6
_TALL = 6
# each letter as strokes on a grid four wide and six high, two digits a corner: across, up
_LETTERS = {
    "0": "10 30 41 45 36 16 05 01 10",
    "1": "05 26 20",
    "2": "05 16 36 45 44 00 40",
    "3": "06 46 23 33 42 41 30 10 01",
    "4": "30 36 02 42",
    "5": "46 06 04 34 43 41 30 00",
    "6": "36 16 04 01 10 30 41 42 33 03",
    "7": "06 46 10",
    "8": "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
    "9": "10 30 42 45 36 16 05 04 13 43",
    "A": "00 26 40,12 32",
    "B": "00 06 36 45 44 33 03,33 42 41 30 00",
    "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 26 44 42 20 00",
    "E": "46 06 00 40,03 33",
    "F": "46 06 00,03 33",
    "G": "45 36 16 05 01 10 30 41 43 23",
    "H": "00 06,40 46,03 43",
    "I": "20 26,10 30,16 36",
    "J": "46 41 30 10 01",
    "K": "00 06,46 02,13 40",
    "L": "06 00 40",
    "M": "00 06 23 46 40",
    "N": "00 06 40 46",
    "O": "10 30 41 45 36 16 05 01 10",
    "P": "00 06 36 45 44 33 03",
    "Q": "10 30 41 45 36 16 05 01 10,22 40",
    "R": "00 06 36 45 44 33 03,23 40",
    "S": "45 36 16 05 04 13 33 42 41 30 10 01",
    "T": "06 46,26 20",
    "U": "06 01 10 30 41 46",
    "V": "06 20 46",
    "W": "06 10 23 30 46",
    "X": "00 46,06 40",
    "Y": "06 23 46,23 20",
    "Z": "06 46 00 40",
    "-": "13 33",
    "_": "00 40",
    ".": "20 21",
    "/": "00 46",
}


def strokes(text: str, at: Point, height: float) -> list[list[Point]]:
    """Polylines m of a text, its lower left at `at`; a letter that is not known leaves a gap."""
    unit = height / _TALL
    found: list[list[Point]] = []
    for place, letter in enumerate(text.upper()):
        left = at[0] + place * _ADVANCE * unit
        for stroke in _LETTERS.get(letter, "").split(","):
            corners = [(left + int(c[0]) * unit, at[1] + int(c[1]) * unit) for c in stroke.split()]
            if corners:
                found.append(corners)
    return found


def width_of(text: str, height: float) -> float:
    """m over all of a text."""
    return (len(text) * _ADVANCE - (_ADVANCE - _WIDE)) * height / _TALL if text else 0.0
