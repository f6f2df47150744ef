"""What was worked out from parts of a document, remembered by those parts.

Parts are frozen, so the same part always gives the same result, and asking whether it is the same object costs a tenth
of a microsecond. ``KnownParts`` gives equal content the same object, so that this also holds from one request to the
next. Nothing here changes an answer: without any memory it is the same, only later.
"""

from __future__ import annotations

import marshal
from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import Any, Generic, TypeVar

Value = TypeVar("Value")

_ALL: list[Remembered[Any] | Recent[Any]] = []


class Remembered(Generic[Value]):
    """Results by the identity of what they were made from.

    Two generations: when the younger is full, the older falls out, and what is still asked for moves up. The parts are
    held too, so that no other object can take their place in memory. Threads share it: each step is one operation on a
    dictionary, and the worst that two of them can do is work twice.
    """

    def __init__(self, most: int = 12_000) -> None:
        """Remember at least ``most`` results and at most twice as many."""
        self._most = most
        self._young: dict[Hashable, tuple[tuple[Any, ...], Value]] = {}
        self._old: dict[Hashable, tuple[tuple[Any, ...], Value]] = {}
        _ALL.append(self)

    def of(self, parts: tuple[Any, ...], values: Hashable, make: Callable[[], Value]) -> Value:
        """The result for these parts, known by identity, and these plain values, known by equality."""
        key = (*map(id, parts), values)
        found = self._young.get(key)
        if found is None:
            found = self._old.get(key)
            if found is None:
                found = (parts, make())
            self._keep(key, found)
        return found[1]

    def knows(self, parts: tuple[Any, ...], values: Hashable) -> bool:
        """Whether the result for these parts and values is remembered."""
        key = (*map(id, parts), values)
        return key in self._young or key in self._old

    def all(
        self, wanted: Sequence[tuple[tuple[Any, ...], Hashable]], make: Callable[[list[int]], Iterable[Value]]
    ) -> list[Value]:
        """The results for many, each as in ``of``; ``make`` is given the numbers of those that are new."""
        found: list[Value | None] = []
        new: list[int] = []
        for n, (parts, values) in enumerate(wanted):
            key = (*map(id, parts), values)
            known = self._young.get(key)
            if known is None and (known := self._old.get(key)) is not None:
                self._keep(key, known)
            if known is None:
                new.append(n)
            found.append(None if known is None else known[1])
        if new:
            for n, value in zip(new, make(new), strict=True):
                parts, values = wanted[n]
                self._keep((*map(id, parts), values), (parts, value))
                found[n] = value
        return found  # type: ignore[return-value]

    def _keep(self, key: Hashable, entry: tuple[tuple[Any, ...], Value]) -> None:
        if len(self._young) >= self._most:
            self._old, self._young = self._young, {}
        self._young[key] = entry

    def seen(self, values: Hashable) -> Value | None:
        """What is remembered of plain values alone; none when there is nothing."""
        found = self._young.get((values,)) or self._old.get((values,))
        return None if found is None else self.of((), values, lambda: found[1])

    def keep(self, values: Hashable, value: Value) -> None:
        """Remember a result of plain values alone, for ``seen``."""
        self._keep((values,), ((), value))

    def forget(self) -> None:
        """Remember nothing."""
        self._young, self._old = {}, {}


class Recent(Generic[Value]):
    """The last few results that are told apart by more than their parts' identity; the newest first."""

    def __init__(self, most: int) -> None:
        """Keep ``most`` of them."""
        self._most = most
        self._kept: tuple[Value, ...] = ()
        _ALL.append(self)

    def all(self) -> tuple[Value, ...]:
        """What is kept, the newest first."""
        return self._kept

    def add(self, value: Value) -> None:
        """Keep one more; the oldest falls out."""
        self._kept = (value, *self._kept[: self._most - 1])

    def forget(self) -> None:
        """Keep nothing."""
        self._kept = ()


def forget_all() -> None:
    """Empty every memory: for tests that compare with an answer from nothing."""
    for memory in _ALL:
        memory.forget()


def parts_of(document: Any, without: frozenset[str]) -> tuple[tuple[Any, ...], Hashable]:
    """All of a document but some of its keys, as ``Remembered.of`` takes it: items and parts, and plain values."""
    parts: list[Any] = []
    values: list[Hashable] = []
    for key in type(document).model_fields:
        value = getattr(document, key)
        if key in without:
            continue
        if isinstance(value, tuple):
            values.append(len(value))
            parts += value
        elif isinstance(value, str | int | float | dict):
            values.append(value)  # type: ignore[arg-type]
        else:
            parts.append(value)
    return tuple(parts), tuple(values)


#: Parts by their key and content. The content is told apart to the type: true, 1 and 1.0 are not one.
_parts: Remembered[Any] = Remembered()
#: Where a part stands in a document: its key, and its number in a list.
Where = tuple[str, int | None]


class KnownParts:
    """A plain document with those of its parts and items replaced by models that were checked before."""

    def __init__(self, plain: dict[str, Any]) -> None:
        self._new: dict[Where, bytes] = {}
        self.plain = {key: self._known(key, value) for key, value in plain.items()}

    def _known(self, key: str, value: Any) -> Any:
        if isinstance(value, dict):
            return self._part((key, None), value)
        if isinstance(value, list):
            return [self._part((key, n), item) if isinstance(item, dict) else item for n, item in enumerate(value)]
        return value

    def _part(self, where: Where, part: dict[str, Any]) -> Any:
        try:
            # Version 0 writes equal values alike, whether they are shared or not.
            content = marshal.dumps(part, 0)
        except ValueError:
            return part  # there is a model in it already, or it is nested too deep
        found = _parts.seen((where[0], content))
        if found is None:
            self._new[where] = content
            return part
        return found

    def learn(self, document: Any) -> None:
        """Remember the new parts of the valid document that was made of these."""
        for (key, n), content in self._new.items():
            model = getattr(document, key)
            made = model if n is None else model[n]
            _parts.of((), (key, content), lambda made=made: made)  # type: ignore[misc]


__all__ = ["KnownParts", "Recent", "Remembered", "forget_all", "parts_of"]
