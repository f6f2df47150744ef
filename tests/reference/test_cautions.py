"""The cautions are all there, each defers to those who know better, and the docs have every one."""

from pathlib import Path

import pytest

from sketcher.reference.cautions import STEPS, all_cautions, for_step, named
from sketcher.reference.tables import UnknownEntry

SAFETY = Path(__file__).parents[2] / "docs" / "safety.md"

#: What must be said somewhere, and the step where it belongs.
MUST = [
    ("cut", "chlorine"),
    ("cut", "fumes"),
    ("cut", "eye protection"),
    ("drill", "Swarf"),
    ("drill", "eye protection"),
    ("test", "hand pump"),
    ("test", "Never use shop air"),
    ("test", "unpowered"),
    ("test", "day"),
    ("fill", "children and animals"),
    ("fill", "alcohol"),
    ("power", "mains"),
    ("bend", "gloves"),
]


@pytest.mark.parametrize(("step", "words"), MUST)
def test_what_must_be_said_is_said_at_its_step(step: str, words: str) -> None:
    assert any(words in caution.text for caution in for_step(step))


def test_every_caution_defers_and_belongs_somewhere() -> None:
    authorities = ("local", "Local", "maker", "data sheet", "licensed")
    for caution in all_cautions():
        assert any(word in caution.defer for word in authorities), caution.name
        assert caution.source
        assert caution.steps
        assert set(caution.steps) <= set(STEPS)
        assert caution.text.endswith(".")
        assert caution.as_json()["steps"] == list(caution.steps)
    names = [caution.name for caution in all_cautions()]
    assert len(names) == len(set(names))


def test_unknown_steps_and_names() -> None:
    with pytest.raises(UnknownEntry, match="cut"):
        for_step("weld")
    with pytest.raises(UnknownEntry, match="laser"):
        named(["poster"])


def test_the_docs_have_every_caution_word_for_word() -> None:
    text = " ".join(SAFETY.read_text(encoding="utf-8").split())
    for caution in all_cautions():
        assert caution.title in text
        assert caution.text in text, caution.name
        assert caution.defer in text, caution.name
