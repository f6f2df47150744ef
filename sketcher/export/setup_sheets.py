"""The sheets of the set-ups: one file for each way the part is clamped, with only what is cut there.

A layer's name gives operation, size and depth. Milled areas of one depth are one contour with its islands.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from sketcher.document import Document
from sketcher.export.final import COLOURS, WORDS, edge_bores
from sketcher.export.layers import Layers
from sketcher.export.operations import short
from sketcher.export.registry import Maker, sheet
from sketcher.export.setups import DATUM, EdgeSetUp, SetUp, SetUpName, edge_set_ups, set_ups
from sketcher.export.sheet import Draft, Layer, Sheet
from sketcher.geometry import Shapes
from sketcher.geometry.levels import from_joint_mm
from sketcher.geometry.path import Point
from sketcher.strength.seal import design_seal

NOTES = Layer("NOTES", "mark", "Words and the datum for the reader: not cut", colour=8)
REFERENCE = Layer("REFERENCE", "mark", "What is cut in the other set-up, for orientation: not cut here", colour=8)
CENTRELINE = Layer("GROOVE_CENTRELINE", "mark", "Centreline of the seal groove; a cross at the cord's joint", colour=8)
TEXT_MM, APART_MM = 3.0, 30.0
_MILLING = ("eyes", "limits")


def _set_up_sheet(name: Literal["body-above", "body-below", "lid"], title: str, about: str, **more: Any) -> Maker:
    """The registered sheet of a set-up."""

    @sheet(name, title=title, about=about, cautions=_MILLING, **more)
    def make(document: Document, shapes: Shapes, label: str) -> Sheet:
        return _sheet(document, shapes, label, name)

    return make


#: What makes the sheets of the set-ups that every plate has.
SET_UPS: tuple[Maker, ...] = (
    _set_up_sheet(
        "body-above", "Body from above", "The set-up of the body from above: only what is cut there, from the datum."
    ),
    _set_up_sheet(
        "body-below",
        "Body from below",
        "The set-up of the body from below, mirrored as it lies on the machine: x changes its sign about the datum.",
    ),
    _set_up_sheet("lid", "Lid", "The set-up of the lid from outside, mirrored when that is from below.", solid="lid"),
)


@sheet(
    "edges",
    title="Edges",
    about="Each edge of the body that has ports, seen square to it; the package has one file for each.",
    cautions=_MILLING,
)
def edges(document: Document, shapes: Shapes, label: str) -> Sheet:
    """Every edge with ports, one above the other."""
    draft, layers, notes = Draft(), Layers(), list[str]()
    found = edge_set_ups(document, shapes)
    for n, edge in enumerate(found):
        notes += _edge(draft, layers, shapes, edge, n * (edge.body.thickness + APART_MM))
    if not found:
        draft.text(NOTES.name, (0.0, 0.0), "NO PORT IS IN AN EDGE", TEXT_MM)
        notes.append("No port is in an edge: nothing is cut here.")
    return draft.sheet("edges", _title(document, "Edges", label), layers.ranked(NOTES), notes)


def edge_sheets(document: Document, shapes: Shapes, label: str) -> Iterator[tuple[str, Sheet]]:
    """One sheet for each edge with ports, and its name: ``edge-front`` and so on."""
    for edge in edge_set_ups(document, shapes):
        draft, layers = Draft(), Layers()
        notes = _edge(draft, layers, shapes, edge, 0.0)
        title = _title(document, edge.name.replace("-", " "), label)
        yield edge.name, draft.sheet("edges", title, layers.ranked(NOTES), notes)


def lid_inner(document: Document, shapes: Shapes, label: str) -> Sheet | None:
    """What is cut into the lid from inside; none where nothing is."""
    if "lid-inner" not in set_ups(document, shapes, design_seal(document, shapes)):
        return None
    return _sheet(document, shapes, label, "lid-inner")


def _title(document: Document, words: str, label: str) -> str:
    return ", ".join(word for word in (document.name or "Plate", words, label) if word)


def _sheet(document: Document, shapes: Shapes, label: str, name: SetUpName) -> Sheet:
    seal = design_seal(document, shapes)
    setup = set_ups(document, shapes, seal)[name]
    draft, layers, frame = Draft(), Layers(), setup.frame
    for pocket in setup.pockets:
        about = f"Pockets {short(pocket.depth)} mm deep: each outer contour with its islands"
        layer = layers.name("pocket", about, "POCKET", "DEPTH", short(pocket.depth), depth=pocket.depth, colour=4)
        for contour in pocket.region.contours():
            draft.contour(layer, frame.contour(contour), "+".join(pocket.items))
    for op in setup.operations:
        about = f"{WORDS[op.kind]}{' ' + op.size.replace('_', ' ') if op.size else ''}"
        colour = COLOURS[op.kind]
        if op.side == "through":
            about += f", through {short(setup.part.thickness)} mm"
            layer = layers.name("inner", about, op.kind, op.size, "THROUGH", short(op.depth), colour=colour)
        else:
            words = (op.kind, op.size, "DEPTH", short(op.depth))
            layer = layers.name("pocket", f"{about}, {short(op.depth)} mm deep", *words, depth=op.depth, colour=colour)
        for contour in op.contours():
            draft.contour(layer, frame.contour(contour), op.item)
    thick = short(setup.part.thickness)
    if setup.cuts_through:
        layer = layers.name("outer", f"Outline, through {thick} mm: cut last", "OUTLINE", "THROUGH", thick, colour=1)
    else:
        layer = REFERENCE.name
    draft.contour(layer, frame.contour(shapes.plate), "plate")
    if name.startswith("body") and seal.kind == "cord" and seal.low_mm is not None and _has_groove(setup):
        for loop in seal.loops:
            draft.path(CENTRELINE.name, frame.path(loop.path), "+".join(loop.items))
            draft.cross(CENTRELINE.name, frame.point(loop.joint.at), 2.0, "+".join(loop.items))
    _words(draft, shapes, setup, label)
    marks = (NOTES, REFERENCE, CENTRELINE)
    return draft.sheet(name, _title(document, setup.title, label), layers.ranked(*marks), _notes(document, setup))


def _has_groove(setup: SetUp) -> bool:
    return any(op.kind == "groove" for op in setup.operations)


def _words(draft: Draft, shapes: Shapes, setup: SetUp, label: str) -> None:
    """The datum, what is seen, the turning axis, and ids beside what is cut here."""
    notes = NOTES.name
    draft.cross(notes, (0.0, 0.0), 6.0, "datum")
    draft.text(notes, (2.0, -6.0), f"{DATUM} 0,0", TEXT_MM, "datum")
    xs, ys = zip(*(setup.frame.point(point) for point in shapes.plate.path.points(0.01)), strict=True)
    lines = [f"{setup.title} {short(setup.part.thickness)} mm", label]
    if setup.frame.mirrored:
        lines.insert(1, "Turned over about the Y axis through the datum: mirrored, X runs to the left from the datum")
        draft.line(notes, (0.0, min(ys) - 12), (0.0, max(ys) + 12), item="datum")
        draft.text(notes, (2.0, max(ys) + 9), "Y: TURNING AXIS", TEXT_MM, "datum")
    for n, line in enumerate(line for line in lines if line):
        draft.text(notes, (min(xs), min(ys) - 18 - n * (TEXT_MM + 2)), line, TEXT_MM)
    for item, at, radius in _labelled(shapes, setup):
        place = setup.frame.point(at)
        draft.text(notes, (place[0] + radius + 1.5, place[1] + 1.5), item, TEXT_MM, item)


def _labelled(shapes: Shapes, setup: SetUp) -> Iterator[tuple[str, Point, float]]:
    """Ids of what is cut here and is round, the largest circle's place and radius; lid screws go without."""
    widest: dict[str, tuple[Point, float]] = {}
    for op in setup.operations:
        if op.contour.round is not None and op.kind != "groove":
            hole = shapes.holes.get(op.item)
            if hole is not None and hole.item.use == "lid":
                continue
            if op.item not in widest or widest[op.item][1] < op.contour.round[1]:
                widest[op.item] = op.contour.round
    for item, (at, radius) in widest.items():
        yield item, at, radius


