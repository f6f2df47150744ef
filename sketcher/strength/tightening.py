"""Torque of the lid's screws: the minimum that keeps the joint shut, the maximum that thread and head bear.

T = K F d, K the nut factor, F the preload, d the screw's diameter (general handbooks). K is not known: from a dry joint
to an oiled one it varies, so the minimum is worked out with the highest K and the maximum with the lowest.

- minimum: the preload left after relaxation equals the greatest pull on the screw, prying included, and beyond it what
  gives the friction that ties a channel's pushed walls, where the floor does not bear them alone (``floor_bending``);
- maximum: the thread's shear at the high end of the design stress (or the insert maker's pull), and the pressure
  under a washer (ISO 7089) on a medium clearance hole (ISO 273).

Nothing published gives torques for screws in acrylic: the window is a calculation, said to be one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

from sketcher.document import Document
from sketcher.reference import materials
from sketcher.reference import screws as screw_table
from sketcher.strength import thread_strength
from sketcher.strength.floor_bending import FRICTION
from sketcher.strength.lid import KNOWN_MATERIAL, LidReport
from sketcher.strength.taps import screw_thread_mm

#: Nut factor of a steel screw in plastic: no table has it. Steel on steel: 0.12 waxed, 0.3 dry and zinc plated (tables
#: of general handbooks); the range for plastic is from memory.
NUT_LOW, NUT_HIGH = 0.12, 0.30
#: What of the preload creep takes after the screws were tightened again a day later. From memory: most of the loss
#: comes in the first 24 hours.
RELAXED_SHARE = 0.3
#: What plastic takes for the hours until the preload has relaxed, in design stresses (high end): 20 MPa of pressure
#: under a washer on acrylic, from memory (20 to 25 MPa); its thread likewise.
SHORT_SHARE = 2.0
AGAIN_HOURS = 24

ADVICE = (
    f"Tighten in a cross pattern in two rounds, with washers, and once more after {AGAIN_HOURS} hours, before the "
    "pressure test; not again after that."
)


@dataclass(frozen=True)
class Window:
    """The torque of one screw, N m, and the forces behind it, N; ``tie_n`` is what it has to press beyond its pull."""

    id: str
    pull_n: float
    tie_n: float
    least_n_m: float
    most_n_m: float
    limited_by: Literal["thread", "head", "insert"]

    @property
    def empty(self) -> bool:
        """Whether no torque is right over the whole range of friction."""
        return self.least_n_m > self.most_n_m + 1e-9


@dataclass(frozen=True)
class Torque:
    """Torque for a lid's screws: one window for all of them, and each screw's own."""

    screw: str
    least_n_m: float
    most_n_m: float
    windows: tuple[Window, ...]
    least_preload_n: float
    most_preload_n: float

    @property
    def never(self) -> bool:
        """Whether the plastic cannot bear the preload that is needed, however well the friction is known."""
        return self.least_preload_n > self.most_preload_n

    @property
    def empty(self) -> bool:
        """Whether no one torque is right for every screw over the usual range of friction."""
        return self.least_n_m > self.most_n_m + 1e-9

    def text(self) -> str:
        """For a drawing, a parts list or the page."""
        if self.empty:
            return (
                f"Lid screws {self.screw}: no torque is safe over the usual range of friction (at least "
                f"{self.least_n_m:.2f} N m to seal, at most {self.most_n_m:.2f} N m for the plastic)."
            )
        return f"Lid screws {self.screw}: {self.least_n_m:.2f} to {self.most_n_m:.2f} N m. {ADVICE}"

    def as_json(self) -> dict[str, Any]:
        """Plain values."""
        return {
            "screw": self.screw,
            "least_n_m": round(self.least_n_m, 3),
            "most_n_m": round(self.most_n_m, 3),
            "empty": self.empty,
            "again_after_h": AGAIN_HOURS,
            "text": self.text(),
            "screws": [
                {
                    "id": row.id,
                    "pull_n": round(row.pull_n, 1),
                    "tie_n": round(row.tie_n, 1),
                    "least_n_m": round(row.least_n_m, 3),
                    "most_n_m": round(row.most_n_m, 3),
                    "limited_by": row.limited_by,
                }
                for row in self.windows
            ],
        }


def torque_of(document: Document, report: LidReport) -> Torque | None:
    """The torque of the lid's screws; none without screws, or when the screw is unknown."""
    name = document.seal.screw
    pulls: dict[str, float] = {}
    shares: dict[str, float] = {}
    for row in report.clamped:
        for load in row.clamping.loads:
            pulls[load.id] = max(pulls.get(load.id, 0.0), load.total_n)
            shares[load.id] = max(shares.get(load.id, 0.0), load.share_mm)
    if not pulls or name not in screw_table.names():
        return None
    most_n, limit = greatest_preload_n(document)
    diameter = screw_table.screw(name).major_mm / 1000
    most = NUT_LOW * most_n * diameter
    # A screw ties as much of a channel as it holds of the groove beside it.
    ties = {id_: report.tie_n_mm * share / FRICTION for id_, share in shares.items()}
    windows = tuple(
        Window(id_, pull, ties[id_], NUT_HIGH * (pull + ties[id_]) / (1 - RELAXED_SHARE) * diameter, most, limit)
        for id_, pull in sorted(pulls.items())
    )
    worst = max(windows, key=lambda window: window.least_n_m)
    return Torque(name, worst.least_n_m, most, windows, (worst.pull_n + worst.tie_n) / (1 - RELAXED_SHARE), most_n)


def _stress_mpa(document: Document) -> float:
    plate = document.plate
    known = plate.material in materials.names()
    return float(materials.material(plate.material if known else KNOWN_MATERIAL)["design_stress_mpa"].high)


def head_preload_n(document: Document) -> float:
    """What the plastic under a screw's washer bears while it is tightened, N, whatever holds the screw's other end."""
    screw = screw_table.screw(document.seal.screw)
    return SHORT_SHARE * _stress_mpa(document) * math.pi / 4 * (screw.washer_mm**2 - screw.clearance_mm**2)


def greatest_preload_n(document: Document) -> tuple[float, Literal["thread", "head", "insert"]]:
    """What thread (or insert) and washer bear while a screw is tightened, N, and which of them gives in first."""
    screw, head = screw_table.screw(document.seal.screw), head_preload_n(document)
    if document.seal.insert_pull_n is not None:
        held, what = document.seal.insert_pull_n, "insert"
    else:
        engaged = screw_thread_mm(document)
        held, what = 0.0, "thread"
        if engaged > 0:
            held = thread_strength.holding_force_n(
                thread_strength.thread_form(screw.name), engaged, SHORT_SHARE * _stress_mpa(document)
            )
    return (held, what) if held <= head else (head, "head")  # type: ignore[return-value]
