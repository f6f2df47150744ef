"""Can it be made: cutters, corners, contours, names the shop knows."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from sketcher.checks.each import Found, each
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document.outlines import Outline
from sketcher.document.plate import Shop
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Change, Finding, Fix, Rule, mm
from sketcher.geometry.path import Path, Point
from sketcher.geometry.shapes import AreaShape
from sketcher.reference import screws, threads
from sketcher.reference.boards import names as board_names


def cutter_for(scene: Scene, width: float, depth: float) -> float | None:
    """The largest of the shop's cutters that goes into a slot of this width and reaches this depth, mm."""
    shop = scene.document.shop
    fits = [d for d in shop.cutter_diameters_mm if d <= width + 1e-9 and d * shop.deepest_by_diameter >= depth - 1e-9]
    return max(fits, default=None)


@rules(
    Rule("cutter-channel", "made", "A cutter of the shop goes into the channel and reaches its floor", None, "mm",
         "A channel narrower than the cutter, or deeper than the cutter reaches, cannot be milled.", PRACTICE),
    Rule("bend-inside", "made", "Radius left on the inside of a bend", 1.0, "mm",
         "A cutter that turns on the spot leaves a sharp inside corner, where acrylic cracks and the flow separates.",
         PRACTICE),
    Rule("bend-no-room", "made", "A bend has room for its radius", None, "mm",
         "A bend that does not fit between its neighbours is made tighter than was asked for.", PRACTICE),
    named=True,
)  # fmt: skip
def channels(scene: Scene) -> Iterator[Finding]:
    """Channels against the shop's cutters, and their bends."""
    inside = scene.limit("bend-inside")
    for index, (id_, channel) in enumerate(scene.shapes.channels.items()):
        item = channel.item
        if cutter_for(scene, item.width_mm, item.depth_mm) is None:
            shop = scene.document.shop
            least = min(shop.cutter_diameters_mm)
            narrow = item.width_mm < least
            reach = max((d for d in shop.cutter_diameters_mm if d <= item.width_mm), default=least)
            limit = least if narrow else reach * shop.deepest_by_diameter
            yield Finding(
                rule="cutter-channel",
                level="error",
                items=(id_,),
                value=item.width_mm if narrow else item.depth_mm,
                limit=limit,
                unit="mm",
                at=channel.path.at(channel.path.length / 2) if channel.path.segments else None,
                message=f"The channel {id_} is {mm(item.width_mm)} wide; the shop's thinnest cutter is {mm(least)}."
                if narrow
                else f"The channel {id_} is {mm(item.depth_mm)} deep; a cutter of its width reaches {mm(limit)}.",
                remedy=f"Make it {mm(least)} wide or more."
                if narrow
                else f"Make it wider, or {mm(limit)} deep at most.",
                fix=Fix(f"Make {id_} {mm(least)} wide", (Change(f"/channels/{index}/width_mm", least),))
                if narrow
                else Fix(f"Make {id_} {mm(limit)} deep", (Change(f"/channels/{index}/depth_mm", limit),)),
            )
        for bend in channel.bends:
            value = bend.radius - item.width_mm / 2
            if not bend.fits:
                yield Finding(
                    rule="bend-no-room",
                    level="warning",
                    items=(id_,),
                    value=bend.radius,
                    limit=bend.wanted,
                    unit="mm",
                    at=bend.corner,
                    message=f"A bend of {id_} has room for a radius of {mm(bend.radius)}, not {mm(bend.wanted)}.",
                    remedy="Move its neighbours apart, or ask for a smaller radius.",
                )
            if value < inside - 1e-6 and abs(bend.angle_deg) > 5:
                yield Finding(
                    rule="bend-inside",
                    level="warning",
                    items=(id_,),
                    value=max(value, 0.0),
                    limit=inside,
                    unit="mm",
                    at=bend.corner,
                    message=f"A bend of {id_} has the inside radius {mm(max(value, 0.0))} (minimum {mm(inside)}).",
                    remedy=f"Give it a bend radius of {mm(item.width_mm / 2 + inside)} or more.",
                    fix=_wider_bends(scene, index, item.width_mm / 2 + inside),
                )


