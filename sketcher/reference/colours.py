"""The palette of Okabe and Ito: eight colours that most colour-blind people can tell apart."""

from __future__ import annotations

from functools import cache

from . import tables


@cache
def _all() -> dict[str, str]:
    return {row["name"]: row["hex"] for row in tables.rows("colours", "colour")}


def names() -> tuple[str, ...]:
    """Names of the colours, in the palette's order."""
    return tuple(_all())


def colour(name: str) -> str:
    """The colour as ``#RRGGBB``. Raises UnknownEntry."""
    return _all()[tables.pick("colour", name, _all())]
