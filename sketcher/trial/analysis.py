"""The tried test piece: what its readings say about the whole and about single ports, and the moves they ask for.

A piece that sits shifted or turned as a whole is a matter of how it was held, or of its mounting holes: no port is
wrong. So the moves proposed for ports are each port's own part only; moving the whole is a proposal of its own. Ports
that belong together (a group, a device) move as one rigid piece and keep their distances.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.document.plate import FitReading
from sketcher.trial.hypotheses import Block, RigidPiece
from sketcher.trial.landings import landings_after, with_landings
from sketcher.trial.piece_slips import (
    Slip,
    in_inches,
    laid_in_wrong,
    laid_in_wrong_in_inches,
    looks_like_inches,
    mixed_up,
    size_of_print,
    swapped,
)
from sketcher.trial.pieces import Together, together
from sketcher.trial.port_moves import following, move_ports, move_whole
from sketcher.trial.registration import PortReading, Registration, movement, register, rigid
from sketcher.trial.telling import NextReading, explanations_json, next_reading, outside
from sketcher.trial.wording import DOUBTED_MM, LEAST_MOVE_MM, messages, trial_json

Array = NDArray[np.float64]

#: With fewer ports than this a whole's movement cannot be told from theirs, and every reading is a port's own.
LEAST_PORTS = 3
#: Two readings of one piece are alike when they differ by less than this many of their spreads (99 %).
_ALIKE = 2.576


@dataclass(frozen=True)
class Move:
    """A port's proposed move, mm; ``piece`` names what it moves as one with, ``read`` whether it was read itself."""

    port: str
    dx_mm: float
    dy_mm: float
    piece: str = ""
    read: bool = True

    @property
    def doubtful(self) -> bool:
        """Whether it is farther than a trial usually shows."""
        return math.hypot(self.dx_mm, self.dy_mm) > DOUBTED_MM


@dataclass(frozen=True)
class PieceAnswer:
    """Whether ports that belong together move as one, and why."""

    piece: Together
    moves: bool
    why: str


@dataclass(frozen=True)
class Trial:
    """The result of a tried test piece. ``registration`` is None when too few ports were read to speak of a whole."""

    readings: tuple[FitReading, ...]
    registration: Registration | None
    moves: tuple[Move, ...]
    groups: dict[str, list[str]]
    pieces: tuple[PieceAnswer, ...] = ()
    slips: tuple[Slip, ...] = ()
    whole_told: bool = True
    reading: NextReading | None = None
    explanations: tuple[dict[str, Any], ...] = field(default=(), repr=False)
    notes: tuple[str, ...] = ()

    @property
    def laid_in_wrong(self) -> bool:
        """Whether the piece lay wrong, so that no move can be proposed."""
        return any(not slip.ports for slip in self.slips)

    @property
    def whole_stands_out(self) -> bool:
        """Whether the piece as a whole sits shifted or turned, beyond what the readings' spread explains."""
        told = self.registration is not None and self.whole_told and not self.laid_in_wrong
        return told and self.registration is not None and self.registration.moves_as_a_whole

    @property
    def shift_mm(self) -> tuple[float, float]:
        """Shift of the whole, mm, in ``p' = R p + t`` about the floor's origin (Umeyama's t)."""
        if self.registration is None or not self.whole_told:
            return (0.0, 0.0)
        return self.registration.moved(0.0, 0.0)

    @property
    def messages(self) -> tuple[str, ...]:
        """The result in words."""
        return tuple(messages(self))

    def as_json(self) -> dict[str, Any]:
        """The result with the keys of ``docs/survey.md``."""
        return trial_json(self)


