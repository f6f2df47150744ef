"""What a trial leaves behind when its moves are made: where each tube was found to land."""

from __future__ import annotations

from sketcher.document import Document, with_changes
from sketcher.document.spreads import Landing
from sketcher.trial.port_moves import DECIMALS


def landings_after(document: Document, readings: dict[str, tuple[float, float, float]]) -> tuple[Landing, ...]:
    """The landings that a document has after a trial: those read now in place of older ones of the same tubes.

    Args:
        document: the plate as it was tried, before any move.
        readings: by port, how far its tube lands to the right and to the rear of it, and the reading's spread, mm.
    """
    found = {landing.serves: landing for landing in document.landings}
    for port in document.ports:
        read = readings.get(port.id)
        if read is None or port.serves is None or port.face != "top":
            continue
        dx, dy, spread = read
        x, y = round(port.x_mm + dx, DECIMALS), round(port.y_mm + dy, DECIMALS)
        found[port.serves] = Landing(serves=port.serves, x_mm=x, y_mm=y, spread_mm=spread)
    return tuple(found.values())


def with_landings(document: Document, landings: tuple[Landing, ...], read: set[str]) -> Document:
    """The moved document with its landings; the readings they were made of have done their work and go."""
    left = [reading for reading in document.fit_readings if reading.port not in read]
    return with_changes(document, landings=landings, fit_readings=left)
