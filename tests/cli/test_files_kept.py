"""What ``-o`` never costs: the command's own input, a file of another kind, what a link points at. And what is written
is whole, flushed, and the store for its owner alone."""

from __future__ import annotations

import errno
import json
import os
import shutil
import sqlite3
import stat
import threading
import time
from pathlib import Path

import pytest

from sketcher.cli import main
from sketcher.document import bounded_reading, from_plain, read, safe_files, write
from sketcher.server import create_app
from sketcher.store import Database, Plates, StoreError
from tests.document.test_files import BARE

EXAMPLES = Path(__file__).parents[2] / "examples"
POSIX = pytest.mark.skipif(os.name == "nt", reason="owners, links and modes are those of POSIX")


@pytest.fixture
def plate(tmp_path: Path) -> Path:
    return Path(shutil.copy(EXAMPLES / "small-board.json", tmp_path / "plate.json"))


def exported(plate: Path, out: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, str]:
    code = main(["export", str(plate), "--sheet", "test-piece", "-o", str(out)])
    return code, capsys.readouterr().err


def test_a_command_never_overwrites_its_own_input(plate: Path, tmp_path: Path, capsys) -> None:
    readings = tmp_path / "readings.csv"
    readings.write_text("port,dx_mm,dy_mm\nP1,0,0\n")
    table = tmp_path / "table.csv"
    table.write_text("A, B, 402.5\n")
    link = tmp_path / "same.json"
    os.link(plate, link)
    plain = json.loads(plate.read_bytes())
    plain["loop"]["connections"] = []
    plate.write_text(json.dumps(plain))
    before = plate.read_bytes(), readings.read_bytes(), table.read_bytes()
    for arguments in (
        ["fit", plate, readings, "-o", plate],
        ["fit", plate, readings, "-o", link],
        ["fit", plate, readings, "-o", readings],
        ["survey", plate, "--add", table, "-o", plate],
        ["survey", plate, "--add", table, "-o", table],
        # Refused before it searches, and where there is nothing to search for.
        ["propose", plate, "--seconds", "3600", "-o", plate],
        ["propose", plate, "--ports", "-o", link],
        ["handoff", plate, "-o", plate],
    ):
        assert main([str(argument) for argument in arguments]) == 2
        assert "stays as it is" in capsys.readouterr().err
    assert before == (plate.read_bytes(), readings.read_bytes(), table.read_bytes())


def test_a_file_of_another_kind_is_left_alone_and_one_of_the_same_kind_is_replaced(
    plate: Path, tmp_path, capsys
) -> None:
    out = tmp_path / "piece.dxf"
    for content in (b"%PDF-1.7\n", b"PK\x03\x04rest", b"notes of mine\n", b'{"my": "settings"}', plate.read_bytes()):
        out.write_bytes(content)
        code, err = exported(plate, out, capsys)
        assert code == 2, content
        assert "stands there" in err
        assert out.read_bytes() == content
    out.write_bytes(b"")
    for _ in range(2):
        assert exported(plate, out, capsys)[0] == 0
    for suffix in ("svg", "pdf"):
        for _ in range(2):
            assert exported(plate, tmp_path / f"piece.{suffix}", capsys)[0] == 0
    document = from_plain(BARE)
    with pytest.raises(OSError, match="DXF"):
        write(document, out)
    for _ in range(2):
        write(document, tmp_path / "new.json")
    assert not list(tmp_path.glob(".*"))


