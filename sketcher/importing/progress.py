"""How far a long reading has come: a function that hears shares from 0 to 1."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[float], None]


def unheard(share: float) -> None:
    """For whoever does not ask."""