def _notes(document: Document, setup: SetUp) -> list[str]:
    found = [
        f"{setup.title}: {document.plate.material}, {short(setup.part.thickness)} mm. Units are millimetres.",
        "The datum, the cross-hair, is (0, 0): the front left corner of the plate's bounding box as the plate lies.",
    ]
    if setup.frame.mirrored:
        found.append(
            "Mirrored: the part is turned over about the Y axis through the datum, so X has changed its sign. Do not"
            " mirror this file."
        )
    else:
        found.append("Not mirrored: X runs to the right from the datum, Y to the rear.")
    if not setup.cuts_through:
        found.append("Outline and through cuts are made in the other set-up; here they are on REFERENCE.")
    if not setup.operations and not setup.pockets:
        found.append("Nothing is milled or drilled from this side.")
    found.append("Depths count from this side's face to a flat bottom; a drill's point must not go deeper.")
    found += _from_joint(document, setup)
    return found


def _from_joint(document: Document, setup: SetUp) -> list[str]:
    """Cuts from an outer face end at a distance from the joint face, which holds for a sheet of any thickness."""
    part = setup.part.name.lower()
    ends: dict[str, list[str]] = {}
    for op in setup.operations:
        # What is cut from the joint face itself ends where it says.
        if op.side != "through" and from_joint_mm(document, part, op.side, 0.0) > 0:
            ends.setdefault(short(from_joint_mm(document, part, op.side, op.depth)), []).append(op.item)
    if not ends:
        return []
    told = "; ".join(f"{left} mm: {', '.join(dict.fromkeys(items))}" for left, items in ends.items())
    return [
        f"Depths are drawn for a {part} of {short(setup.part.thickness)} mm. The joint face stays: on a sheet of"
        f" another thickness the cuts end these distances from it - {told}."
    ]


