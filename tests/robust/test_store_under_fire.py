"""Nothing acknowledged is lost: a program killed while it saves, a full disk, two servers over one folder.

The kill is the system's (TerminateProcess on Windows, SIGKILL elsewhere), at a moment nobody chose. The full disk is
SQLite's own limit on pages everywhere, and where the test may mount one, a real one.
"""

from __future__ import annotations

import os
import random
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta, tzinfo
from pathlib import Path
from typing import Self

import pytest

from sketcher.document import from_plain
from sketcher.export import ExportError, save
from sketcher.server import create_app
from sketcher.store import Database, Plates, StoreError
from sketcher.store import plates as store_plates
from sketcher.store.database import STEPS, existing
from tests.conftest import a_seed
from tests.document.test_files import BARE

SAVING = """
import sys
from pathlib import Path
from sketcher.document import from_plain, loads
from sketcher.store import Database, Plates
plates = Plates(Database(Path(sys.argv[1])))
(row,) = plates.listed()
stored = plates.get(row.id)
plain = __import__("json").loads(stored.text)
print("ready", flush=True)
for number in range(stored.state, 10**6):
    stored = plates.save(row.id, stored.state, from_plain({**plain, "name": str(number), "note": "x" * 3000}), "edit")
    print(stored.state, flush=True)
"""


def killed(folder: Path, after_s: float) -> int:
    """Lets a program save again and again, kills it, and gives the last state that it said was kept."""
    with subprocess.Popen([sys.executable, "-c", SAVING, str(folder)], stdout=subprocess.PIPE, text=True) as program:
        assert program.stdout is not None
        assert program.stdout.readline() == "ready\n"
        time.sleep(after_s)
        program.kill()
        said = program.stdout.read().split("\n")
    return max((int(word) for word in said[:-1] if word.isdigit()), default=0)


def try_kills(folder: Path, count: int, rng: random.Random) -> None:
    plates = Plates(Database(folder))
    plate = plates.add(from_plain(BARE)).id
    acknowledged = 1
    for _ in range(count):
        acknowledged = max(acknowledged, killed(folder, rng.uniform(0.01, 0.2)))
        plates = Plates(Database(folder))
        stored = plates.get(plate)
        # One more may be there: kept, and killed before it could say so.
        assert acknowledged <= stored.state <= acknowledged + 1
        acknowledged = stored.state
        assert stored.document().name == ("" if stored.state == 1 else str(stored.state - 1))
        with plates.database.reading() as connection:
            assert connection.execute("PRAGMA integrity_check").fetchone()[0] == "ok"
            assert connection.execute("SELECT COUNT(*) FROM step").fetchone()[0] == stored.state


def test_killed_while_it_saves_it_loses_nothing_that_it_said_was_kept(tmp_path: Path) -> None:
    try_kills(tmp_path, 1, random.Random(a_seed()))


