"""The first faults of a text that is wrong throughout: pydantic words every one of a million before it shows any."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from pydantic import ValidationError

#: Up to so many are worded at once.
MANY = 2_000
#: Of every list so many entries are looked at again, and of an object so many keys that nothing knows.
_LOOKED_AT = 50


def first_errors(error: ValidationError, plain: Any, validate: Callable[[Any], object]) -> list[Any]:
    """What pydantic found, the first of it where that is very much.

    Args:
        error: what it raised.
        plain: the plain values that it was raised for.
        validate: what raised it.
    """
    if error.error_count() > MANY:
        try:
            validate(_heads(plain))
        except ValidationError as fewer:
            # What only misses the entries that were left out is no fault of theirs.
            found = [] if fewer.error_count() > MANY else fewer.errors(include_url=False)
            if found := [entry for entry in found if entry["type"] != "inconsistent"]:
                return found
    return error.errors(include_url=False)


def _heads(plain: Any) -> Any:
    """The same with the first entries of every list."""
    if isinstance(plain, list):
        return [_heads(part) for part in plain[:_LOOKED_AT]]
    if isinstance(plain, dict):
        # A plate has some forty keys; of a million others the first are enough.
        return {key: _heads(part) for key, part in list(plain.items())[: 20 * _LOOKED_AT]}
    return plain
