"""Fit readings from a CSV file: ``port,dx_mm,dy_mm,note``; ``dx_in,dy_in`` for readings in inches.

One line for each port that was looked at. ``0,0`` says that the port is right; an empty field says that it was
not read. Other columns may stand beside these; ``spread_mm`` is understood. The separator may be a comma, a
semicolon or a tab; with a semicolon or a tab a decimal comma is understood too.
"""

from __future__ import annotations

import csv
import difflib
import io
import math
from collections.abc import Iterable
from pathlib import Path

from sketcher.document.base import FARTHEST_MM
from sketcher.document.bounded_reading import TooLarge, read_bounded
from sketcher.document.plate import FitReading

COLUMNS = ("port", "dx_mm", "dy_mm", "note")
LARGEST_BYTES = 1_000_000
USUAL_SPREAD_MM, INCH_MM = 0.5, 25.4


class ReadingsError(ValueError):
    """A file of fit readings cannot be used; the message names the line and the fix."""


def read_file(path: Path, ports: Iterable[str]) -> list[FitReading]:
    """The readings in a file.

    Raises:
        ReadingsError: the content; names the line and the fix.
        OSError: the file cannot be read.
    """
    try:
        text = read_bounded(path, LARGEST_BYTES).decode("utf-8-sig")
    except TooLarge:
        raise ReadingsError("the file is larger than 1 MB; a list of fit readings is not") from None
    except UnicodeDecodeError as error:
        raise ReadingsError(f"the file is no UTF-8 text (byte {error.start}); save it as UTF-8 CSV") from None
    return read_text(text, ports)


def read_text(text: str, ports: Iterable[str]) -> list[FitReading]:
    """The readings in a text. Raises ReadingsError."""
    known = list(ports)
    if "\0" in text:
        raise ReadingsError("the file holds bytes that are no text; save it as UTF-8 CSV")
    separator = _separator(text)
    rows = csv.reader(io.StringIO(text), delimiter=separator, skipinitialspace=True, strict=True)
    columns: dict[str, int] | None = None
    readings: list[FitReading] = []
    first_line: dict[str, int] = {}
    try:
        for cells in rows:
            line = rows.line_num
            if not any(cell.strip() for cell in cells):
                continue
            if columns is None:
                columns = _columns(cells, line)
                continue
            reading = _reading(cells, columns, line, known, decimal_comma=separator != ",")
            if reading.port in first_line:
                before = first_line[reading.port]
                raise ReadingsError(
                    f"line {line}: the port {reading.port!r} stands in line {before} already; keep one of the two"
                )
            first_line[reading.port] = line
            readings.append(reading)
    except csv.Error:
        raise ReadingsError(
            f"line {rows.line_num}: this line cannot be read; check the quotation marks, or take out what is no reading"
        ) from None
    if columns is None:
        raise ReadingsError(f"the file is empty; its first line names the columns: {','.join(COLUMNS)}")
    if not readings:
        raise ReadingsError("there is no reading below the first line; add a line for each port you looked at")
    return readings


def _separator(text: str) -> str:
    head = next((line for line in text.splitlines() if line.strip()), "")
    return max((",", ";", "\t"), key=head.count)


def _columns(cells: list[str], line: int) -> dict[str, int]:
    names = [cell.strip().lower() for cell in cells]
    for name in COLUMNS[:3]:
        if name not in names and name.replace("_mm", "_in") not in names:
            strangers = [other for other in names if other not in (*COLUMNS, "spread_mm")]
            near = difflib.get_close_matches(name, strangers, n=1, cutoff=0.5)
            hint = f"; rename the column {near[0]!r}" if near else ""
            raise ReadingsError(
                f"line {line}: the column {name!r} is missing; the first line is {','.join(COLUMNS)}{hint}"
            )
    for name in (*COLUMNS, "spread_mm"):
        if names.count(name) + (names.count(name.replace("_mm", "_in")) if name.endswith("_mm") else 0) > 1:
            raise ReadingsError(f"line {line}: the column {name!r} stands twice; remove one")
    return {name: k for k, name in enumerate(names) if name}


def _reading(
    cells: list[str], columns: dict[str, int], line: int, known: list[str], *, decimal_comma: bool
) -> FitReading:
    extra = [cell for cell in cells[max(columns.values()) + 1 :] if cell.strip()]
    if extra:
        raise ReadingsError(
            f"line {line}: {len(cells)} fields where the first line names {max(columns.values()) + 1}; "
            'put a note with commas in "quotation marks"'
        )

    def cell(name: str) -> str:
        index = columns.get(name)
        return cells[index].strip() if index is not None and index < len(cells) else ""

    port = _port(cell("port"), line, known)
    numbers = {}
    for name in ("dx_mm", "dy_mm"):
        inches = name.replace("_mm", "_in")
        used, unit = (inches, INCH_MM) if inches in columns else (name, 1.0)
        value = _number(cell(used), used, line, unit, decimal_comma=decimal_comma)
        numbers[name] = value if value is None else round(value * unit, 4)
    if numbers["dx_mm"] is None and numbers["dy_mm"] is None and not cell("note"):
        raise ReadingsError(f"line {line}: nothing is said of {port!r}; write 0,0 if it is right, or a note")
    spread = _number(cell("spread_mm"), "spread_mm", line, decimal_comma=decimal_comma)
    if spread is not None and spread <= 0:
        raise ReadingsError(f"line {line}: spread_mm must be more than 0, not {spread:g}")
    note = cell("note")
    if len(note) > 4000:
        raise ReadingsError(f"line {line}: the note is longer than 4000 signs; shorten it")
    return FitReading(port=port, **numbers, spread_mm=USUAL_SPREAD_MM if spread is None else spread, note=note)


def _port(name: str, line: int, known: list[str]) -> str:
    if not name:
        raise ReadingsError(f"line {line}: the port's name is missing")
    if name in known:
        return name
    alike = [port for port in known if port.casefold() == name.casefold()]
    if len(alike) == 1:
        return alike[0]
    near = difflib.get_close_matches(name, known, n=1)
    hint = f"did you mean {near[0]!r}?" if near else f"the ports are {', '.join(known) or 'none yet'}"
    raise ReadingsError(f"line {line}: no port is called {name!r}; {hint}")


def _number(text: str, name: str, line: int, unit_mm: float = 1.0, *, decimal_comma: bool) -> float | None:
    if not text:
        return None
    plain = text.replace("\u2212", "-")
    if decimal_comma and plain.count(",") == 1 and "." not in plain:
        plain = plain.replace(",", ".")
    try:
        value = float(plain)
    except ValueError:
        raise ReadingsError(f"line {line}: {name} is no number: {text[:40]!r}; write a number such as -1.5") from None
    if not math.isfinite(value) or "_" in plain:
        raise ReadingsError(f"line {line}: {name} is no number: {text[:40]!r}; write a number such as -1.5")
    if abs(value * unit_mm) > FARTHEST_MM:
        raise ReadingsError(f"line {line}: {name} is {value * unit_mm:g} mm; no port moves that far, check the unit")
    return value
