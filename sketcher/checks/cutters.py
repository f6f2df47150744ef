"""Can it be made: cutters and drills that go in and reach down, and what the laser can leave standing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import shapely

from sketcher.checks.each import Found, each
from sketcher.checks.running import rules
from sketcher.checks.scene import TOUCH_MM, Scene
from sketcher.checks.walls import middle, shortest
from sketcher.document.plate import Shop
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Cause, Change, Finding, Fix, Point, Rule, mm, pair
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.rounds import within
from sketcher.geometry.shapes import HoleShape

#: Slack for what a polygon leaves out of round ends, mm.
SLACK_MM = 0.015
_HALVINGS = 9


def _thickest(scene: Scene) -> float:
    plate = scene.document.plate
    return max(plate.body_thickness_mm, plate.lid_thickness_mm)


_recesses: Found = Remembered()


@rules(
    Rule("cutter-recess", "made", "A cutter of the shop goes into every cutout, pocket and slot, and reaches down",
         None, "mm", "What no cutter goes into cannot be milled. What goes right through is milled from both sides.",
         PRACTICE),
    named=True,
)  # fmt: skip
def recesses(scene: Scene) -> Iterator[Finding]:
    """Cutouts, pockets and slots against the shop's cutters."""
    document, shop, through = scene.document, scene.document.shop, _thickest(scene) / 2
    slots = [
        hole
        for hole in scene.shapes.holes.values()
        if hole.item.slot_length_mm is not None and hole.item.slot_length_mm > hole.diameter
    ]
    rows: list[tuple[tuple[Any, ...], tuple[float, str]]] = [
        *(((item, shop), (through, "cutout")) for item in document.cutouts),
        *(((item, shop), (item.depth_mm, "pocket")) for item in document.pockets),
        *(((hole, shop), (_deep(scene, hole) / (1 if hole.blind else 2), "slot")) for hole in slots),
    ]

    def look(n: int) -> Iterator[Finding]:
        (thing, _), (depth, what) = rows[n]
        if what == "slot":
            return _recess(thing.item.id, thing.prism.polygon, depth, what, shop)
        return _recess(thing.id, within(contour(thing.outline)), depth, what, shop)

    yield from each(_recesses, rows, look)


def _recess(id_: str, area: shapely.Geometry, depth: float, what: str, shop: Shop) -> Iterator[Finding]:
    reaching = [d for d in shop.cutter_diameters_mm if d * shop.deepest_by_diameter >= depth - 1e-9]
    least = min(reaching, default=None)
    area = area if shapely.is_valid(area) else shapely.make_valid(area)
    place = shapely.point_on_surface(area)
    if least is None:
        most = max(shop.cutter_diameters_mm) * shop.deepest_by_diameter
        yield Finding(
            "cutter-recess", "error", (id_,), f"The {what} {id_} is {mm(depth)} deep from one side; the shop's "
            f"cutters reach {mm(most)}.", "Make it less deep, or find a shop with longer cutters.",
            depth, most, "mm", (place.x, place.y),
        )  # fmt: skip
        return
    if not shapely.is_empty(shapely.buffer(area, -(least / 2 - SLACK_MM))):
        if what == "slot" or (neck := narrowest(area, least)) is None:
            return
        room, at = neck
        yield Finding(
            "cutter-recess", "error", (id_,), f"The {what} {id_} narrows to {mm(room)}; the thinnest cutter that "
            f"reaches {mm(depth)} down has {mm(least)} and does not pass.", f"Make it {mm(least)} wide or more "
            "there, or make two of it.", room, least, "mm", at,
        )  # fmt: skip
        return
    circles = shapely.maximum_inscribed_circle(np.array([area], dtype=object), 0.005)
    room = 2 * float(shapely.length(circles).max())
    yield Finding(
        "cutter-recess", "error", (id_,), f"The {what} {id_} has room for a cutter of {mm(room)}; the thinnest "
        f"that reaches {mm(depth)} down has {mm(least)}.", f"Make it {mm(least)} wide or more.",
        room, least, "mm", (place.x, place.y),
    )  # fmt: skip


