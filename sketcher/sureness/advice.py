"""What would raise the chance most: each way is worked out with the same model, and ranked by what it brings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from sketcher.document import Document
from sketcher.sureness.chances import all_within, within
from sketcher.sureness.learning import Read, taught, with_readings
from sketcher.sureness.model import Model
from sketcher.sureness.place_errors import Places
from sketcher.sureness.readings import all_again, further_readings

#: A reading of where a tube lands on a test piece, by eye and rule, mm. Common practice, no source.
_READING_MM = 0.5
#: What a caliper reads in place of a rule, mm. Common practice, no source.
_FINE_MM = 0.1
#: How much more a larger fitting, or one that floats, forgives, mm. Common practice, no source.
_MORE_MM = 0.5
#: Advice that brings less than this is not worth reading.
_LEAST_GAIN = 0.002
MOST = 6


@dataclass(frozen=True)
class Advice:
    """One thing to do, and the chance of all tubes together once it is done."""

    do: str
    chance: float
    kind: str


def chance_of(model: Model) -> float | None:
    """The chance that all tubes of a model land; None when it has none."""
    if not model.drops:
        return None
    radii = np.array([drop.allowed_mm for drop in model.drops])
    return all_within(model.mean, model.covariance, radii)


def advise(document: Document, places: Places, model: Model) -> list[Advice]:
    """Ways to raise the chance, the best first.

    Args:
        document: the plate.
        places: where things stand, as the model was made of.
        model: the model as it stands, with what trials taught.
    """
    now = chance_of(model) or 0.0
    ways = [
        *_moves(model),
        *_surer_places(document, model),
        *_readings(document, places, model),
        *_floating_seat(document, model),
        *_larger_fittings(model),
        *_test_piece(document, model),
    ]
    better = [way for way in ways if way.chance > now + _LEAST_GAIN]
    return sorted(better, key=lambda way: -way.chance)[:MOST]


def _moves(model: Model) -> Iterator[Advice]:
    """Ports moved to where their tubes are expected."""
    off = [k for k, mean in enumerate(model.mean) if np.hypot(*mean) > 0.05]
    if off:
        names = ", ".join(model.drops[k].port for k in off[:4]) + (" and others" if len(off) > 4 else "")
        yield Advice(f"Move {names} to where the tubes are expected", chance_of(model.centred()) or 0.0, "move")


def _surer_places(document: Document, model: Model) -> Iterator[Advice]:
    """Hardware that no survey point ties, measured with a caliper: the one that matters most, and all of it."""
    spread = document.spreads.hardware_mm
    loose = [k for k, source in enumerate(model.sources) if source == "hardware"]
    names = list(dict.fromkeys(model.about[k] for k in loose))
    if spread <= _FINE_MM or not names:
        return
    measured = []
    for name in names:
        its = [k for k in loose if model.about[k] == name]
        after = with_readings(model, spread * np.eye(len(model.sources))[its], _FINE_MM)
        measured.append((chance_of(after) or 0.0, name))
    best, name = max(measured)
    yield Advice(f"Measure where {name} stands to {_FINE_MM:g} mm (now {spread:g} mm)", best, "reading")
    if len(names) > 1:
        after = with_readings(model, spread * np.eye(len(model.sources))[loose], _FINE_MM)
        words = f"Measure where boards and devices stand to {_FINE_MM:g} mm (now {spread:g} mm)"
        yield Advice(words, chance_of(after) or 0.0, "reading")


def _readings(document: Document, places: Places, model: Model) -> Iterator[Advice]:
    """Single readings of the survey, and all readings of a coarse tool taken finer."""
    for further in further_readings(document, places, model):
        yield Advice(further.do, chance_of(further.model) or 0.0, "reading")
    for tool in document.survey.tools:
        if tool.spread_mm <= _FINE_MM:
            continue
        after = all_again(document, places, model, tool.id, _FINE_MM)
        if after is not None:
            words = f"Read again with a caliper what was read with {tool.name or tool.id}"
            yield Advice(words, chance_of(after) or 0.0, "tool")


def _floating_seat(document: Document, model: Model) -> Iterator[Advice]:
    """Slotted mounting holes: the plate is pushed to where the tubes want it before it is screwed down."""
    if document.spreads.seating_mm <= 0:
        return
    yield Advice(
        "Slot the mounting holes and push the plate to the tubes before it is screwed down",
        chance_of(model.without("seating")) or 0.0,
        "slot",
    )


def _larger_fittings(model: Model) -> Iterator[Advice]:
    """A fitting that forgives more at the weakest tube."""
    chances = [
        within(model.mean[k], model.covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2], drop.allowed_mm)
        for k, drop in enumerate(model.drops)
    ]
    weakest = int(np.argmin(chances))
    drops = list(model.drops)
    drops[weakest] = replace(drops[weakest], allowed_mm=drops[weakest].allowed_mm + _MORE_MM)
    changed = replace(model, drops=tuple(drops))
    yield Advice(
        f"Give {drops[weakest].port} a fitting that forgives {_MORE_MM:g} mm more, or a piece of soft tube",
        chance_of(changed) or 0.0,
        "fitting",
    )


def _test_piece(document: Document, model: Model) -> Iterator[Advice]:
    """A test piece read at every tube, and its ports moved accordingly; what it costs against what it saves."""
    reads = [Read(k, (0.0, 0.0), _READING_MM) for k in range(len(model.drops))]
    after = taught(model.centred(), reads, document.spreads.seating_mm).centred()
    chance, now = chance_of(after) or 0.0, chance_of(model) or 0.0
    words = "Cut a test piece, try it, and move the ports as it shows"
    sheet, plate = document.spreads.sheet_cost, document.spreads.plate_cost
    if sheet and plate:
        saved = (chance - now) * plate
        words += f" (it costs {sheet:g}, and saves {saved:.3g} of plates on average)"
        if saved < sheet:
            words = f"A test piece is not worth its sheet by itself ({sheet:g} against {saved:.3g} saved)"
    yield Advice(words, chance, "test-piece")
