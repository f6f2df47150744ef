"""Where things truly stand: the error of any place in the case as a linear map of independent numbers.

Every body (a board or device, an obstacle, the case's wall, the plate) is off by ``G z`` with z independent standard
normal numbers that bodies share: survey points that several are tied to, a board that several stand on, the seat of the
plate. What two places are off against each other is the difference of their maps, so that shared errors cancel.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.document.floor import Surveyed
from sketcher.document.holders import chain, holders
from sketcher.document.spreads import Tie
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.reference import materials, metals
from sketcher.reference.tables import UnknownEntry
from sketcher.survey import adjusted as survey
from sketcher.survey.adjusted import SurveyResult

Array = NDArray[np.float64]

#: Expansion of a plate whose material no table knows, 1/K: that of acrylic.
_USUAL_EXPANSION = 70e-6
#: A uniform spread between -a and a has this standard deviation, in a (JCGM 100, 4.3.7).
UNIFORM = 1 / math.sqrt(3)
#: The case's own wall, among the names of bodies: no item can be called so.
FLOOR = ""


@dataclass(frozen=True)
class Number:
    """One independent standard normal number: what kind of spread it stands for, and whose it is."""

    source: str
    about: str = ""


class Places:
    """The independent numbers of a document, and how each place depends on them."""

    def __init__(self, document: Document, shapes: Shapes, result: SurveyResult | None) -> None:
        self.document = document
        self.shapes = shapes
        self.result = result
        self.numbers: list[Number] = []
        self._columns: dict[tuple[str, str], int] = {}
        self.ties = {tie.item: tie for tie in document.ties if result is not None and _usable(tie, result)}
        self.outlines = {
            (FLOOR if outline.what == "floor" else outline.id): outline
            for outline in document.survey.outlines
            if result is not None and not any(result.adjustment.point(name).loose for name in _points_of(outline))
        }
        self._held = holders(document)
        self._boards = {board.id for board in document.boards}
        self._survey = self._survey_errors()
        for name in [FLOOR, *(obstacle.id for obstacle in document.floor.obstacles), *self._roots()]:
            if name not in self.ties and name not in self.outlines:
                self._shift("hardware", name, document.spreads.hardware_mm)
        for board in document.boards:
            self._shift("standoffs", board.id, document.spreads.standoff_mm)
        self._seat()

    @property
    def size(self) -> int:
        """How many independent numbers there are."""
        return len(self.numbers)

    def chain(self, name: str) -> list[str]:
        """A device or board and what holds it, down to what stands in the case itself."""
        return chain(self._held, name)

    def hardware(self, name: str, at: Point) -> Array:
        """(2, m): how a place on a board or device depends on the numbers, mm."""
        gain = np.zeros((2, self.size))
        chain = self.chain(name)
        root = chain[-1]
        if root in self.ties:
            self._laid_on(self.ties[root], at, gain)
        else:
            self._shared("hardware", root, self.document.spreads.hardware_mm, gain)
        for step in chain:
            if step in self._boards:
                self._shared("standoffs", step, self.document.spreads.standoff_mm, gain)
        return gain

    def fixed(self, name: str, at: Point) -> Array:
        """(2, m): how a place on the case's wall (``FLOOR``) or on an obstacle's edge depends on the numbers, mm."""
        gain = np.zeros((2, self.size))
        if name in self.outlines:
            self._on_outline(self.outlines[name], at, gain)
        elif name in self.ties:
            self._laid_on(self.ties[name], at, gain)
        else:
            self._shared("hardware", name, self.document.spreads.hardware_mm, gain)
        return gain

    def plate(self, at: Point) -> Array:
        """(2, m): how a place of the plate depends on its seat and its warmth, mm."""
        gain = np.zeros((2, self.size))
        (cx, cy), reach = self.middle
        sigma = self.document.spreads.seating_mm
        self._shared("seating", "plate", sigma, gain)
        x, y = at[0] - cx, at[1] - cy
        if (turn := self._columns.get(("seating", "turn"))) is not None:
            gain[:, turn] = (-sigma / reach * y, sigma / reach * x)
        if (warm := self._columns.get(("warming", "plate"))) is not None:
            gain[:, warm] = (self.growth * x, self.growth * y)
        return gain

    @cached_property
    def middle(self) -> tuple[Point, float]:
        """The plate's middle, and from there to its far corner, mm."""
        left, front, right, rear = self.shapes.plate_polygon.bounds
        return ((left + right) / 2, (front + rear) / 2), math.hypot(right - left, rear - front) / 2

    @cached_property
    def growth(self) -> float:
        """Spread of the plate's growth against the floor, mm in a mm."""
        try:
            expansion = materials.material(self.document.plate.material)["expansion_per_k"].middle
        except UnknownEntry:
            expansion = _USUAL_EXPANSION
        with contextlib.suppress(UnknownEntry):
            expansion -= metals.floor_expansion(self.document.floor.material).expansion_per_k
        return expansion * self.document.spreads.warming_k * UNIFORM

    def _roots(self) -> Iterator[str]:
        return (name for name, holder in self._held.items() if holder is None)

    def _shift(self, source: str, about: str, sigma: float) -> None:
        """Two numbers more, along x and along y."""
        if sigma > 0:
            self._columns[(source, about)] = self.size
            self.numbers += [Number(source, about)] * 2

    def _shared(self, source: str, about: str, sigma: float, gain: Array) -> None:
        if (column := self._columns.get((source, about))) is not None:
            gain[0, column] = gain[1, column + 1] = sigma

    def _seat(self) -> None:
        """How the plate comes to lie: a shift, and a turn that moves its far end as much as the shift; its warmth."""
        sigma = self.document.spreads.seating_mm
        self._shift("seating", "plate", sigma)
        if sigma > 0 and self.middle[1] > 0:
            self._columns[("seating", "turn")] = self.size
            self.numbers.append(Number("seating", "plate"))
        if self.growth > 0:
            self._columns[("warming", "plate")] = self.size
            self.numbers.append(Number("warming", "plate"))

    def _survey_errors(self) -> Array:
        """(r, size of the survey's state): errors of all points and diameters, each row independent of the others.
        Points share readings, so their errors are correlated. These numbers come first of all."""
        self._diameters: dict[str, int] = {}
        if self.result is None or not (self.ties or self.outlines):
            return np.zeros((0, 0))
        adjustment = self.result.adjustment
        network = adjustment.used
        self._diameters = {
            name: 2 * len(network.points) + k for k, (kind, name) in enumerate(network.scalars) if kind == "diameter"
        }
        values, vectors = np.linalg.eigh(adjustment.precision.covariance)
        kept = values > 1e-12
        errors = np.asarray((vectors[:, kept] * np.sqrt(values[kept])).T)
        self.numbers += [Number("survey")] * len(errors)
        return errors

    @property
    def survey_errors(self) -> Array:
        """(r, size of the survey's state), mm: what each of the first r numbers does to the survey's unknowns."""
        return self._survey

    def _errors_of(self, name: str) -> Array:
        """(r, 2): errors of a survey point."""
        assert self.result is not None
        k = 2 * self.result.adjustment.used.index(name)
        return self._survey[:, k : k + 2]

    def _laid_on(self, tie: Tie, at: Point, gain: Array) -> None:
        """A rigid piece laid on points by least squares moves by a shift and a turn when these are off."""
        assert self.result is not None
        places = np.array([self._place(name) for name in tie.points])
        errors = np.stack([self._errors_of(name) for name in tie.points], axis=1)
        centre, shift = places.mean(axis=0), errors.mean(axis=1)
        arms = places - centre
        inertia = float((arms**2).sum())
        turn = np.zeros(len(errors))
        if inertia > 0:
            turn = (arms[:, 0] * errors[..., 1] - arms[:, 1] * errors[..., 0]).sum(axis=1) / inertia
        gain[0, : len(errors)] = shift[:, 0] - turn * (at[1] - centre[1])
        gain[1, : len(errors)] = shift[:, 1] + turn * (at[0] - centre[0])

    def _on_outline(self, outline: Surveyed, at: Point, gain: Array) -> None:
        """A place on an outline drawn through points moves with the two corners beside it; on a round one, with centre
        and diameter."""
        place = np.array(at, dtype=float)
        rows = len(self._survey)
        if outline.centre is not None:
            gain[:, :rows] = self._errors_of(outline.centre).T
            arm = place - np.array(self._place(outline.centre))
            if (k := self._diameters.get(outline.centre)) is not None and (length := float(np.hypot(*arm))) > 0:
                gain[:, :rows] += np.outer(arm / length, self._survey[:, k] / 2)
            return
        corners = np.array([self._place(name) for name in outline.corners])
        nexts = np.roll(corners, -1, axis=0)
        along = nexts - corners
        length = (along**2).sum(axis=1)
        part = np.clip(((place - corners) * along).sum(axis=1) / np.where(length > 0, length, 1.0), 0.0, 1.0)
        away = np.hypot(*(corners + part[:, None] * along - place).T)
        k = int(np.argmin(away))
        one, other = outline.corners[k], outline.corners[(k + 1) % len(corners)]
        gain[:, :rows] = ((1 - part[k]) * self._errors_of(one) + part[k] * self._errors_of(other)).T

    def _place(self, name: str) -> Point:
        assert self.result is not None
        point = self.result.adjustment.point(name)
        return (point.x, point.y)


def places_of(document: Document, shapes: Shapes) -> Places:
    """The places of a document.

    Raises:
        DocumentError: the survey cannot be adjusted.
    """
    return Places(document, shapes, survey.adjust(document) if document.survey.readings else None)


def _points_of(outline: Surveyed) -> tuple[str, ...]:
    return outline.corners if outline.centre is None else (outline.centre,)


def _usable(tie: Tie, result: SurveyResult) -> bool:
    known = set(result.adjustment.network.points)
    return all(name in known and not result.adjustment.point(name).loose for name in tie.points)
