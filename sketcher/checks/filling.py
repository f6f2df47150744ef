"""Does it flow: where the loop is filled and emptied, and whether its pump gets coolant at all.

Heights are those of ports and of devices' ports; a tube may lead up from a fill port, which no document says yet.
"""

from __future__ import annotations

from collections.abc import Iterator

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.findings import PRACTICE, Finding, Rule, mm
from sketcher.geometry.levels import above_floor_mm
from sketcher.geometry.ports import PortShape

_READ = ("ports", "boards", "devices")


def _mouth_mm(scene: Scene, port: PortShape) -> float:
    """Height of a port's mouth over the case floor; of its axis where it is in the edge."""
    level = {"top": scene.shapes.thickness, "bottom": 0.0}.get(port.item.face, port.rise)
    return above_floor_mm(scene.document, level)


def _heights(scene: Scene) -> list[tuple[float, str, str]]:
    """Height, device and name of every port of a device."""
    return [(place.z, place.device, ref) for ref, place in scene.shapes.device_ports.items()]


@rules(
    Rule("drain-high", "flows", "A drain port is at the lowest place of the loop", 10.0, "mm",
         "What lies lower than the drain stays in the loop, and runs out when the plate is taken off.", PRACTICE),
    Rule("fill-low", "flows", "A fill port is as high as what is to be filled", 10.0, "mm",
         "Coolant that stands higher than an open fill port runs out of it.", PRACTICE),
    reads=_READ,
)  # fmt: skip
def filled_and_emptied(scene: Scene) -> Iterator[Finding]:
    """Fill and drain ports against the ports of the devices."""
    low, high = scene.limit("drain-high"), scene.limit("fill-low")
    heights = _heights(scene)
    for port in scene.shapes.ports.values():
        if port.item.use not in ("fill", "drain"):
            continue
        mouth, item = _mouth_mm(scene, port), port.item
        if item.use == "drain":
            if item.face == "top":
                yield Finding(
                    "drain-high", "note", (item.id,), f"The drain {item.id} opens upwards: the coolant in the plate "
                    "does not run out of it.", "Put it in the edge, at the channels' height, or tilt the case to "
                    "empty the loop and accept this.", at=port.at,
                )  # fmt: skip
            elif heights and mouth - min(heights)[0] > low:
                least, _, ref = min(heights)
                yield Finding(
                    "drain-high", "note", (item.id,), f"The drain {item.id} is {mm(mouth - least)} higher than {ref}, "
                    f"which stays full; {mm(low)} is the maximum.", "Give the lowest device a drain of its own, or "
                    "tilt the case to empty the loop and accept this.", mouth - least, low, "mm", port.at,
                )  # fmt: skip
        elif item.use == "fill" and item.serves is None and heights and max(heights)[0] - mouth > high:
            most, _, ref = max(heights)
            yield Finding(
                "fill-low", "note", (item.id,), f"The fill port {item.id} is {mm(most - mouth)} lower than {ref}: when "
                "it is opened, what stands above it runs out.", f"Lead a tube up from it, {mm(most - mouth)} or more, "
                "with a cap on its end, and accept this; or fill at a reservoir.", most - mouth, high, "mm", port.at,
            )  # fmt: skip


@rules(
    Rule("pump-dry", "flows", "Coolant runs from the reservoir to the pump by itself", 0.0, "mm",
         "A pump that stands higher than the reservoir draws air at the first start, and runs dry.", PRACTICE),
    reads=("boards", "devices"),
)  # fmt: skip
def pumps_under_reservoirs(scene: Scene) -> Iterator[Finding]:
    """Inlets of pumps against the highest place that coolant stands in a reservoir."""
    limit, devices = scene.limit("pump-dry"), scene.document.devices
    tops = []
    for device in devices:
        area = scene.shapes.devices.get(device.id)
        if device.fills:
            ports = [z for z, id_, _ in _heights(scene) if id_ == device.id]
            tops.append((max([*ports, *([] if area is None else [area.high])], default=0.0), device.id))
    if not tops:
        return
    most, reservoir = max(tops)
    for device in devices:
        inlets = [p for p in device.ports if p.flow == "in"] or list(device.ports)
        places = [scene.shapes.device_ports.get(f"{device.id}.{port.id}") for port in inlets]
        known = [place for place in places if place is not None]
        if device.kind != "pump" or device.fills or not known:
            continue
        inlet = min(known, key=lambda place: place.z)
        value = inlet.z - most
        if value > limit + 1e-9:
            yield Finding(
                "pump-dry", "warning", (device.id, reservoir), f"The inlet of {device.id} is {mm(value)} higher than "
                f"the top of {reservoir}: no coolant runs to it by itself, and it starts dry.",
                f"Move {device.id} {mm(value)} down or more, or {reservoir} up.", value, limit, "mm",
                (inlet.x, inlet.y),
            )  # fmt: skip
