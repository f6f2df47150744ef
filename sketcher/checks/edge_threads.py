"""Does it hold: an edge port's thread against the channels that meet its bore."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from sketcher.checks.scene import Scene
from sketcher.findings import Change, Finding, Fix, mm
from sketcher.geometry.ports import EDGE_BORE_BEYOND_MM, PortShape

#: A thread that a channel leaves shorter than this holds no fitting, mm: common practice, no source.
SHORTEST_MM = 6.0


def beside_its_bore(scene: Scene, port: PortShape, index: int) -> Iterator[Finding]:
    """A channel that begins at an edge port's bore and runs back into its thread: how much of the thread it leaves."""
    limit, item = scene.limit("thread-reaches-channel"), port.item
    rows = [(value, channel.item.id) for channel in scene.channels_at.get(item.id, ())
            if (value := _before(port, channel.polygon, channel.low, channel.high)) is not None]  # fmt: skip
    if not rows:
        return
    first, id_ = min(rows)
    value = first - item.thread_depth_mm
    if value >= limit - 1e-6:
        return
    missing = limit - value
    best = math.floor((item.thread_depth_mm - missing) * 100) / 100
    deeper = round((item.bore_depth_mm or item.thread_depth_mm + EDGE_BORE_BEYOND_MM) + missing + 0.005, 2)
    if best >= SHORTEST_MM:
        changes = [Change(f"/ports/{index}/thread_depth_mm", best)]
        if item.bore_depth_mm is None:  # the bore goes on behind the thread: it stays where it is
            changes.append(Change(f"/ports/{index}/bore_depth_mm", item.thread_depth_mm + EDGE_BORE_BEYOND_MM))
        fix = Fix(f"Tap {item.id} {mm(best)} deep", tuple(changes))
        remedy = f"Tap it at most {mm(best)} deep, or drill its bore {mm(missing)} deeper."
    else:
        fix = Fix(f"Drill {item.id} {mm(deeper)} deep", (Change(f"/ports/{index}/bore_depth_mm", deeper),))
        remedy = "Lead the channel away from the port's thread, or drill its bore deeper."
    yield Finding(
        rule="thread-reaches-channel",
        level="error" if first < SHORTEST_MM else "warning",
        items=(item.id, id_),
        value=value,
        limit=limit,
        unit="mm",
        at=port.root,
        message=f"The channel {id_} takes {mm(-value)} of the thread of the edge port {item.id}."
        if value < 0
        else f"The thread of the edge port {item.id} ends {mm(value)} before the channel {id_}; "
        f"{mm(limit)} is the minimum.",
        remedy=remedy,
        fix=fix,
    )


def _before(port: PortShape, channel: shapely.Geometry, low: float, high: float) -> float | None:
    """How far from the mouth a channel first lies within the thread's width, mm; none where it never does."""
    assert port.heading is not None
    radius = port.thread_diameter / 2
    apart = max(low - port.rise, port.rise - high, 0.0)
    if apart >= radius:
        return None
    half = math.sqrt(radius**2 - apart**2)
    (x, y), (hx, hy) = port.at, port.heading
    reach = port.item.thread_depth_mm + 60.0
    rows = ((0, -half), (reach, -half), (reach, half), (0, half))
    strip = [(x + hx * u - hy * v, y + hy * u + hx * v) for u, v in rows]
    inside = shapely.intersection(shapely.Polygon(strip), channel)
    if shapely.is_empty(inside):
        return None
    corners = shapely.get_coordinates(inside) - (x, y)
    return float((corners[:, 0] * hx + corners[:, 1] * hy).min())