def _wider_bends(scene: Scene, index: int, radius: float) -> Fix:
    """A larger radius for a channel's bends, those that have one of their own included."""
    channel, best = scene.document.channels[index], math.ceil(radius * 100 - 1e-6) / 100
    changes = [
        Change(f"/channels/{index}/points/{k}/bend_radius_mm", best)
        for k, point in enumerate(channel.points)
        if point.bend_radius_mm is not None and point.bend_radius_mm < best
    ]
    if channel.bend_radius_mm < best:
        changes.append(Change(f"/channels/{index}/bend_radius_mm", best))
    return Fix(f"Bend {channel.id} with {mm(best)}", tuple(changes))


_corners: Found = Remembered()


@rules(
    Rule("cutter-corner", "made", "Inside corners are no tighter than the cutter", None, "mm",
         "A round cutter leaves a round corner: what is drawn sharper comes out with the cutter's radius.", PRACTICE),
    named=True,
)  # fmt: skip
def corners(scene: Scene) -> Iterator[Finding]:
    """Inside corners of cutouts and pockets against the smallest cutter that reaches their depth."""
    shop, plate = scene.document.shop, scene.document.plate
    thickest = max(plate.body_thickness_mm, plate.lid_thickness_mm)  # body and lid are cut apart
    pockets = {pocket.id: pocket.depth_mm for pocket in scene.document.pockets}
    areas = [*scene.shapes.cutouts.values(), *scene.shapes.pockets.values()]
    rows = [((area, shop), (pockets.get(area.id, thickest), *scene.numbers[area.id])) for area in areas]

    def look(n: int) -> Iterator[Finding]:
        depth, key, index = rows[n][1]
        return _corner(areas[n], shop, depth, key, getattr(scene.document, key)[index].outline, index)

    yield from each(_corners, rows, look)


def _corner(area: AreaShape, shop: Shop, depth: float, key: str, outline: Outline, index: int) -> Iterator[Finding]:
    assert area.contour is not None
    reaching = [d for d in shop.cutter_diameters_mm if d * shop.deepest_by_diameter >= depth - 1e-9]
    least = min(reaching or [max(shop.cutter_diameters_mm)]) / 2
    tightest = _tightest_inside(area.contour.path)
    if tightest is None or tightest[0] >= least - 1e-6:
        return
    radius, place = tightest
    yield Finding(
        rule="cutter-corner",
        level="note",
        items=(area.id,),
        value=radius,
        limit=least,
        unit="mm",
        at=place,
        message=f"A corner of {area.id} has a radius of {mm(radius)}; the cutter for {mm(depth)} leaves {mm(least)}.",
        remedy=f"Give it a corner radius of {mm(least)}, or allow for the rounding when something square goes in.",
        fix=_rounder(area.id, key, index, outline, least),
    )


def _rounder(id_: str, key: str, index: int, outline: Outline, radius: float) -> Fix | None:
    """The corner radius of a rectangle that has room for it."""
    if outline.shape != "rectangle" or 2 * radius > min(outline.width_mm, outline.depth_mm):
        return None
    change = Change(f"/{key}/{index}/outline/corner_radius_mm", round(radius, 3))
    return Fix(f"Round the corners of {id_} with {mm(radius)}", (change,))


def _tightest_inside(path: Path) -> tuple[float, Point] | None:
    """The smallest radius on the inside of a hole's contour, 0 for a sharp corner, and where it is."""
    found: tuple[float, Point] | None = None
    segments = path.segments
    for before, after in zip((segments[-1], *segments[:-1]), segments, strict=True):
        turn = math.remainder(after.direction() - before.direction(at_end=True), 2 * math.pi)
        # The contour runs counter-clockwise: a left turn is a corner that the cutter has to get into.
        if turn > 0.02:
            return (0.0, after.start)
        if after.bulge > 0 and (found is None or after.radius < found[0]):
            found = (after.radius, after.at(after.length / 2))
    return found


