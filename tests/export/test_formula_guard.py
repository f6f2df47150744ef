"""No cell of a table is taken for a formula: OWASP's list of beginnings (CSV injection), the full-width forms of
the same signs (Unicode, Halfwidth and Fullwidth Forms), and both behind spaces and signs that are not seen."""

from __future__ import annotations

import csv
import io

import pytest

from sketcher.export.table_files import table_csv


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20"])
@pytest.mark.parametrize(
    "before", ["", " ", "  ", "\t", "\r", "\n", "\u00a0", "\u3000", "\u200b", "\ufeff", " \t\u2003"]
)
def test_a_cell_that_would_begin_a_formula_is_kept_from_it(before: str, sign: str) -> None:
    cell = f"{before}{sign}HYPERLINK(A1)"
    ((_,), (read,)) = csv.reader(io.StringIO(table_csv(("note",), [(cell,)]), newline=""))
    assert read == f"'{cell}"


@pytest.mark.parametrize("cell", ["", " ", "-1.5", "+3", "P1", "tube 16/10 mm", "a=b", "'", "4 mm - 6 mm"])
def test_other_cells_and_numbers_stay_as_they_are(cell: str) -> None:
    ((_, _), (read, _)) = csv.reader(io.StringIO(table_csv(("note", "x"), [(cell, "x")]), newline=""))
    assert read == cell
