"""The results of survey and fit in sentences that a builder can act on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sketcher.survey.adjustment import Adjustment
from sketcher.survey.candidates import Advice
from sketcher.survey.readings_network import Observation
from sketcher.survey.slips import Proposal


def reading(observation: Observation) -> str:
    """What to do with the tool, for example ``the distance from A to C``."""
    first = observation.points[0]
    wall = f"{observation.wall[0]}–{observation.wall[1]}" if observation.wall else ""
    match observation.kind:
        case "distance":
            return f"the distance from {first} to {observation.points[1]}"
        case "offset":
            return f"the distance of {first} square off the wall {wall}"
        case "along":
            return f"how far along the wall {wall} {first} lies"
        case "x":
            return f"the distance of {first} from the left wall"
        case "y":
            return f"the distance of {first} from the front wall"
        case "diameter":
            return f"the diameter at {first}"
        case _:
            return f"the height at {first}"


def survey(
    adjustment: Adjustment, proposed: Mapping[str, Sequence[Proposal]], advice: Sequence[Advice]
) -> tuple[str, ...]:
    """The messages of an adjusted survey, the most urgent first."""
    said: list[str] = []
    if adjustment.loose:
        said.append(_loose(adjustment))
    if adjustment.overwhelmed:
        said.append(
            "So many readings disagree that none can be singled out: look for a point that was mixed up with another, "
            "or for a tool whose spread is larger than stated."
        )
    for checked in adjustment.suspects:
        observation = checked.observation
        choices = [f"{p.value:g} {p.unit} ({p.why})" for p in proposed.get(observation.id, ())]
        said.append(
            f"{observation.id}, {reading(observation)}, reads {observation.value:.1f} mm where the other readings "
            f"make it {checked.adjusted:.1f} mm; it is left out. "
            + (f"Probably {'; or '.join(choices)}." if choices else "Measure it again.")
        )
    for group in adjustment.rivals:
        said.append(
            f"One of {_listed(group)} is wrong, but they check only each other: measure them again, "
            "or take one more reading between their points."
        )
    for mirror in adjustment.mirrors:
        if mirror.decided_by == "walls":
            continue
        names = _listed(list(mirror.places))
        tell = f"; {reading(mirror.reading)} would tell" if mirror.reading else ""
        if mirror.decided_by == "nothing":
            said.append(f"{names} could as well lie on the other side, mirrored: the readings fit both{tell}.")
        else:
            said.append(f"Only the first guess says on which side {names} lies{tell}.")
    if not adjustment.agrees and adjustment.degrees > 0 and not adjustment.rivals and not adjustment.overwhelmed:
        said.append(
            "As a whole the readings scatter more than their tools should, though none stands out: "
            "the spreads may be too small."
        )
    said.extend(
        f"Next, {reading(entry.reading)} would tighten {entry.point} most, "
        f"from {entry.before:.2f} to {entry.after:.2f} mm."
        for entry in advice[:1]
    )
    return tuple(said)


def _loose(adjustment: Adjustment) -> str:
    names = _listed(adjustment.loose)
    verb = "is" if len(adjustment.loose) == 1 else "are"
    if not adjustment.to_hold:
        return f"{names} {verb} loose, and no reading between the points named so far would hold it; name more points."
    wishes = _listed([reading(o) for o in adjustment.to_hold])
    return f"{names} {verb} loose: read {wishes}."


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
