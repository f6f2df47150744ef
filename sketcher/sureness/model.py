"""One linear model of everything that is uncertain: what each independent source adds to each tube's landing.

The landing of tube i is ``d_i = mu_i + G_i z`` with z independent standard normal numbers: the covariance of all
landings together is ``G G^T``, and points, boards and the plate that tubes share move them together. This is the law of
propagation of uncertainty, JCGM 100 (GUM), 5.2, with the correlations carried by the shared sources.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.document.spreads import Tie
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.reference import materials, metals
from sketcher.reference.tables import UnknownEntry
from sketcher.sureness.landings import Drop, drops
from sketcher.survey import adjusted as survey
from sketcher.survey.adjusted import SurveyResult

Array = NDArray[np.float64]

#: Expansion of a plate whose material no table knows, 1/K: that of acrylic.
_USUAL_EXPANSION = 70e-6
#: What a trial learns about: all but what the made plate brings anew.
LEARNT = ("hardware", "survey", "standoffs", "part", "unexplained")
#: A uniform spread between -a and a has this standard deviation, in a (JCGM 100, 4.3.7).
_UNIFORM = 1 / math.sqrt(3)


@dataclass(frozen=True)
class Model:
    """Landings as a linear model.

    Attributes:
        drops: the tubes.
        mean: (n, 2) offsets expected, mm.
        gain: (n, 2, m) what each of m independent standard normal numbers adds.
        sources: m names, what each number stands for.
        inner: (m, m) covariance of those numbers: the identity before any trial.
        assumed: in words, what was assumed for want of better.
    """

    drops: tuple[Drop, ...]
    mean: Array
    gain: Array
    sources: tuple[str, ...]
    inner: Array
    assumed: tuple[str, ...]

    @cached_property
    def covariance(self) -> Array:
        """(2n, 2n) of all landings together, mm²."""
        flat = self.gain.reshape(2 * len(self.drops), len(self.sources))
        return np.asarray(flat @ self.inner @ flat.T)

    def shares(self, index: int) -> dict[str, float]:
        """Each source's part of one tube's variance, 0 to 1, the largest first.

        What a trial taught binds sources to each other; a source's part is then its share of the covariance sum.
        """
        parts = ((self.gain[index] @ self.inner) * self.gain[index]).sum(axis=0)
        total = float(parts.sum())
        found: dict[str, float] = {}
        for source, part in zip(self.sources, parts, strict=True):
            found[source] = found.get(source, 0.0) + float(part)
        rows = {name: value / total for name, value in found.items() if total > 0 and abs(value) > 1e-6 * total}
        return dict(sorted(rows.items(), key=lambda row: -row[1]))

    def without(self, *sources: str) -> Model:
        """The model in which some sources have no spread."""
        kept = np.array([source not in sources for source in self.sources])
        return replace(self, gain=self.gain * kept)

    def centred(self) -> Model:
        """The model in which every port stands where its tube is expected."""
        return replace(self, mean=np.zeros_like(self.mean))


@dataclass
class _Builder:
    """Columns of the model as they are added."""

    count: int
    columns: list[Array]
    sources: list[str]

    def add(self, source: str, rows: Sequence[int], parts: Sequence[tuple[float, float]]) -> None:
        """One independent number: by how many mm it moves each of some tubes."""
        column = np.zeros((self.count, 2))
        for row, part in zip(rows, parts, strict=True):
            column[row] += part
        self.columns.append(column)
        self.sources.append(source)

    def shift(self, source: str, rows: Sequence[int], sigma: float) -> None:
        """A shared shift: two numbers, along x and along y."""
        if sigma > 0 and rows:
            self.add(source, rows, [(sigma, 0.0)] * len(rows))
            self.add(source, rows, [(0.0, sigma)] * len(rows))


def build_model(document: Document, shapes: Shapes) -> Model:
    """The model of a document's landings, before any trial.

    Raises:
        DocumentError: the survey cannot be adjusted.
    """
    tubes = drops(document, shapes)
    build = _Builder(len(tubes), [], [])
    assumed: list[str] = []
    spreads = document.spreads
    _hardware(document, tubes, build, assumed)
    every = list(range(len(tubes)))
    for index in every:
        build.shift("part", [index], spreads.part_mm)
    _seating(document, shapes, tubes, build)
    for index in every:
        build.shift("making", [index], spreads.making_mm)
    _warming(document, shapes, tubes, build)
    _bow(document, shapes, tubes, build)
    gain = np.stack(build.columns, axis=-1) if build.columns else np.zeros((len(tubes), 2, 0))
    mean = np.array([tube.offset for tube in tubes], dtype=float).reshape(-1, 2)
    return Model(tuple(tubes), mean, gain, tuple(build.sources), np.eye(len(build.sources)), tuple(assumed))


def _holders(document: Document) -> dict[str, str | None]:
    return {item.id: item.held_by for item in (*document.boards, *document.devices)}


def _standing_on(document: Document, device: str) -> list[str]:
    """A device and what holds it, from the device to what stands on the floor."""
    holders = _holders(document)
    found: list[str] = []
    name: str | None = device
    while name is not None and name not in found:
        found.append(name)
        name = holders.get(name)
    return found


def _hardware(document: Document, tubes: Sequence[Drop], build: _Builder, assumed: list[str]) -> None:
    """Where boards and devices stand: by survey points where they are tied, else by one spread each; and their play."""
    spreads = document.spreads
    boards = {board.id for board in document.boards}
    roots: dict[str, list[int]] = {}
    played: dict[str, list[int]] = {}
    for index, tube in enumerate(tubes):
        chain = _standing_on(document, tube.device)
        roots.setdefault(chain[-1], []).append(index)
        for name in chain:
            if name in boards:
                played.setdefault(name, []).append(index)
    ties = {tie.item: tie for tie in document.ties}
    result = survey.adjust(document) if document.survey.readings else None
    loose: list[str] = []
    tied: list[tuple[Tie, list[int]]] = []
    for root, rows in roots.items():
        tie = ties.get(root)
        if tie is not None and result is not None and _usable(tie, result):
            tied.append((tie, rows))
        else:
            build.shift("hardware", rows, spreads.hardware_mm)
            loose.append(root)
    if result is not None:
        _survey(tied, result, tubes, build)
    for rows in played.values():
        build.shift("standoffs", rows, spreads.standoff_mm)
    if loose:
        names = ", ".join(sorted(loose))
        assumed.append(f"No survey point ties {names}: a spread of {spreads.hardware_mm:g} mm is assumed for each.")
    if result is not None and not result.adjustment.agrees:
        assumed.append("The survey's readings do not agree with each other: a wrong reading is outside this promise.")


def _usable(tie: Tie, result: SurveyResult) -> bool:
    known = set(result.adjustment.network.points)
    return all(name in known and not result.adjustment.point(name).loose for name in tie.points)


def _survey(
    tied: Sequence[tuple[Tie, list[int]]], result: SurveyResult, tubes: Sequence[Drop], build: _Builder
) -> None:
    """Errors of all tied points together: points share readings, so their errors are correlated."""
    adjustment = result.adjustment
    names = list(dict.fromkeys(name for tie, _ in tied for name in tie.points))
    if not names:
        return
    index = np.array([(2 * n, 2 * n + 1) for n in map(adjustment.network.index, names)]).ravel()
    values, vectors = np.linalg.eigh(adjustment.precision.covariance[np.ix_(index, index)])
    for factor in (vectors * np.sqrt(np.clip(values, 0.0, None))).T:
        if float(factor @ factor) < 1e-12:
            continue
        errors = dict(zip(names, factor.reshape(-1, 2), strict=True))
        rows, parts = [], []
        for tie, its in tied:
            at = np.array([(adjustment.point(name).x, adjustment.point(name).y) for name in tie.points])
            moved = np.array([errors[name] for name in tie.points])
            rows += its
            parts += _laid_on(at, moved, [tubes[row].above for row in its])
        build.add("survey", rows, parts)


def _laid_on(at: Array, errors: Array, places: Sequence[Point]) -> list[tuple[float, float]]:
    """How places of a rigid piece move when the points it is laid on, by least squares, are off by small errors."""
    centre, shift = at.mean(axis=0), errors.mean(axis=0)
    arms = at - centre
    inertia = float((arms**2).sum())
    turn = float((arms[:, 0] * errors[:, 1] - arms[:, 1] * errors[:, 0]).sum()) / inertia if inertia > 0 else 0.0
    return [(float(shift[0] - turn * (y - centre[1])), float(shift[1] + turn * (x - centre[0]))) for x, y in places]


def _seating(document: Document, shapes: Shapes, tubes: Sequence[Drop], build: _Builder) -> None:
    """How the plate comes to lie: a shift, and a turn that moves its far end as much as the shift does."""
    sigma = document.spreads.seating_mm
    rows = list(range(len(tubes)))
    build.shift("seating", rows, sigma)
    centre, reach = _middle(shapes)
    if sigma > 0 and tubes and reach > 0:
        turn = sigma / reach
        parts = [(-turn * (tube.at[1] - centre[1]), turn * (tube.at[0] - centre[0])) for tube in tubes]
        build.add("seating", rows, parts)


def _warming(document: Document, shapes: Shapes, tubes: Sequence[Drop], build: _Builder) -> None:
    """The plate grows about its middle against the floor, all of it at once; warmer or colder, nobody knows."""
    try:
        expansion = materials.material(document.plate.material)["expansion_per_k"].middle
    except UnknownEntry:
        expansion = _USUAL_EXPANSION
    with contextlib.suppress(UnknownEntry):
        expansion -= metals.floor_expansion(document.floor.material).expansion_per_k
    growth = expansion * document.spreads.warming_k * _UNIFORM
    centre, _ = _middle(shapes)
    if growth > 0 and tubes:
        parts = [(growth * (tube.at[0] - centre[0]), growth * (tube.at[1] - centre[1])) for tube in tubes]
        build.add("warming", list(range(len(tubes))), parts)


def _bow(document: Document, shapes: Shapes, tubes: Sequence[Drop], build: _Builder) -> None:
    """A sheet out of flat tilts a fitting: its tube's end moves by the tilt times what stands above the joint."""
    _, reach = _middle(shapes)
    if reach <= 0:
        return
    tilt = 2 * document.spreads.bow_mm * _UNIFORM / reach
    for index, tube in enumerate(tubes):
        build.shift("bow", [index], tilt * min(tube.height_mm, document.loop.fitting_straight_mm))


def _middle(shapes: Shapes) -> tuple[Point, float]:
    """The plate's middle, and from there to its far corner, mm."""
    left, front, right, rear = shapes.plate_polygon.bounds
    return ((left + right) / 2, (front + rear) / 2), math.hypot(right - left, rear - front) / 2


def trial_sources(model: Model) -> Iterator[int]:
    """Numbers of the sources that a trial learns about."""
    return (k for k, source in enumerate(model.sources) if source in LEARNT)
