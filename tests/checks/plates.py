"""Small plates for the tests: a bare one, and made ones of any size."""

from __future__ import annotations

import math
from typing import Any

from sketcher.checks import Finding, run, running
from sketcher.checks.by_rule import with_lid_screws
from sketcher.checks.scene import Scene
from sketcher.document import Document, from_plain
from sketcher.findings import limits_of
from sketcher.geometry import build


def rectangle(x: float, y: float, width: float, depth: float, radius: float = 0.0) -> dict[str, Any]:
    return {
        "shape": "rectangle",
        "x_mm": x,
        "y_mm": y,
        "width_mm": width,
        "depth_mm": depth,
        "corner_radius_mm": radius,
    }


def circle(x: float, y: float, diameter: float) -> dict[str, Any]:
    return {"shape": "circle", "x_mm": x, "y_mm": y, "diameter_mm": diameter}


def channel(id_: str, *points: tuple[float, float], start=None, end=None, **more: Any) -> dict[str, Any]:
    ends = {key: value for key, value in (("start", start), ("end", end)) if value}
    places = [{"x_mm": x, "y_mm": y} for x, y in points]
    return {"id": id_, "points": places, "width_mm": 8, "depth_mm": 8, **ends, **more}


def plate(**parts: Any) -> Document:
    """A plate of 300 x 200 mm on a floor of 400 x 300, body 20 and lid 6, with the parts given."""
    plain = {
        "floor": {"outline": rectangle(200, 150, 400, 300)},
        "plate": {"outline": rectangle(200, 150, 300, 200), "body_thickness_mm": 20, "lid_thickness_mm": 6},
    }
    for key, value in parts.items():
        plain[key] = {**plain[key], **value} if key in plain else value
    return from_plain(plain)


def found(document: Document, rule: str) -> list[Finding]:
    return [finding for finding in run(document) if finding.rule == rule]


def measured(document: Document, rule: str, *, quick: bool = False) -> list[Finding]:
    """What a rule measures, also where another one tells the same spot better: of the same things, or of the plate."""
    told = run(document, quick=quick)
    of_rule = [finding for finding in told if finding.rule == rule]
    if of_rule:
        return of_rule
    document = with_lid_screws(document)
    look = next(look for look in running._LOOKS if rule in {known.name for known in running._DESCRIBED[look]})
    silent = [finding for finding in look(Scene(build(document), limits_of(document))) if finding.rule == rule]
    loud = {item for finding in told if finding.level == "error" for item in finding.items}
    assert all(loud & set(finding.items) for finding in silent), f"{rule} is silent, and nothing is told instead"
    return silent


def made(count: int) -> Document:
    """A plate of about ``count`` items in rows: per cell two ports joined by a channel, a hole and a cutout.

    Walls are a little under their limits in every seventh cell, so that findings are part of the work.
    """
    cells = max(1, count // 5)
    columns = math.ceil(math.sqrt(cells * 0.75))
    rows = math.ceil(cells / columns)
    ports, channels, holes, cutouts = [], [], [], []
    for k in range(cells):
        x, y = 30 + 80 * (k % columns), 30 + 60 * (k // columns)
        near = 5.5 if k % 7 == 0 else 0.0
        ports += [{"id": f"P{2 * k}", "x_mm": x, "y_mm": y}, {"id": f"P{2 * k + 1}", "x_mm": x + 40, "y_mm": y + 18}]
        channels.append(channel(f"C{k}", (x, y + 18), start=f"P{2 * k}", end=f"P{2 * k + 1}", bend_radius_mm=8))
        holes.append({"id": f"H{k}", "x_mm": x + 20, "y_mm": y + 6 + near})
        cutouts.append({"id": f"K{k}", "outline": rectangle(x + 20, y + 34, 16, 8, 3)})
    width, depth = 80 * columns + 40, 60 * rows + 40
    area = rectangle(width / 2, depth / 2, width, depth)
    return from_plain(
        {
            "floor": {"outline": area},
            "plate": {"outline": area, "body_thickness_mm": 20, "lid_thickness_mm": 6},
            "ports": ports,
            "channels": channels,
            "holes": holes,
            "cutouts": cutouts,
        }
    )
