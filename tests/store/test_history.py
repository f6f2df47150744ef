"""The steps of a plate in words, going to any of them, and what a revision is given without being told."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from sketcher.store import Conflict, Database, NoSuchPlate, Plates, Stored, StoreError
from tests.store.test_plates import named


@pytest.fixture
def plates(tmp_path: Path) -> Plates:
    return Plates(Database(tmp_path))


def five(plates: Plates) -> Stored:
    stored = plates.add(named("0"))
    for n in range(1, 5):
        stored = plates.save(stored.id, stored.state, named(str(n)), f"named {n}")
    return stored


def test_every_step_can_be_gone_to_and_from_there_undone_and_redone(plates: Plates) -> None:
    stored = five(plates)
    words = [(1, "begun"), *((n + 1, f"named {n}") for n in range(1, 5))]
    assert plates.history(stored.id) == (5, words)
    for step in (2, 4, 1, 5):
        before = stored.state
        stored = plates.go_to(stored.id, stored.state, step)
        assert (stored.document().name, stored.state) == (str(step - 1), before + 1)
        assert plates.history(stored.id) == (step, words)
        assert (stored.can_undo, stored.can_redo) == (
            words[step - 1][1] if step > 1 else "",
            words[step][1] if step < 5 else "",
        )


def test_going_to_where_one_is_changes_nothing(plates: Plates) -> None:
    stored = five(plates)
    assert plates.go_to(stored.id, stored.state, 5) == stored


@pytest.mark.parametrize("step", [0, 6, -1])
def test_a_step_that_is_not_there_is_said_and_nothing_moves(plates: Plates, step: int) -> None:
    stored = five(plates)
    with pytest.raises(NoSuchPlate, match=f"no step {step}"):
        plates.go_to(stored.id, stored.state, step)
    assert plates.get(stored.id) == stored


def test_history_and_steps_of_no_plate_or_of_an_old_state_are_refused(plates: Plates) -> None:
    stored = five(plates)
    with pytest.raises(NoSuchPlate):
        plates.history(99)
    with pytest.raises(NoSuchPlate):
        plates.go_to(99, 1, 1)
    with pytest.raises(Conflict):
        plates.go_to(stored.id, stored.state - 1, 2)


def test_revisions_are_numbered_from_one_and_know_their_moment(plates: Plates) -> None:
    stored = five(plates)
    other = plates.add(named("other"))
    kept = [plates.keep(stored.id, label, "") for label in ("A", "B", "C")]
    assert [one.number for one in kept] == [1, 2, 3]
    assert plates.keep(other.id, "A", "").number == 1
    assert {(one.kind, tuple(one.files)) for one in kept} == {("kept", ())}
    for one in kept:
        made = datetime.strptime(one.made, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC)
        assert abs(datetime.now(UTC) - made) < timedelta(minutes=5)
    assert plates.revision(stored.id, 2) == kept[1]
    with pytest.raises(NoSuchPlate):
        plates.revision(stored.id, 4)
    assert plates.keep(stored.id, "D", "", made="2026-01-02T03:04:05Z").made == "2026-01-02T03:04:05Z"


@pytest.mark.parametrize(("key", "value"), [("files", "{"), ("files", "[]"), ("label", b"x"), ("document", b"x")])
def test_a_damaged_revision_is_said_to_be_damaged(plates: Plates, key: str, value: object) -> None:
    stored = five(plates)
    plates.keep(stored.id, "A", "")
    with plates.database.writing() as connection:
        connection.execute(f"UPDATE revision SET {key} = ?", (value,))
    with pytest.raises(StoreError, match="damaged"):
        plates.revisions(stored.id)
