"""The result of a trial as sentences, and as plain values."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from sketcher.document.plate import FitReading
from sketcher.trial.registration import LEVEL, Registration

if TYPE_CHECKING:
    from sketcher.trial.analysis import Trial

#: A smaller move is not proposed, mm: no cutter and no hand would follow it.
LEAST_MOVE_MM = 0.05
#: A larger move is doubted aloud, mm; and a turn of the whole, degrees.
DOUBTED_MM, DOUBTED_DEG = 40.0, 10.0


def messages(trial: Trial) -> Iterator[str]:
    """The result in words, the most urgent first."""
    yield from (slip.words for slip in trial.slips)
    if not trial.laid_in_wrong:
        yield from _whole(trial)
        yield from _ports(trial)
        yield from _pieces(trial)
        yield from trial.notes
    if trial.reading is not None and not trial.laid_in_wrong:
        yield trial.reading.words
    yield from (f"{reading.port}: {reading.note}" for reading in trial.readings if reading.note)


def _whole(trial: Trial) -> Iterator[str]:
    reg = trial.registration
    if reg is None or not trial.whole_told:
        if trial.moves:
            why = "With fewer than three ports read" if reg is None else "With ports of one piece alone read"
            yield (f"{why}, it cannot be told whether the test piece sits off as a whole: "
                   "each reading is taken as its port's own.")  # fmt: skip
        return
    if reg.whole_in_doubt:
        yield f"Cannot tell whether the piece as a whole should sit {way(*reg.shift)}, or sits right."
    elif not trial.whole_stands_out:
        yield "The piece as a whole sits right, within the spread of the readings."
    else:
        turned = f", turned {abs(reg.turn_deg):.2f}° {_sense(reg.turn_deg)}" if _turn_stands_out(reg) else ""
        yield (f"The piece as a whole should sit {way(*reg.shift)}{turned}: shift the plate or its mounting holes, "
               "not the ports.")  # fmt: skip
        far = math.hypot(*reg.shift)
        if far > DOUBTED_MM or abs(reg.turn_deg) > DOUBTED_DEG:
            yield (f"A whole that is off by {far:.0f} mm and {abs(reg.turn_deg):.0f}° is hard to believe: check that "
                   "the piece lies the right way round, and the unit of the readings.")  # fmt: skip
    if reg.scatters:
        yield ("The readings that are left scatter more than their spread says: read again, or state a larger spread.")


def _ports(trial: Trial) -> Iterator[str]:
    reg = trial.registration
    single = [move for move in trial.moves if not move.piece]
    yield from (f"{m.port} is off on its own: it should go {way(m.dx_mm, m.dy_mm)}." for m in single)
    yield from (
        f"{m.port} would move {math.hypot(m.dx_mm, m.dy_mm):.0f} mm, more than a trial usually shows: read it again "
        "and check the unit before you accept it."
        for m in trial.moves
        if m.doubtful
    )
    if reg is None:
        return
    if not trial.moves and not reg.rivals and not trial.slips:
        yield "No port is off on its own."
    told = {port for slip in trial.slips for port in slip.ports}
    for ports in reg.rivals:
        group = [port for port in ports if port not in told]
        if not group:
            continue
        yield (
            f"Cannot tell which of {', '.join(group)} {'is' if len(group) == 1 else 'are'} off on their own."
            if len(group) > 1
            else f"Cannot tell whether {group[0]} is off on its own."
        )


def _pieces(trial: Trial) -> Iterator[str]:
    by_piece: dict[str, list[Any]] = {}
    for move in trial.moves:
        if move.piece:
            by_piece.setdefault(move.piece, []).append(move)
    for answer in trial.pieces:
        moves = by_piece.get(answer.piece.id, [])
        if answer.moves and moves:
            turned = len({(m.dx_mm, m.dy_mm) for m in moves}) > 1
            mean = [sum(getattr(m, key) for m in moves) / len(moves) for key in ("dx_mm", "dy_mm")]
            yield (f"{', '.join(m.port for m in moves)} move as one with {answer.piece.id}, {way(mean[0], mean[1])}"
                   f"{' and turned' if turned else ''}: {answer.why}.")  # fmt: skip
        elif not answer.moves and (
            answer.piece.kind == "group" or any(m.port in answer.piece.ports for m in trial.moves)
        ):
            yield f"{answer.piece.id} stays: {answer.why}."
    yield from (f"{', '.join(members)} would follow with {group}." for group, members in trial.groups.items())


def trial_json(trial: Trial) -> dict[str, Any]:
    """The result with the keys of ``docs/survey.md``."""
    reg = trial.registration
    told = _told(trial)
    return {
        "shift_mm": [_number(value) for value in trial.shift_mm] if told else [0.0, 0.0],
        "turn_deg": _number(reg.turn_deg) if reg and told else 0.0,
        "residuals": _residuals(trial),
        "moves": [{"port": m.port, "dx_mm": m.dx_mm, "dy_mm": m.dy_mm} for m in trial.moves],
        "moved_with": {m.port: m.piece for m in trial.moves if m.piece},
        "not_read": [m.port for m in trial.moves if not m.read],
        "doubted": [m.port for m in trial.moves if m.doubtful],
        "whole": {
            "stands_out": trial.whole_stands_out,
            "told": told,
            "turn_known": reg.turn_known if reg else False,
            "centre_mm": [_number(value) for value in reg.centre] if reg else None,
            "shift_at_centre_mm": [_number(value) for value in reg.shift] if reg and told else [0.0, 0.0],
            "sigma_shift_mm": [_number(_root(reg.covariance[k, k])) for k in (0, 1)] if reg else None,
            "sigma_turn_deg": _number(math.degrees(_root(reg.covariance[2, 2]))) if reg else None,
        },
        "contradictions": [list(group) for group in (reg.rivals if reg else ())],
        "redundancy": reg.degrees if reg else 0,
        "level": LEVEL,
        "hypotheses": list(trial.explanations),
        "pieces": [
            {"id": a.piece.id, "kind": a.piece.kind, "ports": list(a.piece.ports), "moves": a.moves, "why": a.why}
            for a in trial.pieces
        ],
        "slips": [{"kind": s.kind, "ports": list(s.ports), "words": s.words} for s in trial.slips],
        "reading": trial.reading.as_json() if trial.reading else None,
        "groups": trial.groups,
        "remarks": [{"port": r.port, "note": r.note} for r in trial.readings if r.note],
        "messages": list(trial.messages),
    }


def _residuals(trial: Trial) -> list[dict[str, Any]]:
    reg = trial.registration
    if reg is None or not _told(trial):
        moved = {move.port for move in trial.moves} | {port for group in (reg.rivals if reg else ()) for port in group}
        return [
            {"port": r.port, "dx_mm": r.dx_mm, "dy_mm": r.dy_mm, "suspect": r.port in moved}
            for r in trial.readings
            if _numeric(r)
        ]
    doubtful = {*reg.suspects, *(port for group in reg.rivals for port in group)}
    number = {row.port: k for k, row in enumerate(reg.readings)}
    return [
        {
            "port": reading.port,
            "dx_mm": _number(float(reg.left[number[reading.port], 0])),
            "dy_mm": _number(float(reg.left[number[reading.port], 1])),
            "suspect": reading.port in doubtful,
        }
        for reading in trial.readings
        if _numeric(reading)
    ]


def _told(trial: Trial) -> bool:
    """Whether something can be said of the whole: where not, what was read stands in place of what is left."""
    return trial.registration is not None and trial.whole_told and not trial.registration.whole_in_doubt


def _turn_stands_out(reg: Registration) -> bool:
    sigma = _root(reg.covariance[2, 2])
    return reg.turn_known and abs(math.radians(reg.turn_deg)) > 2.0 * sigma


def way(dx: float, dy: float) -> str:
    """A move in words."""
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
