"""The command line: exit codes, keys, and errors that a person can act on."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import urllib.request
import zipfile
from pathlib import Path

import pytest

from sketcher.cli import main
from sketcher.document import read, with_changes
from sketcher.store import Database, Plates

ROOT = Path(__file__).parents[2]
EXAMPLES = {path.stem: path for path in (ROOT / "examples").glob("*.json")}


def run(capsys: pytest.CaptureFixture[str], *arguments: object) -> tuple[int, str, str]:
    code = main([str(argument) for argument in arguments])
    out, err = capsys.readouterr()
    return code, out, err


def answer(capsys: pytest.CaptureFixture[str], *arguments: object) -> dict:
    code, out, err = run(capsys, *arguments, "--json")
    assert code in (0, 1), err
    return json.loads(out, parse_constant=lambda text: pytest.fail(f"{text} in the answer"))


def test_check_says_0_when_nothing_is_an_error_and_1_when_something_is(capsys) -> None:
    assert run(capsys, "check", EXAMPLES["riser-bench"])[0] == 0
    code, out, _ = run(capsys, "check", EXAMPLES["wrong-on-purpose"])
    assert code == 1
    assert re.search(r"\d+ errors, \d+ warnings?, \d+ notes?", out)


def test_check_answers_with_the_agreed_keys(capsys) -> None:
    found = answer(capsys, "check", EXAMPLES["wrong-on-purpose"])
    keys = {"rule", "level", "items", "value", "limit", "unit", "at", "message"}
    assert all(keys <= set(finding) for finding in found["findings"])
    assert set(found["counts"]) == {"error", "warning", "note"}
    assert found["counts"]["error"] == sum(finding["level"] == "error" for finding in found["findings"])


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_flow_answers_with_the_agreed_keys(capsys, name: str) -> None:
    found = answer(capsys, "flow", EXAMPLES[name])
    coolant = {"name", "temperature_c", "density_kg_m3", "viscosity_pa_s", "heat_capacity_j_kg_k"}
    assert coolant <= set(found["coolant"])
    assert {"flow_l_min", "pump_pressure_kpa"} <= set(found["operating_point"])
    channels = [element for element in found["elements"] if element["kind"] == "channel"]
    keys = {
        "id", "kind", "flow_l_min", "pressure_drop_kpa", "width_mm", "depth_mm", "length_mm", "hydraulic_diameter_mm",
        "velocity_m_s", "reynolds", "friction_factor", "friction_kpa", "minor_loss_coefficient", "minor_kpa",
    }  # fmt: skip
    assert channels
    assert all(keys <= set(channel) for channel in channels)
    assert all({"id", "inlet_c", "outlet_c", "heat_w"} <= set(row) for row in found["temperatures"])
    assert all({"order", "inlet_c"} <= set(row) for row in found["orders"])


def test_survey_answers_with_the_agreed_keys(capsys) -> None:
    found = answer(capsys, "survey", EXAMPLES["riser-bench"])
    assert all({"id", "x_mm", "y_mm", "sigma_x_mm", "sigma_y_mm"} <= set(point) for point in found["points"])
    keys = {"id", "measured_mm", "adjusted_mm", "residual_mm", "standardised_residual", "suspect"}
    assert all(keys <= set(reading) for reading in found["readings"])
    assert found["redundancy"] > 0


@pytest.mark.parametrize("sheet", ["test-piece", "final", "floor-cut", "paper"])
@pytest.mark.parametrize("suffix", ["dxf", "svg", "pdf"])
@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_every_sheet_of_every_example_is_written_the_same_twice(capsys, tmp_path, name, sheet, suffix) -> None:
    one, two = tmp_path / f"one.{suffix}", tmp_path / f"two.{suffix}"
    for path in (one, two):
        code, _, err = run(capsys, "export", EXAMPLES[name], "--sheet", sheet, "-o", path)
        assert code == 0, err
    assert one.read_bytes() == two.read_bytes()


def test_fit_answers_and_writes_the_moved_document(capsys, tmp_path: Path) -> None:
    readings = tmp_path / "readings.csv"
    rows = "".join(f"P{n},{1.5 if n == 3 else 0},0,\n" for n in range(1, 9))
    readings.write_text("port,dx_mm,dy_mm,note\n" + rows, encoding="utf-8")
    moved = tmp_path / "moved.json"
    found = answer(capsys, "fit", EXAMPLES["riser-bench"], readings, "-o", moved)
    assert {"shift_mm", "turn_deg", "residuals", "moves"} <= set(found)
    assert [move["port"] for move in found["moves"]] == ["P3"]
    before = {port["id"]: port["x_mm"] for port in json.loads(EXAMPLES["riser-bench"].read_text("utf-8"))["ports"]}
    after = {port["id"]: port["x_mm"] for port in json.loads(moved.read_text("utf-8"))["ports"]}
    assert after["P3"] == pytest.approx(before["P3"] + 1.5)


def test_handoff_packs_or_refuses(capsys, tmp_path: Path) -> None:
    pack = tmp_path / "pack.zip"
    assert run(capsys, "handoff", EXAMPLES["riser-bench"], "-o", pack)[0] == 0
    assert "parts.csv" in zipfile.ZipFile(pack).namelist()
    code, _, err = run(capsys, "handoff", EXAMPLES["wrong-on-purpose"], "-o", tmp_path / "no.zip")
    assert code == 2
    assert "open" in err
    assert not (tmp_path / "no.zip").exists()


def test_sureness_answers_with_the_agreed_keys(capsys) -> None:
    found = answer(capsys, "sureness", EXAMPLES["riser-bench"])
    assert 0 < found["chance"] < 1
    assert all({"port", "chance", "sigma_mm", "allowed_mm", "shares"} <= set(tube) for tube in found["tubes"])
    assert all(abs(sum(tube["shares"].values()) - 1) < 0.01 for tube in found["tubes"])
    assert all({"items", "chance"} <= set(row) for row in found["clearances"])
    assert all({"do", "chance"} <= set(row) and row["chance"] > found["chance"] for row in found["advice"])
    code, out, _ = run(capsys, "sureness", EXAMPLES["riser-bench"])
    assert code == 0
    assert "tubes land in" in out
    assert "of 100 such plates." in out
    assert "100.0 %" not in out


def test_propose_writes_a_plate_that_passes_and_answers_with_the_agreed_keys(capsys, tmp_path: Path) -> None:
    ports = [{"id": "P1", "x_mm": 80, "y_mm": 80}, {"id": "P2", "x_mm": 320, "y_mm": 220}]
    outline = {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 300, "depth_mm": 200}
    plain = {
        "floor": {"outline": {**outline, "width_mm": 400, "depth_mm": 300}},
        "plate": {"outline": outline, "body_thickness_mm": 20, "lid_thickness_mm": 10, "z_mm": 10},
        "ports": ports,
        "loop": {"connections": [["P1", "P2"]]},
    }
    file, new = tmp_path / "plate.json", tmp_path / "new.json"
    file.write_text(json.dumps(plain), encoding="utf-8")
    found = answer(capsys, "propose", file, "-o", new, "--style", "square", "--width", "8", "--seconds", "2")
    assert {"connected", "unconnected", "loss_kpa", "length_mm", "bends", "seconds"} <= set(found)
    assert found["connected"] == [["P1", "P2"]]
    assert run(capsys, "check", new)[0] == 0
    # Without connections, what is drawn is laid again.
    drawn = json.loads(new.read_text(encoding="utf-8"))
    del drawn["loop"]["connections"]
    file.write_text(json.dumps(drawn), encoding="utf-8")
    again = answer(capsys, "propose", file, "-o", new, "--style", "square", "--width", "8", "--anew", "--seconds", "1")
    assert again["connected"] == [["P1", "P2"]]
    assert run(capsys, "propose", EXAMPLES["riser-bench"], "-o", new)[0] == 2


@pytest.mark.parametrize("line", ["z=3", "x=", "200", "x=nan", "x=1e999"])
def test_propose_says_what_a_line_to_mirror_about_looks_like(capsys, tmp_path: Path, line: str) -> None:
    with pytest.raises(SystemExit) as ended:
        run(capsys, "propose", EXAMPLES["riser-bench"], "-o", tmp_path / "new.json", "--line", line)
    assert ended.value.code == 2
    assert "a line is x=200" in capsys.readouterr().err


def test_schema_is_a_json_schema(capsys) -> None:
    code, out, _ = run(capsys, "schema")
    assert code == 0
    assert json.loads(out)["$schema"].startswith("https://json-schema.org/")


@pytest.mark.parametrize("command", ["check", "flow", "survey"])
@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"{", "line 1"),
        (b"\xff\x00\x01", "UTF-8"),
        (b'{"version": 1}', "/floor"),
        (b'{"version": 7}', "newer"),
        (None, "No such file"),
    ],
)
def test_a_file_that_cannot_be_read_is_named_with_the_place(capsys, tmp_path, command, content, word) -> None:
    path = tmp_path / "plate.json"
    if content is not None:
        path.write_bytes(content)
    code, out, err = run(capsys, command, path)
    assert code == 2
    assert out == ""
    assert word in err
    assert str(path) in err
    assert len(err.strip().splitlines()) <= 2
    assert "Traceback" not in err


def test_a_folder_is_no_document(capsys, tmp_path: Path) -> None:
    code, _, err = run(capsys, "check", tmp_path)
    assert code == 2
    assert "name a plate document" in err


@pytest.mark.parametrize("output", ["nowhere/out.dxf", "out.xyz"])
def test_an_output_that_cannot_be_written_is_named(capsys, tmp_path: Path, output: str) -> None:
    code, _, err = run(capsys, "export", EXAMPLES["small-board"], "--sheet", "final", "-o", tmp_path / output)
    assert code == 2
    assert output in err
    assert list(tmp_path.iterdir()) == []


def test_bad_readings_are_named_with_their_line(capsys, tmp_path: Path) -> None:
    readings = tmp_path / "readings.csv"
    readings.write_text("port,dx_mm,dy_mm\nP1,left,0\n", encoding="utf-8")
    code, _, err = run(capsys, "fit", EXAMPLES["riser-bench"], readings)
    assert code == 2
    assert "line 2" in err


def test_words_that_are_no_command_are_refused_in_two_lines(capsys) -> None:
    with pytest.raises(SystemExit) as stopped:
        main(["bake"])
    assert stopped.value.code == 2
    assert "bake" in capsys.readouterr().err


def test_the_module_serves_and_stops(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "sketcher", "serve", "--port", "0", "--no-browser", "--data", str(tmp_path)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout is not None
            found = re.search(r"(http://127\.0\.0\.1:\d+/)\?token=([\w-]+)", server.stdout.readline())
            assert found
            asked = urllib.request.Request(f"{found[1]}api/plates", headers={"Authorization": f"Bearer {found[2]}"})
            with urllib.request.urlopen(asked, timeout=10) as answered:
                assert json.load(answered)["plates"][0]["name"].startswith("Radio-play")
        finally:
            server.terminate()


def test_a_bare_start_shows_the_demo_first_and_then_what_was_worked_on(tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.setattr("waitress.server.TcpWSGIServer.run", lambda self: None)
    arguments = ["--no-browser", "--port", "0", "--data", str(tmp_path)]
    assert main(arguments) == 0
    plates = Plates(Database(tmp_path))
    (row,) = plates.listed()
    assert row.name.startswith("Radio-play")
    mine = plates.add(read(EXAMPLES["small-board"]))
    assert main(arguments) == 0
    assert f"#plate={mine.id}" in capsys.readouterr().out
    assert len(plates.listed()) == 2
    # A file is opened as what was made of it, not a second time.
    changed = plates.save(mine.id, mine.state, with_changes(mine.document(), name="Mine"), "named")
    assert main(["serve", str(EXAMPLES["small-board"]), *arguments]) == 0
    assert f"#plate={mine.id}" in capsys.readouterr().out
    assert plates.get(mine.id) == changed
    assert len(plates.listed()) == 2


def test_a_port_in_use_is_said(capsys, tmp_path: Path) -> None:
    import socket

    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        code, _, err = run(capsys, "serve", "--no-browser", "--port", taken.getsockname()[1], "--data", tmp_path)
    assert code == 2
    assert "--port" in err


def test_what_nobody_foresaw_is_two_lines_and_no_traceback(capsys, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr("sketcher.checks.run", fail)
    code, out, err = run(capsys, "check", EXAMPLES["small-board"])
    assert (code, out) == (2, "")
    assert "ZeroDivisionError" in err
    assert len(err.strip().splitlines()) == 2
    monkeypatch.setenv("PLATE_SKETCHER_TRACE", "1")
    with pytest.raises(ZeroDivisionError):
        main(["check", str(EXAMPLES["small-board"])])


def test_flow_in_words_has_the_losses_and_the_orders(capsys) -> None:
    code, out, _ = run(capsys, "flow", EXAMPLES["riser-bench"])
    assert code == 0
    assert re.search(r"\d\.\d\d l/min at \d+\.\d kPa", out)
    assert re.search(r"CPU +block +\d+\.\d\d kPa", out)
    assert "as it is" in out.split("Orders of the loop")[1]
    # What if, the sources' spread, how it fills, what air stays, what the drain leaves.
    for words in (
        r"Air 10 K warmer at every radiator: \d\.\d\d l/min \([+-]\d\.\d\d\), CPU at \d\d\.\d °C",
        r"Every fitting 2 mm narrower: \d\.\d\d l/min \(-\d\.\d\d\)", r"Published losses .* differ",
        r"Filled from RES, up to \d+ mm by itself; the pump has to fill .*TOP", r"Air when filled, standing: \d+ ml",
        r"Air when filled, lying on its rear: .* stays in C7 \(bled by P11\)", r"Drained by P11: \d+ ml stay",
    ):  # fmt: skip
        assert re.search(words, out), words


def test_survey_in_words_has_every_point_and_reading(capsys) -> None:
    document = json.loads(EXAMPLES["riser-bench"].read_text("utf-8"))
    code, out, _ = run(capsys, "survey", EXAMPLES["riser-bench"])
    assert code == 0
    first = {line.split()[0] for line in out.splitlines() if line.startswith("  ")}
    assert {point["id"] for point in document["survey"]["points"]} <= first
    assert {reading["id"] for reading in document["survey"]["readings"]} <= first
    assert "no survey" in run(capsys, "survey", EXAMPLES["wrong-on-purpose"])[1]


def test_a_survey_that_cannot_be_adjusted_is_named_with_its_place(capsys, tmp_path: Path) -> None:
    document = json.loads(EXAMPLES["small-board"].read_text("utf-8"))
    reading = {"id": "R1", "kind": "offset", "points": ["A"], "wall": ["A", "B"], "value": 10}
    document["survey"] = {"points": [{"id": "A"}, {"id": "B"}], "readings": [reading]}
    path = tmp_path / "plate.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    code, _, err = run(capsys, "survey", path)
    assert code == 2
    assert f"{path}: /survey/readings/0" in err


def test_output_is_utf8_whatever_the_system_would_write(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "sketcher", "flow", str(EXAMPLES["small-board"])]
    told = subprocess.run(
        command, cwd=ROOT, env={**os.environ, "PYTHONIOENCODING": "ascii"}, capture_output=True, check=False
    )
    assert told.returncode == 0, told.stderr
    assert "°C" in told.stdout.decode("utf-8")


def test_a_reader_that_goes_away_is_no_trouble() -> None:
    command = [sys.executable, "-m", "sketcher", "schema"]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as teller:
        assert teller.stdout is not None
        assert teller.stderr is not None
        teller.stdout.read(10)
        teller.stdout.close()
        assert teller.stderr.read() == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_no_room_for_what_a_command_says_is_said_so() -> None:
    """``/dev/full`` refuses every byte (the Linux manual, full(4))."""
    with open("/dev/full", "w") as full:
        command = [sys.executable, "-m", "sketcher", "schema"]
        found = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, cwd=ROOT, check=False)
    assert (found.returncode, found.stderr.split(";")[0]) == (2, "plate-sketcher: no room for what it says here")
