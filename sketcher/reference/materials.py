"""Properties of the plate's materials, each a range with its source."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from . import tables


@dataclass(frozen=True)
class Property:
    """A property's range; its name ends in its unit, such as ``_gpa``, ``_per_k``, ``_g_cm3`` or ``_percent``."""

    name: str
    low: float
    high: float
    source: str

    @property
    def middle(self) -> float:
        """The middle of the range."""
        return (self.low + self.high) / 2


@dataclass(frozen=True)
class Caution:
    """A sentence of care, with its source."""

    text: str
    source: str


@dataclass(frozen=True)
class Material:
    """A material: its properties by name, and cautions."""

    name: str
    properties: dict[str, Property]
    cautions: tuple[Caution, ...]

    def __getitem__(self, name: str) -> Property:
        return self.properties[tables.pick(f"property of {self.name}", name, self.properties)]


@cache
def _all() -> dict[str, Material]:
    return {
        row["name"]: Material(
            name=row["name"],
            properties={
                entry["name"]: Property(
                    entry["name"],
                    tables.number(entry["range"][0]),
                    tables.number(entry["range"][1]),
                    entry["source"],
                )
                for entry in row["property"]
            },
            cautions=tuple(Caution(entry["text"], entry["source"]) for entry in row.get("caution", ())),
        )
        for row in tables.rows("materials", "material")
    }


def names() -> tuple[str, ...]:
    """Names of the materials."""
    return tuple(_all())


def material(name: str) -> Material:
    """The material called ``name``, for example ``"cast acrylic"``; ``material(...)["modulus_gpa"].low``.

    Raises:
        UnknownEntry: no such material.
    """
    return _all()[tables.pick("material", name, _all())]