def judge(document: Document, readings: Sequence[FitReading] | None = None) -> Trial:
    """What the fit readings say; those of the document when none are given.

    Raises:
        ValueError: no reading, or none with a number.
    """
    rows = tuple(document.fit_readings if readings is None else readings)
    if not rows:
        raise ValueError("there is no fit reading: write down what each port showed, 0,0 where it is right")
    belongs = together(document)
    numbers = {row.port: row for row in rows if row.dx_mm is not None or row.dy_mm is not None}
    if len(numbers) < LEAST_PORTS:
        moves, answers = _few(numbers, belongs)
        return _trial(document, rows, None, moves, answers, (), outside(document, numbers, belongs) if moves else None)
    table = [
        PortReading(
            p.id, p.x_mm, p.y_mm, *((r.dx_mm, r.dy_mm, r.spread_mm) if (r := numbers.get(p.id)) else (None,) * 2)
        )
        for p in document.ports
    ]
    one_piece = any(set(numbers) <= set(piece.ports) for piece in belongs)
    found = register(table, [piece.ports for piece in belongs], ("right",)) if one_piece else register(
        table, [piece.ports for piece in belongs])  # fmt: skip
    slips = _slips(found, belongs)
    moves, answers = _moves(found, belongs, slips, whole=not one_piece)
    tell = outside(document, numbers, belongs) if one_piece else next_reading(found)
    return _trial(document, rows, found, moves, answers, slips, tell, told=not one_piece)


def _trial(document: Document, rows: tuple[FitReading, ...], found: Registration | None, moves: Sequence[Move],
           answers: Sequence[PieceAnswer], slips: Sequence[Slip], tell: NextReading | None, *,
           told: bool = True) -> Trial:  # fmt: skip
    kept = tuple(move for move in moves if math.hypot(move.dx_mm, move.dy_mm) >= LEAST_MOVE_MM)
    follow = following(document, {move.port: (move.dx_mm, move.dy_mm) for move in kept})
    shown = explanations_json(found) if found is not None else ()
    notes = tuple(_notes(document, rows, kept))
    return Trial(rows, found, kept, follow, tuple(answers), tuple(slips), told, tell, tuple(shown), notes)


def _notes(document: Document, rows: Sequence[FitReading], moves: Sequence[Move]) -> Iterator[str]:
    """What the user should know before the moves are accepted."""
    if looks_like_inches([value for row in rows for value in (row.dx_mm, row.dy_mm) if value is not None]):
        yield ("Every reading is less than 2 and a sixteenth: were they read in inches? Here they are taken as mm; "
               "in a file, name the columns dx_in and dy_in.")  # fmt: skip
    locked = [port.id for port in document.ports if port.locked and any(move.port == port.id for move in moves)]
    if locked:
        yield f"{_list(locked)} {_are(locked)} locked and {'stays' if len(locked) == 1 else 'stay'} until unlocked."


def apply(document: Document, trial: Trial, *, accept: Iterable[str] | None = None, whole: bool = False) -> Document:
    """The document after the accepted moves; channels, groups and what the ports serve follow.

    What was read of each tube is kept as its landing, so that the chance of the next fit knows it; the fit readings,
    which were made at the ports' old places, go.

    Args:
        accept: ports whose moves are accepted; all proposed ones when None.
        whole: whether the plate as a whole is moved too, before its ports; nothing when the whole does not stand out.
    """
    wanted = None if accept is None else set(accept)
    read = {
        row.port: (row.dx_mm, row.dy_mm, row.spread_mm)
        for row in trial.readings
        if row.dx_mm is not None and row.dy_mm is not None and not _withheld(trial, row.port)
    }
    landings = landings_after(document, read)
    if whole and trial.registration is not None and trial.whole_stands_out:
        document = move_whole(document, trial.registration.moved, trial.registration.turn_deg)
    moves = {move.port: (move.dx_mm, move.dy_mm) for move in trial.moves if wanted is None or move.port in wanted}
    moved = move_ports(document, moves) if moves else document
    return with_landings(moved, landings, {row.port for row in trial.readings})


def _withheld(trial: Trial, port: str) -> bool:
    return trial.laid_in_wrong or any(port in slip.ports for slip in trial.slips)


def _few(numbers: dict[str, FitReading], belongs: Sequence[Together]) -> tuple[list[Move], list[PieceAnswer]]:
    """One or two ports: each reading is taken as it stands, and a piece whose readings are alike goes as one."""
    moves: dict[str, Move] = {}
    answers = []
    for piece in belongs:
        mine = [numbers[port] for port in piece.ports if port in numbers]
        if not mine or any(row.port in moves for row in mine):
            continue
        by = [_common([(getattr(row, key), row.spread_mm) for row in mine]) for key in ("dx_mm", "dy_mm")]
        alike = all(value is not None for value in by)
        if alike:
            answers.append(PieceAnswer(piece, True, _why_alike(piece, [row.port for row in mine])))
            moves |= {port: Move(port, by[0] or 0.0, by[1] or 0.0, piece.id, port in numbers) for port in piece.ports}
        else:
            answers.append(PieceAnswer(piece, False, f"{_list([r.port for r in mine])} read differently"))
    for row in numbers.values():
        moves.setdefault(row.port, Move(row.port, row.dx_mm or 0.0, row.dy_mm or 0.0))
    return list(moves.values()), answers