def _edge(draft: Draft, layers: Layers, shapes: Shapes, edge: EdgeSetUp, lift: float) -> list[str]:
    """One edge's view, its lower corner at the datum lifted by ``lift`` mm; returns its notes."""
    view, (low, high), thick = NOTES.name, edge.span(shapes), edge.body.thickness
    outline = ((low, lift), (high, lift), (high, lift + thick), (low, lift + thick), (low, lift))
    draft.line(view, *outline, item=edge.name)
    draft.cross(view, (0.0, lift), 6.0, "datum")
    draft.text(view, (2.0, lift - 6.0), f"{DATUM} 0,0", TEXT_MM, "datum")
    title = edge.name.replace("-", " ")
    draft.text(view, (low, lift - 12.0), f"BODY, {title}, SEEN SQUARE TO THE EDGE", TEXT_MM)
    for port in edge.ports:
        u, v = edge.place(port)
        for kind, size, depth, diameter in edge_bores(port):
            about = f"{WORDS[kind]} {size} in an edge, {short(depth)} mm deep"
            layer = layers.name("pocket", about, kind, size, "DEPTH", short(depth), depth=depth, colour=COLOURS[kind])
            draft.round(layer, (u, v + lift), diameter, port.item.id)
        draft.text(view, (u + port.thread_diameter / 2 + 1.5, lift + v + 1.5), port.item.id, TEXT_MM, port.item.id)
    return [
        f"{title.capitalize()}: u to the right from the datum, v up from the body's lower face, square to the edge;"
        f" the body is {short(thick)} mm thick. Depths count from the edge."
    ]
