"""What a layer's name says about the work on it, and how two of them differ in words.

The one place that reads our own layer names, those of the final sheet (``BODY_BORE_D8.8_FROM_ABOVE_DEPTH_12``) and
those of a set-up's (``BORE_D8.8_DEPTH_12``): everything that compares operations goes through ``work_of``.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

_WORDS = {
    "CHANNEL": "a channel", "GROOVE": "a seal groove", "POCKET": "a pocket", "BORE": "a bore", "THREAD": "a thread",
    "TAP": "a tapped hole", "HOLE": "a hole", "CUTOUT": "a cutout", "COUNTERBORE": "a counterbore",
    "COUNTERSINK": "a countersink", "OUTLINE": "an outline",
}  # fmt: skip
_NAME = re.compile(
    rf"(?:(?P<part>BODY|LID|EDGE)_)?(?P<kind>{'|'.join(_WORDS)})(?:_(?P<size>(?!FROM_|DEEP_|DEPTH_|THROUGH_).+?))?"
    r"(?:_FROM_(?P<side>ABOVE|BELOW))?_(?:(?:DEEP|DEPTH)_(?P<depth>\d+(?:\.\d+)?)|THROUGH_(?P<through>\d+(?:\.\d+)?))",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Work:
    """One operation: part and side are empty where the name does not say them; depth in mm."""

    part: str
    kind: str
    size: str
    side: str
    depth: float
    through: bool


@lru_cache(maxsize=4096)
def work_of(layer: str) -> Work | None:
    """The work that a layer's name stands for; None when it is no name of ours."""
    match = _NAME.fullmatch(layer.strip())
    if match is None:
        return None
    found = {key: (value or "").upper() for key, value in match.groupdict().items()}
    depth = float(found["through"] or found["depth"])
    return Work(found["part"], found["kind"], found["size"], found["side"], depth, bool(found["through"]))


def part_of(layer: str) -> str:
    """The part that a layer belongs to: BODY, LID, EDGE, or nothing where there is only one."""
    work = work_of(layer)
    return work.part if work else ""


def changes(ours: str, theirs: str) -> list[str]:
    """What is done otherwise on their layer than on ours, in words; nothing when both say the same."""
    if ours.strip().upper() == theirs.strip().upper():
        return []
    one, other = work_of(ours), work_of(theirs)
    if one is None or other is None:
        return [f"on layer {theirs} instead of {ours}"]
    said = []
    if one.kind != other.kind:
        said.append(f"{_WORDS[other.kind]} instead of {_WORDS[one.kind]}")
    elif one.size != other.size:
        said.append(f"{_size(other)} instead of {_size(one)}")
    if one.part != other.part:
        said.append(f"in the {other.part.lower() or 'part'} instead of the {one.part.lower() or 'part'}")
    if one.side != other.side and one.through == other.through:
        said.append(
            f"from {other.side.lower() or 'no stated side'} instead of from {one.side.lower() or 'no stated side'}"
        )
    if one.through != other.through or abs(one.depth - other.depth) > 1e-9:
        said.append(f"{_depth(other)} instead of {_depth(one)}")
    return said


def _depth(work: Work) -> str:
    return f"through {work.depth:g} mm" if work.through else f"{work.depth:g} mm deep"


def _size(work: Work) -> str:
    size = work.size.replace("_", " ") or "no size"
    return f"thread {size.replace('-', '/')}" if work.kind == "THREAD" else size
