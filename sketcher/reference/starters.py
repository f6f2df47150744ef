"""Parts to start from, without makers: published sizes where there are any, and a sentence on all that is assumed.

Fans and boards are sized by their published patterns; what no standard gives (tanks of radiators, places of ports,
blocks, pumps) is assumed, and every curve is invented. Whoever builds measures the part in hand.
"""

from __future__ import annotations

from functools import cache

from sketcher.document.hardware import ConductancePoint, CurvePoint, Device, DevicePort
from sketcher.document.library import DevicePart, OwnPart
from sketcher.document.outlines import Rectangle
from sketcher.reference import devices, fans

#: Fans that radiators are made for, mm, and how many of them in a row.
_RADIATOR_FANS = (120.0, 140.0)
_COUNTS = (1, 2, 3, 4)
#: Tanks beyond the fan frames, both ends together, thickness of the core, ports apart, mm: common practice, no source.
_TANKS_MM, _CORE_MM, _PORTS_APART_MM = 36.0, 30.0, 60.0
#: One more fan takes in so much of a radiator's pressure loss again: the flow passes the same tubes, only longer.
_PLAIN = "radiator for three fans of 120"


@cache
def starters() -> tuple[OwnPart, ...]:
    """Every starter, radiators first."""
    radiators = tuple(_radiator(size, count) for size in _RADIATOR_FANS for count in _COUNTS)
    return (*radiators, _pump(), _block("board", 84.0, 84.0, 20.0, 28.0), _block("card", 220.0, 110.0, 12.0, 28.0))


def _radiator(size_mm: float, count: int) -> DevicePart:
    """A radiator for ``count`` fans; its length between fan frames is count × size, by the published pattern."""
    row = fans.radiator(size_mm, count)
    length = row.length_mm + _TANKS_MM
    plain = devices.device(_PLAIN)
    # In proportion to the length of its tubes, and for the heat to the area that the fans cover.
    longer, wider = row.length_mm / 360, count * size_mm**2 / (3 * 120**2)
    spacing = f"{row.fan.hole_spacing_mm:g}"
    return DevicePart(
        kind="device",
        name=f"Radiator, {count} × {size_mm:g} mm",
        assumed=(
            f"Published: {count} × {size_mm:g} mm between fan frames, {spacing} mm between the holes of a fan. "
            f"Assumed: fans that touch, {_TANKS_MM:g} mm of tanks in all, {_CORE_MM:g} mm thick, both G1/4 ports at "
            f"one end {_PORTS_APART_MM:g} mm apart. Pressure loss and heat are invented: measure your own."
        ),
        device=Device(
            id="D1",
            kind="radiator",
            outline=Rectangle(x_mm=0, y_mm=0, width_mm=length, depth_mm=row.width_mm),
            height_mm=_CORE_MM,
            ports=_pair(-length / 2 + _TANKS_MM / 4, _PORTS_APART_MM / 2, along="v", heading="u-"),
            curve=_curve(plain.points, longer),
            conductance=tuple(
                ConductancePoint(flow_l_min=flow, conductance_w_k=round(value * wider, 2))
                for flow, value in plain.conductance
            ),
            metal="copper",
            fans=count,
            fan_size_mm=size_mm,
            invented=True,
        ),
    )


def _pump() -> DevicePart:
    entry = devices.device("small pump")
    return DevicePart(
        kind="device",
        name="Pump with reservoir",
        assumed=(
            "All assumed: 70 × 70 mm, 150 mm high, G1/4 ports 28 mm apart at its foot, 250 ml. "
            "Its curve is invented: type the maximum head and the maximum flow of your own."
        ),
        device=Device(
            id="D1",
            kind="pump",
            outline=Rectangle(x_mm=0, y_mm=0, width_mm=70, depth_mm=70),
            height_mm=150,
            ports=_pair(0, 14, along="u", heading="v-", at=-35, height=20),
            curve=_curve(entry.points, 1.0),
            volume_ml=250,
            has_reservoir=True,
            metal="none",
            invented=True,
        ),
    )


def _block(what: str, width: float, depth: float, height: float, apart: float) -> DevicePart:
    entry = devices.device("plain block")
    return DevicePart(
        kind="device",
        name=f"Block for a {what}",
        assumed=(
            f"All assumed: {width:g} × {depth:g} mm, {height:g} mm high, G1/4 ports {apart:g} mm apart on its top. Its "
            "curve is invented: measure your own. Type the heat it takes up."
        ),
        device=Device(
            id="D1",
            kind="block",
            outline=Rectangle(x_mm=0, y_mm=0, width_mm=width, depth_mm=depth),
            height_mm=height,
            ports=_pair(0, apart / 2, along="u", heading="w+", height=height),
            curve=_curve(entry.points, 1.0),
            metal="copper",
            invented=True,
        ),
    )


def _curve(points: devices.Pairs, factor: float) -> tuple[CurvePoint, ...]:
    return tuple(CurvePoint(flow_l_min=flow, pressure_kpa=round(value * factor, 3)) for flow, value in points)


def _pair(
    middle: float, half: float, *, along: str, heading: str, at: float = 0.0, height: float | None = None
) -> tuple[DevicePort, DevicePort]:
    """An inlet and an outlet, ``half`` either side of a place along u or v."""
    w_mm = _CORE_MM / 2 if height is None else height
    ends = (("in", -half, "in"), ("out", half, "out"))
    places = {name: (middle, off) if along == "v" else (middle + off, at) for name, off, _ in ends}
    first, second = (
        DevicePort.model_validate(
            {
                "id": name,
                "u_mm": places[name][0],
                "v_mm": places[name][1],
                "w_mm": w_mm,
                "flow": flow,
                "heading": heading,
                "thread": "G1/4",
            }
        )
        for name, _, flow in ends
    )
    return first, second