def narrowest(area: shapely.Geometry, cutter: float) -> tuple[float, Point] | None:
    """The neck or narrow arm of a recess that a cutter does not pass: its width, mm, and place; none when it passes.

    A corner is no arm: what stays in it reaches no farther than a cutter's diameter from where the cutter comes.
    """
    convex = float(shapely.area(shapely.convex_hull(area)))
    left = None if convex - float(shapely.area(area)) < 1e-6 else _left_uncut(area, cutter)
    if left is None:
        return None
    low, high = 0.0, cutter
    for _ in range(_HALVINGS):
        half = (low + high) / 2
        low, high = (half, high) if _left_uncut(area, half) is None else (low, half)
    room = low - 2 * SLACK_MM
    if room < SLACK_MM:
        return None  # an acute corner narrows to nothing: the radius of corners is asked for elsewhere
    place = shapely.point_on_surface(_left_uncut(area, high) or left)
    return room, (place.x, place.y)


def _left_uncut(area: shapely.Geometry, cutter: float) -> shapely.Geometry | None:
    """What a round cutter leaves of an area, beside its corners: a neck between two pieces, or an arm; or none."""
    radius = cutter / 2 - SLACK_MM
    if radius <= 0:
        return None
    ways = shapely.buffer(area, -radius, quad_segs=16)
    if shapely.is_empty(ways):
        return area
    reached = shapely.buffer(ways, radius + SLACK_MM, quad_segs=16)
    rests = [part for part in shapely.get_parts(shapely.difference(area, reached)) if part.area > SLACK_MM**2]
    pieces = [shapely.buffer(piece, radius + 2 * SLACK_MM) for piece in shapely.get_parts(ways)]
    if len(pieces) > shapely.get_num_geometries(area):
        between = [rest for rest in rests if sum(shapely.intersects(piece, rest) for piece in pieces) > 1]
        found: shapely.Geometry = (between or rests or [area])[0]
        return found
    far = [rest for rest in rests if shapely.hausdorff_distance(shapely.union(rest, reached), reached) > cutter]
    worst: shapely.Geometry | None = max(far, key=lambda rest: float(rest.area), default=None)
    return worst


def _deep(scene: Scene, hole: HoleShape) -> float:
    """How far a hole is drilled into the thicker of the parts that it goes through, mm."""
    return min(hole.prism.high - hole.prism.low, _thickest(scene))


@rules(
    Rule("hole-least", "made", "No hole is smaller than the smallest drill", 1.0, "mm",
         "Thinner drills wander and break in acrylic.", PRACTICE),
    Rule("drill-reach", "made", "A hole's depth, in diameters of its drill", 10.0, "d",
         "A drill of the usual length does not reach farther; its chips melt in the hole.", PRACTICE),
    named=True,
)  # fmt: skip
def drills(scene: Scene) -> Iterator[Finding]:
    """Holes and bores against drills."""
    least, reach = scene.limit("hole-least"), scene.limit("drill-reach")
    rows: list[tuple[str, str, int, float, float, Point]] = [
        (hole.item.id, "holes", k, hole.diameter, _deep(scene, hole), (hole.item.x_mm, hole.item.y_mm))
        for k, hole in enumerate(scene.shapes.holes.values())
        if hole.item.slot_length_mm is None
    ]
    for k, port in enumerate(scene.shapes.ports.values()):
        bore = port.bore_prism
        deep = (
            float(np.hypot(port.root[0] - port.at[0], port.root[1] - port.at[1]))
            if port.heading
            else (bore.high - bore.low)
        )
        rows.append((port.item.id, "ports", k, port.bore_diameter, min(deep, _thickest(scene)) if not port.heading
                     else deep, port.at))  # fmt: skip
    for id_, key, k, diameter, deep, at in rows:
        name = "bore_diameter_mm" if key == "ports" else "diameter_mm"
        if diameter < least - 1e-9:
            yield Finding(
                "hole-least", "warning", (id_,), f"{id_} is drilled {mm(diameter)} wide; {mm(least)} is the minimum.",
                f"Make it {mm(least)} wide or more.", diameter, least, "mm", at,
                fix=Fix(f"Drill {id_} {mm(least)} wide", (Change(f"/{key}/{k}/{name}", least),)),
            )  # fmt: skip
        elif deep / diameter > reach + 1e-9:
            yield Finding(
                "drill-reach", "warning", (id_,), f"{id_} is {mm(deep)} deep, {deep / diameter:.1f} times its "
                f"diameter; {reach:g} is the maximum.", "Make it wider or less deep.", deep / diameter, reach, "d", at,
                cause=Cause("reach", f"{{count}} holes are deeper than {reach:g} times their diameter.",
                            "Make them wider or less deep.", "largest"),
            )  # fmt: skip


