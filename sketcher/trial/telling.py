"""What would tell explanations apart that the readings fit alike: the next reading."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from sketcher.document import Document
from sketcher.trial.hypotheses import Explanation
from sketcher.trial.pieces import Together
from sketcher.trial.registration import HARDLY, Registration

#: Explanations that differ by less than this at every port are told apart by the piece's own place, mm.
LEAST_MM = 1.0
MOST_SHOWN = 6
ITS_PLACE = "Check where the piece itself lies: measure from two of its mounting holes or edges to the floor's walls."
_WHOLE = {
    "right": "the piece sits right",
    "shifted": "the piece sits shifted as a whole",
    "turned": "the piece sits shifted and turned as a whole",
    "scaled": "the piece is of another size",
}


@dataclass(frozen=True)
class NextReading:
    """The reading that would tell; ``port`` None means the piece's own place against the floor."""

    port: str | None
    words: str

    def as_json(self) -> dict[str, Any]:
        """The reading as plain values."""
        return {"port": self.port, "words": self.words}


def next_reading(found: Registration) -> NextReading | None:
    """What to read where it cannot be told which ports are off, or whether the whole is; none where it can."""
    if not (found.rivals or found.whole_in_doubt) or not found.explanations:
        return None
    first = found.explanations[0]
    other = next((one for one in found.explanations if _differ(one, first, ports=bool(found.rivals))), None)
    if other is None:
        return NextReading(None, ITS_PLACE)
    apart = np.abs(first.predicted - other.predicted)
    k, axis = (int(v) for v in np.unravel_index(int(np.argmax(apart)), apart.shape))
    if float(apart[k, axis]) < LEAST_MM:
        return NextReading(None, ITS_PLACE)
    port, read = found.readings[k].port, bool(found.table is not None and found.table.read[k].any())
    way = ("left or right", "front or rear")[axis]
    one, two = (_side(float(e.predicted[k, axis]), axis) for e in (first, other))
    return NextReading(
        port,
        f"Read {port}{' again' if read else ''}, {way}: {one} if {said(found, first)}, {two} if {said(found, other)}.",
    )


def _differ(one: Explanation, other: Explanation, *, ports: bool) -> bool:
    return one.off != other.off if ports else (one.whole == "right") != (other.whole == "right")


def outside(document: Document, read: Collection[str], belongs: Sequence[Together]) -> NextReading | None:
    """A port outside what was read, the farthest from it: it tells whether the piece sits off as a whole."""
    ports = {port.id: (port.x_mm, port.y_mm) for port in document.ports}
    near = set(read).union(*(piece.ports for piece in belongs if set(piece.ports) & set(read)))
    other = [id_ for id_ in ports if id_ not in near] or [id_ for id_ in ports if id_ not in read]
    if not other or not read:
        return None
    port = max(other, key=lambda id_: min(math.dist(ports[id_], ports[one]) for one in read))
    return NextReading(port, f"Read {port} too: it tells whether the piece sits off as a whole.")


def said(found: Registration, one: Explanation) -> str:
    """An explanation in a few words."""
    names = [found.readings[k].port for k in sorted(one.off)]
    parts = ([_WHOLE[one.whole]] if one.whole != "right" or not names else []) + (
        [f"{', '.join(names)} {'is' if len(names) == 1 else 'are'} off"] if names else []
    )
    return " and ".join(parts)


def explanations_json(found: Registration) -> list[dict[str, Any]]:
    """The likeliest explanations with the keys of ``docs/survey.md``."""
    return [
        {
            "off": [found.readings[k].port for k in sorted(one.off)],
            "whole": one.whole,
            "chance": round(one.chance, 4),
            "sum_of_squares": round(one.chi2, 3),
            "redundancy": one.degrees,
            "words": said(found, one),
        }
        for one in found.explanations[:MOST_SHOWN]
        if one.chance > HARDLY / 20
    ]


def _side(value: float, axis: int) -> str:
    if abs(value) < 0.05:
        return "right (0.0 mm)"
    return f"{abs(value):.1f} mm to the {(('right', 'left'), ('rear', 'front'))[axis][value < 0]}"