@pytest.mark.long
def test_killed_many_times_while_it_saves(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    try_kills(tmp_path, min(request.config.getoption("--fuzz"), 200), random.Random(1))


def fill(plates: Plates, plate: int) -> int:
    """Saves until there is no more room; gives the last state that was kept."""
    stored = plates.get(plate)
    for number in range(10_000):
        changed = from_plain({**BARE, "name": str(number), "note": "x" * 4000})
        try:
            stored = plates.save(plate, stored.state, changed, "edit")
        except StoreError as full:
            said = str(full)
            break
    assert "the disk is full; make room; nothing was changed" in said
    return stored.state


def test_a_full_disk_refuses_the_next_edit_and_keeps_the_others(tmp_path: Path) -> None:
    plates = Plates(Database(tmp_path))
    plate = plates.add(from_plain(BARE)).id
    opened = plates.database._open

    def limited() -> sqlite3.Connection:
        connection = opened()
        connection.execute("PRAGMA max_page_count = 60")
        return connection

    plates.database._open = limited  # type: ignore[method-assign]
    kept = fill(plates, plate)
    client = create_app(tmp_path).test_client()
    client.application.extensions["plates"] = plates
    refused = client.post("/api/plates", json={"document": {**BARE, "note": "x" * 4000}})
    assert (refused.status_code, refused.get_json()["error"]["code"]) == (507, "store")
    assert refused.get_json()["error"]["cause"] == "full"
    assert client.get(f"/api/plates/{plate}").get_json()["state"] == kept
    # With room again it goes on from there.
    again = Plates(Database(tmp_path))
    assert again.save(plate, kept, from_plain({**BARE, "name": "room"}), "edit").state == kept + 1


@pytest.fixture
def tiny_disk() -> Iterator[Path]:
    """A disk of 400 kB, where the test may mount one."""
    if sys.platform != "linux" or os.geteuid() != 0:
        pytest.skip("only root may mount a disk")
    folder = tempfile.mkdtemp()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=400k", "tmpfs", folder], capture_output=True).returncode:
        os.rmdir(folder)
        pytest.skip("no disk can be mounted here")
    yield Path(folder)
    subprocess.run(["umount", "-l", folder], check=True)
    os.rmdir(folder)


def test_a_disk_that_is_really_full_does_the_same(tiny_disk: Path) -> None:
    plates = Plates(Database(tiny_disk))
    plate = plates.add(from_plain(BARE)).id
    kept = fill(plates, plate)
    assert Plates(Database(tiny_disk)).get(plate).state == kept
    # A file that finds no room is not there, and nothing of it is left.
    before = {path.name for path in tiny_disk.iterdir()}
    with pytest.raises(ExportError, match=r"No space left.*make room"):
        save(tiny_disk / "piece.dxf", b"x" * 1_000_000)
    assert {path.name for path in tiny_disk.iterdir()} == before


def test_two_servers_over_one_folder_lose_no_edit(tmp_path: Path) -> None:
    """Each edit is kept or refused as a conflict; what was kept stands in the history of both."""
    one, other = (create_app(tmp_path).test_client() for _ in range(2))
    plate = one.post("/api/plates", json={"document": BARE}).get_json()["id"]
    rng = random.Random(5)
    states = {one: 1, other: 1}
    kept: list[str] = []
    for number in range(30):
        client = rng.choice([one, other])
        sent = {"base": states[client], "document": {**BARE, "name": str(number)}, "label": str(number)}
        done = client.put(f"/api/plates/{plate}", json=sent)
        if done.status_code == 200:
            kept.append(str(number))
        else:
            assert done.status_code == 409
        states[client] = done.get_json()["state"]
    with sqlite3.connect(tmp_path / "plates.sqlite3") as connection:
        rows = [name for (name,) in connection.execute("SELECT name FROM step WHERE number > 1 ORDER BY number")]
    connection.close()
    assert rows == kept
    assert len(kept) > 5


def test_a_store_that_a_newer_program_has_lifted_is_left_alone_by_the_one_that_runs(tmp_path: Path) -> None:
    """What is written by its old words might be wrong in the new tables, or be called damaged by them."""
    client = create_app(tmp_path).test_client()
    plate = client.post("/api/plates", json={"document": BARE}).get_json()["id"]
    with sqlite3.connect(tmp_path / "plates.sqlite3") as newer:
        newer.execute("ALTER TABLE step ADD COLUMN colour TEXT NOT NULL DEFAULT ''")
        newer.execute(f"PRAGMA user_version = {len(STEPS) + 1}")
    newer.close()
    sent = {"base": 1, "document": {**BARE, "name": "late"}, "label": "late"}
    for answer in (client.put(f"/api/plates/{plate}", json=sent), client.get(f"/api/plates/{plate}")):
        assert answer.status_code == 507
        assert "written by a newer program; stop this one and update it" in answer.get_json()["error"]["message"]
    with sqlite3.connect(tmp_path / "plates.sqlite3") as kept:
        assert kept.execute("SELECT state FROM plate").fetchall() == [(1,)]
    kept.close()


def test_many_threads_keep_revisions_and_each_finds_its_number(tmp_path: Path) -> None:
    """Ten at once, of two servers: none waits in vain, and the numbers have neither gap nor twin."""
    stores = [Plates(Database(tmp_path)) for _ in range(2)]
    plate = stores[0].add(from_plain(BARE)).id

    def keep(number: int) -> tuple[int, str]:
        kept = stores[number % 2].keep(plate, f"L{number}", "at once")
        return kept.number, kept.label

    with ThreadPoolExecutor(10) as pool:
        done = list(pool.map(keep, range(50)))
    kept = [(row.number, row.label) for row in stores[0].revisions(plate)]
    assert kept == sorted(done)
    assert [number for number, _ in kept] == list(range(1, 51))


def test_a_clock_that_is_set_back_changes_no_order(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """By a day, between two edits: the list has what was changed last first, and steps and revisions go on."""

    class Yesterday(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> Self:
            return super().now(tz) - timedelta(days=1)

    plates = Plates(Database(tmp_path))
    one, other = (plates.add(from_plain({**BARE, "name": name})) for name in ("one", "other"))
    plates.keep(one.id, "A", "")
    monkeypatch.setattr(store_plates, "datetime", Yesterday)
    for number in range(3):
        for turn in (one, other):
            stored = plates.get(turn.id)
            plates.save(turn.id, stored.state, from_plain({**BARE, "name": str(number)}), str(number))
            assert next(row.id for row in plates.listed()) == turn.id
    assert plates.undo(one.id, 4).document().name == "1"
    assert [row.id for row in plates.listed()] == [one.id, other.id]
    assert plates.redo(one.id, 5).state == 6
    plates.keep(one.id, "B", "")
    assert [row.label for row in plates.revisions(one.id)] == ["A", "B"]
    assert [label for _, label in plates.history(one.id)[1]] == ["begun", "0", "1", "2"]


def test_a_store_that_is_moved_away_is_missed_and_not_made_again(tmp_path: Path) -> None:
    """An empty store in its place would be open to all, and its log taken for that of the one that comes back."""
    folder = tmp_path / "data of ä%20?#&x"
    plates = Plates(Database(folder))
    plate = plates.add(from_plain(BARE))
    away = tmp_path / "away"
    folder.rename(away)
    for empty in (False, True):
        if empty:
            folder.mkdir()
        with pytest.raises(StoreError, match="cannot be opened; look whether the folder is there"):
            plates.listed()
        with pytest.raises(StoreError, match="nothing was changed"):
            plates.save(plate.id, plate.state, from_plain({**BARE, "name": "lost"}), "edit")
        assert not folder.exists() or not list(folder.iterdir())
    folder.rmdir()
    away.rename(folder)
    assert plates.save(plate.id, plate.state, from_plain({**BARE, "name": "back"}), "edit").state == plate.state + 1


@pytest.mark.parametrize(
    ("name", "address"),
    [
        ("/home/ada/a b/plates", "file:/home/ada/a%20b/plates?mode=rw"),
        ("C:/Users/ada/plates", "file:/C%3A/Users/ada/plates?mode=rw"),
        # Two strokes and a name alone are another machine's, which SQLite refuses.
        ("//nas/share/plates", "file:////nas/share/plates?mode=rw"),
    ],
)
def test_the_address_of_a_store_on_every_system(name: str, address: str) -> None:
    """sqlite.org/uri.html, "URI Path" and "URI Authority"; the drive's colon may be written as %3A there."""
    assert existing(name) == address