@rules(
    Rule("outline-crosses", "made", "An outline does not cross itself", None, "",
         "A contour that crosses itself has no inside to keep.", PRACTICE),
    named=True,
)  # fmt: skip
def outlines(scene: Scene) -> Iterator[Finding]:
    """Contours that cross or touch themselves."""
    shapes = scene.shapes
    areas = [("", "plate", shapes.plate_polygon), ("", "floor", shapes.floor_polygon)]
    for group in (shapes.cutouts, shapes.pockets, shapes.keep_outs, shapes.obstacles, shapes.openings):
        areas += [(area.id, area.kind, area.polygon) for area in group.values()]
    for id_, kind, polygon in areas:
        if polygon.is_valid:
            continue
        reason = shapely.is_valid_reason(polygon)
        numbers = reason[reason.find("[") + 1 : reason.find("]")].split() if "[" in reason else []
        at = (float(numbers[0]), float(numbers[1])) if len(numbers) == 2 else None
        yield Finding(
            rule="outline-crosses",
            level="error",
            items=(id_,) if id_ else (),
            at=at,
            message=f"The outline of the {kind}{' ' + id_ if id_ else ''} crosses or touches itself.",
            remedy="Move its corners so that it goes round once.",
        )


@rules(
    Rule("name-unknown", "made", "Threads, screws and boards are ones the tables know", None, "",
         "A size that no table knows cannot be drilled, tapped or checked.", "the tables in sketcher/reference"),
    named=True,
)  # fmt: skip
def names(scene: Scene) -> Iterator[Finding]:
    """Threads, screws and board patterns that are in no table."""
    document = scene.document
    known_threads, known_screws, known_boards = set(threads.names()), set(screws.names()), set(board_names())
    rows = [
        *((p.id, "thread", p.thread, known_threads, (p.x_mm, p.y_mm)) for p in document.ports),
        *(
            (d.id, f"thread of its port {port.id}", port.thread, known_threads, None)
            for d in document.devices
            for port in d.ports
        ),
        *((h.id, "screw", h.screw, known_screws, (h.x_mm, h.y_mm)) for h in document.holes),
        *((b.id, "board pattern", b.pattern, known_boards, None) for b in document.boards),
    ]
    for id_, what, name, known, at in rows:
        if name is not None and name not in known:
            yield Finding(
                rule="name-unknown",
                level="error",
                items=(id_,),
                at=at,
                message=f"{id_} names the {what} {name!r}, which is in no table here.",
                remedy=f"Choose one of {', '.join(sorted(known))}.",
            )


@rules(
    Rule("stock-thickness", "made", "Body and lid are of a thickness that the shop has", None, "mm",
         "A sheet that has to be planed down costs a day, and its face its flatness.", PRACTICE),
    Rule("sheet-size", "made", "The plate goes on the shop's sheet", None, "mm",
         "What is larger than the sheet cannot be cut from it.", PRACTICE),
    reads=(),
)  # fmt: skip
def stock(scene: Scene) -> Iterator[Finding]:
    """The plate against the sheets that the shop has."""
    shop, plate = scene.document.shop, scene.document.plate
    for what, thickness in (("body", plate.body_thickness_mm), ("lid", plate.lid_thickness_mm)):
        if not shop.stock_thicknesses_mm or any(abs(thickness - stock) < 1e-6 for stock in shop.stock_thicknesses_mm):
            continue
        near = min(shop.stock_thicknesses_mm, key=lambda stock: abs(stock - thickness))
        yield Finding(
            rule="stock-thickness",
            level="note",
            items=(),
            value=thickness,
            limit=near,
            unit="mm",
            message=f"The {what} is {mm(thickness)} thick; the shop's nearest sheet is {mm(near)}.",
            remedy=f"Make it {mm(near)}, or ask the shop to plane it down.",
            fix=Fix(f"Make the {what} {mm(near)} thick", (Change(f"/plate/{what}_thickness_mm", near),)),
        )
    left, front, right, rear = shapely.bounds(scene.plate)
    sizes, sheet = sorted((right - left, rear - front)), sorted((shop.sheet_width_mm, shop.sheet_depth_mm))
    for size, room in zip(sizes, sheet, strict=True):
        if size > room + 1e-6:
            yield Finding(
                rule="sheet-size",
                level="warning",
                items=(),
                value=float(size),
                limit=room,
                unit="mm",
                message=f"The plate measures {mm(float(size))}; the shop's sheet has {mm(room)} that way.",
                remedy="Make the plate smaller, or find a shop with larger sheets.",
            )
            return
