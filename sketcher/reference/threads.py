"""Parallel pipe threads (ISO 228-1), the ports' threads. They do not seal: the fitting's O-ring does, on the face."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from . import tables


@dataclass(frozen=True)
class Thread:
    """One pipe thread, lengths in mm.

    ``minor_mm`` is the basic minor diameter, ``internal_minor_max_mm`` its upper limit in the tapped hole.
    """

    name: str
    major_mm: float
    minor_mm: float
    pitch_mm: float
    pitch_diameter_mm: float
    internal_minor_max_mm: float
    threads_per_inch: int
    tap_drill_mm: float
    source: str
    tap_drill_source: str


@cache
def _all() -> dict[str, Thread]:
    return {
        row["name"]: Thread(
            name=row["name"],
            major_mm=tables.number(row["major_mm"]),
            minor_mm=tables.number(row["minor_mm"]),
            pitch_mm=tables.number(row["pitch_mm"]),
            pitch_diameter_mm=tables.number(row["pitch_diameter_mm"]),
            internal_minor_max_mm=tables.number(row["internal_minor_max_mm"]),
            threads_per_inch=int(row["threads_per_inch"]),
            tap_drill_mm=tables.number(row["tap_drill_mm"]),
            source=row["source"],
            tap_drill_source=row["tap_drill_source"],
        )
        for row in tables.rows("threads", "thread")
    }


def names() -> tuple[str, ...]:
    """Names of the threads, smallest first."""
    return tuple(_all())


def thread(name: str) -> Thread:
    """The thread called ``name``, for example ``"G1/4"``.

    Raises:
        UnknownEntry: no such thread.
    """
    return _all()[tables.pick("pipe thread", name, _all())]
