"""The plate at true size for paper: everything that is drawn, with nothing allowed for."""

from __future__ import annotations

from dataclasses import replace

from sketcher.document import Document
from sketcher.export.registry import sheet
from sketcher.export.sheet import Sheet
from sketcher.export.test_piece import trial_sheet
from sketcher.geometry import Shapes

#: On paper nothing is cut by the program: all of it is drawn.
_DRAWN = {"inner": "Holes and cutouts", "outer": "The outline", "mark": "Marks", "note": "Dimension lines"}


@sheet(
    "paper",
    title="Paper template",
    about="The plate at true size for paper, with nothing allowed for: to lay on and to prick through.",
    paper="A4",
)
def paper_sheet(document: Document, shapes: Shapes, label: str) -> Sheet:
    """The test piece's drawing without kerf and tabs: a paper template is laid on, pricked through and cut by hand."""
    exact = document.test_piece.model_copy(update={"kerf_mm": 0.0, "tabs": 0, "thickness_mm": 0.1})
    sheet = trial_sheet(document.model_copy(update={"test_piece": exact}), shapes, label)
    layers = tuple(replace(layer, about=_DRAWN[layer.role], shown=True) for layer in sheet.layers)
    return Sheet("paper", sheet.title, layers, sheet.entities, sheet.notes)
