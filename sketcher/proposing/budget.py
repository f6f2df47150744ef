"""Time as work: a search ends after so much of it, so that the same seed gives the same answer on any machine.

Every part of the search says what it costs, in seconds of a usual processor that has nothing else to do. What was
measured does not enter, or a busy machine would find less than an idle one. A machine that is much slower ends the
search by its own processor's clock.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

#: Costs in seconds, measured on one core of 2024: a lattice by its edges, a net laid over it by the steps of its
#: graph, courses, quick rules, all rules, lid screws for one thread.
PER_EDGE_S, PER_STEP_S, PER_NET_S = 3e-6, 1e-7, 0.01
QUICK_RULES_S, ALL_RULES_S, SCREWS_S = 0.02, 0.15, 0.35
#: What a look's discounts cost beside the net itself.
LOOKS_COST = 3.0
#: A processor so many times slower ends the search by its clock, so many seconds later still.
_SLOWEST, _GRACE_S = 2.0, 3.0


@dataclass
class Budget:
    """So many seconds of work, what is spent of it, and whether the processor's own clock ended it.

    ``stop`` is asked as well: true ends everything.
    """

    seconds: float
    stop: Callable[[], bool] = lambda: False
    spent: float = 0.0
    late: bool = False
    begun: float = field(default_factory=time.process_time)

    def spend(self, work_s: float) -> None:
        """Counts some work."""
        self.spent += work_s

    def left(self, work_s: float = 0.0) -> bool:
        """Whether so much more work fits in."""
        if not self.late and time.process_time() - self.begun > _SLOWEST * self.seconds + _GRACE_S:
            self.late = True
        return not self.late and self.spent + work_s < self.seconds and not self.stop()

    def nets(self, steps: int, runs: int, look: bool, needed: bool = False) -> Callable[[], bool]:
        """What is asked before each net that is laid: counts it, and says whether to end.

        Args:
            steps: of the lattice's graph.
            runs: how often a net is searched for.
            look: whether its courses have a look.
            needed: end only when the user says so, or the clock.
        """
        cost = runs * (PER_STEP_S * steps * (LOOKS_COST if look else 1.0) + PER_NET_S)

        def ended() -> bool:
            self.spend(cost)
            return not self.left() and (not needed or self.late or self.stop())

        return ended
