"""What hangs together: the one union-find of the program."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from typing import TypeVar

Member = TypeVar("Member", bound=Hashable)


def grouped(members: Iterable[Member], pairs: Iterable[tuple[Member, Member]]) -> list[list[Member]]:
    """The members in groups of those that pairs join, directly or by way of others.

    Args:
        members: each once; their order is kept, within the groups and by each group's first member.
        pairs: members that belong together; a name that is no member joins too, but is in no group.
    """
    members = list(members)
    leader: dict[Member, Member] = {member: member for member in members}

    def find(member: Member) -> Member:
        leader.setdefault(member, member)
        while leader[member] != member:
            leader[member] = leader[leader[member]]
            member = leader[member]
        return member

    for one, other in pairs:
        leader[find(one)] = find(other)
    found: dict[Member, list[Member]] = {}
    for member in members:
        found.setdefault(find(member), []).append(member)
    return list(found.values())
