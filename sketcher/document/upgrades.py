"""Lifting older files to the version that this program writes, one step at a time."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from sketcher.document.models import VERSION

Step = Callable[[dict[str, Any]], dict[str, Any]]

#: From a version to the next: ``STEPS[n]`` takes a plain document of version n and returns one of version n + 1.
STEPS: Mapping[int, Step] = {}


class VersionError(ValueError):
    """The file's version is one that this program cannot read."""


def upgrade(plain: dict[str, Any], steps: Mapping[int, Step] = STEPS, newest: int = VERSION) -> dict[str, Any]:
    """The plain document in the newest version; the one handed in is left as it is."""
    version = plain.get("version", newest)
    if not isinstance(version, int) or isinstance(version, bool) or version < 1:
        raise VersionError(f"the version is a whole number from 1 to {newest}, not {version!r}")
    if version > newest:
        raise VersionError(f"the file is of version {version}, newer than this program's {newest}; update the program")
    while version < newest:
        if version not in steps:
            raise VersionError(f"files of version {version} can no longer be read")
        plain = {**steps[version](dict(plain)), "version": version + 1}
        version += 1
    return plain
