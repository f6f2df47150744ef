"""The store in trouble, and its history against a plain list that does the same."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import tempfile
import threading
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from sketcher.document import Document, from_plain
from sketcher.store import Conflict, Database, NoSuchPlate, Plates, StoreError
from tests.document.test_files import BARE


def named(name: str) -> Document:
    return from_plain({**BARE, "name": name})


@pytest.fixture
def plates(tmp_path: Path) -> Plates:
    return Plates(Database(tmp_path))


class History(RuleBasedStateMachine):
    """Saves, undoes, redoes and reopens at random; a list and a place in it say what must come out."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        self.plates = Plates(Database(self.folder))
        self.names, self.here, self.aside = ["0"], 0, 0
        self.id = self.plates.add(named("0")).id
        self.state = 1

    @rule(name=st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1, max_size=8))
    def save(self, name: str) -> None:
        self.state = self.plates.save(self.id, self.state, named(name), name).state
        self.aside += len(self.names) - self.here - 1
        self.names[self.here + 1 :] = [name]
        self.here += 1

    @rule()
    def undo(self) -> None:
        self.state = self.plates.undo(self.id, self.state).state
        self.here = max(0, self.here - 1)

    @rule()
    def redo(self) -> None:
        self.state = self.plates.redo(self.id, self.state).state
        self.here = min(len(self.names) - 1, self.here + 1)

    @rule()
    def reopen(self) -> None:
        self.plates = Plates(Database(self.folder))

    @precondition(lambda self: self.state > 1)
    @rule(back=st.integers(1, 3))
    def come_late(self, back: int) -> None:
        for change in (self.plates.undo, self.plates.redo):
            with pytest.raises(Conflict):
                change(self.id, self.state - back)
        with pytest.raises(Conflict):
            self.plates.save(self.id, self.state - back, named("late"), "late")

    @invariant()
    def same_as_the_list(self) -> None:
        stored = self.plates.get(self.id)
        assert stored.state == self.state
        assert stored.document() == named(self.names[self.here])
        assert bool(stored.can_undo) == (self.here > 0)
        assert bool(stored.can_redo) == (self.here < len(self.names) - 1)
        with self.plates.database.reading() as connection:
            assert connection.execute("SELECT COUNT(*) FROM overwritten").fetchone()[0] == self.aside

    def teardown(self) -> None:
        shutil.rmtree(self.folder, ignore_errors=True)


History.TestCase.settings = settings(max_examples=12, stateful_step_count=20, deadline=None)
TestHistory = History.TestCase


def test_a_save_that_stops_half_way_leaves_nothing(plates: Plates) -> None:
    first = plates.add(named("whole"))
    second = plates.undo(first.id, plates.save(first.id, first.state, named("undone"), "undone").state)
    with plates.database.writing() as connection:
        # The last thing a save does is refused, after the undone steps were set aside and the new one put in.
        connection.execute(
            "CREATE TRIGGER stop BEFORE UPDATE ON plate BEGIN SELECT RAISE(ABORT, 'the machine went down'); END"
        )
    with pytest.raises(StoreError, match="nothing was changed"):
        plates.save(first.id, second.state, named("lost"), "lost")
    assert plates.get(first.id) == second
    with plates.database.reading() as connection:
        assert connection.execute("SELECT COUNT(*) FROM overwritten").fetchone()[0] == 0
        assert [row["name"] for row in connection.execute("SELECT name FROM step ORDER BY number")] == [
            "whole",
            "undone",
        ]


def test_what_is_not_the_stores_own_fault_leaves_nothing_either(plates: Plates) -> None:
    first = plates.add(named("whole"))

    def stopped() -> None:
        with plates.database.writing() as connection:
            connection.execute("UPDATE plate SET state = 99")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert plates.get(first.id) == first


