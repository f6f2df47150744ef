"""What the ports serve goes along with them.

A fit reading says where a tube comes down. So when a port is moved there, the device's port stands there too: were the
device left behind, the next check would say that its tube misses the port, and offer to undo the correction.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.document.hardware import Board, Device, Placed
from sketcher.geometry.placement import frames, own_frame
from sketcher.trial.pieces import holders
from sketcher.trial.rigid_motion import RigidMotion, Vector, common_motion

_DECIMALS = 4


def carried(document: Document, moves: Mapping[str, Vector], groups: Mapping[str, RigidMotion]) -> dict[str, Any]:
    """Boards and devices after some ports moved, by the document's keys; locked ones stay.

    Args:
        document: before the moves.
        moves: of ports, mm.
        groups: motions of the items that follow a group.

    A group's hardware follows the group. A device all of whose served ports move as one rigid piece goes as one, with
    the card and the riser that hold it when they hold nothing else that the plate serves; else its port alone moves.
    """
    items: dict[str, Placed] = {item.id: item for item in (*document.boards, *document.devices)}
    place = frames(document)
    moved = dict(items)
    for id_, along in groups.items():
        if id_ in items and items[id_].held_by is None:
            moved[id_] = _moved_root(items[id_], along)
    served: dict[str, list[tuple[str, str]]] = {}
    for port in document.ports:
        if port.serves is not None:
            device, name = port.serves.split(".", 1)
            served.setdefault(device, []).append((port.id, name))
    ports = {port.id: (port.x_mm, port.y_mm) for port in document.ports}
    for device, links in served.items():
        going = [(id_, name) for id_, name in links if id_ in moves]
        if not going or device not in items or _follows(document, device, groups, items):
            continue
        motion = common_motion([ports[id_] for id_, _ in going], [moves[id_] for id_, _ in going])
        if motion is None or len(going) < len(links):
            moved[device] = _ports_moved(moved[device], {name: moves[id_] for id_, name in going}, place[device].axes)
            continue
        top = _top(document, device, items, served)
        if items[top].locked or items[device].locked:
            continue
        if items[top].held_by is None:
            moved[top] = _moved_root(moved[top], motion)
        elif not motion.turn_deg:
            moved[top] = _moved_held(moved[top], (motion.x, motion.y), place[top].axes)
        else:
            moved[device] = _ports_moved(moved[device], {name: moves[id_] for id_, name in going}, place[device].axes)
    return {
        "boards": [moved[item.id] for item in document.boards],
        "devices": [moved[item.id] for item in document.devices],
    }


def carried_whole(document: Document, motion: RigidMotion) -> dict[str, Any]:
    """Boards and devices after the whole plate moved: what the plate serves goes along, with all that holds it."""
    served = {port.serves.split(".", 1)[0] for port in document.ports if port.serves is not None}
    held = {id_: (holders(document, id_) or [id_])[-1] for id_ in served}
    roots = set(held.values())

    def moved(item: Any) -> Any:
        return _moved_root(item, motion) if item.id in roots and not item.locked else item

    return {
        "boards": [moved(item) for item in document.boards],
        "devices": [moved(item) for item in document.devices],
    }


def _follows(document: Document, device: str, groups: Mapping[str, RigidMotion], items: Mapping[str, Placed]) -> bool:
    """Whether a group takes the device along, by itself or with what holds it."""
    return any(id_ in groups and items[id_].held_by is None for id_ in (device, *holders(document, device)))


def _top(
    document: Document, device: str, items: Mapping[str, Placed], served: Mapping[str, list[tuple[str, str]]]
) -> str:
    """The outermost holder that goes with the device: cards and risers that hold no other device the plate serves."""
    top = device
    for holder in holders(document, device):
        item = items[holder]
        others = {other for other in served if other != device and holder in holders(document, other)}
        if not isinstance(item, Board) or item.role == "mainboard" or others:
            break
        top = holder
    return top


def _moved_root(item: Any, motion: RigidMotion) -> Any:
    """Something that stands on the floor, moved and turned about the vertical."""
    if item.locked:
        return item
    x, y = motion.place(item.x_mm, item.y_mm)
    update: dict[str, float] = {"x_mm": _round(x), "y_mm": _round(y)}
    if motion.turn_deg:
        update["turn_deg"] = round((item.turn_deg + motion.turn_deg + 180.0) % 360.0 - 180.0, 6) + 0.0
    return item.model_copy(update=update)


def _moved_held(item: Any, by: Vector, axes: NDArray[np.float64]) -> Any:
    """Something that a board holds, shifted along the floor: its place is in its holder's axes."""
    outer = axes @ own_frame(item).axes.T
    u, v, w = outer.T @ np.array([*by, 0.0])
    return item.model_copy(
        update={"x_mm": _round(item.x_mm + u), "y_mm": _round(item.y_mm + v), "z_mm": _round(item.z_mm + w)}
    )


def _ports_moved(item: Any, by: Mapping[str, Vector], axes: NDArray[np.float64]) -> Any:
    """A device whose ports stand elsewhere on it than was thought."""
    if not isinstance(item, Device) or item.locked:
        return item
    ports = []
    for port in item.ports:
        if port.id in by:
            u, v, w = axes.T @ np.array([*by[port.id], 0.0])
            port = port.model_copy(
                update={
                    "u_mm": _round(port.u_mm + u), "v_mm": _round(port.v_mm + v), "w_mm": _round(port.w_mm + w),
                }
            )  # fmt: skip
        ports.append(port)
    return item.model_copy(update={"ports": ports})


def _round(value: float) -> float:
    return round(float(value), _DECIMALS) + 0.0
