"""Courses written into the document as channels and branches, with ids of their own, and the lid screws that follow."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from sketcher.checks.hold_screws import screw_walls
from sketcher.document import Document, with_changes
from sketcher.document.kinds import new_ids
from sketcher.document.plate import Branch, Channel, ChannelPoint, Hole
from sketcher.geometry import Shapes, build
from sketcher.geometry.path import Point
from sketcher.proposing.courses import Course
from sketcher.proposing.rule_distances import Section
from sketcher.strength.screw_design import ScrewDesign, design_lid, design_screws

#: What the document keeps of a place, mm.
_DIGITS = 3


@dataclass(frozen=True)
class NewChannel:
    """A channel to be written: its course, its section, and the port or meeting at either end."""

    course: Course
    section: Section
    start: str
    end: str


def without_channels(document: Document, gone: Iterable[str]) -> Document:
    """The document without some channels, and without branches that nothing then reaches."""
    gone = set(gone)
    channels = [channel for channel in document.channels if channel.id not in gone]
    reached = {end for channel in channels for end in (channel.start, channel.end)}
    orphans = {branch.id for branch in document.branches if branch.id not in reached}
    before = {end for channel in document.channels for end in (channel.start, channel.end)}
    orphans &= before
    lost = gone | orphans
    return with_changes(
        document,
        channels=channels,
        branches=[branch for branch in document.branches if branch.id not in orphans],
        groups=[
            group.model_copy(update={"members": [m for m in group.members if m not in lost]})
            for group in document.groups
        ],
        retired_ids=[*document.retired_ids, *sorted(lost)],
    )


def with_channels(document: Document, new: Sequence[NewChannel], meetings: Mapping[str, Point]) -> Document:
    """The document with new channels, and a branch at each of their meetings."""
    branch_ids = dict(zip(meetings, new_ids(document, "branch", gaps=True), strict=False))
    branches = [
        Branch(id=branch_ids[name], x_mm=round(x, _DIGITS), y_mm=round(y, _DIGITS)) for name, (x, y) in meetings.items()
    ]
    channels = []
    for one, id_ in zip(new, new_ids(document, "channel", gaps=True), strict=False):
        points, usual = points_of(one.course)
        channels.append(
            Channel(
                id=id_,
                start=branch_ids.get(one.start, one.start),
                end=branch_ids.get(one.end, one.end),
                points=points,
                width_mm=one.section.width_mm,
                depth_mm=one.section.depth_mm,
                bend_radius_mm=usual,
            )
        )
    return with_changes(document, channels=[*document.channels, *channels], branches=[*document.branches, *branches])


def points_of(course: Course) -> tuple[list[ChannelPoint], float]:
    """A course's corners as a channel has them, and the bend radius that is the channel's own: the commonest, mm."""
    radii = course.radii
    usual = max(set(radii), key=lambda radius: (radii.count(radius), radius), default=10.0)
    points = [
        ChannelPoint(x_mm=round(x, _DIGITS), y_mm=round(y, _DIGITS), bend_radius_mm=None if radius == usual else radius)
        for (x, y), radius in zip(course.corners[1:-1], radii, strict=True)
    ]
    return points, usual


def with_screws(document: Document, limits: Mapping[str, float], like: Document | None = None) -> Document:
    """The document with its lid screws designed anew, in another thread where its own does not hold; locked ones stay.

    Args:
        document: the plate with its channels.
        limits: in force, by rule.
        like: the same plate with other channels, its screws designed: only the thread that held there is tried, as
            designing takes longest where thread after thread fails.
    """
    if document.seal.screws_by_rule:
        return document  # worked out whenever they are asked for
    bare = without_lid_screws(document)
    if like is None:
        design = design_any(bare, build(bare), limits)
    else:
        for grooves in dict.fromkeys((like.seal.grooves, "shared")):
            design = design_in(bare, build(bare), limits, like.seal.screw, grooves)
            if design.works:
                break
    return drilled(document, design)


def without_lid_screws(document: Document) -> Document:
    """The document without the lid screws that are placed anew: those that are not locked."""
    return with_changes(document, holes=[hole for hole in document.holes if hole.use != "lid" or hole.locked])


def design_in(bare: Document, shapes: Shapes, limits: Mapping[str, float], screw: str, grooves: str) -> ScrewDesign:
    """The screws of one thread, with grooves of one kind, for a plate without lid screws."""
    seal = bare.seal.model_copy(update={"screw": screw, "grooves": grooves})
    other = with_changes(bare, seal=seal)
    return design_screws(
        other, replace(shapes, document=other), walls=screw_walls(limits), least_squeeze=limits["lid-squeeze"] / 100
    )


def design_any(bare: Document, shapes: Shapes, limits: Mapping[str, float]) -> ScrewDesign:
    """The screws of the thread and the grooves that do best, for a plate without lid screws."""
    return design_lid(bare, shapes, walls=screw_walls(limits), least_squeeze=limits["lid-squeeze"] / 100)


def drilled(document: Document, design: ScrewDesign) -> Document:
    """The document with designed lid screws in place of its own, but for locked ones; ids are used again."""
    kept = [hole for hole in document.holes if hole.use != "lid" or hole.locked]
    gone = [hole.id for hole in document.holes if hole.use == "lid" and not hole.locked]
    if design.screw and (design.screw, design.grooves) != (document.seal.screw, document.seal.grooves):
        seal = document.seal.model_copy(update={"screw": design.screw, "grooves": design.grooves})
        document = with_changes(document, seal=seal)
    ids = chain(gone, new_ids(document, "hole", gaps=True))
    added = [Hole(id=id_, **hole.as_json()) for hole, id_ in zip(design.holes, ids, strict=False)]
    spare = gone[len(design.holes) :]
    groups = [
        group.model_copy(update={"members": [m for m in group.members if m not in spare]}) for group in document.groups
    ]
    return with_changes(document, holes=[*kept, *added], groups=groups, retired_ids=[*document.retired_ids, *spare])
