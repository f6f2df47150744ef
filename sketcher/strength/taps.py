"""Blind tapped holes for the lid's screws: full thread, run-out, the drill's point and the floor that is left.

From the lid's inner face down into the body: full thread L, the tap's run-out e (DIN 76-1), the point h, floor.
The drilled depth is L + e; the point lies beyond it, h = d / (2 tan(angle / 2)) for a drill of diameter d. It is the
geometry's own point (``geometry.prisms``), so that floors, solids, drawing and hole table say the same; a hole with a
flat bottom has none.
"""

from __future__ import annotations

from dataclasses import dataclass

from sketcher.document import Document
from sketcher.document.plate import Hole
from sketcher.geometry.levels import gasket_mm
from sketcher.geometry.prisms import HALF_POINT_DEG, point_mm
from sketcher.reference import screws as screw_table
from sketcher.reference.screws import Screw

#: Least floor under the groove, mm, and under a tapped lid-screw hole. Common practice, no source.
LEAST_FLOOR_MM = 2.0
#: Full thread in plastic, in diameters of the screw: 2.5 at least (guidelines on screws in plastic parts); more than
#: 3 carries no more.
ENGAGED_DIAMETERS, MOST_DIAMETERS = 2.5, 3.0
#: Less full thread than this is an error, in diameters.
LEAST_DIAMETERS = 2.0
#: Thickness of a plain washer, as a share of the screw's diameter: ISO 7089, M4 0.8 and M5 1.0 (from memory).
WASHER_SHARE = 0.2
#: A screw ends at least this far above the end of its full thread, mm. Common practice, no source.
SCREW_SPARE_MM = 0.5
#: A sheet of solid rubber is pressed by half its thickness at most (makers' advice on EPDM sheet: 25 to 40 %, at most
#: about 50 %): a screw goes so much deeper then. Its thread counts as if the sheet were not pressed at all.
PRESSED_SHARE = 0.5
#: What a rubber sheet may be thicker or thinner than it is sold as: so many mm and such a share of it. About what a
#: middle class of ISO 3302-1 leaves calendered sheet (from memory): 0.25 mm at 1.5 mm.
SHEET_OFF_MM, SHEET_OFF_SHARE = 0.1, 0.1
#: How each way of tapping is told beside its run-out.
_TOLD = {"normal": "", "short": ", short tap", "thread-milled": ", thread milled"}


@dataclass(frozen=True)
class Tap:
    """One blind tapped hole, lengths in mm from the lid's inner face: thread, run-out, drilled, point, floor left.

    ``point_mm`` is 0 for a flat bottom; ``kind`` says how the thread is made.
    """

    screw: Screw
    thread_mm: float
    run_out_mm: float
    point_mm: float
    floor_mm: float
    drill_mm: float
    kind: str = "normal"

    @property
    def drilled_mm(self) -> float:
        """Depth of the drill's full diameter in the body."""
        return self.thread_mm + self.run_out_mm

    def text(self) -> str:
        """For a drawing or a table: thread, drill, floor."""
        end = f"{2 * HALF_POINT_DEG:g} degree point {self.point_mm:.1f}" if self.point_mm else "flat bottom"
        return (
            f"{self.screw.name} {self.thread_mm:.1f} deep, drill {self.drill_mm:g} x {self.drilled_mm:.1f} "
            f"(run-out {self.run_out_mm:g}{_TOLD[self.kind]}), {end}, floor {self.floor_mm:.1f} mm"
        )


def run_out_mm(screw: Screw, kind: str) -> float:
    """From the last full thread to the end of the drilled cylinder, mm: ``normal``, ``short`` or ``thread-milled``.

    A thread mill cuts full turns nearly to the bottom: one pitch (common practice, no source).
    """
    if kind == "thread-milled":
        return screw.pitch_mm
    return screw.run_out_short_mm if kind == "short" else screw.run_out_mm


def design_tap(screw: Screw, body_mm: float, kind: str, before_mm: float | None = None, give_mm: float = 0.0) -> Tap:
    """The tapped hole in a body: the wanted thread, or as much as leaves the floor; the thread may come out below 0.

    ``before_mm`` is what the screw goes through first, lid, washer and gasket: then the thread is so deep that the
    shortest stock screw that engages three diameters does not reach its end, where there is room for that, even where
    a gasket gives by ``give_mm``.
    """
    drill = screw.tap_drill_mm
    beyond, point = run_out_mm(screw, kind), point_mm(drill)
    room = body_mm - LEAST_FLOOR_MM - point - beyond
    wanted = MOST_DIAMETERS * screw.major_mm
    if before_mm is not None:
        deep = [
            length - before_mm + give_mm + SCREW_SPARE_MM
            for length in screw.stock_lengths_mm
            if length - before_mm >= wanted
        ]
        wanted = min((thread for thread in deep if thread <= room), default=wanted)
    thread = min(wanted, room)
    return Tap(screw, thread, beyond, point, body_mm - point - beyond - thread, drill, kind)