def _common(values: Sequence[tuple[float | None, float]]) -> float | None:
    """The mean that readings share; 0 when none was read, None when they differ by more than their spread."""
    read = [(value, spread) for value, spread in values if value is not None]
    if not read:
        return 0.0
    weights = [1 / spread**2 for _, spread in read]
    mean = sum(w * v for w, (v, _) in zip(weights, read, strict=True)) / sum(weights)
    for k, (one, s1) in enumerate(read):
        for other, s2 in read[k + 1 :]:
            if abs(one - other) > _ALIKE * math.hypot(s1, s2):
                return None
    return round(mean, 2) + 0.0


def _own(found: Registration, *, whole: bool) -> Array:
    """What is left for each port, (ports, 2): the reading, less the whole's movement where that stands out."""
    assert found.table is not None
    return found.left if whole and found.moves_as_a_whole else found.table.measured


def _slips(found: Registration, belongs: Sequence[Together]) -> list[Slip]:
    table = found.table
    assert table is not None
    names = [row.port for row in found.readings]
    number = {port: k for k, port in enumerate(names)}
    pieces = [RigidPiece(one.id, tuple(number[port] for port in one.ports)) for one in belongs]
    ways = laid_in_wrong(table, pieces, found.explanations)
    if ways:
        return [Slip("laid-in", f"The piece lies {' or '.join(ways)}, so no port can be judged: "
                     "lay it in right and read it again.")]  # fmt: skip
    size = size_of_print(found.explanations)
    if size is not None:
        ways = laid_in_wrong_in_inches(table, pieces, found.explanations)
        other = f", or it lies {' or '.join(ways)} and was read in inches" if ways else ""
        return [Slip("size", f"The piece is {100 * size:.2f} % of its true size{other}: measure its 100 mm check line, "
                     "make it at 100 %, lay it in right and read it again in mm.")]  # fmt: skip
    ways = laid_in_wrong_in_inches(table, pieces, found.explanations) if found.rivals else []
    if ways:
        return [Slip("laid-in", f"The piece lies {' or '.join(ways)} and was read in inches, so no port can be judged: "
                     "lay it in right and read it again in mm.")]  # fmt: skip
    whole = table.measured - _own(found, whole=True)
    whole = np.where(np.isfinite(whole), whole, 0.0)
    off = [number[port] for port in found.suspects]
    slips = mixed_up(names, table, whole if off else np.zeros_like(whole)) or swapped(names, table, whole, off)
    taken = {port for slip in slips for port in slip.ports}
    for k in off:
        if names[k] in taken:
            continue
        mates = {m for piece in pieces if k in piece.ports for m in piece.ports if m != k and table.read[m].any()}
        expected = [whole[k], *(np.where(np.isfinite(table.measured[m]), table.measured[m], 0.0) for m in mates)]
        slip = in_inches(names[k], table.measured[k], float(table.sigma[k]), expected)
        if slip is not None:
            slips.append(slip)
    return slips


def _moves(
    found: Registration, belongs: Sequence[Together], slips: Sequence[Slip], *, whole: bool
) -> tuple[list[Move], list[PieceAnswer]]:
    """The moves of what is off, pieces as one, and what was decided for each piece."""
    if any(not slip.ports for slip in slips):
        return [], []
    withheld = {port for slip in slips for port in slip.ports}
    own = _own(found, whole=whole)
    names = [row.port for row in found.readings]
    assert found.table is not None
    read: NDArray[np.bool_] = np.asarray(found.table.read.any(axis=1))
    moves: dict[str, Move] = {}
    for block in found.blocks:
        if any(names[k] in withheld for k in block.ports):
            continue
        members, piece = list(block.members), _piece_named(block, belongs)
        if block.kind == "port" and (piece := _unread_piece(names[block.ports[0]], names, read, belongs)) is not None:
            members = [names.index(port) for port in piece.ports]
        steps = _steps(found, block, members, own)
        for k, (dx, dy) in zip(members, steps, strict=True):
            # A port that is off beside its piece has the last word, and blocks of pieces come with more ports.
            if names[k] not in moves or block.kind == "port":
                moves[names[k]] = Move(names[k], dx, dy, piece.id if piece else "", bool(read[k]))
    return list(moves.values()), [_answer(piece, moves, found, read, names, own) for piece in belongs
                                  if any(read[names.index(port)] for port in piece.ports)]  # fmt: skip


