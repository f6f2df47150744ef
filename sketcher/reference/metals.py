"""Metals of the loop by nobility, and how floors expand."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from sketcher.reference import tables


@dataclass(frozen=True)
class Metal:
    """A wetted metal; ``anodic_index_v`` is its potential against gold: the larger, the less noble."""

    name: str
    anodic_index_v: float
    source: str


@dataclass(frozen=True)
class FloorExpansion:
    """Linear expansion of a case floor's material, per kelvin."""

    name: str
    expansion_per_k: float
    source: str


@cache
def _metals() -> dict[str, Metal]:
    return {
        row["name"]: Metal(row["name"], tables.number(row["anodic_index_v"]), row["source"])
        for row in tables.rows("metals", "metal")
    }


@cache
def _floors() -> dict[str, FloorExpansion]:
    return {
        row["name"]: FloorExpansion(row["name"], tables.number(row["expansion_per_k"]), row["source"])
        for row in tables.rows("metals", "floor")
    }


def metal(name: str) -> Metal:
    """The metal called ``name``, for example ``"copper"``.

    Raises:
        UnknownEntry: no such metal.
    """
    return _metals()[tables.pick("metal", name, _metals())]


def floor_expansion(name: str) -> FloorExpansion:
    """How a floor of ``name`` expands; an unknown floor is taken as aluminium, the usual case floor."""
    return _floors().get(name, _floors()["aluminium"])
