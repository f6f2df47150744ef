"""What the answers of the HTTP interface hold, by endpoint: the part of its description that no route can say itself.

Every key named here is always there; more may stand beside them. ``openapi`` builds the description from this.
"""

from __future__ import annotations

from typing import Any

TEXT, NUMBER, WHOLE, YES = {"type": "string"}, {"type": "number"}, {"type": "integer"}, {"type": "boolean"}
ANY, LIST, OBJECT = {"type": ["object", "null"]}, {"type": "array"}, {"type": "object"}
DOCUMENT = {"$ref": "#/components/schemas/Document"}
#: A stored document of an older or newer program may be none to this one; it is handed out as it is.
STORED = {"type": "object"}
NUMBER_OR_NONE = {"type": ["number", "null"]}


def keys(**described: Any) -> dict[str, Any]:
    """An object that has all of these keys."""
    return {"type": "object", "required": list(described), "properties": described}


def rows(**described: Any) -> dict[str, Any]:
    """A list of such objects."""
    return {"type": "array", "items": keys(**described)}


_TEXTS = {"type": "array", "items": TEXT}
_COUNTS = keys(error=WHOLE, warning=WHOLE, note=WHOLE)
_STATE = {"state": WHOLE, "can_undo": TEXT, "can_redo": TEXT}
_PLATE = keys(id=WHOLE, document=STORED, **_STATE)
_PUT_AWAY = keys(id=WHOLE, deleted=YES)
_FINDINGS = rows(
    rule=TEXT,
    level={"enum": ["error", "warning", "note"]},
    items=_TEXTS,
    value=NUMBER_OR_NONE,
    limit=NUMBER_OR_NONE,
    unit=TEXT,
    at={"type": ["array", "null"]},
    message=TEXT,
)
_LOOK = {
    "type": "object",
    "required": ["missing"],
    "properties": {
        "drawing": {"oneOf": [keys(svg=TEXT, box=LIST), {"type": "null"}]},
        "findings": {"oneOf": [_FINDINGS, {"type": "null"}]},
        "counts": {"oneOf": [_COUNTS, {"type": "null"}]},
        **dict.fromkeys(("flow", "answers", "seal", "lid", "survey", "snaps"), ANY),
        "missing": {"type": "object", "additionalProperties": TEXT},
    },
}
_COMPARED = keys(table=rows(id=TEXT, kind=TEXT, what=TEXT, words=TEXT), svg=TEXT)
_REVISION = {"number": WHOLE, "kind": TEXT, "label": TEXT, "reason": TEXT, "made": TEXT, "files": OBJECT}
_SHOP = {"$ref": "#/components/schemas/Shop"}

#: The schema of the JSON answer.
ANSWERS: dict[str, dict[str, Any]] = {
    "plots.answers": keys(
        orders=LIST,
        half_speed=ANY,
        curves=ANY,
        widening=LIST,
        shares=LIST,
        plots=rows(title=TEXT, words=TEXT, svg=TEXT, file=TEXT),
    ),
    "compare.compare": _COMPARED,
    "compare.compare_revisions": _COMPARED,
    "fit.judge": keys(
        shift_mm=LIST,
        turn_deg=NUMBER_OR_NONE,
        residuals=rows(port=TEXT, dx_mm=NUMBER, dy_mm=NUMBER, suspect=YES),
        moves=rows(port=TEXT, dx_mm=NUMBER, dy_mm=NUMBER),
        messages=_TEXTS,
        fit_readings=LIST,
    ),
    "fit.apply": keys(document=DOCUMENT, brings=_FINDINGS, mends=_FINDINGS, counts=_COUNTS),
    "floor.look_into": keys(outline=OBJECT, inner=LIST, outer=LIST, unit=TEXT, messages=_TEXTS),
    "floor.use": keys(document=DOCUMENT, unit=TEXT, messages=_TEXTS),
    "floor.put_photo": keys(file=TEXT, width_px=WHOLE, height_px=WHOLE),
    "floor.place": keys(matrix=LIST, trust_mm=NUMBER_OR_NONE),
    "look.look_at": _LOOK,
    "look.look_at_saved": _LOOK,
    "openapi.description": keys(openapi=TEXT, info=OBJECT, paths=OBJECT, components=OBJECT),
    "reference.ping": keys(here=YES),
    "reference.document_schema": {"type": "object", "required": ["$schema", "$defs"]},
    "reference.reference": keys(
        threads=rows(name=TEXT, source=TEXT),
        screws=rows(name=TEXT, source=TEXT),
        boards=rows(name=TEXT, width_mm=NUMBER, depth_mm=NUMBER),
        fans=rows(size_mm=NUMBER, hole_spacing_mm=NUMBER, source=TEXT),
        materials=_TEXTS,
        rules=rows(name=TEXT, title=TEXT, limit=NUMBER_OR_NONE, unit=TEXT, reason=TEXT, source=TEXT),
        cautions=rows(name=TEXT, title=TEXT, text=TEXT),
        sheets=rows(name=TEXT, title=TEXT, about=TEXT, formats=_TEXTS, copies=YES),
    ),
    "plates.listed": keys(
        plates=rows(id=WHOLE, name=TEXT, state=WHOLE, changed=TEXT, deleted=YES, fault=TEXT), examples=_TEXTS
    ),
    "plates.add": _PLATE,
    "plates.get": _PLATE,
    "plates.save": keys(id=WHOLE, **_STATE),
    "plates.undo": _PLATE,
    "plates.redo": _PLATE,
    "plates.put_away": _PUT_AWAY,
    "plates.take_back": _PUT_AWAY,
    "export.sheet": keys(
        sheet=TEXT,
        width_mm=NUMBER,
        depth_mm=NUMBER,
        cut_length_mm=NUMBER,
        layers=rows(name=TEXT, about=TEXT, depth_mm=NUMBER_OR_NONE),
        notes=_TEXTS,
    ),
    "export.returned": keys(sheet=TEXT, unit=TEXT, shift_mm=LIST, counts=OBJECT, rows=LIST, messages=_TEXTS),
    "revisions.listed": keys(revisions=rows(**_REVISION)),
    "revisions.keep": keys(**_REVISION),
    "revisions.get": keys(document=STORED, **_REVISION),
    "screws.propose": keys(holes=rows(kind=TEXT, screw=TEXT, x_mm=NUMBER, y_mm=NUMBER)),
    "section.section": keys(
        svg=TEXT, pieces=rows(id=TEXT, part=TEXT, start=NUMBER, end=NUMBER, low=NUMBER, high=NUMBER)
    ),
    "profiles.listed": keys(shops={"type": "array", "items": _SHOP}),
    "profiles.keep": _SHOP,
    "survey.adjust": keys(
        points=rows(id=TEXT, x_mm=NUMBER_OR_NONE, y_mm=NUMBER_OR_NONE, sigma_x_mm=NUMBER_OR_NONE),
        readings=rows(id=TEXT, measured_mm=NUMBER, adjusted_mm=NUMBER_OR_NONE, residual_mm=NUMBER_OR_NONE, suspect=YES),
        redundancy=WHOLE,
    ),
    "survey.apply": keys(document=DOCUMENT),
}
#: Answers that are a file, by their media types.
MEDIA: dict[str, tuple[str, ...]] = {
    "plates.download": ("application/json",),
    "export.export": ("image/vnd.dxf", "image/svg+xml", "application/pdf"),
    "export.handoff": ("application/zip",),
    "floor.get_file": ("image/png", "image/jpeg"),
}
#: Routes that make something new.
CREATED = {"plates.add", "revisions.keep"}
