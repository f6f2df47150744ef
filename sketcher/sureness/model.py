"""One linear model of everything that is uncertain: what each independent source adds to each tube's landing.

The landing of tube i is ``d_i = mu_i + G_i z`` with z independent standard normal numbers: the covariance of all
landings together is ``G G^T``, and points, boards and the plate that tubes share move them together. This is the law of
propagation of uncertainty, JCGM 100 (GUM), 5.2, with the correlations carried by the shared sources.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.sureness.drops import Drop, drops
from sketcher.sureness.place_errors import UNIFORM, Number, Places, places_of

Array = NDArray[np.float64]

#: What a trial learns about: all but what the made plate brings anew.
LEARNT = ("hardware", "survey", "standoffs", "part", "unexplained")
#: What moves no tube by more than this, mm, is left out.
_NOTHING_MM = 1e-9


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
        about: m names, whose spread each number is: a board's, a device's, a port's, the plate's; empty where shared.
    """

    drops: tuple[Drop, ...]
    mean: Array
    gain: Array
    sources: tuple[str, ...]
    inner: Array
    assumed: tuple[str, ...]
    about: tuple[str, ...] = ()

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


def build_model(document: Document, shapes: Shapes, places: Places | None = None) -> Model:
    """The model of a document's landings, before any trial.

    Args:
        document: the plate.
        shapes: its shapes.
        places: where things stand, when that is known already.

    Raises:
        DocumentError: the survey cannot be adjusted.
    """
    places = places or places_of(document, shapes)
    tubes = drops(document, shapes)
    count, spreads = len(tubes), document.spreads
    shared = np.zeros((count, 2, places.size))
    for index, tube in enumerate(tubes):
        shared[index] = places.hardware(tube.device, tube.above) + places.plate(tube.at)
    columns, numbers = [shared], list(places.numbers)
    bow = _tilt(places) * np.array([min(tube.height_mm, document.loop.fitting_straight_mm) for tube in tubes])
    for source, sigmas in (
        ("part", np.full(count, spreads.part_mm)),
        ("making", np.full(count, spreads.making_mm)),
        ("bow", bow),
    ):
        own = np.zeros((count, 2, 2 * count))
        for index in range(count):
            own[index, 0, 2 * index] = own[index, 1, 2 * index + 1] = sigmas[index]
        columns.append(own)
        numbers += [Number(source, tube.port) for tube in tubes for _ in range(2)]
    gain = np.concatenate(columns, axis=-1)
    moving = np.abs(gain).max(axis=(0, 1), initial=0.0) > _NOTHING_MM
    moving[: len(places.survey_errors)] = True  # a further reading is about these, whatever they move
    kept = [number for number, moves in zip(numbers, moving, strict=True) if moves]
    return Model(
        drops=tuple(tubes),
        mean=np.array([tube.offset for tube in tubes], dtype=float).reshape(-1, 2),
        gain=gain[..., moving],
        sources=tuple(number.source for number in kept),
        inner=np.eye(len(kept)),
        assumed=tuple(_assumed(places, tubes)),
        about=tuple(number.about for number in kept),
    )


def _assumed(places: Places, tubes: Sequence[Drop]) -> Iterator[str]:
    roots = {places.chain(tube.device)[-1] for tube in tubes}
    loose = sorted(root for root in roots if root not in places.ties)
    if loose:
        spread = places.document.spreads.hardware_mm
        yield f"No survey point ties {', '.join(loose)}: a spread of {spread:g} mm is assumed for each."
    if places.result is not None and not places.result.adjustment.agrees:
        yield "The survey's readings do not agree with each other: a wrong reading is outside this promise."


def _tilt(places: Places) -> float:
    """Spread of a fitting's tilt on a sheet out of flat: its tube's end moves by the tilt times what stands above."""
    reach = places.middle[1]
    return 2 * places.document.spreads.bow_mm * UNIFORM / reach if reach > 0 else 0.0


def trial_sources(model: Model) -> Iterator[int]:
    """Numbers of the sources that a trial learns about."""
    return (k for k, source in enumerate(model.sources) if source in LEARNT)
