"""Figures of a device that cannot all be true: more coolant than room, more heat than its coolant carries.

Each is held against another figure of the same device, or against physics, not against taste.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import shapely

from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document.hardware import Device, DevicePort
from sketcher.findings import PRACTICE, Finding, Point, Rule, mm
from sketcher.reference import threads

#: Less of its body than this is coolant in hardly any reservoir or radiator, %. Common practice, no source.
LEAST_SHARE = {"reservoir": 10.0, "radiator": 3.0}
#: Heat that 1 l/min of water carries per kelvin, W/K: 997 kg/m³ by 4,180 J/(kg K) at 25 °C (IAPWS); a twentieth more,
#: since curves are read off plots.
CARRIES_W_K = 1.05 * 997 * 4180 / 60_000
#: A pump's pressure that rises again by this share after it has fallen by a tenth is a slip: a hump is at the start.
VALLEY, FALLEN = 0.08, 0.9
#: Pressures below this are read too coarsely to say how fast they grow, kPa. Common practice, no source.
COARSE_KPA = 0.05
#: A loss grows with the square of the flow at the most; where laminar flow breaks down, somewhat faster for a stretch.
STEEPEST = 3.5
#: Heat per kelvin grows no faster than the flow itself, with room for readings that scatter.
STEEPEST_HEAT = 1.3


@rules(
    Rule("volume-doubted", "flows", "The coolant in a device, of the device's own volume", 100.0, "%",
         "More coolant than the body has room for is a slip in one of them; filling and expansion go by it.", PRACTICE),
    reads=("boards", "devices"),
)  # fmt: skip
def volumes(scene: Scene) -> Iterator[Finding]:
    """Coolant against the box or cylinder that the device is drawn as."""
    limit = scene.limit("volume-doubted")
    for device in scene.document.devices:
        body = _body_ml(scene, device)
        if body is None or device.volume_ml <= 0:
            continue
        value, least = 100 * device.volume_ml / body, LEAST_SHARE.get(device.kind, 0.0)
        bound = limit if value > limit else least
        if value > limit + 1e-9:
            says = f"more than its outline and height have room for, {body:.3g} ml"
        elif value < least - 1e-9:
            says = f"only {value:.2g} % of its {body:.3g} ml; a {device.kind} holds {least:g} % or more"
        else:
            continue
        yield Finding(
            "volume-doubted", "warning", (device.id,), f"{device.id} is said to hold {device.volume_ml:g} ml of "
            f"coolant, {says}.", "Correct its volume, or its outline and height: was a decimal point lost?",
            value, bound, "%", scene.place(device.id),
        )  # fmt: skip


def _body_ml(scene: Scene, device: Device) -> float | None:
    area = scene.shapes.devices.get(device.id)
    if area is None or area.plan is None or device.height_mm <= 0:
        return None
    return float(shapely.area(sound(shapely.Polygon(area.plan)))) * device.height_mm / 1000


@rules(
    Rule("ports-on-device", "fits", "Two ports of one device are as far apart as two fittings", 13.0, "mm",
         "Two fittings do not go into one place: G1/4 alone is 13 mm wide.", "size: ISO 228-1; " + PRACTICE),
    named=True, reads=("boards", "devices"),
)  # fmt: skip
def ports_apart(scene: Scene) -> Iterator[Finding]:
    """Each two ports of a device, in its own axes; those on opposite sides of it are as far apart as it is thick."""
    least = scene.limit("ports-on-device")
    for device in scene.document.devices:
        for one, other in itertools.combinations(device.ports, 2):
            limit = min(least, _widths(one, other))
            value = math.dist((one.u_mm, one.v_mm, one.w_mm), (other.u_mm, other.v_mm, other.w_mm))
            if value >= limit - 1e-9:
                continue
            where = "are in one place" if value < 1e-6 else f"are {mm(value)} apart"
            yield Finding(
                "ports-on-device", "warning", (device.id,), f"The ports {one.id} and {other.id} of {device.id} "
                f"{where}; {mm(limit)} is the minimum.", "Type in where each of them is: u, v and w.", value, limit,
                "mm", scene.mouth(device.id, one.id),
            )  # fmt: skip


def _widths(one: DevicePort, other: DevicePort) -> float:
    """The mean outer diameter of two ports' threads, mm, where both are named; small couplings stand closer."""
    known = [threads.thread(port.thread).major_mm for port in (one, other) if port.thread in threads.names()]
    return sum(known) / 2 if len(known) == 2 else math.inf


