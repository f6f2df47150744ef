"""The way in: a document and its shapes to a flow result."""

from __future__ import annotations

from sketcher.document import Document
from sketcher.flow.operating import operate
from sketcher.flow.plumbing import plumbing
from sketcher.flow.result import FlowResult
from sketcher.geometry import Shapes


def solve_loop(document: Document, shapes: Shapes, start: FlowResult | None = None) -> FlowResult:
    """Flows, losses and temperatures of a document's loop. Never raises for a valid document: what has no answer has
    a finding that says why.

    Args:
        document: the plate.
        shapes: its shapes.
        start: an earlier result of a like loop: the search starts there, which is quicker while something is dragged.
    """
    loop = plumbing(document, shapes)
    return FlowResult(loop, operate(loop, start.now if start is not None else None))
