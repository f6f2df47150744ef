"""Letters as single strokes, for a beam or a cutter that follows a line: no outlines, no fonts.

A glyph is 4 wide and 6 high; each stroke is a run of digit pairs, x then y, on that grid. Lower case is drawn as
capitals: on acrylic, 3 mm high, they are what can be read.
"""

from __future__ import annotations

from sketcher.geometry.path import Point

_HIGH, _STEP = 6.0, 6.0  # six units from one glyph's left to the next one's

_GLYPHS = {
    "A": "00 26 40|12 32", "B": "00 06 36 45 44 33 03|33 42 41 30 00", "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 26 44 42 20 00", "E": "46 06 00 40|03 33", "F": "46 06 00|03 33",
    "G": "45 36 16 05 01 10 30 41 43 23", "H": "00 06|40 46|03 43", "I": "10 30|20 26|16 36", "J": "01 10 20 31 36",
    "K": "00 06|46 03 40", "L": "06 00 40", "M": "00 06 23 46 40", "N": "00 06 40 46",
    "O": "10 30 41 45 36 16 05 01 10", "P": "00 06 36 45 44 33 03", "Q": "10 30 41 45 36 16 05 01 10|22 40",
    "R": "00 06 36 45 44 33 03|23 40", "S": "01 10 30 41 42 33 13 04 05 16 36 45", "T": "06 46|26 20",
    "U": "06 01 10 30 41 46", "V": "06 20 46", "W": "06 10 23 30 46", "X": "00 46|06 40", "Y": "06 23 46|23 20",
    "Z": "06 46 00 40", "0": "10 30 41 45 36 16 05 01 10|11 35", "1": "15 26 20|10 30", "2": "05 16 36 45 44 00 40",
    "3": "06 46 23 33 42 41 30 10 01", "4": "30 36 02 42", "5": "46 06 03 33 42 41 30 10 01",
    "6": "36 16 05 01 10 30 41 42 33 13 02", "7": "06 46 10", "8": "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
    "9": "10 30 41 45 36 16 05 04 13 33 44", "-": "13 33", "+": "13 33|22 24",
    ".": "20 21", ",": "21 10", ":": "21 22|24 25",
    "/": "00 46", "(": "36 25 21 30", ")": "16 25 21 10", "#": "10 16|30 36|02 42|04 44", "=": "12 32|14 34",
    "_": "00 40", "'": "26 24", "*": "22 24|13 33", "?": "05 16 36 45 44 23 22|20 21",
}  # fmt: skip


def text_strokes(text: str, at: Point, height: float) -> list[list[Point]]:
    """The strokes of a text, mm, its foot's left end at ``at``; an unknown sign is drawn as a question mark."""
    scale = height / _HIGH
    strokes: list[list[Point]] = []
    for n, sign in enumerate(text.upper()):
        if sign == " ":
            continue
        left = at[0] + n * _STEP * scale
        for stroke in _GLYPHS.get(sign, _GLYPHS["?"]).split("|"):
            strokes.append([(left + int(p[0]) * scale, at[1] + int(p[1]) * scale) for p in stroke.split()])
    return strokes


def text_width(text: str, height: float) -> float:
    """How wide a text is drawn, mm."""
    return max(0.0, (len(text) * _STEP - 2.0) * height / _HIGH)
