"""The registry of sheets: each stands here once, with what makes it, its kinds of file, its paper and its cautions.

Command line, HTTP interface, docs and page take their lists from here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from sketcher.document import Document
from sketcher.export.sheet import ExportError, Sheet
from sketcher.geometry import Shapes
from sketcher.reference import cautions
from sketcher.reference.cautions import StepCaution

#: Kinds of file that any flat sheet can be written as, and those that a solid can.
FLAT = ("dxf", "svg", "pdf")
SOLID = ("step", "stl")

#: From the plate, its shapes and the revision's label to the sheet.
Maker = Callable[[Document, Shapes, str], Sheet]
#: Which solid a sheet is written as, where it can be one.
SolidName = Literal["body", "lid", "assembly"]


@dataclass(frozen=True)
class SheetKind:
    """What can be exported under one name.

    Attributes:
        name: as it is asked for and as the file is named.
        title: for people, a few words.
        about: what is on it, one sentence.
        make: makes the flat sheet; none where there is only a solid.
        cautions: names of the cautions that are printed with it (``reference.cautions``).
        paper: what a PDF is tiled over when no paper is asked for; none for one page as large as the sheet.
        solid: which solid it is written as in a 3D file; none for a flat sheet alone.
        copies: whether several can be nested on one sheet of material.
        packs: the packs that it goes into, as DXF and PDF: ``shop``, ``builder``.
    """

    name: str
    title: str
    about: str
    make: Maker | None
    cautions: tuple[str, ...] = ()
    paper: str | None = None
    solid: SolidName | None = None
    copies: bool = False
    packs: tuple[Literal["shop", "builder"], ...] = ()

    @property
    def formats(self) -> tuple[str, ...]:
        """Suffixes of the files it can be written as."""
        return (FLAT if self.make is not None else ()) + (SOLID if self.solid is not None else ())

    def as_json(self) -> dict[str, Any]:
        """The sheet as the page lists it."""
        return {
            "name": self.name,
            "title": self.title,
            "about": self.about,
            "formats": list(self.formats),
            "paper": self.paper,
            "cautions": list(self.cautions),
            "copies": self.copies,
        }


_KNOWN: dict[str, SheetKind] = {}


def register(kind: SheetKind) -> SheetKind:
    """Adds a sheet.

    Raises:
        ValueError: the name is taken, a caution is not in the table, or there is nothing to write.
    """
    if kind.name in _KNOWN:
        raise ValueError(f"there is a sheet {kind.name!r} already")
    if not kind.formats:
        raise ValueError(f"the sheet {kind.name!r} has neither a maker nor a solid")
    cautions.named(kind.cautions)
    _KNOWN[kind.name] = kind
    return kind


def sheet(name: str, **about: Any) -> Callable[[Maker], Maker]:
    """Decorates the function that makes a sheet; the keywords are the fields of ``SheetKind``."""

    def add(make: Maker) -> Maker:
        register(SheetKind(name=name, make=make, **about))
        return make

    return add


def remove(name: str) -> None:
    """Takes a sheet out again: for tests that add one."""
    del _KNOWN[name]


def arrange(modules: Sequence[str]) -> None:
    """Puts the sheets in the order of the modules that make them; what has no maker comes last."""

    def place(kind: SheetKind) -> int:
        module = getattr(kind.make, "__module__", "")
        return modules.index(module) if module in modules else len(modules)

    found = sorted(_KNOWN.values(), key=place)
    _KNOWN.clear()
    _KNOWN.update((kind.name, kind) for kind in found)


def names(*, flat: bool = False) -> tuple[str, ...]:
    """Every sheet's name, in the order in which they are listed; ``flat`` leaves out those that are solids alone."""
    return tuple(name for name, kind in _KNOWN.items() if not flat or kind.make is not None)


def kinds() -> tuple[SheetKind, ...]:
    """Every sheet."""
    return tuple(_KNOWN.values())


def kind(name: str) -> SheetKind:
    """The sheet of this name.

    Raises:
        ExportError: there is none.
    """
    if name not in _KNOWN:
        raise ExportError(f"there is no sheet {name!r}; choose {', '.join(_KNOWN)}")
    return _KNOWN[name]


def cautions_of(name: str) -> tuple[StepCaution, ...]:
    """The cautions that are printed with a sheet; none for a name that is not in the registry."""
    return cautions.named(_KNOWN[name].cautions) if name in _KNOWN else ()