@POSIX
def test_what_has_no_end_and_what_says_nothing_is_read_no_further(
    plate: Path, tmp_path: Path, capsys, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A pipe that nobody writes to, /dev/zero, a file that says it is empty; another program's output is a pipe too."""
    monkeypatch.setattr(bounded_reading, "SILENT_S", 0.05)
    os.mkfifo(tmp_path / "pipe.dxf")
    (tmp_path / "zero.dxf").symlink_to("/dev/zero")
    for path, words in (("pipe.dxf", "nothing came"), ("zero.dxf", "larger than"), ("/dev/null", "nothing came")):
        odd = tmp_path / path
        for arguments in (["check", odd], ["survey", plate, "--add", odd], ["fit", plate, odd]):
            assert main([str(argument) for argument in arguments]) == 2
            assert words in capsys.readouterr().err
    assert main(["compare", str(plate), str(tmp_path / "pipe.dxf")]) == 2
    assert main(["compare", str(plate), str(tmp_path / "zero.dxf")]) == 2
    assert "larger than 32 MB" in capsys.readouterr().err
    reader, writer = os.pipe()
    text = plate.read_bytes()

    def write_slowly() -> None:
        with os.fdopen(writer, "wb") as stream:
            stream.write(text[:100])
            stream.flush()
            time.sleep(0.02)
            stream.write(text[100:])

    thread = threading.Thread(target=write_slowly)
    thread.start()
    try:
        assert read(Path(f"/dev/fd/{reader}")) == read(plate)
    finally:
        thread.join()
        os.close(reader)


@POSIX
def test_links_are_not_followed_and_no_device_is_replaced(plate: Path, tmp_path: Path, capsys) -> None:
    mine = tmp_path / "mine.dxf"
    assert exported(plate, mine, capsys)[0] == 0
    before = mine.read_bytes()
    for name, target in (("link.dxf", mine), ("nowhere.dxf", tmp_path / "not-there.dxf")):
        (tmp_path / name).symlink_to(target)
        code, err = exported(plate, tmp_path / name, capsys)
        assert (code, "is a link" in err) == (2, True)
    os.mkfifo(tmp_path / "pipe.dxf")
    code, err = exported(plate, tmp_path / "pipe.dxf", capsys)
    assert (code, "no ordinary file" in err) == (2, True)
    assert mine.read_bytes() == before
    assert not (tmp_path / "not-there.dxf").exists()


@POSIX
def test_a_name_put_there_beforehand_is_not_written_through(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The name is random; one that was guessed all the same is refused by O_EXCL (POSIX, open), and another taken."""
    names = iter(["guessed", "free"])
    monkeypatch.setattr(safe_files.secrets, "token_hex", lambda _: next(names))
    victim = tmp_path / "victim"
    victim.write_text("mine")
    (tmp_path / ".new.json.guessed.part").symlink_to(victim)
    write(from_plain(BARE), tmp_path / "new.json")
    assert victim.read_text() == "mine"
    assert (tmp_path / "new.json").read_text().startswith("{")


@pytest.mark.parametrize("fails", ["write", "fsync", "replace"])
def test_a_full_disk_leaves_the_older_file_and_nothing_beside_it(
    plate: Path, tmp_path: Path, capsys, monkeypatch: pytest.MonkeyPatch, fails: str
) -> None:
    out = tmp_path / "piece.svg"
    assert exported(plate, out, capsys)[0] == 0
    before = out.read_bytes()

    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    if fails == "write":
        opened = safe_files.os.fdopen

        class Full:
            def __init__(self, descriptor: int, mode: str) -> None:
                self.stream = opened(descriptor, mode)

            def __enter__(self) -> Full:
                return self

            def __exit__(self, *_: object) -> None:
                self.stream.close()

            write = full

        monkeypatch.setattr(safe_files.os, "fdopen", Full)
    else:
        monkeypatch.setattr(safe_files.os, fails, full)
    code, err = exported(plate, out, capsys)
    assert code == 2
    assert "make room" in err
    assert out.read_bytes() == before
    assert {path.name for path in tmp_path.iterdir()} == {"plate.json", "piece.svg"}


@POSIX
def test_what_is_written_is_flushed_with_its_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    flushed: list[bool] = []
    fsync = os.fsync

    def heard(descriptor: int) -> None:
        flushed.append(stat.S_ISDIR(os.fstat(descriptor).st_mode))
        fsync(descriptor)

    monkeypatch.setattr(safe_files.os, "fsync", heard)
    write(from_plain(BARE), tmp_path / "plate.json")
    assert flushed == [False, True]


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@POSIX
def test_the_store_is_for_its_owner_alone(tmp_path: Path) -> None:
    old = os.umask(0)
    try:
        plates = Plates(Database(tmp_path / "new"))
        plates.add(from_plain(BARE))
        with plates.database.reading() as connection:
            connection.execute("SELECT 1 FROM plate").fetchall()
            assert {mode(path) for path in (tmp_path / "new").iterdir()} == {0o600}
        assert mode(tmp_path / "new") == 0o700
        # One that an older version left open is closed, but a folder that holds other things is not the program's.
        for path in (tmp_path / "new", *(tmp_path / "new").iterdir()):
            path.chmod(0o755)
        Database(tmp_path / "new")
        assert mode(tmp_path / "new") == 0o700
        # What its owner made read-only stays so, and is not called missing.
        (tmp_path / "new" / "plates.sqlite3").chmod(0o440)
        Database(tmp_path / "new")
        assert mode(tmp_path / "new" / "plates.sqlite3") == 0o400
        shared = tmp_path / "shared"
        shared.mkdir(mode=0o755)
        (shared / "letter.txt").write_text("mine")
        Database(shared)
        assert (mode(shared), mode(shared / "plates.sqlite3")) == (0o755, 0o600)
    finally:
        os.umask(old)


DAMAGE = {
    "not a database": lambda path: path.write_bytes(b"notes of mine " * 1000),
    "cut off": lambda path: path.write_bytes(path.read_bytes()[:5000]),
    "pages overwritten": lambda path: path.write_bytes(path.read_bytes()[:4096] + b"\xff" * 8192),
    "a table gone": lambda path: altered(path, "DROP TABLE revision"),
    "a column gone": lambda path: altered(path, "ALTER TABLE step RENAME COLUMN document TO paper"),
    "a folder": lambda path: (path.unlink(), path.mkdir()),
}  # fmt: skip


def altered(path: Path, statement: str) -> None:
    connection = sqlite3.connect(path)
    connection.execute(statement)
    connection.commit()
    connection.close()


@pytest.mark.parametrize("damage", DAMAGE.values(), ids=DAMAGE.keys())
def test_a_damaged_store_says_so_and_what_to_do(tmp_path: Path, damage) -> None:
    plates = Plates(Database(tmp_path))
    number = plates.add(from_plain(BARE)).id
    plates.keep(number, "one", "")
    with plates.database.reading() as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    damage(tmp_path / "plates.sqlite3")

    def used() -> None:
        again = Plates(Database(tmp_path))
        again.listed()
        again.revisions(number)

    with pytest.raises(StoreError) as caught:
        used()
    words = str(caught.value)
    assert "plates.sqlite3" in words
    assert any(word in words for word in ("backup", "move it away", "another folder"))
    assert not any(theirs in words for theirs in ("malformed", "no such", "Errno", "not a database"))


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("file", "something that is no folder stands in its place"),
        ("nowhere", "something that is no folder stands in its place"),
        ("file/in it", "Not a directory"),
        ("/".join(["long" * 30] * 5), "longer than the store takes"),
    ],
)
def test_a_folder_that_is_none_is_named(tmp_path: Path, name: str, words: str) -> None:
    (tmp_path / "file").write_text("mine")
    (tmp_path / "nowhere").symlink_to(tmp_path / "not there")
    with pytest.raises(StoreError, match=words):
        Database(tmp_path / name)
    assert (tmp_path / "file").read_text() == "mine"


def test_a_damaged_profile_of_a_shop_is_named_and_can_be_kept_again(tmp_path: Path) -> None:
    client = create_app(tmp_path).test_client()
    for name in ("Yard", "Mill", "Lathe"):
        assert client.put("/api/shops", json={"name": name}).status_code == 200
    altered(tmp_path / "plates.sqlite3", "UPDATE profile SET content = '{\"name\": NaN' WHERE name = 'Mill'")
    altered(tmp_path / "plates.sqlite3", "UPDATE profile SET content = x'00ff' WHERE name = 'Lathe'")
    answer = client.get("/api/shops")
    assert answer.status_code == 200
    assert [shop["name"] for shop in answer.get_json()["shops"]] == ["Yard"]
    assert answer.get_json()["damaged"] == ["Lathe", "Mill"]
    client.put("/api/shops", json={"name": "Mill"})
    assert client.get("/api/shops").get_json()["damaged"] == ["Lathe"]


def test_a_damaged_row_is_named_and_the_others_stay(tmp_path: Path) -> None:
    plates = Plates(Database(tmp_path))
    first, second = plates.add(from_plain(BARE)).id, plates.add(from_plain({**BARE, "name": "whole"})).id
    for number in (first, second):
        plates.keep(number, "one", "", files={"a": "1"})
    altered(tmp_path / "plates.sqlite3", f"UPDATE step SET document = x'00ff' WHERE plate = {first}")
    altered(tmp_path / "plates.sqlite3", f"UPDATE revision SET files = '[1' WHERE plate = {first}")
    assert {row.id: bool(row.fault) for row in plates.listed()} == {first: True, second: False}
    with pytest.raises(StoreError, match="revision 1 is damaged"):
        plates.revisions(first)
    assert plates.revisions(second)[0].files == {"a": "1"}
