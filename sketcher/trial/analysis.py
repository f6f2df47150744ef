"""The tried test piece: what its readings say about the whole and about single ports, and the moves they ask for.

A piece that sits shifted or turned as a whole is a matter of how it was held, or of its mounting holes: no port is
wrong. So the moves proposed for ports are each port's own part only; moving the whole is a proposal of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sketcher.document import Document
from sketcher.document.plate import FitReading
from sketcher.trial.moves import following, move_ports, move_whole
from sketcher.trial.registration import PortReading, Registration, register

#: With fewer ports than this a whole's movement cannot be told from theirs, and every reading is a port's own.
LEAST_PORTS = 3
#: A smaller move is not proposed, mm: no cutter and no hand would follow it.
LEAST_MOVE_MM = 0.05


@dataclass(frozen=True)
class Move:
    """A port's proposed move, mm."""

    port: str
    dx_mm: float
    dy_mm: float


@dataclass(frozen=True)
class Trial:
    """The result of a tried test piece. ``registration`` is None when too few ports were read to speak of a whole."""

    readings: tuple[FitReading, ...]
    registration: Registration | None
    moves: tuple[Move, ...]
    groups: dict[str, list[str]]

    @property
    def whole_stands_out(self) -> bool:
        """Whether the piece as a whole sits shifted or turned, beyond what the readings' spread explains."""
        return self.registration is not None and self.registration.moves_as_a_whole

    @property
    def shift_mm(self) -> tuple[float, float]:
        """Shift of the whole, mm, in ``p' = R p + t`` about the floor's origin (Umeyama's t)."""
        if self.registration is None:
            return (0.0, 0.0)
        return self.registration.moved(0.0, 0.0)

    @property
    def messages(self) -> tuple[str, ...]:
        """The result in words."""
        return tuple(_messages(self))

    def as_json(self) -> dict[str, Any]:
        """The result with the keys of ``docs/survey.md``."""
        reg = self.registration
        return {
            "shift_mm": [_number(value) for value in self.shift_mm],
            "turn_deg": _number(reg.turn_deg) if reg else 0.0,
            "residuals": self._residuals(),
            "moves": [{"port": m.port, "dx_mm": m.dx_mm, "dy_mm": m.dy_mm} for m in self.moves],
            "whole": {
                "stands_out": self.whole_stands_out,
                "turn_known": reg.turn_known if reg else False,
                "centre_mm": [_number(value) for value in reg.centre] if reg else None,
                "shift_at_centre_mm": [_number(value) for value in reg.shift] if reg else [0.0, 0.0],
                "sigma_shift_mm": [_number(_root(reg.covariance[k, k])) for k in (0, 1)] if reg else None,
                "sigma_turn_deg": _number(math.degrees(_root(reg.covariance[2, 2]))) if reg else None,
            },
            "contradictions": [list(group) for group in (reg.rivals if reg else ())],
            "redundancy": reg.degrees if reg else 0,
            "groups": self.groups,
            "remarks": [{"port": r.port, "note": r.note} for r in self.readings if r.note],
            "messages": list(self.messages),
        }

    def _residuals(self) -> list[dict[str, Any]]:
        reg = self.registration
        if reg is None:
            moved = {move.port for move in self.moves}
            return [
                {"port": r.port, "dx_mm": r.dx_mm, "dy_mm": r.dy_mm, "suspect": r.port in moved}
                for r in self.readings
                if _numeric(r)
            ]
        doubtful = {*reg.suspects, *(port for group in reg.rivals for port in group)}
        return [
            {
                "port": reading.port,
                "dx_mm": _number(float(reg.left[k, 0])),
                "dy_mm": _number(float(reg.left[k, 1])),
                "suspect": reading.port in doubtful,
            }
            for k, reading in enumerate(reg.readings)
        ]


