"""How sure: every tube's chance, all of them together, who takes what share, and what would help most."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sketcher.document import Document
from sketcher.geometry import Shapes, build
from sketcher.sureness.advice import Advice, advise, chance_of
from sketcher.sureness.chances import HIGHEST, within
from sketcher.sureness.drops import Drop
from sketcher.sureness.learning import Read, landings_read, surprised, taught
from sketcher.sureness.model import Model, build_model
from sketcher.sureness.place_errors import places_of
from sketcher.sureness.touching import Clearance, clearances
from sketcher.survey.ellipse import of_covariance


@dataclass(frozen=True)
class TubeChance:
    """One tube: the chance that it lands, where it is expected, its spread, and whose spread that is."""

    drop: Drop
    chance: float
    offset: tuple[float, float]
    covariance: tuple[tuple[float, float], tuple[float, float]]
    shares: dict[str, float]

    @property
    def sigma_mm(self) -> float:
        """Root of the mean of the two variances, mm."""
        return float(np.sqrt((self.covariance[0][0] + self.covariance[1][1]) / 2))

    def ellipse_json(self) -> dict[str, float]:
        """The ellipse about the expected landing within which the tube lands in 95 of 100 builds, mm and degrees."""
        ellipse = of_covariance(np.array(self.covariance))
        return {
            "semi_major_mm": round(ellipse.semi_major_95, 4),
            "semi_minor_mm": round(ellipse.semi_minor_95, 4),
            "turn_deg": round(ellipse.turn_deg, 3),
        }


@dataclass(frozen=True)
class Sureness:
    """What is known of a plate's chances. ``chance`` is of all tubes together; None when no tube drops to the plate."""

    chance: float | None
    before_trial: float | None
    tubes: tuple[TubeChance, ...]
    clearances: tuple[Clearance, ...]
    advice: tuple[Advice, ...]
    assumed: tuple[str, ...]
    limit_percent: float

    @property
    def weakest(self) -> TubeChance | None:
        """The tube that is most likely to miss."""
        return min(self.tubes, key=lambda tube: tube.chance, default=None)

    def as_json(self) -> dict[str, Any]:
        """The answer with the keys of ``sureness --json``."""
        return {
            "chance": _rounded(self.chance),
            "before_trial": _rounded(self.before_trial),
            "tubes": [
                {
                    "port": tube.drop.port,
                    "serves": tube.drop.serves,
                    "chance": _rounded(tube.chance),
                    "sigma_mm": round(tube.sigma_mm, 4),
                    "allowed_mm": round(tube.drop.allowed_mm, 4),
                    "offset_mm": [round(value, 4) for value in tube.offset],
                    "covariance_mm2": [[round(value, 6) for value in row] for row in tube.covariance],
                    "at_mm": [round(value, 4) for value in tube.drop.at],
                    "ellipse": tube.ellipse_json(),
                    "shares": {name: round(part, 4) for name, part in tube.shares.items()},
                }
                for tube in self.tubes
            ],
            "clearances": [
                {
                    "items": list(one.items),
                    "chance": _rounded(one.chance),
                    "gap_mm": round(one.gap_mm, 4),
                    "sigma_mm": round(one.sigma_mm, 4),
                    "at_mm": [round(value, 4) for value in one.at],
                }
                for one in self.clearances
            ],
            "advice": [{"do": one.do, "chance": _rounded(one.chance), "kind": one.kind} for one in self.advice],
            "assumed": list(self.assumed),
            "limit_percent": self.limit_percent,
            "messages": list(self.messages),
        }

    @property
    def messages(self) -> tuple[str, ...]:
        """The answer in sentences, what matters most first."""
        if self.chance is None:
            return ("No tube drops to a port of the plate: there is no chance to state.",)
        count = len(self.tubes)
        tubes = "The tube lands" if count == 1 else f"All {count} tubes land"
        found = [f"{tubes} in {_of_a_hundred(self.chance)} such plates."]
        weakest = self.weakest
        if weakest is not None and len(self.tubes) > 1:
            source = next(iter(weakest.shares), "")
            words = f" Most of its spread is from {SOURCES.get(source, source)}." if source else ""
            found.append(f"{weakest.drop.port} is the weakest: {percent(weakest.chance)}.{words}")
        if self.advice:
            best = self.advice[0]
            found.append(f"{best.do}: that makes it {percent(best.chance)}.")
        if self.before_trial is not None and self.chance < self.before_trial:
            found.append(
                "The trial lowered the chance: it showed tubes to land beside their ports. Move the ports as it says."
            )
        return (*found, *self.assumed)


#: Where a spread comes from, in words.
SOURCES = {
    "hardware": "where its board or device stands",
    "survey": "the survey's readings",
    "standoffs": "the board's play on its standoffs",
    "part": "where the port sits on its device",
    "seating": "how the plate comes to lie in the case",
    "making": "how the shop makes the plate",
    "warming": "the plate's growth with warmth",
    "bow": "a sheet out of flat",
    "unexplained": "hardware that is not where it is drawn",
}


def percent(chance: float) -> str:
    """A chance for a sentence; never all or nothing."""
    if chance > 0.999:
        return "over 99.9 %"
    return "under 0.1 %" if chance < 0.001 else f"{100 * chance:.1f} %"


def _of_a_hundred(chance: float) -> str:
    if chance >= 0.995:
        return "more than 99 of 100"
    if chance < 0.005:
        return "fewer than 1 of 100"
    return f"{100 * chance:.0f} of 100"


def _rounded(chance: float | None) -> float | None:
    return None if chance is None else round(min(chance, HIGHEST), 4)


def assess(document: Document, shapes: Shapes | None = None, *, advice: bool = True) -> Sureness:
    """The chances of a document.

    Args:
        document: the plate.
        shapes: its shapes, when they are built already.
        advice: whether to work out what would help; it takes most of the time.

    Raises:
        DocumentError: the survey cannot be adjusted.
    """
    shapes = shapes or build(document)
    places = places_of(document, shapes)
    prior = build_model(document, shapes, places)
    reads: list[Read] = landings_read(document, prior)
    wide, odd = surprised(prior, reads, document.spreads.seating_mm)
    model = taught(wide, reads, document.spreads.seating_mm)
    chance = chance_of(model)
    assumed = list(prior.assumed)
    if odd:
        assumed.append(
            f"{', '.join(odd)} landed farther off than the spreads explain: the hardware is not where it is drawn, and "
            "the trial's reading is believed."
        )
    if model.drops and not document.survey.readings:
        assumed.insert(0, "There is no survey: places of hardware are taken as typed.")
    return Sureness(
        chance=chance,
        before_trial=chance_of(prior) if reads else None,
        tubes=tuple(_tube(model, index) for index in range(len(model.drops))),
        clearances=tuple(clearances(document, shapes, places)),
        advice=tuple(advise(document, places, model)) if advice and chance is not None else (),
        assumed=tuple(assumed),
        limit_percent=document.spreads.least_chance_percent,
    )


def _tube(model: Model, index: int) -> TubeChance:
    block = model.covariance[2 * index : 2 * index + 2, 2 * index : 2 * index + 2]
    mean = model.mean[index]
    drop = model.drops[index]
    rows = ((float(block[0, 0]), float(block[0, 1])), (float(block[1, 0]), float(block[1, 1])))
    return TubeChance(
        drop=drop,
        chance=within(mean, block, drop.allowed_mm),
        offset=(float(mean[0]), float(mean[1])),
        covariance=rows,
        shares=model.shares(index),
    )
