"""Fixes that set a figure of plate, seal or loop to what a rule asks for; each is tried before it is offered."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sketcher.checks.scene import Scene
from sketcher.document.plate import Seal
from sketcher.findings import Change, Fix, mm
from sketcher.reference import seals

#: As the document takes them: a test pressure up to 300 kPa, a squeeze of 5 to 40 %, a fill of 1 to 100 %.
_MOST_KPA, _SQUEEZE, _FILL = 300.0, (5.0, 40.0), (1.0, 100.0)
#: The cord material that stands all coolants here.
_CORD = "EPDM"


def tested_at(kpa: float) -> Fix | None:
    """The test pressure raised to so many kPa."""
    if kpa > _MOST_KPA:
        return None
    return Fix(f"Test with {kpa:g} kPa", (Change("/loop/test_pressure_kpa", float(kpa)),))


def squeezed(seal: Seal, rule: str, value: float, limit: float) -> Iterator[Fix]:
    """Squeeze or fill as the document asks for it, moved by what the worst case is off, and half a percent beyond."""
    if rule == "seal-fill":
        key, now, (low, high) = "fill_percent", seal.fill_percent, _FILL
        to, way = now * limit / value, -1
    else:
        key, now, (low, high) = "squeeze_percent", seal.squeeze_percent, _SQUEEZE
        to, way = now + limit - value, 1 if limit > value else -1
    for more in (0.5, 2.0):
        asked = (math.ceil(2 * to) if way > 0 else math.floor(2 * to)) / 2 + way * more
        if low <= asked <= high:
            yield Fix(f"Ask for a {key.split('_')[0]} of {asked:g} %", (Change(f"/seal/{key}", asked),))


def closer_screws(pitch_mm: float, share: float) -> Fix | None:
    """Lid screws so much closer, in whole mm; screws by rule follow."""
    pitch = float(math.floor(pitch_mm * share))
    return (
        Fix(f"Set the screw spacing to {mm(pitch)}", (Change("/seal/screw_pitch_mm", pitch),)) if pitch >= 10 else None
    )


def cord_for(coolant: str) -> Fix | None:
    """The cord of the rubber that stands this coolant."""
    if seals.cord_material(_CORD).ratings[coolant] != "good":
        return None
    return Fix(f"Take a cord of {_CORD}", (Change("/seal/cord_material", _CORD),))


def thicker(scene: Scene, what: str, need_mm: float) -> Fix | None:
    """Lid or body of the next thickness that the shop has."""
    thick = min((t for t in scene.document.shop.stock_thicknesses_mm if t >= need_mm - 1e-9), default=None)
    if thick is None:
        return None
    return Fix(f"Make the {what} {mm(thick)} thick", (Change(f"/plate/{what}_thickness_mm", thick),))


def deeper_thread(scene: Scene, id_: str, depth_mm: float) -> Fix | None:
    """A port tapped deeper."""
    key, index = scene.numbers[id_]
    if scene.shapes.ports[id_].item.locked:
        return None
    return Fix(f"Tap {id_} {mm(depth_mm)} deep", (Change(f"/{key}/{index}/thread_depth_mm", depth_mm),))


def drilled(scene: Scene, by: dict[str, float]) -> Fix | None:
    """Screw holes drilled so much deeper, or less deep where it is below 0 (mm), by id; in tenths."""
    changes = []
    for id_, more in by.items():
        key, index = scene.numbers[id_]
        item = scene.shapes.holes[id_].item
        if item.depth_mm is None or item.locked:
            return None
        changes.append(Change(f"/{key}/{index}/depth_mm", round(item.depth_mm + more, 3)))
    if not changes:
        return None
    first, more = next(iter(by.items()))
    which = first if len(by) == 1 else f"{first} and {len(by) - 1} more"
    return Fix(f"Drill {which} {'deeper' if more > 0 else 'less deep'}", tuple(changes))


def given_way(scene: Scene, id_: str, wide_mm: float | None, slot: tuple[float, str]) -> Fix | None:
    """A mounting hole drilled so wide; or, where that is none, made a slot so long that points to another hole."""
    key, index = scene.numbers[id_]
    item, path = scene.shapes.holes[id_].item, f"/{key}/{index}"
    if item.locked or item.follows is not None:
        return None
    if wide_mm is not None:
        return Fix(f"Drill {id_} {mm(wide_mm)} wide", (Change(f"{path}/diameter_mm", wide_mm),))
    length, to = slot[0], scene.shapes.holes[slot[1]].item
    turn = math.degrees(math.atan2(to.y_mm - item.y_mm, to.x_mm - item.x_mm))
    changes = (Change(f"{path}/slot_length_mm", length), Change(f"{path}/turn_deg", round(turn, 2)))
    return Fix(f"Make {id_} a slot of {mm(length)}", changes)
