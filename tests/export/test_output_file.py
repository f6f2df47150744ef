"""Writing: whole or not at all, whatever the disk does."""

from __future__ import annotations

import errno
import os
import tempfile
from pathlib import Path

import pytest

from sketcher.export import ExportError, save


def test_a_file_is_written_and_nothing_is_left_beside_it(tmp_path: Path) -> None:
    target = tmp_path / "piece.dxf"
    save(target, b"one")
    save(target, b"two")
    assert target.read_bytes() == b"two"
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_full_disk_leaves_the_older_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, step: str) -> None:
    target = tmp_path / "piece.dxf"
    target.write_bytes(b"older")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, step, full)
    with pytest.raises(ExportError, match=r"No space left.*make room"):
        save(target, b"newer")
    assert target.read_bytes() == b"older"
    assert [path.name for path in tmp_path.iterdir()] == ["piece.dxf"]


def test_no_such_folder_and_a_file_as_folder(tmp_path: Path) -> None:
    with pytest.raises(ExportError, match="No such file or directory"):
        save(tmp_path / "nowhere" / "piece.dxf", b"x")
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(ExportError, match="choose another place"):
        save(tmp_path / "file" / "piece.dxf", b"x")
    (tmp_path / "folder.dxf").mkdir()
    with pytest.raises(ExportError, match="choose another place"):
        save(tmp_path / "folder.dxf", b"x")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "folder.dxf"]


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="other systems keep folders from being written otherwise")
def test_an_unwritable_folder_is_said() -> None:
    """Root may write anywhere: where root runs the tests, this one goes on as nobody for as long as it writes."""
    own = os.geteuid()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "piece.dxf").write_bytes(b"older")
        folder.chmod(0o555)
        if own == 0:
            os.seteuid(65534)
        try:
            with pytest.raises(ExportError, match="Permission denied"):
                save(folder / "piece.dxf", b"x")
        finally:
            os.seteuid(own)
        assert [path.name for path in folder.iterdir()] == ["piece.dxf"]
        assert (folder / "piece.dxf").read_bytes() == b"older"
        folder.chmod(0o700)
