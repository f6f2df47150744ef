"""Documents changed at random: one to six values exchanged, left out, doubled, or replaced by what hurts."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from typing import Any

#: Numbers at the ends of ranges, and those that something could be divided by.
NUMBERS: list[Any] = [
    0, -0.0, 1e-300, 1e-9, 1e-6, 0.001, 0.5, 1, 2, 3, 12, 45.0, 50, 90, 100, 180, 360, 4999.999, 5000, 1e9, -1, -360,
    -5000,
]  # fmt: skip
ODD: list[Any] = [*NUMBERS, "", None, True, [], {}, "P1", "C1", "top", "x", "\u0000", "\u202e", "=1+1"]

Place = tuple[str | int, ...]


def places(value: Any, here: Place = ()) -> Iterator[tuple[Place, Any]]:
    """Every place in plain values, with what stands there."""
    if here:
        yield here, value
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in parts:
        yield from places(part, (*here, key))


def mutated(plain: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """A copy with a few changes; many of them are still documents."""
    changed = copy.deepcopy(plain)
    for _ in range(rng.choice([1, 1, 2, 3, 6])):
        everywhere = list(places(changed))
        where, value = rng.choice(everywhere)
        holder: Any = changed
        for key in where[:-1]:
            holder = holder[key]
        _exchange(holder, where[-1], value, everywhere, rng)
    return changed


def _exchange(holder: Any, key: Any, value: Any, everywhere: list[tuple[Place, Any]], rng: random.Random) -> None:
    chance = rng.random()
    if isinstance(value, int | float) and not isinstance(value, bool):
        if chance < 0.5:
            holder[key] = rng.choice(NUMBERS)
        elif chance < 0.8:
            holder[key] = value * rng.choice([0.1, 10, -1, 1.0001, 0.5])
        else:
            holder[key] = rng.choice([part for _, part in everywhere if isinstance(part, int | float)])
    elif chance < 0.25:
        del holder[key]
    elif chance < 0.5 and isinstance(holder, list):
        holder.append(copy.deepcopy(value))
    elif chance < 0.8 and isinstance(value, str):
        holder[key] = rng.choice([part for _, part in everywhere if isinstance(part, str)])
    else:
        holder[key] = copy.deepcopy(rng.choice(ODD))
