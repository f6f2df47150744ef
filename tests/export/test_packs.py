"""Both packages: what is in them, the page that opens offline, the estimate by hand, the steps with cautions."""

from __future__ import annotations

import html
import re
import subprocess
import zipfile
from collections import Counter
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from sketcher.checks import run
from sketcher.cli import main
from sketcher.document import Document
from sketcher.document.plate import Shop
from sketcher.export import handoff_files
from sketcher.export.assembly import assembly_steps
from sketcher.export.estimate import contour_minutes, drill_minutes, estimate, pocket_minutes
from sketcher.export.table_files import parts
from sketcher.geometry import build
from sketcher.reference import cautions
from sketcher.strength.seal import design_seal
from tests.checks.plates import channel, plate
from tests.export import outside


def small(**parts: object) -> Document:
    return plate(
        **{
            "ports": [{"id": "P1", "x_mm": 100, "y_mm": 100}, {"id": "P2", "x_mm": 200, "y_mm": 100}],
            "channels": [channel("C1", start="P1", end="P2")],
            **parts,
        }
    )  # fmt: skip


@pytest.fixture(scope="module")
def builder() -> dict[str, bytes]:
    document = small(name="<script>alert(1)</script> & Co", note="Mind the <b>edge</b>.")
    shapes = build(document)
    return handoff_files(document, shapes, run(document, shapes)[:0], label="R2", reason="it fits", receiver="builder")


def test_the_builders_package(builder: dict[str, bytes]) -> None:
    assert set(builder) == {
        "floor-cut.dxf", "floor-cut.pdf", "assembly.txt", "sureness.txt", "drawing.pdf", "parts.csv", "estimate.txt",
        "plate.html", "plate.json", "findings.txt", "README.txt", "SHA256SUMS.txt",
    } | {name for name in builder if name.split(".")[0] in ("tubes", "gasket")}  # fmt: skip
    readme = builder["README.txt"].decode()
    assert all(name in readme for name in ("assembly.txt", "plate.html", "floor-cut.dxf"))
    assert "For the builder." in readme
    assert "No tube drops to a port of the plate" in builder["sureness.txt"].decode()


def test_the_page_opens_offline_and_runs_nothing(builder: dict[str, bytes], browser: Browser, tmp_path: Path) -> None:
    file = tmp_path / "plate.html"
    file.write_bytes(builder["plate.html"])
    context = browser.new_context(offline=True)
    page = context.new_page()
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("dialog", lambda dialog: (said.append(dialog.message), dialog.dismiss()))
    page.on("console", lambda message: said.append(message.text))
    page.goto(file.as_uri())
    assert asked == [file.as_uri()]
    assert said == []
    assert page.title() == "<script>alert(1)</script> & Co"
    assert page.locator("script").count() == 0
    assert page.locator("figure svg").count() == 3
    for port in ("P1", "P2"):
        assert page.locator("td", has_text=port).count() >= 1
    assert page.locator("svg [data-id=C1]").first.bounding_box()["width"] > 20  # type: ignore[index]
    assert "Pressure test" in page.inner_text("body")
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    context.close()