def _steps(found: Registration, block: Block, members: Sequence[int], own: Array) -> list[tuple[float, float]]:
    """Moves of a block's members, mm: one shift for all, so that they keep their distances, or one turn as well."""
    table = found.table
    assert table is not None
    ports = list(block.ports)
    if block.kind == "turned piece":
        centre = table.arm[ports].mean(axis=0)
        by = movement(
            table.arm[list(members)] - centre, rigid(table.arm[ports] - centre, own[ports], table.sigma[ports])
        )
        return [(round(float(dx), 4) + 0.0, round(float(dy), 4) + 0.0) for dx, dy in by]
    weight = np.where(np.isfinite(own[ports]), 1 / table.sigma[ports][:, None] ** 2, 0.0)
    total = weight.sum(axis=0)
    mean = np.where(total > 0, (weight * np.nan_to_num(own[ports])).sum(axis=0) / np.where(total > 0, total, 1.0), 0.0)
    return [(round(float(mean[0]), 2) + 0.0, round(float(mean[1]), 2) + 0.0)] * len(members)


def _piece_named(block: Block, belongs: Sequence[Together]) -> Together | None:
    return None if block.kind == "port" else next((one for one in belongs if "+".join(one.ports) == block.name), None)


def _unread_piece(port: str, names: list[str], read: NDArray[np.bool_], belongs: Sequence[Together]) -> Together | None:
    """The piece of a port whose other ports were not read: it goes along, until a reading says that it does not."""
    for piece in belongs:
        if port in piece.ports and not any(read[names.index(other)] for other in piece.ports if other != port):
            return piece
    return None


def _answer(piece: Together, moves: dict[str, Move], found: Registration, read: NDArray[np.bool_], names: list[str],
            own: Array) -> PieceAnswer:  # fmt: skip
    seen = [port for port in piece.ports if read[names.index(port)]]
    going = [port for port in piece.ports if port in moves]
    if going and all(moves[port].piece == piece.id for port in going) and len(going) == len(piece.ports):
        return PieceAnswer(piece, True, _why_alike(piece, seen))
    if len(going) == len(piece.ports) and len({moves[p].piece for p in going}) == 1 and moves[going[0]].piece:
        return PieceAnswer(piece, True, f"it goes with {moves[going[0]].piece}")
    doubtful = [port for group in found.rivals for port in group if port in piece.ports]
    if doubtful:
        return PieceAnswer(piece, False, f"it cannot be told whether {_list(doubtful)} {_are(doubtful)} off")
    if not going:
        return PieceAnswer(
            piece, False, f"{_list(seen)} {'reads' if len(seen) == 1 else 'read'} right within the spread"
        )
    still = [port for port in seen if port not in going]
    if still:
        apart = max(
            float(np.nanmax(np.abs(own[names.index(a)] - own[names.index(b)]), initial=0.0))
            for a in going
            for b in still
        )
        return PieceAnswer(piece, False, f"{_list(going)} {_are(going)} off but {_list(still)} "
                           f"{'reads' if len(still) == 1 else 'read'} right; {apart:.1f} mm between them is more than "
                           "the spread explains")  # fmt: skip
    return PieceAnswer(piece, False, f"{_list(going)} are off by different amounts")


def _why_alike(piece: Together, seen: Sequence[str]) -> str:
    unread = [port for port in piece.ports if port not in seen]
    if not unread:
        return f"{_list(seen)} fit one rigid piece within the spread"
    return f"{_list(unread)} {'was' if len(unread) == 1 else 'were'} not read; read {_list(unread)} to be sure"


def _are(ports: Sequence[str]) -> str:
    return "is" if len(ports) == 1 else "are"


def _list(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else ""