def before_mm(document: Document, screw: Screw) -> float:
    """What a lid screw goes through before its thread, mm: lid, washer and a gasket that is not yet pressed, as thick
    as its sheet may be."""
    return document.plate.lid_thickness_mm + WASHER_SHARE * screw.major_mm + gaskets_mm(document)[1]


def gaskets_mm(document: Document) -> tuple[float, float]:
    """How near body and lid come to each other and how far they may stay apart, mm: the thinnest sheet pressed as far
    as it goes, and the thickest one before it is pressed; (0, 0) without a gasket."""
    drawn = gasket_mm(document)
    if not drawn:
        return 0.0, 0.0
    tolerance = SHEET_OFF_MM + SHEET_OFF_SHARE * drawn
    return max(drawn - tolerance, 0.0) * (1 - PRESSED_SHARE), drawn + tolerance


def give_mm(document: Document) -> float:
    """How much nearer the lid comes to the body at most while its gasket is pressed, mm."""
    low, high = gaskets_mm(document)
    return high - low


def stock_length_mm(document: Document, screw: Screw, thread_mm: float) -> float | None:
    """The longest stock length under the head that does not reach the end of the full thread, mm; none fits: None.

    It does not reach it with the gasket pressed either.
    """
    before = before_mm(document, screw)
    most = before - give_mm(document) + thread_mm - SCREW_SPARE_MM
    return max((length for length in screw.stock_lengths_mm if before < length <= most + 1e-9), default=None)


def engaged_mm(document: Document, screw: Screw, thread_mm: float) -> float:
    """Thread that the screw of the parts list engages, mm, at most three diameters; or one cut to length. A gasket
    counts at its full thickness: the screw never engages less."""
    length = stock_length_mm(document, screw, thread_mm)
    cut = thread_mm - SCREW_SPARE_MM - give_mm(document)
    engaged = cut if length is None else length - before_mm(document, screw)
    return min(max(engaged, 0.0), MOST_DIAMETERS * screw.major_mm)


def tap_of(document: Document, depth_mm: float, screw: Screw, hole: Hole | None = None) -> Tap:
    """A lid screw's tapped hole, ``depth_mm`` from the lid's outer face; ``hole`` says its drill and its end."""
    plate = document.plate
    drill = screw.tap_drill_mm if hole is None or hole.diameter_mm is None else hole.diameter_mm
    flat = hole is not None and (hole.drill_end == "flat" or hole.slot_length_mm is not None)
    drilled = min(depth_mm - plate.lid_thickness_mm, plate.body_thickness_mm)
    beyond, point = run_out_mm(screw, document.seal.run_out), 0.0 if flat else point_mm(drill)
    floor = plate.body_thickness_mm - drilled - point
    return Tap(screw, drilled - beyond, beyond, point, floor, drill, document.seal.run_out)


def taps(document: Document) -> dict[str, Tap]:
    """Every blind tapped lid screw's hole by id; those of an unknown screw, or through holes, are left out."""
    whole = document.plate.body_thickness_mm + document.plate.lid_thickness_mm
    return {
        hole.id: tap_of(document, hole.depth_mm, screw_table.screw(hole.screw), hole)
        for hole in document.holes
        if hole.use == "lid"
        and hole.kind == "tapped"
        and hole.depth_mm is not None
        and hole.depth_mm < whole
        and hole.screw in screw_table.names()
    }


def shallowest(document: Document, least_diameters: float = LEAST_DIAMETERS) -> Tap | None:
    """The lid screw's hole with the least thread where that is too little; none with inserts or where all are deep."""
    if document.seal.insert_pull_n is not None:
        return None
    shallow = [tap for tap in taps(document).values() if tap.thread_mm < least_diameters * tap.screw.major_mm - 1e-6]
    return min(shallow, key=lambda tap: tap.thread_mm / tap.screw.major_mm, default=None)


def screw_thread_mm(document: Document) -> float:
    """Thread that the lid screws engage in the body, mm, with their stock lengths, at most three diameters: the least
    of those drawn. With inserts their maker's pull counts instead."""
    size = screw_table.screw(document.seal.screw)
    blind, through = taps(document), document.plate.body_thickness_mm
    return min(
        (
            engaged_mm(document, size, blind[hole.id].thread_mm if hole.id in blind else through)
            for hole in document.holes
            if hole.use == "lid"
        ),
        default=0.0,
    )
