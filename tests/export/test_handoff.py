"""The hand-off: what is in it, when it is refused, and that its bytes depend on nothing but the plate."""

from __future__ import annotations

import csv
import datetime
import hashlib
import io
import os
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest
from pypdf import PdfReader

from sketcher.checks import Finding, run
from sketcher.document import Document, loads, read
from sketcher.export import ExportError, export_sheet, handoff_files, names, packed
from sketcher.export.shop_drawing import shop_drawing_pdf
from sketcher.geometry import Shapes, build
from tests.export.outside import ROOT
from tests.export.test_final import machined

SMALL = ROOT / "examples" / "small-board.json"


def make_handoff(document: Document, shapes: Shapes, findings: list[Finding], **options: object) -> bytes:
    return packed(handoff_files(document, shapes, findings, **options))  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def small_package() -> bytes:
    """The small board's package, revision R4: made once for those that compare it with another."""
    document = read(SMALL)
    return make_handoff(document, build(document), [], label="R4")


def opened(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def finding(level: str, accepted: str = "") -> Finding:
    return Finding("wall-channel-edge", level, ("C1",), "Too thin.", "Move it.", accepted=accepted)  # type: ignore[arg-type]


def test_everything_the_shop_needs_is_in_it() -> None:
    document = read(SMALL)
    files = opened(make_handoff(document, build(document), [], label="R4", dated="2031-05-06", volume_l=0.5))
    assert set(files) == {
        "body-above.dxf", "body-below.dxf", "lid.dxf", "body.step", "lid.step", "assembly.step", "assembly.stl",
        "final.pdf", "drawing.pdf", "holes.csv", "parts.csv", "estimate.txt", "plate.html",
        "plate.json", "findings.txt", "README.txt", "SHA256SUMS.txt",
    } | {name for name in files if name.startswith("edge-")}  # fmt: skip
    headings = {port.heading for port in build(document).ports.values() if port.heading is not None}
    assert sum(name.startswith("edge-") for name in files) == len(headings)
    assert loads(files["plate.json"]) == document
    for line in files["SHA256SUMS.txt"].decode().splitlines():
        digest, name = line.split("  ")
        assert hashlib.sha256(files[name]).hexdigest() == digest
    text = "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(files["drawing.pdf"])).pages)
    for words in ("R4", "2031-05-06", "cast acrylic", "Pressure test", "from the datum", "1:", "licensed"):
        assert words in text
    for port in document.ports:
        assert port.id in text
    ids = {row["id"] for row in csv.DictReader(io.StringIO(files["holes.csv"].decode()))}
    assert ids == {item.id for item in (*document.ports, *document.holes)}
    readme = files["README.txt"].decode()
    assert "mm" in readme
    assert "Local codes" in readme


def test_an_open_error_stops_it_and_an_accepted_one_goes_with_its_reason() -> None:
    document = machined()
    shapes = build(document)
    with pytest.raises(ExportError, match=r"wall-channel-edge \(C1\).*accept"):
        make_handoff(document, shapes, [finding("error")])
    files = opened(make_handoff(document, shapes, [finding("error", "the shop glues a rib there"), finding("warning")]))
    said = files["findings.txt"].decode()
    assert "accepted: the shop glues a rib there" in said
    assert "open. Move it." in said


def test_the_wrong_example_is_refused() -> None:
    document = read(ROOT / "examples" / "wrong-on-purpose.json")
    shapes = build(document)
    with pytest.raises(ExportError, match="error"):
        make_handoff(document, shapes, run(document, shapes))


def test_same_bytes_on_another_day(small_package: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    document = read(SMALL)
    shapes = build(document)
    sheets = {(sheet, kind): export_sheet(document, shapes, sheet, kind) for sheet in names(flat=True)
              if sheet != "gasket" for kind in ("dxf", "svg", "pdf")}  # fmt: skip
    later = time.time() + 400 * 86_400.5

    class Later(datetime.datetime):
        @classmethod
        def now(cls, tz: datetime.tzinfo | None = None) -> Later:
            return cls.fromtimestamp(later, tz)

    import ezdxf.document
    import ezdxf.tools.juliandate

    monkeypatch.setattr(ezdxf.document, "datetime", Later)
    monkeypatch.setattr(time, "time", lambda: later)
    real_local, real_utc = time.localtime, time.gmtime
    monkeypatch.setattr(time, "localtime", lambda s=None: real_local(later if s is None else s))
    monkeypatch.setattr(time, "gmtime", lambda s=None: real_utc(later if s is None else s))
    assert make_handoff(document, shapes, [], label="R4") == small_package
    for (sheet, kind), data in sheets.items():
        assert export_sheet(document, shapes, sheet, kind) == data, (sheet, kind)


def test_same_bytes_in_another_process(small_package: bytes, tmp_path: Path) -> None:
    """Neither the order of sets, nor what was written before, shows in the files."""
    script = (
        "import sys, pathlib\nfrom sketcher.document import read\nfrom sketcher.geometry import build\n"
        "from sketcher.export import handoff_files, packed\nd = read(pathlib.Path(sys.argv[1]))\n"
        "pathlib.Path(sys.argv[2]).write_bytes(packed(handoff_files(d, build(d), [], label='R4')))\n"
    )
    out = tmp_path / "out.zip"
    subprocess.run(
        [sys.executable, "-c", script, str(SMALL), str(out)],
        check=True, cwd=ROOT, env={**os.environ, "PYTHONHASHSEED": "7"},
    )  # fmt: skip
    assert out.read_bytes() == small_package


def test_a_name_in_any_script_and_an_empty_plate_are_drawn() -> None:
    document = machined(name="Plåt ±ø 冷却 <b>&amp;", ports=[], channels=[], holes=[], cutouts=[], pockets=[])
    shapes = build(document)
    assert len(PdfReader(io.BytesIO(shop_drawing_pdf(document, shapes))).pages) >= 3
    for sheet in names(flat=True):
        if sheet in ("tubes", "gasket"):
            with pytest.raises(ExportError, match=r"no rigid tube|sealed with a cord"):
                export_sheet(document, shapes, sheet, "pdf")
            continue
        for kind in ("dxf", "svg", "pdf"):
            assert export_sheet(document, shapes, sheet, kind)
