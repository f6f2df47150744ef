"""A holder chosen for a board or a device that stands somewhere already: it stays where it stands."""

from __future__ import annotations

import math

import numpy as np

from sketcher.document import Document, with_changes
from sketcher.document.hardware import Placed
from sketcher.geometry.placement import FLOOR, Frame, Vector, frames, own_frame

#: Axes that differ by less than this (sine of the angle) are the same.
_SAME = 1e-6


class HoldingError(ValueError):
    """The thing cannot be held so; the message says why."""


def held_in_place(document: Document, id_: str, holder: str | None) -> Document:
    """The document with a thing held by another (or by nothing), its own numbers such that it has not moved.

    Raises:
        HoldingError: there is no such thing or holder, the holder stands in it, or its direction cannot be said in the
            holder's axes: upside down, or at a slant that no rotation of the two kinds makes.
    """
    known = frames(document)
    if id_ not in known or (holder is not None and holder not in known):
        raise HoldingError(f"there is no board or device {id_ if id_ not in known else holder}")
    placed: dict[str, Placed] = {item.id: item for item in (*document.boards, *document.devices)}
    above = holder
    while above is not None:
        if above == id_:
            raise HoldingError(f"{holder} stands in {id_}: one of the two has to hold the other")
        above = placed[above].held_by
    outer = known[holder] if holder is not None else FLOOR
    axes = outer.axes.T @ known[id_].axes
    x, y, z = (round(float(v), 6) + 0.0 for v in outer.axes.T @ (known[id_].origin - outer.origin))
    direction = _direction(axes, placed[id_].roll_deg)
    if direction is None:
        raise HoldingError(f"{id_} would be at a slant or upside down in {holder or 'the case'}: turn it first")
    update = {"x_mm": x, "y_mm": y, "z_mm": z, "held_by": holder, "slot": None, **direction}
    key = "boards" if any(board.id == id_ for board in document.boards) else "devices"
    changed = tuple(item.model_copy(update=update) if item.id == id_ else item for item in getattr(document, key))
    made = with_changes(document, **{key: changed})
    assert _same_place(frames(made)[id_], known[id_]), "what was worked out does not stand where it stood"
    return made


def _direction(axes: Vector, roll_deg: float) -> dict[str, object] | None:
    """Posture, turn and roll that give these axes in a holder's; none when there are none."""
    if axes[2, 2] > 1 - _SAME:
        turn = math.degrees(math.atan2(axes[1, 0], axes[0, 0])) - roll_deg
        return {"posture": "lying", "turn_deg": _tidy(turn), "roll_deg": roll_deg}
    if abs(axes[2, 2]) > _SAME:
        return None
    # On edge, w is (sin t, -cos t, 0) when it is turned by t.
    turn = math.degrees(math.atan2(axes[0, 2], -axes[1, 2]))
    upright = own_frame(Placed(id="X1", posture="standing", turn_deg=_tidy(turn))).axes.T @ axes
    roll = math.degrees(math.atan2(upright[1, 0], upright[0, 0]))
    return {"posture": "standing", "turn_deg": _tidy(turn), "roll_deg": _tidy(roll)}


def _tidy(degrees: float) -> float:
    whole = round(degrees, 6) % 360.0
    return 0.0 if whole == 360.0 else whole


def _same_place(one: Frame, other: Frame) -> bool:
    return bool(np.allclose(one.origin, other.origin, atol=1e-3) and np.allclose(one.axes, other.axes, atol=1e-5))
