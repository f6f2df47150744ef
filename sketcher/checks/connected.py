"""Ports, fittings and tubes whose figures contradict each other: a bore wider than its thread, a tube on a plug.

Nothing of it is a length in the plate, so no wall and no height would tell.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document.hardware import Device, DevicePort
from sketcher.findings import PRACTICE, Cause, Change, Finding, Fix, Level, Rule, mm

#: A heading that leads through this share of its device, and so far, mm, leaves it on the far side. Common practice.
FAR_SHARE, FAR_MM = 0.75, 10.0
#: Devices that coolant passes; a valve or a coupling may hang on a port for draining.
_PASSED = ("pump", "block", "radiator", "reservoir", "flow-meter", "filter")


@rules(
    Rule("fitting-bore", "flows", "The fittings' bore goes through their thread and on their tube", 0.0, "mm",
         "A bore wider than the thread, or as wide as the tube outside, is a slip; losses go by it.",
         "sizes: ISO 228-1; " + PRACTICE),
    Rule("tube-fitting", "fits", "A tube is hardly wider than the fitting it goes into", 1.2, "",
         "A tube that is much wider than its fitting goes into another size of fitting.", PRACTICE),
    reads=("ports",),
)  # fmt: skip
def fittings(scene: Scene) -> Iterator[Finding]:
    """The loop's bore and tube against the ports that take tubes."""
    loop, limit = scene.document.loop, scene.limit("tube-fitting")
    bore, outer = loop.fitting_bore_mm, loop.tube_outer_diameter_mm
    taking = [port for port in scene.shapes.ports.values() if port.item.serves is not None and port.thread is not None]
    if taking and loop.tube_size is None and bore >= outer - 1e-9:
        yield Finding(
            "fitting-bore", "warning", (), f"The fittings' bore of {mm(bore)} is as wide as the tube outside, "
            f"{mm(outer)}.", "Correct the bore, or the tube's diameters.", bore, outer, "mm",
        )  # fmt: skip
        return
    for port in taking:
        thread, item = port.thread, port.item
        assert thread is not None
        if bore > thread.minor_mm - scene.limit("fitting-bore") + 1e-9:
            yield Finding(
                "fitting-bore", "warning", (item.id,), f"The fittings' bore of {mm(bore)} does not go through the "
                f"thread of {item.id}: {thread.name} is {mm(thread.minor_mm)} inside.",
                "Correct the bore of the fittings, or take a larger thread there.", bore, thread.minor_mm, "mm",
                port.at, cause=Cause(thread.name, f"The fittings' bore of {mm(bore)} does not go through the threads "
                f"of {{count}} ports: {thread.name} is {mm(thread.minor_mm)} inside.",
                "Correct the bore of the fittings, or take larger threads there."),
            )  # fmt: skip
        wide = outer / item.fitting_diameter_mm
        if loop.tube_size is None and item.tube is None and wide > limit + 1e-9:
            yield Finding(
                "tube-fitting", "warning", (item.id,), f"The tube at {item.id} is {mm(outer)} wide and its fitting "
                f"{mm(item.fitting_diameter_mm)}.", "Correct the tube's diameter, or the fitting's.", wide, limit, "",
                port.at, cause=Cause("wide", f"The tube is {mm(outer)} wide, and {{count}} fittings are much narrower.",
                "Correct the tube's diameter, or the fittings'."),
            )  # fmt: skip


@rules(
    Rule("port-use", "flows", "What a port is for agrees with what it serves", None, "",
         "The loop runs through a port that serves a device, whatever it is said to be for.", PRACTICE),
    reads=("ports",),
)  # fmt: skip
def uses(scene: Scene) -> Iterator[Finding]:
    """Ports with a tube to a device that are said to be plugged, or for something else than the loop."""
    kinds = {device.id: device.kind for device in scene.document.devices}
    for port in scene.document.ports:
        if port.serves is None or port.use == "loop":
            continue
        plugged = port.use == "plugged"
        if not plugged and kinds.get(port.serves.split(".")[0]) not in _PASSED:
            continue
        level: Level = "error" if plugged else "warning"
        said = "plugged for good" if plugged else f"meant for {'a sensor' if port.use == 'sensor' else port.use}"
        yield Finding(
            "port-use", level, (port.id,), f"{port.id} is {said}, and a tube goes from it to {port.serves}.",
            "Set its use to 'loop', or let it serve nothing.", at=(port.x_mm, port.y_mm),
        )  # fmt: skip


