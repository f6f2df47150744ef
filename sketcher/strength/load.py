"""A pressure, and what it is held against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Load:
    """One pressure and what it is held against."""

    name: Literal["dead-head", "test"]
    pressure_kpa: float
    design_stress_mpa: float
    modulus_mpa: float
