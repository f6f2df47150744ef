"""Generic devices with invented curves: a start for users, a stand-in where a document is silent."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from . import tables

Pairs = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class GenericDevice:
    """A device's curve (l/min, kPa) and, of a radiator, its conductance (l/min, W/K). All invented."""

    name: str
    kind: str
    points: Pairs
    conductance: Pairs
    source: str


def _pairs(rows: list[list[object]]) -> Pairs:
    return tuple((tables.number(flow), tables.number(value)) for flow, value in rows)


@cache
def _all() -> dict[str, GenericDevice]:
    return {
        row["name"]: GenericDevice(
            row["name"], row["kind"], _pairs(row["points"]), _pairs(row.get("conductance", [])), row["source"]
        )
        for row in tables.rows("devices", "device")
    }


def names() -> tuple[str, ...]:
    """Names of the generic devices."""
    return tuple(_all())


def device(name: str) -> GenericDevice:
    """The generic device called ``name``. Raises UnknownEntry."""
    return _all()[tables.pick("generic device", name, _all())]


def stand_in(kind: str) -> GenericDevice | None:
    """The first generic device of a kind, or None when there is none."""
    return next((entry for entry in _all().values() if entry.kind == kind), None)