def test_the_page_prints_whole(builder: dict[str, bytes], browser: Browser, tmp_path: Path) -> None:
    """Printed by Chromium on A4, read by poppler: every word of the page is on paper, within the margins."""
    file = tmp_path / "plate.html"
    file.write_bytes(builder["plate.html"])
    context = browser.new_context(offline=True)
    page = context.new_page()
    page.goto(file.as_uri())
    printed = tmp_path / "plate.pdf"
    page.pdf(path=printed, format="A4", print_background=True)
    shown = page.inner_text("body").split()
    context.close()
    program = outside.tool("pdftotext", "poppler-utils")
    done = subprocess.run([program, "-bbox", "-enc", "UTF-8", str(printed), "-"], check=True, capture_output=True)
    text = html.unescape(re.sub(r"</word>", " ", done.stdout.decode("utf-8")))
    words = re.findall(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(\S+)', text)
    assert all(float(x0) >= 0 and float(x1) <= 595.5 and float(y0) >= 0 and float(y1) <= 842.5
               for x0, y0, x1, y1, _ in words)  # fmt: skip
    paper = Counter("".join(word for *_, word in words))
    # Hyphens and line ends move words about; no letter or figure is lost.
    for sign, count in Counter("".join(shown)).items():
        if sign.isalnum():
            assert paper[sign] >= count, sign
    assert "P1" in text
    assert "Pressure" in text


def test_screws_spacers_and_washers_by_hand() -> None:
    """Plate 20 + 6 on spacers of 5 over a floor of 2: M4 takes 26 + 0.8 (washer) + 5 + 2 + 3.2 (nut) + 1.4 = 38.4, so
    40; counterbored by its head of 4 mm (ISO 4762) and without a washer 33.6, so 35."""
    document = small(
        plate={"z_mm": 5},
        holes=[{"id": "H1", "x_mm": 60, "y_mm": 60}, {"id": "H2", "x_mm": 340, "y_mm": 60},
               {"id": "H3", "x_mm": 340, "y_mm": 240, "kind": "counterbored"}],
    )  # fmt: skip
    rows = {row.part: row for row in parts(document, build(document))}
    assert rows["Mounting screw M4 x 40 mm, ISO 4762"].count == "2"
    assert rows["Mounting screw M4 x 35 mm, ISO 4762"].count == "1"
    assert rows["Washer M4, ISO 7089"].count == "2"
    assert sum(int(row.count) for row in parts(document, build(document)) if row.part == "Spacer M4, 5 mm high") == 3
    flat = small(holes=[{"id": "H1", "x_mm": 60, "y_mm": 60}])
    assert not any("Spacer" in row.part for row in parts(flat, build(flat)))


def test_the_estimates_sums_by_hand() -> None:
    """8 mm cutter, passes of 4 mm, tracks of 3.6 mm, 1080 mm a minute."""
    assert pocket_minutes(3600.0, 8.0, 8.0, Shop()) == pytest.approx(3600 * 2 / 3.6 / 1080)
    assert contour_minutes(1080.0, 20.0, 10.0, Shop()) == pytest.approx(4.0)
    assert contour_minutes(1080.0, 20.1, 10.0, Shop()) == pytest.approx(5.0)
    assert drill_minutes(15.0, Shop()) == pytest.approx(0.2)
    # A shop that feeds twice as fast, in passes of a whole diameter: a quarter of the time.
    quick = Shop(feed_mm_min=2160, step_down_diameters=1.0, drill_feed_mm_min=300)
    assert pocket_minutes(3600.0, 8.0, 8.0, quick) == pytest.approx(3600 / 3.6 / 2160)
    assert drill_minutes(15.0, quick) == pytest.approx(0.1)
    document = plate(ports=[], channels=[], seal={"kind": "gasket"})
    lines = {
        line.what: line for line in estimate(document, build(document), design_seal(document, build(document)), 1000)
    }
    # 300 x 200 x 20 mm of acrylic at 1.19 g/cm³; cast sheet of 20 mm is ±2.4 mm (ISO 7823-1).
    assert lines["Weight of the body"].value == f"{300 * 200 * 20 / 1000 * 1.19 / 1000:.2f} kg"
    assert lines["Stock for the body"].value == "330 × 230 × 20 mm"
    assert "±2.4 mm" in lines["Stock for the body"].how
    # 1000 mm at 12 mm/s in 3 mm.
    assert lines["Laser for the test piece, about"].value == f"{1000 / 12 / 60:.1f} min"
    # Body from below: clamping, and 1000 mm of outline in four passes of 5 mm with the 10 mm cutter.
    assert lines["Body from below, about"].value == f"{15 + 1000 * 4 / 1080:.0f} min"


def test_the_steps_have_the_test_pressure_and_their_cautions() -> None:
    document = small(loop={"test_pressure_kpa": 75})
    text = assembly_steps(document, design_seal(document, build(document)))
    assert "75 kPa (0.75 bar)" in text
    for name in ("pressure", "leak", "swarf", "glycol", "mains", "alcohol"):
        (caution,) = cautions.named((name,))
        assert caution.text in text, name
    bonded = small(seal={"kind": "bonded"})
    (solvent,) = cautions.named(("solvent",))
    assert solvent.text in assembly_steps(bonded, design_seal(bonded, build(bonded)))


def test_the_command_packs_for_the_builder_and_asks_for_a_revision(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "builder.zip"
    arguments = ["handoff", str(Path(outside.ROOT, "examples", "small-board.json")), "--for", "builder", "-o", str(out)]
    assert main(arguments) == 0
    assert "Keep a revision first" in capsys.readouterr().out
    with zipfile.ZipFile(out) as archive:
        assert "revision DRAFT" in archive.read("README.txt").decode()
    assert main([*arguments, "--label", "B"]) == 0
    assert "Keep a revision" not in capsys.readouterr().out
    with zipfile.ZipFile(out) as archive:
        assert "revision B" in archive.read("README.txt").decode()
