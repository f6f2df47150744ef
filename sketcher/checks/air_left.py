"""Air that stays in the wet regions of a plate, standing or lying on a side: each region is looked at by itself.

While a thing is dragged, what hangs together stays as it is, and only the regions in which something has moved are
looked at again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from sketcher.checks.scene import Scene
from sketcher.document.remembered import Remembered
from sketcher.findings import Finding, mm
from sketcher.geometry.shapes import ChannelShape
from sketcher.strength.life import AirPocket, Way, air_pockets, regions

#: Ways a case is laid down: what is up then, in plan.
_LYING = {"on its left side": (1.0, 0.0), "on its right side": (-1.0, 0.0)}
#: An outlet that air leaves by: any port that is not closed for good.
_CLOSED = ("plugged", "sensor")


@dataclass(frozen=True)
class Region:
    """A region of coolant: the ids of its channels and ports in order, what was found of it standing, and its pockets
    of air lying on each side."""

    channels: tuple[str, ...]
    ports: tuple[str, ...]
    standing: tuple[Finding, ...] = ()
    lying: tuple[tuple[AirPocket, ...], ...] = ()


@dataclass(frozen=True)
class Air:
    """All regions of a plate, and the number of the region of every channel."""

    regions: tuple[Region, ...]
    numbers: dict[str, int]


_known: Remembered[Air] = Remembered(most=8)
_pockets: Remembered[tuple[AirPocket, ...]] = Remembered()


def air_of(scene: Scene) -> Air:
    """The regions of a scene."""
    limits = scene.limit("air-standing"), scene.limit("air-lying")
    return _known.of((scene.document,), limits, lambda: _after_a_move(scene, limits) or _anew(scene))


def _anew(scene: Scene) -> Air:
    ways = [way for channel in scene.shapes.channels.values() if (way := _way(channel)) is not None]
    found = tuple(
        _looked(scene, Region(tuple(sorted(channels)), tuple(sorted(ports))))
        for channels, ports in regions(ways, scene.shapes.ports)
    )
    return Air(found, {name: n for n, region in enumerate(found) for name in region.channels})


def _after_a_move(scene: Scene, limits: tuple[float, float]) -> Air | None:
    """The regions of the plate before, those in which something has moved anew; none where they are not known."""
    step = scene.step
    if step is None or not _known.knows((step.before.document,), limits):
        return None
    before: Air = _known.of((step.before.document,), limits, lambda: _anew(scene))
    channels = [name for name in step.changed if name in scene.shapes.channels]
    if any((_way(scene.shapes.channels[name]) is None) == (name in before.numbers) for name in channels):
        return None  # a channel has come to be one, or is none any more
    # A port that moves takes its channels along.
    rows = {before.numbers[name] for name in channels if name in before.numbers}
    found = list(before.regions)
    for n in rows:
        found[n] = _looked(scene, found[n])
    return replace(before, regions=tuple(found))


def _way(channel: ChannelShape) -> Way | None:
    segments = channel.path.segments
    points = (*(segment.start for segment in segments), channel.path.end) if segments else ()
    return Way(channel.item.id, channel.item.start, channel.item.end, points) if len(points) > 1 else None


def _looked(scene: Scene, region: Region) -> Region:
    shapes, limit = scene.shapes, scene.limit("air-lying")
    outlets = tuple(
        (name, shapes.ports[name].root) for name in region.ports if shapes.ports[name].item.use not in _CLOSED
    )
    channels = tuple(shapes.channels[name] for name in region.channels)

    def pockets(up: tuple[float, float]) -> tuple[AirPocket, ...]:
        ways = [way for channel in channels if (way := _way(channel)) is not None]
        return tuple(air_pockets(ways, dict(outlets), up, least_mm=limit))

    lying = tuple(
        _pockets.of(channels, (outlets, up, limit), lambda up=up: pockets(up))  # type: ignore[misc]
        for up in _LYING.values()
    )
    return replace(region, standing=tuple(_standing(scene, region)), lying=lying)


def _standing(scene: Scene, region: Region) -> Iterator[Finding]:
    shapes, limit = scene.shapes, scene.limit("air-standing")
    open_ports = [name for name in region.ports if shapes.ports[name].item.use not in _CLOSED]
    highest = max((_opening_top(scene, name) for name in open_ports), default=None)
    if highest is None:
        return  # a region without a port is another rule's business
    value = max(shapes.channels[name].high for name in region.channels) - highest
    if value > limit + 1e-9:
        path = shapes.channels[region.channels[0]].path
        yield Finding(
            rule="air-standing",
            level="warning",
            items=region.channels,
            value=value,
            limit=limit,
            unit="mm",
            at=path.at(path.length / 2),
            message=f"With the case standing, {mm(value)} of air stay under the ceiling of "
            f"{', '.join(region.channels)}: all its ports open lower.",
            remedy="Put one of its ports, or a bleed, on the top face.",
        )


def _opening_top(scene: Scene, port_id: str) -> float:
    """Height of the top of a port's opening into its channel, above the plate's underside."""
    port = scene.shapes.ports[port_id]
    if port.item.face == "top":
        return scene.shapes.thickness
    if port.item.face == "edge":
        return port.rise + port.bore_diameter / 2
    return port.bore_prism.high if scene.document.plate.lid_face == "top" else port.bore_prism.low


def air_standing(air: Air) -> Iterator[Finding]:
    """What is found with the case standing."""
    for region in air.regions:
        yield from region.standing


def air_lying(air: Air, limit: float) -> Iterator[Finding]:
    """Pockets with the case lying: for each side in one finding, and for both where they are in the same channels."""
    found: dict[tuple[str, ...], list[tuple[str, AirPocket]]] = {}
    for n, side in enumerate(_LYING):
        its: Iterable[AirPocket] = (pocket for region in air.regions for pocket in region.lying[n])
        pockets = sorted(its, key=lambda pocket: -pocket.height_mm)
        if pockets:
            items = tuple(sorted({item for pocket in pockets for item in pocket.items}))
            found.setdefault(items, []).append((side, pockets[0]))
    for items, rows in found.items():
        worst = max((pocket for _, pocket in rows), key=lambda pocket: pocket.height_mm)
        side = rows[0][0] if len(rows) == 1 else "on either side"
        yield Finding(
            rule="air-lying",
            level="note",
            items=items,
            value=worst.height_mm,
            limit=limit,
            unit="mm",
            at=worst.at,
            message=f"With the case lying {side}, air stays in {', '.join(items)}: up to {mm(worst.height_mm)} above "
            "the way out.",
            remedy="Bleed the loop with the case standing, or give the high place a port with the use 'bleed'.",
        )


__all__ = ["Air", "air_lying", "air_of", "air_standing"]
