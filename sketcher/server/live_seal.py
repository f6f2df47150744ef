"""Seal and lid in the live answer, as models.

Every key without a default is always there; more may stand beside them.
"""

from __future__ import annotations

from typing import Any

from sketcher.server.live_survey import Part


class Extremes(Part):
    """A value over the tolerances."""

    least: float
    nominal: float
    most: float


class GlandAnswer(Part):
    """The cord's groove."""

    cord_mm: float
    depth_mm: float
    width_mm: float
    squeeze: Extremes
    fill: Extremes


class GrooveLoop(Part):
    """One closed run of the groove; its vertices are x, y and bulge."""

    items: list[str]
    island: bool
    length_mm: float
    vertices: list[list[float]]


class SealMissing(Part):
    """Why there is no seal somewhere."""

    why: str
    kind: str
    items: list[str]
    at: list[float] | None
    value_mm: float | None
    limit_mm: float | None


class ScrewByRule(Part):
    """A lid screw that is worked out, as a hole of the document; to pin it, add it to the document's holes."""

    id: str
    x_mm: float
    y_mm: float
    kind: str
    screw: str
    use: str
    face: str
    depth_mm: float


class ScrewsByRule(Part):
    """Lid screws by rule: the closest spacing used, their thread, and what does not hold even so, in words."""

    holes: list[ScrewByRule]
    pitch_mm: float
    screw: str
    grooves: str
    chose: str
    problems: list[str]


class SealNeeds(Part):
    """The room around the coolant that must stay free, as rings of x and y, mm: for the groove with its walls, and for
    the heads of the screws beyond it."""

    groove: list[list[list[float]]]
    screws: list[list[list[float]]]


class SealAnswer(Part):
    """Groove and cord, and what is missing."""

    kind: str
    problem: str
    gland: GlandAnswer | None
    cord_length_mm: float | None
    loops: list[GrooveLoop]
    missing: list[SealMissing]
    by_rule: ScrewsByRule | None = None
    needs: SealNeeds | None = None


class LidLoad(Part):
    """A pressure, and what the material may bear under it."""

    name: str
    pressure_kpa: float
    design_stress_mpa: float


class BentPart(Part):
    """A span that bends."""

    what: str
    load: str
    items: list[str]
    at: list[float]
    short_span_mm: float
    thickness_mm: float
    stress_mpa: float
    design_stress_mpa: float
    deflection_mm: float
    source: str


class ScrewTorque(Part):
    """One screw's pull and torque."""

    id: str
    pull_n: float
    tie_n: float
    least_n_m: float
    most_n_m: float
    limited_by: str


class TorqueAnswer(Part):
    """Torque of the lid's screws: minimum to keep the joint shut, maximum for the plastic."""

    screw: str
    least_n_m: float
    most_n_m: float
    empty: bool
    again_after_h: float
    text: str
    screws: list[ScrewTorque]


class PressureTestAnswer(Part):
    """The test pressure with its reason."""

    pressure_kpa: float
    pressure_bar: float
    dead_head_kpa: float
    needed_kpa: float
    enough: bool
    text: str


class LidAnswer(Part):
    """Bending and stress of lid and body, and what the screws hold."""

    material: str
    material_known: bool
    tie_n_mm: float
    loads: list[LidLoad]
    bent: list[BentPart]
    clamped: list[dict[str, Any]]
    torque: TorqueAnswer | None
    pressure_test: PressureTestAnswer
