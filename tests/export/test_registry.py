"""One registry of sheets: what is added as DEVELOPERS.md says is known everywhere; nothing stands in it twice."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from pypdf import PdfReader

from sketcher.cli import main
from sketcher.document import Document, write
from sketcher.export import ExportError, export_sheet, kinds, names, registry, sheets
from sketcher.export.describe import renewed
from sketcher.export.sheet import Draft, Layer, Sheet
from sketcher.geometry import Shapes, build
from sketcher.reference import cautions
from sketcher.reference.tables import UnknownEntry
from sketcher.server.reference_routes import tables
from tests.checks.plates import plate
from tests.export import outside

ROOT = Path(__file__).parents[2]


@pytest.fixture
def added() -> Iterator[None]:
    """A sheet added as DEVELOPERS.md says."""

    @registry.sheet(
        "label", title="Label", about="A label for the case.", cautions=("laser", "eyes"), paper="A4", copies=False
    )
    def label_sheet(document: Document, shapes: Shapes, label: str) -> Sheet:
        draft = Draft()
        draft.contour("EDGE", shapes.plate, "plate")
        return draft.sheet("label", "Label", (Layer("EDGE", "outer", "The label's edge"),), ("Stick it on.",))

    tables.cache_clear()
    yield
    registry.remove("label")
    tables.cache_clear()


@pytest.mark.usefixtures("added")
def test_a_sheet_that_is_added_is_known_everywhere(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "plate.json"
    write(plate(), file)
    for suffix in ("dxf", "svg", "pdf"):
        assert main(["export", str(file), "--sheet", "label", "-o", str(tmp_path / f"label.{suffix}")]) == 0
    assert {entity.layer for entity in outside.entities((tmp_path / "label.dxf").read_bytes())} == {"EDGE"}
    assert 'id="EDGE"' in (tmp_path / "label.svg").read_text(encoding="utf-8")
    pages = [page.extract_text() for page in PdfReader(tmp_path / "label.pdf").pages]
    words = " ".join(" ".join(pages).split())
    for caution in cautions.named(("laser", "eyes")):
        assert caution.text in words
    assert "label" in [row["name"] for row in tables()["sheets"]]
    eyes = next(row for row in tables()["cautions"] if row["name"] == "eyes")
    assert "label" in eyes["sheets"]
    assert "| `label` | A label for the case. | dxf, svg, pdf | A4 |" in renewed(
        (ROOT / "docs" / "files.md").read_text(encoding="utf-8")
    )
    capsys.readouterr()
    with pytest.raises(SystemExit):
        main(["export", "--help"])
    assert "label" in capsys.readouterr().out


def test_what_is_not_there_is_refused_with_what_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["export", "x.json", "--sheet", "poster", "-o", "x.dxf"])
    refused = capsys.readouterr().err
    assert all(name in refused for name in names())
    document = plate()
    with pytest.raises(ExportError, match=r"there is no sheet 'poster'; choose .*test-piece"):
        export_sheet(document, build(document), "poster", "dxf")
    with pytest.raises(
        ExportError, match=r"'paper' cannot be written as 'step'; end the name in \.dxf, \.svg or \.pdf"
    ):
        export_sheet(document, build(document), "paper", "step")


def test_doubles_empty_sheets_and_unknown_cautions_are_refused() -> None:
    with pytest.raises(ValueError, match="there is a sheet 'final' already"):
        registry.register(registry.kind("final"))
    with pytest.raises(ValueError, match="neither a maker nor a solid"):
        registry.register(registry.SheetKind("empty", "Empty", "Nothing.", None))
    with pytest.raises(UnknownEntry, match="laser"):
        registry.sheet("odd", title="Odd", about="Odd.", cautions=("lazer",))(lambda *_: Sheet("odd", "", (), ()))
    assert "odd" not in names()


def test_every_module_with_a_sheet_is_imported() -> None:
    """The recipe's second step, forgotten, fails here."""
    listed = {module.__name__ for module in sheets.MAKERS}
    for path in (ROOT / "sketcher" / "export").glob("*.py"):
        if path.name == "sheets.py":
            continue
        if re.search(r"^(@sheet\(|register\()", path.read_text(encoding="utf-8"), re.M):
            assert f"sketcher.export.{path.stem}" in listed, path.name


def test_every_sheet_is_made_under_its_own_name_and_carries_its_cautions() -> None:
    document = plate()
    shapes = build(document)
    for kind in kinds():
        assert kind.about.endswith(".")
        if kind.name in ("tubes", "gasket"):
            continue  # this plate has none
        assert kind.make is None or kind.make(document, shapes, "").name == kind.name
    carried = {kind.name: set(kind.cautions) for kind in kinds()}
    # Common practice, no source: what each piece of work can do to people.
    assert {"laser", "chlorine", "eyes"} <= carried["test-piece"]
    assert {"pressure", "leak", "glycol", "mains"} <= carried["final"]
    assert {"swarf", "eyes"} <= carried["floor-cut"]


def test_the_docs_have_the_registry() -> None:
    text = (ROOT / "docs" / "files.md").read_text(encoding="utf-8")
    assert renewed(text) == text
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for name in names():
        assert f"`{name}`" in readme, name


def test_a_pdf_names_its_cautions_at_the_foot() -> None:
    document = plate()
    words = PdfReader(io.BytesIO(export_sheet(document, build(document), "floor-cut", "pdf"))).pages[0].extract_text()
    assert "Metal near electronics." in words
