"""Units a drawing may be in, and the question when it does not say."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sketcher.importing.outline_joining import DrawingError, Piece

#: Millimetres in a unit.
UNIT_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}


@dataclass(frozen=True)
class Drawing:
    """A drawing's lines and whole circles (x, y, diameter), mm, y to the rear; and the unit it was read in.

    ``circle_layers`` has the layer of each whole circle, where the file has layers.
    """

    pieces: tuple[Piece, ...]
    circles: tuple[tuple[float, float, float], ...]
    unit: str
    messages: tuple[str, ...] = ()
    circle_layers: tuple[str, ...] = ()


class UnitUnknown(DrawingError):
    """The drawing does not say its unit; ``options`` are the ones to choose from."""

    def __init__(self, why: str, options: Iterable[str] = tuple(UNIT_MM)) -> None:
        self.why, self.options = why, tuple(options)
        super().__init__(f"{why}; say which: {', '.join(self.options)}")


def scale_of(unit: str) -> float:
    """Millimetres in a unit. Raises DrawingError."""
    try:
        return UNIT_MM[unit]
    except KeyError:
        raise DrawingError(f"the unit '{unit}' is not known; there are {', '.join(UNIT_MM)}") from None
