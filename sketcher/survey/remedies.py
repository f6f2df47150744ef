"""What the wrong readings of an adjusted survey should have been, each proposal tried on the whole survey."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from itertools import combinations

import numpy as np

from sketcher.document.floor import Reading, Survey
from sketcher.survey import candidates
from sketcher.survey.adjustment import Adjustment, Checked
from sketcher.survey.leastsquares import precision, solve
from sketcher.survey.readings_network import Observation, build
from sketcher.survey.slips import UNITS_MM, Elsewhere, Proposal, Typed, proposals, slips_found
from sketcher.survey.snooping import agrees


def remedies(survey: Survey, adjusted: Adjustment, diameters: Mapping[str, float]) -> dict[str, tuple[Proposal, ...]]:
    """For each excluded reading's id, what it should have been, the likeliest first; ``diameters`` in mm, by point."""
    typed = {reading.id: reading for reading in survey.readings}
    found = {}
    for checked in adjusted.suspects:
        reading = typed[checked.observation.id]
        spread = math.hypot(checked.observation.sigma, checked.spread)
        if not math.isfinite(spread):
            continue
        found[reading.id] = tuple(
            proposals(
                _as_typed(survey, reading, diameters),
                checked.adjusted,
                spread,
                _elsewhere(adjusted, checked.observation),
                _whole_agrees(adjusted, checked),
            )
        )
    return found


def rival_slips(survey: Survey, adjusted: Adjustment, diameters: Mapping[str, float]) -> dict[str, Proposal]:
    """For each rival's id the slip that would explain it, if one does."""
    typed = {reading.id: reading for reading in survey.readings}
    found = {}
    for rival in adjusted.if_wrong:
        spread = math.hypot(rival.observation.sigma, rival.spread)
        if math.isfinite(spread):
            slips = slips_found(_as_typed(survey, typed[rival.observation.id], diameters), rival.if_wrong, spread)
            if slips:
                found[rival.observation.id] = slips[0]
    return found


def _as_typed(survey: Survey, reading: Reading, diameters: Mapping[str, float]) -> Typed:
    jaws = {tool.id: tool.jaw_mm or 0.0 for tool in survey.tools}
    plane = reading.kind not in ("diameter", "height")
    return Typed(
        reading.value,
        reading.unit,
        reading.kind,
        jaws.get(reading.tool, 0.0),
        tuple(diameters[name] for name in reading.points if name in diameters) if plane else (),
    )


def _elsewhere(adjusted: Adjustment, wrong: Observation) -> list[Elsewhere]:
    """The same reading between other points, or off another wall, and what the survey makes of those."""
    network = adjusted.used
    loose = set(adjusted.loose)
    names = [name for name in network.points if name not in loose]
    others: list[tuple[Observation, str]] = []
    if wrong.kind == "distance":
        for keep in wrong.points:
            for name in names:
                if name not in wrong.points:
                    pair = (keep, name) if keep == wrong.points[0] else (name, keep)
                    others.append((replace(wrong, points=pair), f"{pair[0]} to {pair[1]} was meant"))
        rest = [name for name in names if name not in wrong.points]
        for one, other in combinations(rest, 2):
            others.append((replace(wrong, points=(one, other)), f"{one} to {other} was meant"))
    elif wrong.kind in ("offset", "along"):
        walls = dict.fromkeys(o.wall for o in adjusted.network.observations if o.wall)
        for wall in walls:
            if wall and set(wall) != set(wrong.wall or ()) and wrong.points[0] not in wall:
                others.append((replace(wrong, wall=wall), f"the wall {wall[0]}–{wall[1]} was meant"))
        for name in names:
            if name not in wrong.all_points:
                others.append((replace(wrong, points=(name,)), f"{name} was meant"))
    if not others:
        return []
    predicted, g = candidates.derivatives(network, [reading for reading, _ in others], adjusted.state)
    own = np.einsum("ij,jk,ik->i", g, adjusted.precision.covariance, g)
    return [
        Elsewhere(reading.points, reading.wall, float(predicted[k]),
                  math.sqrt(wrong.sigma**2 + max(float(own[k]), 0.0)), why,
                  apart=not set(reading.points) & set(wrong.points) and reading.kind == "distance")
        for k, (reading, why) in enumerate(others)
    ]  # fmt: skip


def _whole_agrees(adjusted: Adjustment, checked: Checked) -> Callable[[Proposal], bool]:
    """A test of a proposal: with it in the reading's place, the readings in use and it agree."""
    used = adjusted.used

    def whole(proposal: Proposal) -> bool:
        put_right = replace(
            checked.observation,
            value=proposal.value * UNITS_MM[proposal.unit],
            points=proposal.points or checked.observation.points,
            wall=proposal.wall or checked.observation.wall,
        )
        try:
            network = build(used.points, [*used.observations, put_right], used.fixed, None)
        except ValueError:
            return False
        count = 2 * len(network.points)
        start = network.state({})
        start[:count] = adjusted.state[:count]
        solution = solve(network, start)
        return agrees(network, solution, precision(network, solution.state))

    return whole
