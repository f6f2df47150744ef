"""The store: nothing is lost, nothing is half there, nobody overwrites anybody."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from sketcher.document import Document, dumps, from_plain, to_plain
from sketcher.store import Conflict, Database, LabelTaken, NoSuchPlate, Plates, StoreError, database
from tests.document.test_files import BARE

ROOT = Path(__file__).parents[2]


def named(name: str) -> Document:
    return from_plain({**BARE, "name": name})


@pytest.fixture
def plates(tmp_path: Path) -> Plates:
    return Plates(Database(tmp_path))


def test_a_plate_comes_back_as_it_was_put_in(plates: Plates, tmp_path: Path) -> None:
    stored = plates.add(named("one"))
    again = Plates(Database(tmp_path)).get(stored.id)
    assert again == stored
    assert again.document() == named("one")


def test_undo_and_redo_go_all_the_way_over_a_reopening(plates: Plates, tmp_path: Path) -> None:
    stored = plates.add(named("0"))
    for n in range(1, 41):
        stored = plates.save(stored.id, stored.state, named(str(n)), f"named {n}")
    assert stored.can_undo == "named 40"
    plates = Plates(Database(tmp_path))
    for n in range(39, -1, -1):
        stored = plates.undo(stored.id, stored.state)
        assert stored.document().name == str(n)
    assert stored.can_undo == ""
    assert plates.undo(stored.id, stored.state).text == stored.text
    for n in range(1, 41):
        stored = plates.redo(stored.id, stored.state)
        assert stored.document().name == str(n)
    assert stored.can_redo == ""


def test_drawing_over_undone_steps_sets_them_aside(plates: Plates) -> None:
    stored = plates.add(named("a"))
    stored = plates.save(stored.id, stored.state, named("b"), "b")
    stored = plates.undo(stored.id, stored.state)
    stored = plates.save(stored.id, stored.state, named("c"), "c")
    assert stored.can_redo == ""
    with plates.database.reading() as connection:
        kept = [row["label"] for row in connection.execute("SELECT label FROM overwritten")]
    assert kept == ["b"]


def test_a_change_on_an_old_state_is_refused_and_changes_nothing(plates: Plates) -> None:
    first = plates.add(named("a"))
    plates.save(first.id, first.state, named("theirs"), "theirs")
    with pytest.raises(Conflict, match="elsewhere"):
        plates.save(first.id, first.state, named("mine"), "mine")
    with pytest.raises(Conflict):
        plates.undo(first.id, first.state)
    assert plates.get(first.id).document().name == "theirs"


def test_a_save_sent_again_is_no_conflict(plates: Plates) -> None:
    first = plates.add(named("a"))
    saved = plates.save(first.id, first.state, named("b"), "b")
    assert plates.save(first.id, first.state, named("b"), "b") == saved
    undone = plates.undo(first.id, saved.state)
    with pytest.raises(Conflict):
        plates.save(first.id, first.state, named("b"), "b")
    assert plates.get(first.id) == undone


def test_two_threads_never_both_win(plates: Plates) -> None:
    first = plates.add(named("start"))
    outcomes: list[str] = []

    def work(who: str) -> None:
        for _ in range(20):
            current = plates.get(first.id)
            try:
                plates.save(first.id, current.state, named(who), who)
                outcomes.append("saved")
            except Conflict:
                outcomes.append("refused")

    threads = [threading.Thread(target=work, args=(who,)) for who in ("a", "b")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert plates.get(first.id).state == 1 + outcomes.count("saved")
    assert len(outcomes) == 40


def test_a_write_that_fails_leaves_everything_as_it_was(plates: Plates) -> None:
    first = plates.add(named("whole"))

    def half() -> None:
        with plates.database.writing() as connection:
            connection.execute("UPDATE plate SET state = 99")
            connection.execute("INSERT INTO nowhere VALUES (1)")

    with pytest.raises(StoreError, match="nothing was changed"):
        half()
    assert plates.get(first.id) == first


def test_a_full_disk_is_said_and_loses_nothing(plates: Plates) -> None:
    first = plates.add(named("small"))
    big = from_plain(
        {**BARE, "note": "x" * 4000, "ports": [{"id": f"P{n}", "x_mm": n, "y_mm": 1} for n in range(2000)]}
    )
    open_ = plates.database._open

    def full() -> sqlite3.Connection:
        connection = open_()
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages + 1}")
        return connection

    plates.database._open = full  # type: ignore[method-assign]
    with pytest.raises(StoreError, match="full"):
        plates.save(first.id, first.state, big, "big")
    plates.database._open = open_  # type: ignore[method-assign]
    assert plates.get(first.id) == first


def test_a_database_of_a_newer_program_is_left_alone(tmp_path: Path) -> None:
    Database(tmp_path)
    connection = sqlite3.connect(tmp_path / "plates.sqlite3")
    connection.execute("PRAGMA user_version = 99")
    connection.close()
    with pytest.raises(StoreError, match="newer"):
        Database(tmp_path)


def test_a_file_that_is_no_database_is_named(tmp_path: Path) -> None:
    (tmp_path / "plates.sqlite3").write_bytes(b"no database at all, only words" * 100)
    with pytest.raises(StoreError, match="--data"):
        Database(tmp_path)


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(StoreError, match="--data"):
        Database(tmp_path / "file")


def test_what_was_put_away_can_be_taken_back(plates: Plates) -> None:
    stored = plates.add(named("kept"))
    plates.set_deleted(stored.id, True)
    assert plates.listed()[0].deleted
    plates.set_deleted(stored.id, False)
    assert not plates.listed()[0].deleted
    assert plates.get(stored.id) == stored
    with pytest.raises(NoSuchPlate):
        plates.set_deleted(999, True)


def test_revisions_keep_the_document_of_their_moment(plates: Plates) -> None:
    stored = plates.add(named("first"))
    kept = plates.keep(stored.id, "test piece 1", "to be tried", "test-piece", {"a.dxf": "0" * 64})
    plates.save(stored.id, stored.state, named("second"), "named")
    again = plates.revision(stored.id, kept.number)
    assert again == kept
    assert '"first"' in again.text
    assert [revision.number for revision in plates.revisions(stored.id)] == [1]
    with pytest.raises(NoSuchPlate):
        plates.revision(stored.id, 2)
    with pytest.raises(LabelTaken, match="revision 1"):
        plates.keep(stored.id, "TEST piece 1", "again")
    other = plates.add(named("other"))
    assert plates.keep(other.id, "test piece 1", "another plate's").number == 1


def test_a_document_that_can_no_longer_be_read_is_listed_with_its_fault(plates: Plates) -> None:
    stored = plates.add(named("old"))
    with plates.database.writing() as connection:
        connection.execute("UPDATE step SET document = '{\"version\": 1}'")
    (row,) = plates.listed()
    assert row.id == stored.id
    assert "/floor" in row.fault
    assert plates.get(stored.id).text == '{"version": 1}'


def test_files_and_profiles_are_kept(plates: Plates) -> None:
    stored = plates.add(named("with photo"))
    plates.put_file(stored.id, "photo.png", "image/png", b"\x89PNG")
    assert plates.get_file(stored.id, "photo.png") == ("image/png", b"\x89PNG")
    with pytest.raises(NoSuchPlate):
        plates.get_file(stored.id, "other.png")
    plates.put_profile("Shop", '{"name": "Shop"}')
    assert plates.profiles() == {"Shop": '{"name": "Shop"}'}
    assert to_plain(named("x"))["name"] == "x"


def test_a_document_opened_again_finds_what_was_made_of_it(plates: Plates) -> None:
    first = plates.add(named("begun"))
    assert plates.find(named("begun")) == first
    assert plates.find(named("other")) is None
    worked = plates.save(first.id, first.state, named("worked on"), "named")
    assert plates.find(named("begun")) == worked
    # A plate that is the document as it stands goes before one that only began so.
    exact = plates.add(named("begun"))
    plates.save(first.id, worked.state, named("worked on more"), "named")
    assert plates.find(named("begun")) == exact
    plates.set_deleted(exact.id, True)
    plates.set_deleted(first.id, True)
    assert plates.find(named("begun")) is None


WRITER = """
import sys
from pathlib import Path
from sketcher.document import loads, with_changes
from sketcher.store import Database, Plates
plates = Plates(Database(Path(sys.argv[1])))
document = loads(sys.stdin.read())
stored = plates.add(document)
while True:
    stored = plates.save(stored.id, stored.state, with_changes(document, name=f"name {stored.state + 1}"), "named")
    print(stored.state, flush=True)
