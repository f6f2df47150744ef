"""Heights in the plate: the joint between body and lid, what is milled from it, and how thick a sheet may be."""

from __future__ import annotations

from sketcher.document import Document

#: A thickness that was measured or faced is known within this, mm: common practice, no source.
KNOWN_MM = 0.1


def joint_mm(document: Document) -> float:
    """Height of the joint between body and lid above the plate's underside."""
    plate = document.plate
    return plate.lid_thickness_mm if plate.lid_face == "bottom" else plate.body_thickness_mm


def channel_heights(document: Document, depth: float) -> tuple[float, float]:
    """Low and high of a channel of this depth above the plate's underside: it is milled from the lid's side."""
    joint = joint_mm(document)
    return (joint, joint + depth) if document.plate.lid_face == "bottom" else (joint - depth, joint)


def body_heights(document: Document) -> tuple[float, float]:
    """Low and high of the body above the plate's underside."""
    plate, joint = document.plate, joint_mm(document)
    return (joint, joint + plate.body_thickness_mm) if plate.lid_face == "bottom" else (0.0, joint)


def lid_heights(document: Document) -> tuple[float, float]:
    """Low and high of the lid above the plate's underside."""
    plate, joint = document.plate, joint_mm(document)
    return (0.0, joint) if plate.lid_face == "bottom" else (joint, joint + plate.lid_thickness_mm)


def gasket_mm(document: Document) -> float:
    """Thickness of the sheet between lid and body, not pressed, mm; 0 without a gasket."""
    return document.seal.gasket_mm if document.seal.kind == "gasket" else 0.0


def above_floor_mm(document: Document, level: float) -> float:
    """Height above the case floor of a level of the plate, which is given above its underside with lid on body.

    A gasket lifts what lies over the joint by its thickness as bought. Pressed it is a little thinner: then what is
    over the plate has more room, not less.
    """
    raised = gasket_mm(document) if level > joint_mm(document) + 1e-9 else 0.0
    return document.plate.z_mm + level + raised


def from_joint_mm(document: Document, part: str, side: str, depth: float) -> float:
    """How far a recess ends from the joint face, mm, into its part.

    The joint face stays when a sheet is thicker or thinner than its name, so this is the measure that holds.

    Args:
        document: the plate.
        part: ``body`` or ``lid``.
        side: the side that it is machined from, ``above`` or ``below``.
        depth: from that side's face, on a sheet as thick as its name.
    """
    plate = document.plate
    at_joint = (part == "body") == (side == plate.lid_face.replace("bottom", "below").replace("top", "above"))
    return depth if at_joint else (plate.body_thickness_mm if part == "body" else plate.lid_thickness_mm) - depth


def sheet_tolerance_mm(thickness: float, sheet: str = "cast", known_as: str = "nominal") -> float:
    """How far a sheet may be thicker or thinner than it is said to be, mm.

    A nominal thickness has the tolerance of the standard: cast 0.4 mm and a tenth of the thickness (ISO 7823-1),
    extruded a twentieth, below 3 mm a tenth (ISO 7823-2).
    """
    if known_as != "nominal":
        return min(KNOWN_MM, thickness / 10)
    if sheet == "extruded":
        return (0.05 if thickness >= 3 else 0.1) * thickness
    return 0.4 + 0.1 * thickness


def tolerances_mm(document: Document) -> tuple[float, float]:
    """The tolerance of the body's and of the lid's thickness, mm."""
    plate = document.plate
    return (
        sheet_tolerance_mm(plate.body_thickness_mm, plate.sheet, plate.body_thickness_is),
        sheet_tolerance_mm(plate.lid_thickness_mm, plate.sheet, plate.lid_thickness_is),
    )
