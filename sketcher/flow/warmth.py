"""Findings of the heat: coolant outside its table, heat without a way out, what is too warm."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sketcher.findings import Finding
from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation
from sketcher.flow.plumbing import Plumbing
from sketcher.reference import materials
from sketcher.reference.tables import UnknownEntry


def coolant_range(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    """The coolant beyond its table, frozen or boiling."""
    fluid = loop.coolant
    if fluid.asked_percent > fluid.strength_percent:
        yield Finding(
            "coolant-range", "warning", (),
            f"The table ends at {fluid.strength_percent:g} % glycol; that was taken instead of "
            f"{fluid.asked_percent:g} %.",
            "Thin the mixture.", fluid.asked_percent, fluid.strength_percent, "%",
        )  # fmt: skip
    airs = [loop.document.loop.room_c, *loop.air_c.values()]
    coldest = min(*airs, float(now.temperatures.node.min(initial=now.mean_c)), now.mean_c)
    hottest = float(now.temperatures.node.max(initial=now.mean_c))
    if coldest < fluid.freezing_c:
        yield Finding(
            "coolant-range", "error", (),
            f"The coolant freezes at {fluid.freezing_c:.1f} °C, and the loop is as cold as {coldest:.1f} °C.",
            "Add glycol, or keep the room warmer.", coldest, fluid.freezing_c, "°C",
        )  # fmt: skip
    if hottest > fluid.hottest_c:
        yield Finding(
            "coolant-range", "error", (),
            f"The coolant would reach {hottest:.0f} °C: it boils, and the table ends at {fluid.hottest_c:.0f} °C.",
            "More flow, more radiator, or less heat.", hottest, fluid.hottest_c, "°C",
        )  # fmt: skip


def warmth(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    """Heat that has no way out, and coolant warmer than loop or plate bear."""
    if not now.temperatures.steady:
        yield Finding(
            "no-radiator", "error", (),
            f"Nothing takes {now.temperatures.lost_w:.0f} W out of the loop: the coolant warms without end.",
            "Add a radiator with its W/K.", now.temperatures.lost_w, 0.0, "W",
        )  # fmt: skip
        return
    moving = np.abs(now.flow) > STILL
    if not moving.any():
        return
    outlets = np.where(moving, np.maximum(now.temperatures.inlet, now.temperatures.outlet), -np.inf)
    hottest = int(np.argmax(outlets))
    celsius, id_ = float(outlets[hottest]), loop.elements[hottest].id
    limit = loop.document.loop.water_limit_c
    if celsius > limit:
        yield Finding(
            "water-too-warm", "warning", (id_,), f"The coolant reaches {celsius:.1f} °C at {id_}.",
            "More radiator, more flow, or a cooler room.", celsius, limit, "°C",
        )  # fmt: skip
    bears = _material_limit(loop.document.plate.material)
    ways = [i for i, e in enumerate(loop.elements) if e.kind in ("channel", "port") and moving[i]]
    if bears is not None and ways:
        worst = max(ways, key=lambda i: outlets[i])
        if outlets[worst] > bears:
            yield Finding(
                "plate-too-warm", "error", (loop.elements[worst].id,),
                f"The coolant in {loop.elements[worst].id} is at {outlets[worst]:.1f} °C, more than "
                f"{loop.document.plate.material} bears for long.",
                "More radiator, more flow, or a plate of metal.", float(outlets[worst]), bears, "°C",
            )  # fmt: skip


def _material_limit(name: str) -> float | None:
    try:
        return materials.material(name)["service_temperature_max_c"].low
    except UnknownEntry:
        return None
