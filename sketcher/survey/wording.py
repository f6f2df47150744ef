"""The results of survey and fit in sentences that a builder can act on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sketcher.survey.adjustment import Adjustment, Checked
from sketcher.survey.branches import Mirror
from sketcher.survey.candidates import Advice
from sketcher.survey.deciding import Decision
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
    adjustment: Adjustment,
    proposed: Mapping[str, Sequence[Proposal]],
    rival_slips: Mapping[str, Proposal],
    decides: Decision | None,
    advice: Sequence[Advice],
    shape_doubts: Sequence[str] = (),
) -> tuple[str, ...]:
    """The messages of an adjusted survey, the most urgent first."""
    said: list[str] = list(shape_doubts)
    muddled = bool(adjustment.rivals) or adjustment.overwhelmed
    if adjustment.loose and not muddled:
        said.append(_loose(adjustment))
    if adjustment.overwhelmed:
        said.append(
            "So many readings disagree that none can be singled out: look for a point that was mixed up with another, "
            "or for a tool whose spread is larger than stated."
        )
    said.extend(_excluded(checked, proposed.get(checked.observation.id, ())) for checked in adjustment.suspects)
    said.extend(_rivals(adjustment, group, rival_slips) for group in adjustment.rivals)
    if decides is not None:
        said.append(_decides(decides))
    if adjustment.loose and muddled:
        # Readings that contradict each other often press points onto a line, and then nothing seems to hold them.
        said.append(f"Until that is settled {_listed(adjustment.loose)} cannot be placed.")
    said.extend(_mirrored(adjustment, mirror) for mirror in adjustment.mirrors if mirror.decided_by != "walls")
    if not adjustment.agrees and adjustment.degrees > 0 and not adjustment.rivals and not adjustment.overwhelmed:
        said.append(
            "As a whole the readings scatter more than their tools should, though none stands out: "
            "the spreads may be too small."
        )
    said.extend(
        f"Next, {reading(entry.reading)} would tighten {entry.point} most, "
        f"from {entry.before:.2f} to {entry.after:.2f} mm."
        for entry in advice[:1]
        if not adjustment.rivals
    )
    return tuple(said)


def _excluded(checked: Checked, proposed: Sequence[Proposal]) -> str:
    observation = checked.observation
    choices = [f"{p.value:g} {p.unit} ({p.why})" for p in proposed]
    return (
        f"{observation.id}, {reading(observation)}, reads {observation.value:.1f} mm where the other readings "
        f"make it {checked.adjusted:.1f} mm; it is excluded. "
        + (f"Probably {'; or '.join(choices)}." if choices else "Measure it again.")
    )


def _rivals(adjustment: Adjustment, group: Sequence[str], slips: Mapping[str, Proposal]) -> str:
    if len(group) == 1:
        (rival,) = [r for r in adjustment.if_wrong if r.observation.id == group[0]]
        return (
            f"{group[0]}, {reading(rival.observation)}, cannot be right if the other readings are: they would make it "
            f"{rival.if_wrong:.1f} mm. Too few readings check each other to leave it out: measure it again."
        )
    likely = [
        f"{id_} would be {slips[id_].value:g} {slips[id_].unit} ({slips[id_].why})" for id_ in group if id_ in slips
    ]
    return f"One of {_listed(group)} is wrong, and no arithmetic can tell which; none is excluded." + (
        f" If it is a slip, {'; or '.join(likely)}." if likely else ""
    )


def _decides(decision: Decision) -> str:
    if decision.again is not None:
        return (
            f"Measure {reading(decision.reading)} again ({decision.again}): if it comes out as before it is right, "
            "and the others stay in question; if not, it was the wrong one."
        )
    if decision.settles:
        values = [f"{o.value:.1f} mm if {_listed([_listed(ids) for ids in o.wrong])} is wrong"
                  for o in decision.outcomes]  # fmt: skip
        return f"One further reading decides, {reading(decision.reading)}: {', '.join(values)}."
    return (
        f"The further reading that decides most is {reading(decision.reading)}: it leaves about "
        f"{decision.left:.0f} of {sum(len(o.wrong) for o in decision.outcomes)} in question."
    )


def _mirrored(adjustment: Adjustment, mirror: Mirror) -> str:
    names = _listed(list(mirror.places))
    tell = f" To tell, take {reading(mirror.reading)}." if mirror.reading else ""
    here = {point.id: point for point in adjustment.points}
    name, (x, y) = next(iter(mirror.places.items()))
    where = f"{name} at {here[name].x:.0f}, {here[name].y:.0f} mm or at {x:.0f}, {y:.0f} mm"
    if mirror.decided_by == "nothing":
        return f"{names} could as well lie on the other side: the readings fit {where}. Which is it?{tell}"
    return f"Only the first guess says on which side {names} lies: {where}.{tell}"


def _loose(adjustment: Adjustment) -> str:
    names = _listed(adjustment.loose)
    verb = "is" if len(adjustment.loose) == 1 else "are"
    if not adjustment.to_hold:
        held = "no reading between the points named so far would hold it"
        return f"{names} {verb} undetermined, and {held}; name more points."
    wishes = _listed([reading(o) for o in adjustment.to_hold])
    return f"{names} {verb} undetermined: read {wishes}."


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
