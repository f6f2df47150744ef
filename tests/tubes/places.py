"""Documents with tubes: a plate, devices with a port each, and what stands between them."""

from __future__ import annotations

from typing import Any

from sketcher.document import Document, from_plain
from sketcher.geometry import Shapes, build
from sketcher.tubes.runs import Run, runs


def plain(*devices: dict[str, Any], ports: tuple[dict[str, Any], ...] = (), **more: Any) -> dict[str, Any]:
    """A plate of 400 by 300 by 20 mm on a floor of 500 by 400, with devices and ports."""
    outline = {"shape": "rectangle", "x_mm": 250, "y_mm": 200, "width_mm": 500, "depth_mm": 400}
    return {
        "floor": {"outline": outline},
        "plate": {
            "outline": {**outline, "width_mm": 400, "depth_mm": 300}, "body_thickness_mm": 12, "lid_thickness_mm": 8
        },
        "devices": list(devices),
        "ports": list(ports),
        **more,
    }  # fmt: skip


def device(id_: str, at: tuple[float, float, float], heading: str | None = "w-", **more: Any) -> dict[str, Any]:
    """A device that is one port in space."""
    x, y, z = at
    port = {"id": "p", "heading": heading} if heading else {"id": "p"}
    return {"id": id_, "kind": "other", "x_mm": x, "y_mm": y, "z_mm": z, "ports": [port], **more}


def box(id_: str, low: tuple[float, float, float], high: tuple[float, float, float]) -> dict[str, Any]:
    """A device that is in the way, from one corner to the other, without a port."""
    sizes = [b - a for a, b in zip(low, high, strict=True)]
    outline = {
        "shape": "rectangle", "x_mm": sizes[0] / 2, "y_mm": sizes[1] / 2, "width_mm": sizes[0], "depth_mm": sizes[1]
    }  # fmt: skip
    return {"id": id_, "kind": "other", "x_mm": low[0], "y_mm": low[1], "z_mm": low[2], "height_mm": sizes[2],
            "outline": outline}  # fmt: skip


def port(id_: str, x: float, y: float, serves: str, **tube: Any) -> dict[str, Any]:
    """A port on the plate's top with its tube."""
    found: dict[str, Any] = {"id": id_, "x_mm": x, "y_mm": y, "serves": serves}
    if tube:
        found["tube"] = tube
    return found


def corners(*places: tuple[float, float, float]) -> list[dict[str, float]]:
    """Corners of a course."""
    return [{"x_mm": x, "y_mm": y, "z_mm": z} for x, y, z in places]


def made(content: dict[str, Any]) -> tuple[Document, Shapes, list[Run]]:
    """The document, its shapes and its tubes."""
    document = from_plain(content)
    shapes = build(document)
    return document, shapes, runs(document, shapes)
