"""Curves that look as if they were typed in another unit: a block that loses nothing, a pump that lifts a tenth."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sketcher.document import Document
from sketcher.document.hardware import Device
from sketcher.findings import Finding
from sketcher.flow.rules import limit_in_force

#: Water, as good as any coolant for telling a unit: kg/m³.
_DENSITY = 1000.0
#: A block or radiator that loses as much as a smaller hole than this is doubted, mm. Common practice, no source.
_NARROWEST_MM = 2.5
#: What pumps of computers lift and move at most, kPa and l/min. Common practice, no source.
_PUMP_KPA, _PUMP_L_MIN = (5.0, 150.0), (1.0, 60.0)
#: What a pump's two ends come to at least, W: its greatest pressure times its greatest flow. Figures in gal/min and
#: psi read as l/min and kPa are a twenty-sixth of the truth, and each by itself may still look usual. Common
#: practice, no source.
_PUMP_W = 0.8


def equivalent_bore_mm(flow_l_min: float, pressure_kpa: float) -> float:
    """Diameter of the open hole that loses one velocity head as the device does: Δp = ρ v² / 2, v = 4 Q / (π d²).

    Both figures are above 0.
    """
    speed = math.sqrt(2000.0 * pressure_kpa / _DENSITY)
    return 1000.0 * math.sqrt(4.0 * flow_l_min / 60_000.0 / (math.pi * speed))


def doubtful_curves(document: Document) -> Iterator[Finding]:
    """One finding for each device whose measured points can hardly be in the units they stand in."""
    widest = limit_in_force(document, "curve-doubted")
    for device in document.devices:
        points = [(point.flow_l_min, point.pressure_kpa) for point in device.curve]
        if device.kind == "pump":
            yield from _pump(device, points)
            continue
        bores = [equivalent_bore_mm(q, p) for q, p in points if q > 0 and p > 0]
        if device.kind not in ("block", "radiator") or not bores:
            continue
        if max(bores) > widest:
            yield _doubted(
                device,
                f"By its points {device.id} holds the coolant up no more than an open hole of {max(bores):.0f} mm",
                max(bores),
                widest,
            )
        elif min(bores) < _NARROWEST_MM:
            yield _doubted(
                device,
                f"By its points {device.id} holds the coolant up as much as a hole of {min(bores):.1f} mm",
                min(bores),
                _NARROWEST_MM,
            )


def _pump(device: Device, points: list[tuple[float, float]]) -> Iterator[Finding]:
    if not points:
        return
    for value, (low, high), unit, does in (
        (max(p for _, p in points), _PUMP_KPA, "kPa", "lifts"),
        (max(q for q, _ in points), _PUMP_L_MIN, "l/min", "moves"),
    ):
        if not low <= value <= high:
            limit = low if value < low else high
            yield _doubted(device, f"By its points {device.id} {does} {value:g} {unit} at most", value, limit, unit)
            return
    most_kpa, most_l_min = max(p for _, p in points), max(q for q, _ in points)
    power = most_kpa * most_l_min / 60.0
    if power < _PUMP_W and len(points) > 1:
        said = f"By its points {device.id} lifts {most_kpa:g} kPa and moves {most_l_min:g} l/min at most"
        yield _doubted(device, f"{said}, together {power:.2f} W", power, _PUMP_W, "W")


def _doubted(device: Device, said: str, value: float, limit: float, unit: str = "mm") -> Finding:
    return Finding(
        "curve-doubted", "warning", (device.id,), f"{said}: were they typed in another unit?",
        "Compare its points with the data sheet: flow in l/min (1 l/min = 60 l/h = 0.264 US gal/min), pressure in kPa "
        "(1 kPa = 10 mbar = 0.01 bar = 0.102 m of water = 0.145 psi).",
        value, limit, unit,
    )  # fmt: skip