@rules(
    Rule("laser-hole", "made", "A hole in the test piece, in thicknesses of its sheet", 0.5, "t",
         "A laser burns smaller holes shut; they are marked with a cross, not cut.", PRACTICE),
    Rule("laser-web", "made", "What stays between two cuts in the test piece", 1.5, "mm",
         "A thinner wall burns through or breaks when the piece is lifted out.", PRACTICE),
    named=True,
)  # fmt: skip
def laser(scene: Scene) -> Iterator[Finding]:
    """The test piece's holes and what stands between them."""
    piece = scene.document.test_piece
    cores, radii, ids, sizes = _cuts(scene)
    share = scene.limit("laser-hole")
    for id_, size, core in zip(ids, sizes, cores, strict=True):
        if size < share * piece.thickness_mm - 1e-9:
            place = shapely.point_on_surface(core)
            yield Finding(
                "laser-hole", "note", (id_,), f"{id_} is {mm(size)} wide in the test piece, which is "
                f"{mm(piece.thickness_mm)} thick: it is marked, not cut.",
                "Use thinner sheet for the test piece, or drill it by hand.",
                size / piece.thickness_mm, share, "t", (place.x, place.y),
                cause=Cause("laser", "{count} holes are too small for the laser in the test piece: they are marked, "
                            "not cut.", "Use thinner sheet for the test piece, or drill them by hand."),
            )  # fmt: skip
    limit = scene.limit("laser-web")
    if not ids:
        return
    shapes, sizes_ = np.array(cores, dtype=object), np.array(radii)
    tree = shapely.STRtree(shapes)
    first, second = tree.query(shapes, predicate="dwithin", distance=2 * float(sizes_.max()) + limit)
    once = first < second
    first, second = first[once], second[once]
    gaps = shapely.distance(shapes[first], shapes[second]) - sizes_[first] - sizes_[second]
    edge = shapely.distance(scene.edge, shapes) - sizes_
    inside = shapely.intersects(scene.plate, shapes)
    rows: list[tuple[float, tuple[str, ...], tuple[Point, Point]]]
    rows = [(float(gaps[k]), (ids[first[k]], ids[second[k]]), shortest(shapes[first[k]], shapes[second[k]]))
            for k in np.flatnonzero(gaps < limit - TOUCH_MM)]  # fmt: skip
    rows += [
        (float(edge[k]), (ids[k],), shortest(shapes[k], scene.edge)) for k in np.flatnonzero(inside & (edge < limit))
    ]
    for value, items, line in rows:
        if frozenset(items) in scene.doubles or value <= 0:
            continue  # what overlaps is said by the walls
        yield Finding(
            "laser-web", "warning", pair(*items) if len(items) == 2 else items,
            f"In the test piece {mm(value)} stays between {items[0]} and "
            f"{items[1] if len(items) == 2 else 'the edge'}; {mm(limit)} is the minimum.",
            f"Move them {mm(limit - value)} apart, or choose smaller port holes for the test piece.",
            value, limit, "mm", middle(line), line,
            cause=Cause("laser", f"{{count}} webs of the test piece are thinner than {mm(limit)}.",
                        "Move them apart, or choose smaller port holes for the test piece."),
        )  # fmt: skip


def _cuts(scene: Scene) -> tuple[list[shapely.Geometry], list[float], list[str], list[float]]:
    """What is cut in the test piece: cores, the radii they grow by, ids and widths."""
    piece, loop, shapes = scene.document.test_piece, scene.document.loop, scene.shapes
    cores: list[shapely.Geometry] = []
    radii, ids, sizes = list[float](), list[str](), list[float]()
    for id_, port in shapes.ports.items():
        if port.heading is None:
            wide = {"tube": loop.tube_outer_diameter_mm, "fitting": port.item.fitting_diameter_mm}
            size = wide.get(piece.port_holes, port.bore_diameter)
            cores.append(port.bore_prism.core or port.bore_prism.polygon)
            radii.append(size / 2)
            ids.append(id_)
            sizes.append(size)
    for id_, hole in shapes.holes.items():
        cores.append(hole.prism.core or hole.prism.polygon)
        radii.append(hole.prism.radius)
        ids.append(id_)
        sizes.append(hole.diameter)
    for id_, area in shapes.cutouts.items():
        sound = area.polygon if area.polygon.is_valid else shapely.make_valid(area.polygon)
        cores.append(sound)
        radii.append(0.0)
        ids.append(id_)
        sizes.append(float("inf"))
    return cores, radii, ids, sizes
