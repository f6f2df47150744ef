"""What changes in a document when a thing is dragged in an elevation, as JSON pointers to numbers.

A held thing has its place in its holder's axes, which may be turned: a drag straight up can change any of its three
coordinates. So each pointer comes with how much its number changes for each mm along the floor's x, y and z.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sketcher.document import Document
from sketcher.document.hardware import Placed
from sketcher.geometry import Shapes
from sketcher.geometry.placement import holder_frame
from sketcher.tubes.runs import Run

#: A number that changes less than this for each mm does not change.
_NONE = 1e-9
#: The part of a thing that is pulled to make it higher, as the moves call it: ``D1/top``.
TOP = "top"
#: What lies so nearly flat has its height along z; the key that holds it.
_UPRIGHT, _HEIGHTS = 1 - 1e-9, {"boards": "parts_height_mm", "devices": "height_mm"}


@dataclass(frozen=True)
class Move:
    """Numbers of the document that a drag changes: (pointer, change for each mm along x, y and z)."""

    values: tuple[tuple[str, tuple[float, float, float]], ...]

    def as_json(self, axis: int, sign: int) -> dict[str, list[dict[str, Any]]]:
        """What a mm up, and a mm to the right of the picture, adds to each number."""
        return {
            "up": [{"pointer": p, "per_mm": round(d[2], 9)} for p, d in self.values if abs(d[2]) > _NONE],
            "right": [
                {"pointer": p, "per_mm": round(sign * d[axis], 9)} for p, d in self.values if abs(d[axis]) > _NONE
            ],
        }


_X, _Y, _Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def moves_of(document: Document, shapes: Shapes, tubes: Sequence[Run]) -> dict[str, Move]:
    """What dragging changes, by id; ``T1/0`` is the first corner of the tube T1. A locked item is not in it."""
    found = {"plate": Move((("/plate/z_mm", _Z),))}
    placed: dict[str, Placed] = {item.id: item for item in (*document.boards, *document.devices)}
    for key in ("boards", "devices"):
        for index, item in enumerate(getattr(document, key)):
            if item.locked:
                continue
            axes = holder_frame(item, placed, shapes.frames).axes
            # The holder's axes are the columns: a move along the floor's axis j is row j in the holder's own.
            values = tuple(
                (f"/{key}/{index}/{name}", (float(axes[0, i]), float(axes[1, i]), float(axes[2, i])))
                for i, name in enumerate(("x_mm", "y_mm", "z_mm"))
                if np.abs(axes[:, i]).max() > _NONE
            )
            found[item.id] = Move(values)
            # What lies flat is as high as one number says: its top edge is pulled by itself.
            if shapes.frames[item.id].axes[2, 2] > _UPRIGHT:
                found[f"{item.id}/{TOP}"] = Move(((f"/{key}/{index}/{_HEIGHTS[key]}", _Z),))
    for index, obstacle in enumerate(document.floor.obstacles):
        if not obstacle.locked:
            at = f"/floor/obstacles/{index}"
            found[f"{obstacle.id}/{TOP}"] = Move(((f"{at}/height_mm", _Z),))
            found[obstacle.id] = Move(((f"{at}/bottom_mm", _Z), (f"{at}/height_mm", _Z)))
    for index, port in enumerate(document.ports):
        if not port.locked:
            found[port.id] = Move(((f"/ports/{index}/x_mm", _X), (f"/ports/{index}/y_mm", _Y)))
    homes = {port.id: f"/ports/{i}/tube/points" for i, port in enumerate(document.ports)}
    homes |= {tube.id: f"/loop/tubes/{i}/points" for i, tube in enumerate(document.loop.tubes)}
    for run in tubes:
        for n in range(len(run.course.points)):
            at = f"{homes[run.id]}/{n}"
            found[f"{run.id}/{n}"] = Move(((f"{at}/x_mm", _X), (f"{at}/y_mm", _Y), (f"{at}/z_mm", _Z)))
    return found
