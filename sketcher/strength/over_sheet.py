"""Lid, cord and screws where the lid's sheet is as thin, or as thick, as its tolerance allows.

A plate's bending moments hardly depend on its thickness, so stress goes with 1 / t² and lift with 1 / t³; the pull on a
screw grows by a few hundredths, since the body under the lid then counts as stiffer. Compared with lids solved at both
thicknesses in ``tests/strength/test_over_sheet.py``. A screw of one length engages less thread under a thick lid; under
a thin one it may reach the end of its full thread before its head presses, and then gets a second washer. A gasket
counts unpressed for the thread engaged, and pressed as far as it goes for the thread's end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sketcher.document import Document
from sketcher.geometry.levels import tolerances_mm
from sketcher.reference import screws as screw_table
from sketcher.strength import thread_strength
from sketcher.strength.lid import Bent, Clamped, LidReport
from sketcher.strength.load import Load
from sketcher.strength.seal import SealDesign
from sketcher.strength.taps import MOST_DIAMETERS, WASHER_SHARE, before_mm, give_mm, stock_length_mm, taps

#: What a pull on a screw grows by under the thinnest lid of a cast sheet: 2 to 6 % in the lids compared.
PULL_SHARE = 1.08


@dataclass(frozen=True)
class OverSheet:
    """The lid at both ends of its sheet's tolerance.

    Attributes:
        thinnest_mm, thickest_mm: of the lid.
        bent: where the lid is bent most for its limit, and its stress when it is thinnest, MPa.
        lifted: the part whose squeeze is least then, and what is left of it, as a fraction.
        stock_mm: the screws' stock length; none where none fits.
        engaged_mm: thread that they engage under the thickest lid.
        short_mm: by how much they are too long under the thinnest one even with a second washer: they meet the end of
            the thread first.
        pulled: the part whose screws hold least for their pull, at either end: what the thread holds, and the pull, N;
            none with inserts.
    """

    thinnest_mm: float
    thickest_mm: float
    bent: tuple[Bent, float] | None
    lifted: tuple[Clamped, float] | None
    stock_mm: float | None
    engaged_mm: float
    short_mm: float
    pulled: tuple[Clamped, float, float] | None


def over_sheet(document: Document, seal: SealDesign, report: LidReport) -> OverSheet:
    """The lid at both ends of its sheet's tolerance, from what it does as drawn."""
    drawn, tolerance = document.plate.lid_thickness_mm, tolerances_mm(document)[1]
    lids = [row for row in report.bent if row.what == "lid"]
    bent = [(row, row.stress_mpa * _ratio(row.thickness_mm, tolerance) ** 2) for row in lids]
    left = [
        (row, seal.gland.squeeze.least - (seal.gland.squeeze.least - row.squeeze_left) * _ratio(drawn, tolerance) ** 3)
        for row in report.clamped
        if row.squeeze_left is not None and seal.gland is not None
    ]
    stock, engaged, _, short = _screws(document, tolerance)
    pulled = [
        (row, holds, more * max(load.total_n for load in row.clamping.loads))
        for row in report.clamped
        if row.clamping.loads
        for holds, more in _ends(document, row.load)
    ]
    return OverSheet(
        drawn - tolerance,
        drawn + tolerance,
        max(bent, key=lambda one: one[1] / one[0].load.design_stress_mpa, default=None),
        min(left, key=lambda one: one[1], default=None),
        stock,
        engaged,
        short,
        max(pulled, key=lambda one: one[2] / max(one[1], 1e-6), default=None),
    )


def on_thin_sheet(document: Document) -> Document | None:
    """The document with its body as thin as its sheet may be; none where the body is measured or faced."""
    plate = document.plate
    thin = plate.body_thickness_mm - tolerances_mm(document)[0]
    if plate.body_thickness_is != "nominal" or thin <= 0:
        return None
    return document.model_copy(update={"plate": plate.model_copy(update={"body_thickness_mm": thin})})


def _ratio(thickness_mm: float, tolerance_mm: float) -> float:
    """The thickness as drawn over the thinnest, which counts as a tenth of it at least."""
    return thickness_mm / max(thickness_mm - tolerance_mm, thickness_mm / 10)


def bears_n(document: Document, load: Load) -> float:
    """The greatest pull as drawn that screws bear under a load at both ends of the tolerance, N; infinite where the
    lid is measured, inserts bear, or no stock length fits."""
    if document.plate.lid_thickness_is != "nominal":
        return math.inf
    return min((holds / more for holds, more in _ends(document, load)), default=math.inf)


def _ends(document: Document, load: Load) -> list[tuple[float, float]]:
    """Under the thickest and the thinnest lid: what threads hold, N, and the pull there over that as drawn; a
    thick lid pulls no more. None with inserts, or where no stock length fits."""
    stock, thick, thin, _ = _screws(document, tolerances_mm(document)[1])
    if stock is None or document.seal.insert_pull_n is not None:
        return []
    form, stress = thread_strength.thread_form(document.seal.screw), load.design_stress_mpa
    return [
        (thread_strength.holding_force_n(form, thread, stress) if thread > 0 else 0.0, more)
        for thread, more in ((thick, 1.0), (thin, PULL_SHARE))
    ]


def second_washer_below_mm(document: Document) -> float | None:
    """Below which thickness of the lid its screws need a second washer, mm; none where they never do."""
    name, tolerance = document.seal.screw, tolerances_mm(document)[1]
    if name not in screw_table.names() or document.plate.lid_thickness_is != "nominal":
        return None
    stock, thread = _stock(document)
    if stock is None or thread is None:
        return None
    spare = thread - (stock - before_mm(document, screw_table.screw(name)) + give_mm(document))
    return document.plate.lid_thickness_mm - spare if spare < tolerance - 1e-9 else None


def _stock(document: Document) -> tuple[float | None, float | None]:
    """The screws' stock length, and the thread there is for them in blind holes, mm."""
    blind = taps(document)
    thread = min((tap.thread_mm for tap in blind.values()), default=None)
    room = document.plate.body_thickness_mm if thread is None else thread
    return stock_length_mm(document, screw_table.screw(document.seal.screw), room), thread


def _screws(document: Document, tolerance_mm: float) -> tuple[float | None, float, float, float]:
    """Stock length, thread engaged under the thickest lid and under the thinnest, and how far too long there, mm."""
    name = document.seal.screw
    if name not in screw_table.names() or not any(hole.use == "lid" for hole in document.holes):
        return None, 0.0, 0.0, 0.0
    screw = screw_table.screw(name)
    stock, thread = _stock(document)
    if stock is None:
        return None, 0.0, 0.0, 0.0
    beyond, most = stock - before_mm(document, screw), MOST_DIAMETERS * screw.major_mm
    give = give_mm(document)
    deep = beyond + give + tolerance_mm
    if thread is not None and deep > thread:
        deep -= WASHER_SHARE * screw.major_mm
    short = 0.0 if thread is None else max(deep - thread, 0.0)
    return stock, min(max(beyond - tolerance_mm, 0.0), most), min(max(deep - give - short, 0.0), most), short
