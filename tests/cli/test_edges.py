"""The command line at its edges: what a hurried person types wrong, and the program as another process sees it."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest

from sketcher.cli import main

ROOT = Path(__file__).parents[2]
BOARD = ROOT / "examples" / "small-board.json"
BENCH = ROOT / "examples" / "riser-bench.json"


def stopped(capsys: pytest.CaptureFixture[str], *arguments: object) -> str:
    """Runs a command that cannot be done: exit code 2, nothing on stdout, one or two lines on stderr."""
    try:
        code: object = main([str(argument) for argument in arguments])
    except SystemExit as stop:
        code = stop.code
    out, err = capsys.readouterr()
    assert code == 2
    assert out == ""
    assert 1 <= len(err.strip().splitlines()) <= 2
    assert err.startswith("plate-sketcher")
    assert "Traceback" not in err
    assert "program failed" not in err
    return err


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        ("check", "FILE"),
        ("check a.json b.json", "b.json"),
        ("bake a.json", "bake"),
        ("serve --port 99999", "65535"),
        ("serve --port x", "'x'"),
        ("export a.json -o x.dxf", "--sheet"),
        ("export a.json --sheet cake -o x.dxf", "test-piece"),
        ("handoff a.json", "-o"),
        ("handoff a.json -o .", "'.'"),
        ("fit a.json b.csv -o .", "'.'"),
        ("check a.json --jsn", "--jsn"),
    ],
)
def test_a_slip_in_the_words_is_said_in_a_line(capsys, arguments: str, word: str) -> None:
    assert word in stopped(capsys, *arguments.split())


COMMANDS = {
    "check": ["check", "{file}"],
    "flow": ["flow", "{file}"],
    "survey": ["survey", "{file}"],
    "export": ["export", "{file}", "--sheet", "final", "-o", "{out}.dxf"],
    "fit": ["fit", "{file}", "{file}", "-o", "{out}.json"],
    "handoff": ["handoff", "{file}", "-o", "{out}.zip"],
    "serve": ["serve", "{file}", "--no-browser", "--port", "0", "--data", "{out}"],
}


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize("what", ["missing", "folder", "binary", "words", "list", "nan", "deep", "empty"])
def test_no_command_takes_what_is_no_document(capsys, tmp_path: Path, command: str, what: str) -> None:
    path = tmp_path / "plate.json"
    contents = {
        "binary": bytes(range(256)),
        "words": b"the plate is in my other bag",
        "list": b"[1, 2, 3]",
        "nan": BOARD.read_bytes().replace(b'"body_thickness_mm": ', b'"body_thickness_mm": NaN, "was": '),
        "deep": b"[" * 100_000,
        "empty": b"",
    }
    if what == "folder":
        path.mkdir()
    elif what != "missing":
        path.write_bytes(contents[what])
    before = sorted(tmp_path.iterdir())
    err = stopped(capsys, *(part.format(file=path, out=tmp_path / "out") for part in COMMANDS[command]))
    assert str(path) in err
    assert sorted(tmp_path.iterdir()) == before


def test_a_thread_that_is_not_in_the_tables_is_named_with_its_place(capsys, tmp_path: Path) -> None:
    document = json.loads(BOARD.read_text(encoding="utf-8"))
    document["ports"][1]["thread"] = "G9/7"
    path = tmp_path / "plate.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    code = main(["check", str(path), "--json"])
    out, err = capsys.readouterr()
    said = err if code == 2 else " ".join(f["message"] for f in json.loads(out)["findings"] if f["level"] == "error")
    assert code in (1, 2)
    assert "G9/7" in said
    assert document["ports"][1]["id"] in said or "/ports/1/thread" in said
    for command in ("flow", "export", "handoff"):
        parts = [part.format(file=path, out=tmp_path / "out") for part in COMMANDS[command]]
        assert main(parts) in (0, 2)
        assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize("command", ["export", "fit", "handoff"])
def test_no_command_harms_what_stands_in_the_place_of_its_output(capsys, tmp_path: Path, command: str) -> None:
    readings = tmp_path / "readings.csv"
    rows = "".join(f"P{n},{1.5 if n == 3 else 0},0\n" for n in range(1, 9))
    readings.write_text("port,dx_mm,dy_mm\n" + rows, encoding="utf-8")
    suffix = {"export": ".dxf", "fit": ".json", "handoff": ".zip"}[command]
    (tmp_path / f"out{suffix}").mkdir()
    parts = [part.format(file=BENCH, out=tmp_path / "out") for part in COMMANDS[command]]
    parts[2:3] = [str(readings)] if command == "fit" else parts[2:3]
    assert f"out{suffix}" in stopped(capsys, *parts)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(["readings.csv", f"out{suffix}"])


def test_serving_needs_a_folder_for_its_data(capsys, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", encoding="utf-8")
    assert "--data" in stopped(capsys, "serve", "--no-browser", "--port", "0", "--data", tmp_path / "file")


def test_the_module_is_the_command(tmp_path: Path) -> None:
    done = subprocess.run([sys.executable, "-m", "sketcher", "schema"], cwd=ROOT, capture_output=True, check=True)
    assert json.loads(done.stdout.decode("utf-8"))["title"] == "Plate document"
    assert done.stderr == b""


@pytest.mark.skipif(os.name == "nt", reason="another way to interrupt a process there")
def test_serving_ends_well_when_it_is_interrupted(tmp_path: Path) -> None:
    command = [sys.executable, "-u", "-m", "sketcher", "serve", "--port", "0", "--no-browser", "--data", str(tmp_path)]

    def listen_again() -> None:
        # Where the tests themselves run in the background, interrupts are ignored by all that they start.
        signal.signal(signal.SIGINT, signal.SIG_DFL)

    with subprocess.Popen(
        command,
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        preexec_fn=listen_again,
    ) as server:
        try:
            assert server.stdout is not None
            found = re.search(r"(http://127\.0\.0\.1:\d+/)\?token=([\w-]+)", server.stdout.readline())
            assert found
            asked = urllib.request.Request(f"{found[1]}api/ping", headers={"Authorization": f"Bearer {found[2]}"})
            with urllib.request.urlopen(asked, timeout=10) as answered:
                assert json.load(answered) == {"here": True}
            server.send_signal(signal.SIGINT)
            _, err = server.communicate(timeout=10)
        finally:
            server.kill()
    assert server.returncode == 0
    assert err == ""