"""


def test_a_program_killed_while_it_writes_loses_nothing_that_it_said_was_saved(tmp_path: Path) -> None:
    command = [sys.executable, "-c", WRITER, str(tmp_path)]
    with subprocess.Popen(command, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as writer:
        assert writer.stdin is not None
        assert writer.stdout is not None
        writer.stdin.write(dumps(named("name 1")))
        writer.stdin.close()
        said = [int(writer.stdout.readline()) for _ in range(20)]
        writer.kill()
        said += [int(line) for line in writer.stdout.read().splitlines()]
    plates = Plates(Database(tmp_path))
    stored = plates.get(1)
    assert stored.state >= said[-1]
    assert stored.document().name == f"name {stored.state}"
    for state in range(stored.state - 1, 0, -1):
        stored = plates.undo(1, stored.state)
        assert stored.document().name == f"name {state}"


def test_a_store_that_goes_away_is_said(tmp_path: Path) -> None:
    plates = Plates(Database(tmp_path / "data"))
    stored = plates.add(named("one"))
    plates.database.path.write_bytes(b"something else altogether" * 400)
    for suffix in ("-wal", "-shm"):
        plates.database.path.with_name(plates.database.path.name + suffix).unlink(missing_ok=True)
    with pytest.raises(StoreError, match=r"plates\.sqlite3"):
        plates.get(stored.id)
    with pytest.raises(StoreError, match="nothing was changed"):
        plates.save(stored.id, stored.state, named("two"), "named")


def test_an_older_file_is_lifted_and_keeps_its_plates(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stored = Plates(Database(tmp_path)).add(named("of old"))
    more = (*database.STEPS, "ALTER TABLE plate ADD COLUMN shelf TEXT NOT NULL DEFAULT 'left'; CREATE TABLE shelf (n)")
    monkeypatch.setattr(database, "STEPS", more)
    for _ in range(2):  # the second time there is nothing to do
        lifted = Plates(Database(tmp_path))
        assert lifted.get(stored.id) == stored
        with lifted.database.reading() as connection:
            assert connection.execute("PRAGMA user_version").fetchone()[0] == len(more)
            assert connection.execute("SELECT shelf FROM plate").fetchone()[0] == "left"


def test_a_lifting_that_fails_leaves_the_file_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    plates = Plates(Database(tmp_path))
    stored = plates.add(named("of old"))
    with monkeypatch.context() as patched:
        patched.setattr(database, "STEPS", (*database.STEPS, "CREATE TABLE shelf (n); INSERT INTO nowhere VALUES (1)"))
        with pytest.raises(StoreError, match="damaged"):
            Database(tmp_path)
    assert Plates(Database(tmp_path)).get(stored.id) == stored
    with plates.database.reading() as connection:
        assert not connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'shelf'").fetchall()


def test_a_revision_is_kept_only_of_the_state_that_its_files_were_made_of(plates: Plates) -> None:
    mine = plates.add(named("one"))
    later = plates.save(mine.id, mine.state, named("two"), "named")
    with pytest.raises(Conflict, match=f"at state {later.state}, not {mine.state}"):
        plates.keep(mine.id, "piece 1", "", state=mine.state)
    assert plates.revisions(mine.id) == []
    assert plates.keep(mine.id, "piece 1", "", state=later.state).text == dumps(named("two"))
