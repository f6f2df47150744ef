"""The document's devices as curves: measured points where there are any, a stand-in with a finding where not."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sketcher.document.hardware import Device
from sketcher.findings import Finding
from sketcher.flow import losses
from sketcher.flow.curves import Curve, DeviceCurve, Points, device_curve
from sketcher.flow.heat import RadiatorCurve, radiator_curve
from sketcher.flow.pumps import PumpCurve, RunningPump, pump_curve
from sketcher.reference import devices as generic

#: l/min to m³/s, kPa to Pa.
L_MIN = 1 / 60_000
KPA = 1000.0
_REMEDY = "Type its measured points (flow and pressure), from its maker or your own measurement."


@dataclass(frozen=True)
class DeviceModel:
    """What the network needs of a device. ``pump`` and ``radiator`` are none when it is not one."""

    curve: Curve
    pump: PumpCurve | None
    radiator: RadiatorCurve | None
    findings: tuple[Finding, ...]


def _si(pairs: list[tuple[float, float]] | tuple[tuple[float, float], ...], scale: float) -> Points:
    return tuple((flow * L_MIN, value * scale) for flow, value in pairs)


def model(device: Device, fitting_bore: float, density: float) -> DeviceModel:
    """The device's curve, its radiator's and what was assumed.

    Args:
        device: of the document.
        fitting_bore: bore of its fittings, m: a reservoir without points is taken as one exit and one entry through it.
        density: kg/m³, for the same.
    """
    found: list[Finding] = []
    points = _si([(p.flow_l_min, p.pressure_kpa) for p in device.curve], KPA)
    if device.kind == "pump":
        return _pump(device, points)
    if not points:
        curve = _without_points(device, fitting_bore, density, found)
    else:
        curve = device_curve(points)
        found += [_remark(device, remark) for remark in curve.remarks]
    radiator = None
    if device.conductance:
        radiator = radiator_curve(_si([(p.flow_l_min, p.conductance_w_k) for p in device.conductance], 1.0))
        found += [_remark(device, remark) for remark in radiator.remarks]
    elif device.kind == "radiator":
        radiator = _without_conductance(device, found)
    if device.invented:
        found.append(_remark(device, "its curve is made up, not measured"))
    return DeviceModel(curve, None, radiator, tuple(found))


def _remark(device: Device, remark: str) -> Finding:
    return Finding("assumed", "note", (device.id,), f"{device.id}: {remark}.", _REMEDY)


def _pump(device: Device, points: Points) -> DeviceModel:
    found: list[Finding] = []
    if not points:
        entry = generic.stand_in("pump")
        if entry is not None:
            points = _si(entry.points, KPA)
            found.append(_stood_in(device, entry.name))
    curve = pump_curve(points)
    for remark in curve.remarks:
        if curve.known:
            found.append(_remark(device, remark))
        else:
            message = f"The pump {device.id} drives nothing: {remark}."
            found.append(Finding("pump-curve-unknown", "error", (device.id,), message, _REMEDY))
    if device.invented:
        found.append(_remark(device, "its curve is made up, not measured"))
    return DeviceModel(RunningPump(curve, device.speed_percent / 100), curve, None, tuple(found))


def _stood_in(device: Device, name: str) -> Finding:
    what = "pump curve" if device.kind == "pump" else "pressure-drop data"
    message = f"No {what} for {device.id}: the made-up curve of a {name} is used."
    return Finding("device-without-curve", "warning", (device.id,), message, _REMEDY)


def _without_points(device: Device, fitting_bore: float, density: float, found: list[Finding]) -> DeviceCurve:
    if device.kind == "reservoir":
        velocity = 1 * L_MIN / (math.pi / 4 * fitting_bore**2)
        pressure = (losses.EXIT + losses.SHARP_ENTRY) * 0.5 * density * velocity**2
        found.append(_remark(device, "no curve given: the loss of one exit and one entry through its fittings is used"))
        return device_curve(((1 * L_MIN, pressure),))
    entry = generic.stand_in(device.kind)
    if entry is not None:
        found.append(_stood_in(device, entry.name))
        return device_curve(_si(entry.points, KPA))
    message = f"No pressure-drop data for {device.id}: it is taken to lose nothing."
    found.append(Finding("device-without-curve", "warning", (device.id,), message, _REMEDY))
    return device_curve(())


def _without_conductance(device: Device, found: list[Finding]) -> RadiatorCurve | None:
    """A stand-in per fan: an invented radiator for one fan, as many times as it carries fans."""
    fans = max(device.fans, 1)
    entry = generic.device("radiator for one fan of 120")
    each = entry.conductance[-1][1]
    message = f"{device.id} has no heat conductance given: a made-up {each:g} W/K for each fan is used."
    remedy = "Type its W/K at measured flows, from its maker or your own measurement."
    found.append(Finding("device-without-curve", "warning", (device.id,), message, remedy))
    return radiator_curve(_si([(flow * fans, value * fans) for flow, value in entry.conductance], 1.0))
