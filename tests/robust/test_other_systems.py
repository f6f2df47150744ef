"""What Windows and macOS do otherwise with files, played on the system that the tests run on.

What was looked at and cannot be played here is named in docs/trust.md: no test has run on those systems.
"""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from sketcher.document import safe_files
from sketcher.document.safe_files import write_whole
from sketcher.export.output_file import save
from sketcher.export.sheet import ExportError
from sketcher.store import Database, token
from sketcher.store.token import token_of


def on(module: Any, monkeypatch: pytest.MonkeyPatch, name: str, **others: Callable[..., Any]) -> None:
    """Has one module see another system. ``os.name`` itself decides what a ``Path`` is, and is left alone."""
    monkeypatch.setattr(module, "os", SimpleNamespace(**{**vars(os), "name": name, **others}))


def test_on_macos_a_file_is_flushed_to_the_disk_itself(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """man 2 fsync there: "fsync() will flush all data … to the drive", F_FULLFSYNC asks the drive to write it out."""
    asked: list[int] = []
    monkeypatch.setattr(safe_files, "fcntl", SimpleNamespace(F_FULLFSYNC=51, fcntl=lambda _, what: asked.append(what)))
    write_whole(tmp_path / "a.svg", b"<svg/>")
    assert asked == [51, 51]  # the file, and the folder with its new name

    def refused(*_: object) -> None:
        raise OSError(errno.ENOTSUP, "not supported")

    flushed: list[int] = []
    monkeypatch.setattr(safe_files, "fcntl", SimpleNamespace(F_FULLFSYNC=51, fcntl=refused))
    on(safe_files, monkeypatch, "posix", fsync=flushed.append)
    write_whole(tmp_path / "b.svg", b"<svg/>")
    assert len(flushed) == 2


def test_the_store_asks_for_the_same(tmp_path: Path) -> None:
    with Database(tmp_path / "data").reading() as connection:
        pragmas = [connection.execute(f"PRAGMA {name}").fetchone()[0]
                   for name in ("synchronous", "fullfsync", "checkpoint_fullfsync")]  # fmt: skip
    assert pragmas == [2, 1, 1]


def test_on_windows_a_file_that_a_viewer_holds_open_stays_and_it_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """There ``os.replace`` over an open file fails with access denied (MoveFileEx, ERROR_ACCESS_DENIED)."""
    target = tmp_path / "plan.svg"
    target.write_bytes(b"<svg>old</svg>")

    def held(*_: object) -> None:
        raise PermissionError(errno.EACCES, "Access is denied")

    on(safe_files, monkeypatch, "nt", replace=held)
    with pytest.raises(ExportError, match=r"plan\.svg cannot be replaced: close it in the program that has it open"):
        save(target, b"<svg>new</svg>")
    assert target.read_bytes() == b"<svg>old</svg>"
    assert [path.name for path in tmp_path.iterdir()] == ["plan.svg"]


def test_on_windows_no_folder_is_opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """There a folder cannot be opened as a file (``PermissionError``)."""

    def opened(path: Any, *more: Any) -> int:
        assert not Path(path).is_dir()
        return os.open(path, *more)

    on(safe_files, monkeypatch, "nt", open=opened)
    write_whole(tmp_path / "a.svg", b"<svg/>")
    assert (tmp_path / "a.svg").read_bytes() == b"<svg/>"


@pytest.mark.skipif(os.name == "nt", reason="modes are what differs")
def test_a_token_that_others_can_read_is_made_again_where_modes_say_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = token_of(tmp_path)
    (tmp_path / token.NAME).chmod(0o644)
    on(token, monkeypatch, "nt")
    assert token_of(tmp_path) == first  # Windows has no such modes: every file looks like that
    on(token, monkeypatch, "posix")
    assert token_of(tmp_path) != first
    assert stat.S_IMODE((tmp_path / token.NAME).stat().st_mode) == 0o600


def test_a_token_on_a_file_system_without_second_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown(*_: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    on(token, monkeypatch, os.name, link=unknown)
    made = token_of(tmp_path)
    assert token_of(tmp_path) == made
    assert [path.name for path in tmp_path.iterdir()] == [token.NAME]


def test_programs_that_start_at_one_moment_share_a_token(tmp_path: Path) -> None:
    for n in range(20):
        folder = tmp_path / str(n)
        folder.mkdir()
        with ThreadPoolExecutor(8) as pool:
            found = list(pool.map(token_of, [folder] * 8))
        assert set(found) == {(folder / token.NAME).read_text("ascii")}
        assert [path.name for path in folder.iterdir()] == [token.NAME]
