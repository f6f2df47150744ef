"""Readings from a table: pasted from a spreadsheet, opened as CSV, or typed a line at a time.

One line is one reading. With a line of titles the columns may stand in any order (``kind``, ``from``, ``to``, ``wall``,
``value``, ``unit``, ``tool``, ``note``, ``id``); without one they are point, point, value and, if there, unit and tool.
Columns are parted by tabs, semicolons, commas or spaces; a comma between digits is a decimal comma where tabs,
semicolons or spaces part the columns. Every fault names its line.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import get_args

from pydantic import ValidationError

from sketcher.document import worded
from sketcher.document.floor import Reading, ReadingKind, Survey, SurveyPoint
from sketcher.document.kinds import kind as kind_named

KINDS: tuple[str, ...] = get_args(ReadingKind)
UNITS = {"mm": "mm", "cm": "cm", "in": "in", '"': "in", "inch": "in", "inches": "in", "millimetres": "mm"}
#: What a column may be called.
TITLES = {
    "id": "id", "reading": "id", "kind": "kind", "what": "kind", "from": "from", "point": "from", "points": "from",
    "a": "from", "to": "to", "b": "to", "wall": "wall", "wall from": "wall", "wall to": "wall_to", "value": "value",
    "length": "value", "mm": "value", "value_mm": "value", "unit": "unit", "tool": "tool", "note": "note",
}  # fmt: skip
#: A pasted table of more lines than this is no survey.
MOST_LINES = 2000
LARGEST_BYTES = 4_000_000
#: More signs than this are no length: 11 13/16 inches.
LONGEST_LENGTH = 40
_LENGTH = re.compile(r"^([\d\s.,/]++)([A-Za-z\"]*+)$", re.ASCII)
_NUMBER = re.compile(r"^(?:(\d+)\s+)?(\d+)/(\d+)$")


class ReadingsError(ValueError):
    """The table cannot be read; ``faults`` are (line, what is wrong and what to do)."""

    def __init__(self, faults: Iterable[tuple[int, str]]) -> None:
        self.faults = tuple(faults)
        super().__init__("; ".join(f"line {line}: {words}" for line, words in self.faults[:5]))


@dataclass(frozen=True)
class ReadTable:
    """The readings of a table, and the points they name that the survey does not have yet."""

    readings: tuple[Reading, ...]
    new_points: tuple[str, ...]


def read_table(text: str, survey: Survey, tool: str | None = None, unit: str = "mm") -> ReadTable:
    """Readings from a table, with new ids where it gives none.

    Args:
        text: the table.
        survey: what they are to be added to.
        tool: id of the tool they were read with where the table does not say; None is the survey's most used.

        unit: of values that name none.

    Raises:
        ReadingsError: names every line that cannot be read, and what to do about it.
    """
    lines = [(k + 1, line) for k, line in enumerate(text.lstrip("\ufeff").splitlines()) if line.strip()]
    lines = [(k, line) for k, line in lines if not line.lstrip().startswith("#")]
    if not lines:
        raise ReadingsError([(1, "the table is empty; give one reading a line, such as A, B, 402.5")])
    if len(lines) > MOST_LINES:
        raise ReadingsError(
            [(lines[MOST_LINES][0], f"more than {MOST_LINES} lines; look whether it is the right file")]
        )
    separator = _separator([line for _, line in lines])
    rows, faults = [], []
    for k, line in lines:
        try:
            rows.append((k, _cells(line, separator)))
        except ValueError as error:
            faults.append((k, str(error)))
    if faults:
        raise ReadingsError(faults)
    titles = _titles(rows[0][1])
    tools = {t.id.lower(): t.id for t in survey.tools} | {t.name.lower(): t.id for t in survey.tools if t.name}
    taken = {reading.id for reading in survey.readings}
    usual = tool or _usual_tool(survey)
    readings: list[Reading] = []
    for number, cells in rows[1:] if titles else rows:
        try:
            fields = _named(cells, titles) if titles else _unnamed(cells)
            reading = _reading(fields, tools, usual, unit, taken)
        except ValueError as error:
            faults.append((number, str(error)))
            continue
        taken.add(reading.id)
        readings.append(reading)
    if faults:
        raise ReadingsError(faults)
    if not readings:
        raise ReadingsError([(rows[0][0], "there is a line of titles and no reading below it")])
    known = {point.id for point in survey.points}
    named = dict.fromkeys(name for r in readings for name in (*r.points, *(r.wall or ())))
    return ReadTable(tuple(readings), tuple(name for name in named if name not in known))


def add(survey: Survey, table: ReadTable) -> Survey:
    """The survey with the readings of a table, and their new points, at its end."""
    points = [*survey.points, *(SurveyPoint(id=name) for name in table.new_points)]
    return survey.model_copy(update={"points": points, "readings": [*survey.readings, *table.readings]})


def _separator(lines: list[str]) -> str:
    """What parts the columns: the first sign that stands in every line."""
    for sign in ("\t", ";"):
        if all(sign in line for line in lines):
            return sign
    if all("," in re.sub(r"(?<=\d),(?=\d)", "", line) for line in lines):
        return ","
    return " "


def _cells(line: str, separator: str) -> list[str]:
    if separator == " ":
        return re.split(r"\s+|(?<=[A-Za-z0-9])[-–—](?=[A-Za-z])", line.strip())
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=separator))]
    except csv.Error:
        raise ValueError("this line cannot be read; look at its quotation marks") from None


def _titles(cells: list[str]) -> list[str] | None:
    names = [TITLES.get(cell.strip().lower().replace("_mm", ""), "") for cell in cells]
    return names if "value" in names and "from" in names else None


def _named(cells: list[str], titles: list[str]) -> dict[str, str]:
    if len(cells) > len(titles):
        raise ValueError(f"{len(cells)} columns under {len(titles)} titles; is a decimal comma among commas?")
    fields: dict[str, str] = {}
    for title, cell in zip(titles, cells, strict=False):
        if title and cell:
            fields[title] = cell
    if "to" not in fields and " " in fields.get("from", ""):
        fields["from"], fields["to"] = fields["from"].split()[:2]
    return fields


def _unnamed(cells: list[str]) -> dict[str, str]:
    cells = [cell for cell in cells if cell]
    if cells and cells[0].lower() in KINDS and len(cells) > 2 and not _is_number(cells[1]):
        kind = cells[0].lower()
        names = ["kind", "from", *(("to",) if kind == "distance" else ())]
        names += ["wall", "wall_to"] if kind in ("offset", "along") else []
        names += ["value", "unit", "tool", "note"]
    else:
        names = ["from", "to", "value", "unit", "tool", "note"]
    if len(cells) < names.index("value") + 1:
        raise ValueError(
            f"{' '.join(cells)[:LONGEST_LENGTH]!r} is no reading; write two points and a length, such as A, B, 402.5"
        )
    fields = dict(zip(names, cells, strict=False))
    if "unit" in fields and fields["unit"].lower() not in UNITS and "tool" not in fields:
        fields["tool"] = fields.pop("unit")
    return fields


def _is_number(text: str) -> bool:
    try:
        _length(text)
    except ValueError:
        return False
    return True


def _length(text: str) -> tuple[float, str | None]:
    """A length and its unit, if it carries one: 402.5, 402,5 mm, 11 13/16 in."""
    match = _LENGTH.match(text.strip()) if len(text) <= LONGEST_LENGTH else None
    if not match:
        raise ValueError(f"{text[:LONGEST_LENGTH]!r} is no length; write a number such as 402.5")
    digits, unit = match[1].strip(), match[2]
    if unit and unit.lower() not in UNITS:
        raise ValueError(f"the unit {unit!r} is not known; use mm, cm or in")
    fraction = _NUMBER.match(digits.strip())
    if fraction:
        whole, over, under = fraction.groups()
        if int(under) == 0:
            raise ValueError(f"{text!r} divides by 0")
        value = int(whole or 0) + int(over) / int(under)
    else:
        plain = digits.strip()
        plain = plain.replace(",", ".") if plain.count(",") == 1 and "." not in plain else plain
        try:
            value = float(plain)
        except ValueError:
            raise ValueError(
                f"{text!r} is no length; write a number such as 402.5, without marks for thousands"
            ) from None
    if not 0.0 < value < 1e5:
        raise ValueError(f"a length of {text.strip()} cannot be read with a tool; it is above 0 and below 100 m")
    return value, UNITS[unit.lower()] if unit else None


def _reading(fields: dict[str, str], tools: dict[str, str], usual: str, usual_unit: str, taken: set[str]) -> Reading:
    if "value" not in fields:
        raise ValueError("the value is missing")
    value, unit = _length(fields["value"])
    if "unit" in fields:
        if fields["unit"].lower() not in UNITS:
            raise ValueError(f"the unit {fields['unit']!r} is not known; use mm, cm or in")
        unit = UNITS[fields["unit"].lower()]
    tool = fields.get("tool", usual)
    if tool.lower() not in tools:
        raise ValueError(f"the tool {tool!r} is not in the survey; it has {', '.join(sorted(set(tools.values())))}")
    wall = [fields["wall"], fields["wall_to"]] if {"wall", "wall_to"} <= fields.keys() else None
    if wall is None and "wall" in fields:
        ends = re.split(r"[\s–—-]+", fields["wall"].strip())
        if len(ends) != 2:
            raise ValueError(f"the wall {fields['wall']!r} needs its two points, such as A-B")
        wall = ends
    kind = fields.get("kind", "offset" if wall else "distance").lower()
    if kind not in KINDS:
        raise ValueError(f"the kind {kind!r} is not known; use {', '.join(KINDS)}")
    points = [fields[key] for key in ("from", "to") if key in fields]
    if kind == "distance" and len(points) != 2:
        raise ValueError("a distance needs two points")
    if kind == "distance" and points[0] == points[1]:
        raise ValueError(f"a distance from {points[0]} to itself; name two points")
    if kind != "distance" and len(points) != 1:
        raise ValueError(f"a reading of kind {kind} has one point")
    if (kind in ("offset", "along")) != (wall is not None):
        raise ValueError(f"{kind} needs the two points of its wall" if wall is None else f"{kind} has no wall")
    id_ = fields.get("id") or _new_id(taken)
    if id_ in taken:
        raise ValueError(f"the id {id_} is in use; leave the column out, or give another")
    try:
        return Reading.model_validate(
            {"id": id_, "kind": kind, "points": points, "wall": wall, "value": value, "unit": unit or usual_unit,
             "tool": tools[tool.lower()], "note": fields.get("note", "")}
        )  # fmt: skip
    except ValidationError as error:
        first = error.errors()[0]
        raise ValueError(f"{'.'.join(str(part) for part in first['loc'])}: {worded(first)}") from None


def _usual_tool(survey: Survey) -> str:
    used = [reading.tool for reading in survey.readings]
    if used:
        return max(sorted(set(used)), key=used.count)
    names = [tool.id for tool in survey.tools]
    return "rule" if "rule" in names or not names else names[0]


def _new_id(taken: set[str]) -> str:
    letter, number = kind_named("reading").letter, 1
    while f"{letter}{number}" in taken:
        number += 1
    return f"{letter}{number}"
