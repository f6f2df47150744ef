"""Memory that is short: an error in words, never a wait without an end."""

from __future__ import annotations

import errno
import subprocess
import sys
from pathlib import Path

import pytest

from sketcher.document.out_of_memory import out_of_memory
from sketcher.server import create_app

ROOT = Path(__file__).parents[2]


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the limit on the address space is not kept")
def test_a_limited_address_space_is_told_and_not_waited_for() -> None:
    """Found at 300 MB: the linear algebra asked for its working memory for ten minutes, and no signal ended it."""
    script = "import resource, sys; resource.setrlimit(resource.RLIMIT_AS, (300_000_000,) * 2);"
    script += "from sketcher.cli import main; sys.exit(main(['check', 'examples/small-board.json']))"
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2
    assert "There is not enough memory" in done.stderr
    assert "Traceback" not in done.stderr


def test_want_of_memory_is_no_fault_of_the_plate(tmp_path: Path) -> None:
    loader = "libtiff.so: failed to map segment from shared object"  # glibc, elf/dl-load.c
    errors = [MemoryError(), OSError(errno.ENOMEM, ""), ImportError(loader), RuntimeError("can't start new thread")]
    assert all(map(out_of_memory, errors))
    assert not any(map(out_of_memory, [OSError(errno.ENOSPC, ""), ImportError("No module named x"), RuntimeError()]))
    app = create_app(tmp_path)

    @app.get("/api/large")
    def large() -> str:
        raise MemoryError

    said = app.test_client().get("/api/large")
    assert (said.status_code, said.get_json()["error"]["code"]) == (503, "memory")