@rules(
    Rule("curve-steep", "flows", "Curves grow no faster than physics lets them", None, "",
         "A loss grows with the square of the flow at the most, heat no faster than the flow that carries it.",
         "fluid mechanics; heat exchangers: effectiveness is at most 1 (Incropera, Fundamentals of Heat and Mass "
         "Transfer, chapter 11)"),
    reads=("boards", "devices"),
)  # fmt: skip
def steepness(scene: Scene) -> Iterator[Finding]:
    """Neighbouring points of curves against each other, and heat against what the flow carries."""
    for device in scene.document.devices:
        at = scene.place(device.id)
        if device.kind == "pump":
            yield from _valley(device, at)
            continue
        losses = sorted((point.flow_l_min, point.pressure_kpa) for point in device.curve)
        if losses and max(losses)[0] <= 0:
            yield Finding(
                "device-without-curve", "warning", (device.id,), f"The curve of {device.id} has no point with a flow: "
                "it is counted as no loss at all.", "Type its measured points (flow and pressure), from its maker or "
                "your own measurement.", at=at,
            )  # fmt: skip
        yield from _doubled(device, at, losses)
        yield from _steep(device, at, "pressure", "kPa", losses, COARSE_KPA, STEEPEST)
        heats = sorted((point.flow_l_min, point.conductance_w_k) for point in device.conductance)
        over = [(flow, heat) for flow, heat in heats if heat > CARRIES_W_K * flow]
        if over:
            flow, heat = over[0]
            yield Finding(
                "curve-steep", "warning", (device.id,), f"{device.id} is said to give off {heat:g} W/K at {flow:g} "
                f"l/min; that much coolant carries {CARRIES_W_K * flow:.3g} W/K at the most.",
                "Correct the flow or the conductance of this point, or their units.", heat, CARRIES_W_K * flow, "W/K",
                at,
            )  # fmt: skip
        else:
            yield from _steep(device, at, "conductance", "W/K", heats, 0.0, STEEPEST_HEAT)


_Rows = Sequence[tuple[float, float]]


def _steep(
    device: Device, at: Point | None, what: str, unit: str, rows: _Rows, coarse: float, steepest: float
) -> Iterator[Finding]:
    """The two neighbours between which a curve rises most steeply, by the power of the flow, where that is too much."""
    powers = [
        (math.log((after - coarse) / (before + coarse)) / math.log(far / near), (near, before), (far, after))
        for (near, before), (far, after) in itertools.pairwise(rows)
        if near > 0 and far > near * 1.05 and before + coarse > 0 and after > before + 2 * coarse
    ]
    worst = max(powers, default=None)
    if worst is None or worst[0] <= steepest:
        return
    value, (near, before), (far, after) = worst
    yield Finding(
        "curve-steep", "warning", (device.id,), f"The {what} of {device.id} rises from {before:g} to {after:g} {unit} "
        f"between {near:g} and {far:g} l/min: with the flow to the power of {value:.1f}, at most {steepest:g} is "
        "likely.", "Look these two points over, and their units: was a decimal point lost?", value, steepest, "", at,
    )  # fmt: skip


def _doubled(device: Device, at: Point | None, rows: _Rows) -> Iterator[Finding]:
    """Two values at one flow: only one of them can be."""
    for (near, before), (far, after) in itertools.pairwise(rows):
        if far - near <= 1e-9 and after - before > COARSE_KPA + 0.15 * after:
            yield Finding(
                "curve-steep", "warning", (device.id,), f"The curve of {device.id} has {before:g} and {after:g} kPa at "
                f"{near:g} l/min.", "Keep the point that was measured, and delete or correct the other.", at=at,
            )  # fmt: skip
            return


def _valley(device: Device, at: Point | None) -> Iterator[Finding]:
    rows = sorted((point.flow_l_min, point.pressure_kpa) for point in device.curve)
    most = 0.0
    for (near, before), (far, after) in itertools.pairwise(rows):
        most = max(most, before)
        if before < FALLEN * most and after > (1 + VALLEY) * before:
            yield Finding(
                "curve-steep", "warning", (device.id,), f"The pressure of {device.id} falls to {before:g} kPa at "
                f"{near:g} l/min and rises again to {after:g} kPa at {far:g} l/min.",
                "Look these two points over, and their units: was a decimal point lost?", at=at,
            )  # fmt: skip
            return
