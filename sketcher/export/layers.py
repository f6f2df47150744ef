"""Layers in the making: named by what is done, in the order in which they are worked."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from sketcher.export.sheet import Layer, Role

_ORDER = {"note": -1, "mark": 0, "pocket": 1, "inner": 2, "outer": 3}


@dataclass
class Layers:
    """The layers of a sheet, by name, in the order of first use."""

    found: dict[str, Layer] = field(default_factory=dict)

    def name(self, role: Role, about: str, *words: str, depth: float | None = None, colour: int = 7) -> str:
        """The name of the layer, made when it is new."""
        name = re.sub(r"[^A-Z0-9_.-]", "-", "_".join(word for word in words if word).upper())
        self.found.setdefault(name, Layer(name, role, about, depth, colour))
        return name

    def ranked(self, *others: Layer) -> list[Layer]:
        """All of them in the order of work: marks, pockets, inner cuts, the outline."""
        return sorted((*self.found.values(), *others), key=lambda layer: _ORDER[layer.role])
