"""Materials of O-ring cords, with how they stand each coolant, and of cut gaskets, with their seating force."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from . import tables

COOLANTS = ("water", "ethylene-glycol", "propylene-glycol")


@dataclass(frozen=True)
class CordMaterial:
    """A cord's rubber: its rating for each coolant (``good``, ``fair``, ``poor``), its limit, a note."""

    name: str
    ratings: dict[str, str]
    service_temperature_max_c: float
    note: str
    source: str


@dataclass(frozen=True)
class GasketMaterial:
    """A gasket sheet: factor m on the pressure, and seating stress y in MPa."""

    name: str
    gasket_factor: float
    seating_stress_mpa: float
    source: str

    def line_load_n_mm(self, width_mm: float, pressure_mpa: float) -> float:
        """Force that keeps a band of this width tight, N per mm: the greater of seating, w y, and working, w m p.

        ASME VIII-1, appendix 2, 2-5 (there for a ring of bolted flanges, W_m1 and W_m2).
        """
        return width_mm * max(self.seating_stress_mpa, self.gasket_factor * pressure_mpa)


@cache
def _cords() -> dict[str, CordMaterial]:
    return {row["name"]: _cord(row) for row in tables.rows("seals", "cord")}


def _cord(row: dict[str, Any]) -> CordMaterial:
    return CordMaterial(
        row["name"],
        {coolant: row[coolant] for coolant in COOLANTS},
        tables.number(row["service_temperature_max_c"]),
        row["note"],
        row["source"],
    )


@cache
def _gaskets() -> dict[str, GasketMaterial]:
    return {
        row["name"]: GasketMaterial(
            row["name"],
            tables.number(row["gasket_factor"]),
            tables.number(row["seating_stress_mpa"]),
            row["source"],
        )
        for row in tables.rows("seals", "gasket")
    }


def cord_material(name: str) -> CordMaterial:
    """The cord material called ``name``, for example ``"EPDM"``. Raises UnknownEntry."""
    return _cords()[tables.pick("cord material", name, _cords())]


def gasket_material(name: str) -> GasketMaterial:
    """The gasket sheet called ``name``. Raises UnknownEntry."""
    return _gaskets()[tables.pick("gasket sheet", name, _gaskets())]
