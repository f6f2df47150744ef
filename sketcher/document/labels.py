"""What people call the keys and the choices of a document: one place for the page and the schema.

A key without an entry is called by its own words: ``wall_mm`` is "Wall", ``flow-meter`` is "Flow meter".
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sketcher.document.helps import help_on

#: Units at the end of a key, which a label leaves to the unit beside the number.
_UNITS = ("_mm", "_deg", "_percent", "_c", "_kpa", "_w", "_w_k", "_l_min", "_ml", "_px", "_shore_a", "_n", "_um", "_k")

#: By model and key, or by key alone where every model calls it the same.
_LABELS: dict[str, str] = {
    "x_mm": "From the left",
    "y_mm": "From the front",
    "z_mm": "Above the floor",
    "turn_deg": "Rotation",
    "roll_deg": "Rotation in its own plane",
    "posture": "Orientation",
    "slot": "In slot",
    "u_mm": "Along u",
    "v_mm": "Along v",
    "w_mm": "Along w",
    "heading": "Direction",
    "flow": "Flows",
    "serves": "Serves",
    "start_fitting": "Fitting at the start",
    "end_fitting": "Fitting at the end",
    "drill_end": "End of the drilled hole",
    "DevicePort.id": "Port",
    "Dimension.first": "Measured from",
    "Dimension.second": "Measured to",
    "Dimension.offset_mm": "Stands off by",
    "DimensionEnd.item": "Item or device port",
    "DimensionEnd.part": "Part of the item",
    "DimensionEnd.index": "Number of the edge or corner, from 0",
    "Channel.roughness_um": "Wall roughness",
    "ChannelPoint.bend_radius_mm": "Bend radius",
    "CurvePoint.flow_l_min": "Flow",
    "FitReading.dx_mm": "Off to the right",
    "FitReading.dy_mm": "Off to the rear",
    "Fitting.loss_k": "Loss coefficient",
    "Fitting.kind": "Fitting",
    "Fitting.insertion_mm": "Tube goes in by",
    "Fitting.height_mm": "Fitting height",
    "Fitting.bore_mm": "Bore of the fitting",
    "Course.size": "Tube size",
    "Tube.size": "Tube size",
    "Course.material": "Tube material",
    "Tube.material": "Tube material",
    "Course.stock_mm": "Stock lengths, mm",
    "Tube.stock_mm": "Stock lengths, mm",
    "Course.points": "Corners of the course",
    "Tube.points": "Corners of the course",
    "Tube.start": "From device port",
    "Tube.end": "To device port",
    "Tube.length_mm": "Length",
    "Device.curve": "Flow and pressure",
    "Device.conductance": "Heat given off",
    "Device.flow_min_l_min": "Minimum flow",
    "Device.air_c": "Air drawn in",
    "Device.invented": "Figures are invented",
    "Device.volume_ml": "Volume of coolant",
    "Device.mass_g": "Mass without coolant",
    "Device.fans": "Number of fans",
    "Device.source": "Source of the figures",
    "Device.metal": "Metal the coolant meets",
    "Device.check_valve": "Check valve",
    "Device.hollow": "Hollow, a frame or tray",
    "Device.has_reservoir": "Has a reservoir",
    "Device.outline": "Footprint",
    "Board.holes": "Mounting holes",
    "Device.holes": "Screw holes",
    "Board.slots": "Number of slots",
    "Board.first_slot_mm": "First slot from the connector side",
    "Board.slot_pitch_mm": "Spacing of slots",
    "Board.role": "Kind of board",
    "Grid.x_mm": "Grid origin from the left",
    "Grid.y_mm": "Grid origin from the front",
    "KeepOut.refuses": "Keeps out",
    "Landing.serves": "Device port",
    "Loop.carry_shift_mm": "Shift when carried",
    "Photo.file": "Photo file",
    "Photo.width_px": "Photo width, pixels",
    "Photo.height_px": "Photo height, pixels",
    "PhotoMark.check": "Only to check",
    "x_px": "Pixels from the left",
    "y_px": "Pixels from the top",
    "Plate.material": "Plate material",
    "Port.tube": "Tube that drops to it",
    "Seal.insert_pull_n": "Lasting pull of an insert",
    "Seal.run_out": "How blind holes are tapped",
    "Seal.gasket": "Gasket sheet",
    "Seal.gasket_mm": "Thickness of the gasket sheet",
    "Seal.fill_percent": "Groove fill",
    "Survey.origin": "Point at 0, 0",
    "Survey.along_x": "Point on the front wall",
    "Surveyed.what": "Draws",
    "Surveyed.corners": "Corner points",
    "Surveyed.centre": "Centre point",
    "Tie.points": "Survey points",
    "Tool.spread_mm": "Spread, σ",
    "Tool.jaw_mm": "Width of jaws or hook",
    "Vertex.bulge": "Bulge of the edge after it",
    "TestPiece.material": "Test piece material",
    "set_aside": "Excluded",
    "limits": "Limits of the rules",
    "accepted": "Accepted findings",
    "fit_readings": "What the test piece showed",
    "landings": "Where tubes landed",
    "ties": "Placed by survey points",
    "spreads": "Spreads",
    "Slot.length_mm": "Overall length",
    "Port.bore_diameter_mm": "Bore",
    "Port.level_mm": "Axis above the underside",
    "Port.use": "Used for",
    "Channel.start": "Begins at",
    "Channel.end": "Ends at",
    "Hole.face": "Head side",
    "Hole.turn_deg": "Slot rotation",
    "Obstacle.height_mm": "Top above the floor",
    "Obstacle.bottom_mm": "Underside above the floor",
    "Board.pattern": "Published pattern",
    "Board.parts_height_mm": "Tallest component",
    "Device.heat_w": "Heat into the coolant",
    "Device.speed_percent": "Pump speed",
    "Plate.lid_face": "Lid side",
    "Plate.z_mm": "Underside above the floor",
    "Grid.pitch_mm": "Square grid",
    "Floor.material": "Floor material",
    "Floor.thickness_mm": "Floor thickness",
    "Coolant.kind": "Coolant",
    "Coolant.strength_percent": "Glycol content",
    "Loop.room_c": "Room temperature",
    "Loop.water_limit_c": "Maximum coolant temperature",
    "Loop.fitting_straight_mm": "Fitting and straight tube",
    "Loop.pumps": "Several pumps",
    "Drawing.owner": "Owner of the drawing",
    "Drawing.creator": "Drawn by",
    "Drawing.approver": "Approved by",
    "Drawing.number": "Drawing number",
    "Drawing.paper": "Drawing sheet",
    "Drawing.note": "Note for the shop",
    "Shop.feed_mm_min": "Milling feed",
    "Shop.step_down_diameters": "Depth of a pass",
    "Shop.step_over_diameters": "Width of a track",
    "Shop.drill_feed_mm_min": "Drilling feed",
    "Shop.thread_minutes": "One thread",
    "Shop.clamp_minutes": "One set-up",
    "Shop.tool_minutes": "Tool change",
    "Shop.laser_mm_s": "Laser through 3 mm",
    "Shop.stock_margin_mm": "Stock around a part",
    "Seal.kind": "Seal",
    "Seal.cord_mm": "O-ring cord",
    "Seal.wall_mm": "Wall beside the groove",
    "Seal.screw": "Lid screws",
    "Seal.screw_pitch_mm": "Screw spacing",
    "Seal.screws_by_rule": "Lid screws placed automatically",
    "Spreads.hardware_mm": "Position of hardware",
    "Spreads.part_mm": "Port position on its device",
    "Spreads.standoff_mm": "Play on standoffs",
    "Spreads.seating_mm": "Position of the plate",
    "Spreads.making_mm": "Machining",
    "Spreads.bow_mm": "Sheet out of flat",
    "Spreads.warming_k": "Temperature difference, K",
    "Spreads.landing_offset_mm": "Allowed offset of a tube",
    "Spreads.landing_angle_deg": "Allowed angle of a tube",
    "Spreads.least_chance_percent": "Minimum chance",
    "Spreads.sheet_cost": "Cost of a test piece",
    "Spreads.plate_cost": "Cost of a plate",
    "Shop.name": "Shop",
    "Shop.cutter_diameters_mm": "Cutters, mm",
    "Shop.stock_thicknesses_mm": "Stock thicknesses, mm",
    "Shop.deepest_by_diameter": "Maximum depth, in cutter diameters",
    "Shop.least_wall_mm": "Minimum wall",
}

#: Choices whose own word is not what people say, by model and key, or by key alone.
_CHOICES: dict[str, dict[str, str]] = {
    "posture": {"lying": "Flat", "standing": "On edge"},
    "Port.face": {"edge": "An edge"},
    "Port.use": {
        "loop": "The loop",
        "fill": "Filling",
        "drain": "Draining",
        "bleed": "Bleeding air",
        "sensor": "A sensor",
    },
    "Hole.use": {"mount": "The plate to the floor", "lid": "The lid", "other": "Something else"},
    "Board.role": {"mainboard": "Board"},
    "Device.kind": {"coupling": "Quick coupling", "other": "Something else"},
    "Coolant.kind": {
        "ethylene-glycol": "Water and ethylene glycol",
        "propylene-glycol": "Water and propylene glycol",
    },
    "Loop.pumps": {"as-connected": "As they are connected", "series": "In series", "parallel": "In parallel"},
    "Seal.kind": {"cord": "O-ring cord", "gasket": "Gasket", "bonded": "Bonded"},
    "Floor.material": {"other": "Something else"},
    "material": {"petg": "PETG", "soft": "Soft tube"},
    "heading": {"u+": "+u", "u-": "−u", "v+": "+v", "v-": "−v", "w+": "+w", "w-": "−w"},
    "DevicePort.flow": {"in": "In", "out": "Out", "either": "Either"},
    "Fitting.kind": {"elbow-45": "Elbow, 45°", "elbow-90": "Elbow, 90°"},
    "Reading.unit": {"mm": "mm", "cm": "cm", "in": "in"},
    "Seal.run_out": {"normal": "Tap, normal run-out", "short": "Tap, short run-out", "thread-milled": "Thread mill"},
    "drill_end": {"point": "Drill point", "flat": "Flat"},
    "KeepOut.refuses": {
        "port": "Ports",
        "channel": "Channels",
        "cutout": "Cutouts",
        "pocket": "Pockets",
        "hole": "Holes",
    },
    "TestPiece.port_holes": {"tube": "At the tube's outside", "bore": "At their bore", "fitting": "At the fitting"},
}


def label(model: str, key: str) -> str:
    """What a key of a model is called."""
    return _LABELS.get(f"{model}.{key}") or _LABELS.get(key) or _words(_without_unit(key))


def choice(model: str, key: str, value: str) -> str:
    """What a choice of a key is called."""
    named = {**_CHOICES.get(key, {}), **_CHOICES.get(f"{model}.{key}", {})}
    return named.get(value) or _words(value)


def titled(schema: Mapping[str, Any], name: str = "Document") -> dict[str, Any]:
    """A JSON Schema with these labels as the titles of its keys, in place of those made from the keys.

    What a model does not say of a key is described by ``helps``.
    """
    changed = dict(schema)
    if "properties" in changed:
        changed["properties"] = {
            key: _described(name, key, value) if "$ref" not in value else value
            for key, value in changed["properties"].items()
        }
    if "$defs" in changed:
        changed["$defs"] = {part: titled(value, part) for part, value in changed["$defs"].items()}
    return changed


def _described(model: str, key: str, value: Mapping[str, Any]) -> dict[str, Any]:
    words = value.get("description") or help_on(model, key)
    return {**value, "title": label(model, key), **({"description": words} if words else {})}


def _without_unit(key: str) -> str:
    for unit in sorted(_UNITS, key=len, reverse=True):
        if key.endswith(unit) and len(key) > len(unit):
            return key.removesuffix(unit)
    return key


def _words(key: str) -> str:
    words = key.replace("_", " ").replace("-", " ")
    return words[:1].upper() + words[1:]