@rules(
    Rule("port-heading", "fits", "A tube leaves its device, and does not go through it", None, "mm",
         "A heading with the wrong sign leads the tube through the device.", PRACTICE),
    named=True, reads=("boards", "devices"),
)  # fmt: skip
def headings(scene: Scene) -> Iterator[Finding]:
    """Which way tubes leave their devices, in these' own axes."""
    for device in scene.document.devices:
        area = scene.shapes.devices.get(device.id)
        if area is None or area.plan is None or device.height_mm <= 0:
            continue
        for port in device.ports:
            through, whole = _through(device, port, area.plan)
            if through <= max(FAR_SHARE * whole, FAR_MM):
                continue
            yield Finding(
                "port-heading", "warning", (device.id,), f"The tube at the port {port.id} of {device.id} leaves "
                f"towards {port.heading}, through {mm(through)} of {device.id} itself.",
                f"Turn its heading round, to {(port.heading or '?')[0]}{'-' if '+' in (port.heading or '') else '+'}, "
                "or clear it.", through, max(FAR_SHARE * whole, FAR_MM), "mm",
                scene.mouth(device.id, port.id),
            )  # fmt: skip


def _through(device: Device, port: DevicePort, plan: np.ndarray) -> tuple[float, float]:
    """How far a heading leads through its device, and how far that is from side to side, mm; 0 without one."""
    if port.heading is None:
        return 0.0, 0.0
    axis, sign = port.heading[0], 1.0 if port.heading[1] == "+" else -1.0
    body = sound(shapely.Polygon(plan))
    if axis == "w":
        if not shapely.dwithin(body, shapely.Point(port.u_mm, port.v_mm), 1e-6):
            return 0.0, device.height_mm
        left = device.height_mm - port.w_mm if sign > 0 else port.w_mm
        return (min(left, device.height_mm) if left > 0 else 0.0), device.height_mm
    if not -1e-6 <= port.w_mm <= device.height_mm + 1e-6:
        return 0.0, 1.0
    reach = 2 * float(np.ptp(plan, axis=0).max()) + 1000.0
    step = (sign * reach, 0.0) if axis == "u" else (0.0, sign * reach)
    way = shapely.LineString([(port.u_mm, port.v_mm), (port.u_mm + step[0], port.v_mm + step[1])])
    whole = shapely.LineString([(port.u_mm - step[0], port.v_mm - step[1]), way.coords[1]])
    return float(shapely.length(way & body)), float(shapely.length(whole & body))


@rules(
    Rule("coolant-strength", "flows", "The coolant's strength goes with its kind", None, "%",
         "Water with a strength, or glycol without one, is one of two coolants, and nobody knows which.", PRACTICE),
    reads=(),
)  # fmt: skip
def strength(scene: Scene) -> Iterator[Finding]:
    """Water that is said to hold glycol, and glycol of strength 0."""
    coolant = scene.document.loop.coolant
    if (coolant.kind == "water") is (coolant.strength_percent > 0):
        says = (
            f"The coolant is water, and its strength is {coolant.strength_percent:g} %: everything is worked out for "
            "water alone."
            if coolant.kind == "water"
            else f"The coolant is {coolant.kind.replace('-', ' ')} of 0 %: everything is worked out for water."
        )
        yield Finding(
            "coolant-strength", "warning", (), says, "Choose the kind of glycol and its strength, or water and 0 %.",
            coolant.strength_percent, None, "%",
        )  # fmt: skip


@rules(
    Rule("sheet-material", "made", "How the sheet was made goes with the plate's material", None, "",
         "Tolerances go by the one and strengths by the other: cast sheet bears twice as much.", PRACTICE),
    reads=(),
)  # fmt: skip
def sheet(scene: Scene) -> Iterator[Finding]:
    """Cast and extruded, said twice and not alike."""
    plate = scene.document.plate
    other = {"cast": "extruded", "extruded": "cast"}[plate.sheet]
    if plate.material.strip().lower().startswith(other):
        yield Finding(
            "sheet-material", "warning", (), f"The plate's material is {plate.material}, and its sheet is said to be "
            f"{plate.sheet}.", f"Set both to cast or both to extruded, as the sheet is sold; strength is worked out "
            f"for {plate.material}, thickness for {plate.sheet}.",
            fix=Fix(f"Say that the sheet is {other}", (Change("/plate/sheet", other),)),
        )  # fmt: skip
