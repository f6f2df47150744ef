"""Small loops to try the flow on: devices in a row, joined by channels; every curve here is made up."""

from __future__ import annotations

from typing import Any

from sketcher.document import Document, from_plain
from sketcher.flow import FlowResult, solve_loop
from sketcher.geometry import build

PUMP = [(0, 42), (3, 40), (6, 34), (9, 25), (12, 13), (14, 0)]
BLOCK = [(1, 1.1), (2, 3.9), (4, 13.5), (6, 28.0)]
RADIATOR = [(1, 0.2), (2, 0.7), (4, 2.4), (6, 5.0)]
CONDUCTANCE = [(1, 23), (2, 27.5), (4, 32), (8, 34.6)]


def device(id_: str, kind: str, curve: list[tuple[float, float]] | None = None, **more: Any) -> dict[str, Any]:
    """A device of a kind with an inlet and an outlet; the usual curve of its kind when none is given."""
    usual = {"pump": PUMP, "block": BLOCK, "radiator": RADIATOR}.get(kind, [])
    points = usual if curve is None else curve
    found = {
        "id": id_,
        "kind": kind,
        "ports": [{"id": "in", "flow": "in"}, {"id": "out", "flow": "out"}],
        "curve": [{"flow_l_min": q, "pressure_kpa": p} for q, p in points],
    }
    if kind == "radiator":
        found["conductance"] = [{"flow_l_min": q, "conductance_w_k": g} for q, g in CONDUCTANCE]
    return {**found, **more}


def ring(*devices: dict[str, Any], width: float = 10.0, depth: float = 8.0, **more: Any) -> dict[str, Any]:
    """Devices one after another, back to the first: each outlet's port is joined by a channel to the next inlet's."""
    names = [d["id"] for d in devices]
    joints = [(f"{a}.out", f"{b}.in", width, depth) for a, b in zip(names, [*names[1:], names[0]], strict=True)]
    return plate(devices, joints, **more)


def plate(
    devices: Any, joints: list[tuple[str, str, float, float]], branches: tuple[str, ...] = (), **more: Any
) -> dict[str, Any]:
    """A plain document: a port below every device port a joint names, and a channel for every joint.

    A joint is (end, end, width, depth); an end is ``DEVICE.port`` or the id of a branch.
    """
    ends = sorted({end for joint in joints for end in joint[:2] if "." in end})
    spots = {end: (20.0 + 30.0 * (i % 40), 20.0 + 60.0 * (i // 40) + 30.0 * (i % 2)) for i, end in enumerate(ends)}
    places = {d["id"]: d for d in devices}
    ports = []
    for i, (end, (x, y)) in enumerate(spots.items()):
        ports.append({"id": f"P{i + 1}", "x_mm": x, "y_mm": y, "serves": end})
        owner, name = end.split(".")
        for port in places[owner]["ports"]:
            if port["id"] == name:
                port.update(u_mm=x, v_mm=y, w_mm=100.0)
    id_of = {end: f"P{i + 1}" for i, end in enumerate(spots)}
    channels = [
        {"id": f"C{i + 1}", "start": id_of.get(a, a), "end": id_of.get(b, b), "width_mm": w, "depth_mm": d}
        for i, (a, b, w, d) in enumerate(joints)
    ]
    size = 60.0 + 30.0 * min(len(ends), 40)
    deep = 100.0 + 60.0 * (len(ends) // 40)
    outline = {"shape": "rectangle", "x_mm": size / 2, "y_mm": deep / 2, "width_mm": size, "depth_mm": deep}
    return {
        "floor": {"outline": outline},
        "plate": {"outline": outline, "body_thickness_mm": 20, "lid_thickness_mm": 8},
        "devices": list(devices),
        "ports": ports,
        "branches": [{"id": b, "x_mm": 25.0 + 37.0 * i, "y_mm": 50.0} for i, b in enumerate(branches)],
        "channels": channels,
        **more,
    }


def usual(**more: Any) -> dict[str, Any]:
    """A pump, two heated blocks and a radiator in a ring."""
    return ring(
        device("PUMP", "pump"),
        device("ONE", "block", heat_w=150),
        device("TWO", "block", heat_w=250),
        device("RAD", "radiator"),
        **more,
    )


def document(plain: dict[str, Any]) -> Document:
    """The plain document, validated."""
    return from_plain(plain)


def solved(plain: dict[str, Any]) -> FlowResult:
    """The plain document's flow."""
    found = document(plain)
    return solve_loop(found, build(found))


def rules(result: FlowResult, *levels: str) -> set[str]:
    """Names of the findings' rules, of some levels only when any are named."""
    return {finding.rule for finding in result.findings if not levels or finding.level in levels}
