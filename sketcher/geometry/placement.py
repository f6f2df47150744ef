"""Where boards, cards and devices stand: frames in three dimensions, one held by another.

A frame is an origin and three unit vectors u, v, w; all lengths are mm in the floor's axes.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sketcher.document.hardware import Board, Placed
from sketcher.document.models import Document
from sketcher.document.remembered import Remembered
from sketcher.reference import boards as published
from sketcher.reference.tables import UnknownEntry

Vector = NDArray[np.float64]


@dataclass(frozen=True)
class Frame:
    """An origin (3,) and axes (3, 3) whose columns are u, v and w."""

    origin: Vector
    axes: Vector

    def place(self, u: float, v: float, w: float = 0.0) -> Vector:
        """A point given in the frame, in the floor's axes: (3,)."""
        place: NDArray[np.float64] = self.origin + self.axes @ np.array([u, v, w])
        return place

    def within(self, outer: Frame) -> Frame:
        """This frame, given in an outer one's u, v, w, in the floor's axes."""
        return Frame(outer.place(*self.origin), outer.axes @ self.axes)


FLOOR = Frame(np.zeros(3), np.eye(3))


def _about(axis: int, degrees: float) -> Vector:
    turned = np.eye(3)
    i, j = (axis + 1) % 3, (axis + 2) % 3
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    # Quarter turns come out exact: a board turned by 180 degrees keeps its grid to the last digit.
    if degrees % 90 == 0:
        c, s = float(round(c)), float(round(s))
    turned[i, i] = turned[j, j] = c
    turned[i, j], turned[j, i] = -s, s
    return turned


#: Standing: u along x, v up, w to the front.
_ON_EDGE = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])


def own_frame(item: Placed) -> Frame:
    """An item's frame in its holder's axes, or in the floor's when nothing holds it."""
    stand = _ON_EDGE if item.posture == "standing" else np.eye(3)
    axes = _about(2, item.turn_deg) @ stand @ _about(2, item.roll_deg)
    return Frame(np.array([item.x_mm, item.y_mm, item.z_mm]), axes)


def frames(document: Document) -> dict[str, Frame]:
    """The frame of every board and device in the floor's axes, by id."""
    items = (*document.boards, *document.devices)
    return _frames.of(items, None, lambda: _placed(items))


_frames: Remembered[dict[str, Frame]] = Remembered(most=64)


def _placed(items: tuple[Placed, ...]) -> dict[str, Frame]:
    placed: dict[str, Placed] = {item.id: item for item in items}
    found: dict[str, Frame] = {}
    for id_ in placed:
        # From the thing up to what holds it all, then down again: a chain may be longer than calls can be nested.
        chain: list[str] = []
        holder: str | None = id_
        while holder is not None and holder not in found:
            chain.append(holder)
            holder = placed[holder].held_by
        for name in reversed(chain):
            found[name] = own_frame(placed[name]).within(holder_frame(placed[name], placed, found))
    return found


def holder_frame(item: Placed, placed: Mapping[str, Placed], found: Mapping[str, Frame]) -> Frame:
    """The frame that an item's own x, y and z count in: its holder's, or that of its slot; the floor's when nothing
    holds it. ``found`` has the holder's frame."""
    if item.held_by is None:
        return FLOOR
    outer, holder = found[item.held_by], placed[item.held_by]
    if item.slot is not None and isinstance(holder, Board):
        return slot_frame(holder, item.slot).within(outer)
    return outer


def slot_frame(board: Board, slot: int) -> Frame:
    """A slot's frame in its board's: u along the slot away from the rear edge, v off the board, w to the next slot."""
    axes = np.array([[0.0, 0.0, 1.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    return Frame(np.array([slot_mm(board, slot), 0.0, 0.0]), axes)


def slot_mm(board: Board, slot: int) -> float:
    """How far a slot's middle is from the board's connector side, along u."""
    first = board.first_slot_mm if board.first_slot_mm is not None else 0.0
    return first + (slot - 1) * board.slot_pitch_mm


def pattern(board: Board) -> published.Board | None:
    """The published pattern a board names, or none when it names none or one that is not known."""
    if board.pattern is None:
        return None
    try:
        return published.board(board.pattern)
    except UnknownEntry:
        return None


def board_size(board: Board) -> tuple[float, float]:
    """Width along u and depth along v, mm: the board's own, or its pattern's; a card's usual 120 by 60 else."""
    known = pattern(board)
    width = board.width_mm or (float(known.width_in) * 25.4 if known else 120.0)
    depth = board.depth_mm or (float(known.depth_in) * 25.4 if known else 60.0)
    return width, depth


def board_holes(board: Board) -> list[tuple[str, float, float, float]]:
    """(name, u, v, diameter) of a board's mounting holes, mm: its own, or its pattern's."""
    if board.holes:
        return [(hole.id, hole.u_mm, hole.v_mm, hole.diameter_mm) for hole in board.holes]
    known = pattern(board)
    if known is None:
        return []
    size = published.hole_size().diameter_mm
    return [(hole.name, hole.x_mm, hole.y_mm, size) for hole in known.holes]
