"""Long work without the collector of cycles.

It walks every living object, again and again while many more are made: a thousand shapes cost a little, a hundred
thousand cost more than the work itself, and so make a linear work grow faster than its plate. Our parts are frozen and
hold no cycles; what others leave behind is found as soon as the work is done.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def without_collection() -> Iterator[None]:
    """Keeps the collector away meanwhile, when it is on."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def collect_rarely() -> None:
    """For a server: what is imported is not walked again, and the objects of one live answer begin no walk."""
    gc.freeze()
    gc.set_threshold(100_000, 20, 20)


__all__ = ["collect_rarely", "without_collection"]