def judge(document: Document, readings: Sequence[FitReading] | None = None) -> Trial:
    """What the fit readings say; those of the document when none are given.

    Raises:
        ValueError: no reading, or none with a number.
    """
    rows = tuple(document.fit_readings if readings is None else readings)
    places = {port.id: (port.x_mm, port.y_mm) for port in document.ports}
    numbers = [
        PortReading(row.port, *places[row.port], row.dx_mm, row.dy_mm, row.spread_mm) for row in rows if _numeric(row)
    ]
    if not rows:
        raise ValueError("there is no fit reading: write down what each port showed, 0,0 where it is right")
    if len(numbers) < LEAST_PORTS:
        moves = [Move(r.port, r.dx or 0.0, r.dy or 0.0) for r in numbers]
        registration = None
    else:
        registration = register(numbers)
        moves = _own_moves(registration)
    moves = [move for move in moves if math.hypot(move.dx_mm, move.dy_mm) >= LEAST_MOVE_MM]
    follow = following(document, {move.port: (move.dx_mm, move.dy_mm) for move in moves})
    return Trial(rows, registration, tuple(moves), follow)


def apply(document: Document, trial: Trial, *, accept: Iterable[str] | None = None, whole: bool = False) -> Document:
    """The document after the accepted moves; channels and groups follow.

    Args:
        accept: ports whose moves are accepted; all proposed ones when None.
        whole: whether the plate as a whole is moved too, before its ports.
    """
    wanted = None if accept is None else set(accept)
    if whole and trial.registration is not None:
        document = move_whole(document, trial.registration.moved, trial.registration.turn_deg)
    moves = {move.port: (move.dx_mm, move.dy_mm) for move in trial.moves if wanted is None or move.port in wanted}
    return move_ports(document, moves) if moves else document


def _own_moves(registration: Registration) -> list[Move]:
    """The suspects' own parts: what was read, less the whole's movement where that stands out."""
    whole = registration.moves_as_a_whole
    moves = []
    for k, reading in enumerate(registration.readings):
        if reading.port in registration.suspects:
            left = registration.left[k] if whole else [reading.dx, reading.dy]
            dx, dy = (0.0 if v is None or math.isnan(v) else round(float(v), 2) + 0.0 for v in left)
            moves.append(Move(reading.port, dx, dy))
    return moves


def _messages(trial: Trial) -> list[str]:
    reg = trial.registration
    said = []
    if reg is None:
        if trial.moves:
            said.append(
                "With fewer than three ports read, it cannot be told whether the piece sits off as a whole: "
                "each reading is taken as its port's own."
            )
    elif trial.whole_stands_out:
        said.append(
            f"The piece as a whole should sit {_way(*reg.shift)}"
            + (f", turned {abs(reg.turn_deg):.2f}° {_sense(reg.turn_deg)}" if _turn_stands_out(reg) else "")
            + ": shift the plate or its mounting holes, not the ports."
        )
    else:
        said.append("The piece as a whole sits right, within the spread of the readings.")
    said.extend(f"{move.port} is wrong in itself: it should go {_way(move.dx_mm, move.dy_mm)}." for move in trial.moves)
    if reg is not None:
        if not trial.moves and not reg.rivals:
            said.append("No port is wrong in itself.")
        said.extend(
            f"One of {', '.join(group)} is wrong in itself, but the readings do not say which: look at more ports."
            for group in reg.rivals
        )
    said.extend(f"{', '.join(members)} would follow with {group}." for group, members in trial.groups.items())
    said.extend(f"{reading.port}: {reading.note}" for reading in trial.readings if reading.note)
    return said


def _turn_stands_out(reg: Registration) -> bool:
    sigma = _root(reg.covariance[2, 2])
    return reg.turn_known and abs(math.radians(reg.turn_deg)) > 2.0 * sigma


def _way(dx: float, dy: float) -> str:
    parts = []
    if abs(dx) >= LEAST_MOVE_MM:
        parts.append(f"{abs(dx):.1f} mm to the {'right' if dx > 0 else 'left'}")
    if abs(dy) >= LEAST_MOVE_MM:
        parts.append(f"{abs(dy):.1f} mm to the {'rear' if dy > 0 else 'front'}")
    return " and ".join(parts) or "where it is"


def _sense(turn_deg: float) -> str:
    return "counter-clockwise" if turn_deg > 0 else "clockwise"


def _numeric(reading: FitReading) -> bool:
    return reading.dx_mm is not None or reading.dy_mm is not None


def _root(value: float) -> float:
    return math.sqrt(max(float(value), 0.0))


def _number(value: float) -> float | None:
    return round(float(value), 6) + 0.0 if math.isfinite(value) else None
