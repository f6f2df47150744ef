"""The tables that the page offers, as models."""

from __future__ import annotations

from sketcher.server.answers import Answer


class TableRow(Answer):
    """A row of a published table, with its source."""

    name: str
    source: str


class BoardRow(Answer):
    """A published board pattern."""

    name: str
    width_mm: float
    depth_mm: float
    slots: int | None
    note: str


class FanRow(Answer):
    """A fan's frame and the spacing of its holes."""

    size_mm: float
    hole_spacing_mm: float
    source: str


class RuleRow(Answer):
    """A rule, with its usual limit."""

    name: str
    question: str
    title: str
    limit: float | None
    unit: str
    reason: str
    source: str


class CautionRow(Answer):
    """A caution, and the sheets that carry it."""

    name: str
    title: str
    text: str
    sheets: list[str]


class SheetRow(Answer):
    """A sheet that can be exported."""

    name: str
    title: str
    about: str
    formats: list[str]
    cautions: list[str]
    copies: bool


class ReferenceAnswer(Answer):
    """All tables that the page offers."""

    threads: list[TableRow]
    screws: list[TableRow]
    boards: list[BoardRow]
    fans: list[FanRow]
    materials: list[str]
    rules: list[RuleRow]
    cautions: list[CautionRow]
    sheets: list[SheetRow]
