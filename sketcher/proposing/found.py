"""What a search found, and what of it can be offered."""

from __future__ import annotations

from dataclasses import dataclass, field

from sketcher.proposing.ranking import Proposal
from sketcher.proposing.stuck import Stuck
from sketcher.proposing.value_changes import Tried


@dataclass
class Found:
    """What a search found: the best first, and for each connection without a way why, and what to move.

    ``tried``: changes of the plate that did not make the best draft pass, where none did. ``short``: where groove and
    lid screws find too little room in it. ``few``: why fewer alternatives are offered than wanted. ``late``: the
    processor was too slow for all that was to be tried, so another run may find something else.
    """

    proposals: list[Proposal] = field(default_factory=list)
    stuck: list[Stuck] = field(default_factory=list)
    tried: list[Tried] = field(default_factory=list)
    short: list[str] = field(default_factory=list)
    few: str = ""
    attempts: int = 0
    seconds: float = 0.0
    late: bool = False

    @property
    def best(self) -> Proposal | None:
        """The proposal to take when none is chosen."""
        return self.proposals[0] if self.proposals else None

    @property
    def passing(self) -> list[Proposal]:
        """What can be offered: the proposals in which the rules find no error."""
        return [one for one in self.proposals if one.passes]

    @property
    def drafts(self) -> list[Proposal]:
        """What can only be looked at, where nothing passes."""
        return [] if self.passing else self.proposals
