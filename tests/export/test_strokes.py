"""The single-stroke letters: every id can be written, and read."""

from __future__ import annotations

import itertools
import string

from sketcher.export.strokes import text_strokes, text_width

SIGNS = string.ascii_uppercase + string.digits + "-+.,:/()#=_'*?"


def test_every_sign_of_an_id_has_strokes_of_its_own() -> None:
    drawn = {sign: text_strokes(sign, (0, 0), 6) for sign in SIGNS}
    unknown = text_strokes("~", (0, 0), 6)
    assert unknown == drawn["?"]
    for one, other in itertools.combinations(SIGNS, 2):
        assert drawn[one] != drawn[other], (one, other)
    assert text_strokes("p", (0, 0), 6) == drawn["P"]


def test_strokes_are_lines_within_the_letter() -> None:
    for sign in SIGNS:
        for stroke in text_strokes(sign, (10, 20), 3):
            assert len(stroke) >= 2
            assert all(10 <= x <= 12 and 20 <= y <= 23 for x, y in stroke)
            assert all(one != other for one, other in itertools.pairwise(stroke))


def test_a_word_is_as_wide_as_it_says() -> None:
    strokes = text_strokes("H1H", (0, 0), 6)
    assert max(x for stroke in strokes for x, _ in stroke) == text_width("H1H", 6) == 16
