"""Reads the data files and holds the two rules they all keep: exact decimals, and a source on every row.

Numbers are read as :class:`decimal.Decimal`, so that inches become millimetres without a rounding step in between:
0.800 in is exactly 20.32 mm, and the float that leaves the loader is the one nearest to 20.32.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import Any

MM_PER_INCH = Decimal("25.4")
"""Exact by definition of the inch (international yard and pound agreement, 1959)."""


class UnknownEntry(LookupError):
    """A table has no row of that name; the message lists the names it has."""

    def __str__(self) -> str:
        return str(self.args[0])


class BadTable(ValueError):
    """A data file breaks one of the rules: a row without a source, a name that stands twice."""


def inches_to_mm(inches: Decimal) -> float:
    """Millimetres of a length in inches, rounded once, to the nearest float."""
    return float(inches * MM_PER_INCH)


@cache
def table(name: str) -> Mapping[str, Any]:
    """The parsed data file ``data/<name>.toml``. Every table in it that is a row must carry a source.

    Raises:
        BadTable: a row has values but no source.
    """
    text = resources.files(__package__).joinpath("data", f"{name}.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text, parse_float=Decimal)
    _demand_sources(data, name)
    return data


def rows(name: str, kind: str) -> list[dict[str, Any]]:
    """The rows of one kind in a data file, for example ``rows("threads", "thread")``."""
    found: list[dict[str, Any]] = table(name)[kind]
    return found


def number(value: Any) -> float:
    """A table's integer or decimal as a float."""
    return float(value)


def pick(what: str, name: str, known: Iterable[str]) -> str:
    """The table's own spelling of ``name``; blanks around it and upper or lower case do not matter.

    Raises:
        UnknownEntry: nothing of that name; the message lists what there is.
    """
    spellings = list(known)
    wanted = str(name).strip().casefold()
    for spelling in spellings:
        if spelling.casefold() == wanted:
            return spelling
    raise UnknownEntry(f"no {what} is called '{name}'; there are {', '.join(spellings)}")


def _demand_sources(node: Any, where: str) -> None:
    """Numbers may only stand where a source stands beside them (or, for a group such as tap drills, 'x_source')."""
    if isinstance(node, list):
        for index, entry in enumerate(node):
            _demand_sources(entry, f"{where}[{index}]")
    elif isinstance(node, dict):
        has_values = any(isinstance(value, int | Decimal) for value in node.values())
        has_source = any(key == "source" or key.endswith("_source") for key in node)
        if has_values and not has_source:
            raise BadTable(f"{where}: a row without a source")
        for key, value in node.items():
            if isinstance(value, dict | list):
                _demand_sources(value, f"{where}.{node.get('name', key)}")
