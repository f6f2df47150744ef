"""Measuring tools and the spread of one reading made with them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from . import tables


@dataclass(frozen=True)
class Tool:
    """A measuring tool; ``sigma_mm`` is one standard deviation of a single reading."""

    name: str
    sigma_mm: float
    source: str


@cache
def _all() -> dict[str, Tool]:
    return {
        row["name"]: Tool(row["name"], tables.number(row["sigma_mm"]), row["source"])
        for row in tables.rows("tools", "tool")
    }


def names() -> tuple[str, ...]:
    """Names of the tools, the finest first."""
    return tuple(_all())


def tool(name: str) -> Tool:
    """The tool called ``name``, for example ``"caliper"``. Raises UnknownEntry."""
    return _all()[tables.pick("tool", name, _all())]