def test_a_newer_programs_file_is_not_touched(tmp_path: Path) -> None:
    plates = Plates(Database(tmp_path))
    plates.add(named("theirs"))
    with sqlite3.connect(tmp_path / "plates.sqlite3") as connection:
        connection.execute("PRAGMA user_version = 99")
    connection.close()
    before = (tmp_path / "plates.sqlite3").read_bytes()
    with pytest.raises(StoreError, match="newer"):
        Database(tmp_path)
    assert (tmp_path / "plates.sqlite3").read_bytes() == before


def test_two_programs_may_begin_in_one_folder_at_once(tmp_path: Path) -> None:
    errors: list[BaseException] = []
    ready = threading.Barrier(6)

    def begin(n: int) -> None:
        try:
            ready.wait()
            Plates(Database(tmp_path)).add(named(str(n)))
        except BaseException as error:
            errors.append(error)

    threads = [threading.Thread(target=begin, args=(n,)) for n in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert {row.name for row in Plates(Database(tmp_path)).listed()} == {str(n) for n in range(6)}


@pytest.mark.skipif(os.name == "nt" or (hasattr(os, "geteuid") and os.geteuid() == 0), reason="root may write anywhere")
def test_a_folder_that_may_only_be_read_is_named(tmp_path: Path) -> None:
    tmp_path.chmod(stat.S_IRUSR | stat.S_IXUSR)
    try:
        with pytest.raises(StoreError, match="--data"):
            Database(tmp_path)
    finally:
        tmp_path.chmod(stat.S_IRWXU)


def test_a_database_that_may_only_be_read_loses_nothing_and_says_so(plates: Plates) -> None:
    first = plates.add(named("kept"))
    open_ = plates.database._open

    def read_only() -> sqlite3.Connection:
        connection = open_()
        connection.execute("PRAGMA query_only = ON")
        return connection

    plates.database._open = read_only  # type: ignore[method-assign]
    with pytest.raises(StoreError, match="nothing was changed") as refused:
        plates.save(first.id, first.state, named("lost"), "lost")
    assert refused.value.cause == "read-only"
    with pytest.raises(StoreError):
        plates.keep(first.id, "one", "")
    with pytest.raises(StoreError):
        plates.set_deleted(first.id, True)
    assert plates.get(first.id) == first


def test_nothing_of_one_plate_shows_in_another(plates: Plates) -> None:
    one, two = plates.add(named("one")), plates.add(named("two"))
    plates.save(one.id, one.state, named("one more"), "more")
    plates.keep(one.id, "kept", "because")
    plates.put_file(one.id, "a.png", "image/png", b"1")
    assert plates.get(two.id) == two
    assert plates.revisions(two.id) == []
    with pytest.raises(NoSuchPlate):
        plates.get_file(two.id, "a.png")


def test_revisions_outlast_undo_and_putting_away(plates: Plates) -> None:
    stored = plates.add(named("first"))
    stored = plates.save(stored.id, stored.state, named("second"), "named")
    plates.keep(stored.id, "kept", "tried", files={"b": "2" * 64, "a": "1" * 64})
    plates.undo(stored.id, stored.state)
    plates.set_deleted(stored.id, True)
    (kept,) = plates.revisions(stored.id)
    assert '"second"' in kept.text
    assert kept.files == {"a": "1" * 64, "b": "2" * 64}
    assert plates.keep(stored.id, "next", "").number == 2


def test_every_change_of_what_is_not_there_is_refused(plates: Plates) -> None:
    for change in (
        lambda: plates.get(9),
        lambda: plates.save(9, 1, named("x"), "x"),
        lambda: plates.undo(9, 1),
        lambda: plates.redo(9, 1),
        lambda: plates.keep(9, "x", ""),
        lambda: plates.revisions(9),
        lambda: plates.put_file(9, "x", "image/png", b""),
    ):
        with pytest.raises(NoSuchPlate, match="no plate 9"):
            change()


def test_a_photo_put_again_takes_the_older_ones_place(plates: Plates) -> None:
    stored = plates.add(named("x"))
    plates.put_file(stored.id, "a.png", "image/png", b"old")
    plates.put_file(stored.id, "a.png", "image/jpeg", b"new")
    assert plates.get_file(stored.id, "a.png") == ("image/jpeg", b"new")
