"""What the user wants of a proposal: weights, style, section, time."""

from __future__ import annotations

from dataclasses import dataclass

from sketcher.proposing.courses import Style
from sketcher.proposing.looks import Look

#: Usual widths of a channel, mm, the widest first. Common practice, no source.
WIDTHS_MM = (12.0, 10.0, 8.0, 6.0, 5.0)


@dataclass(frozen=True)
class Wishes:
    """What is asked of a proposal.

    Attributes:
        style: of every course; none tries all.
        width_mm: of every new channel; none takes the widest that fits.
        depth_mm: of every new channel; none takes what body, threads and cutters allow, as deep as it is wide at most.
        loss, length, bends, milling: how much each counts, 0 to 1; milling is the time at the machine.
        anew: lay every unlocked channel again, not only what is still open.
        look: what makes the courses look alike; none leaves it at one alternative in each look.
        line_x_mm, line_y_mm: the line to mirror about, at this x or at this y; none takes the one that fits best.
        seed: the same seed gives the same answer.
        seconds: the search ends by then with the best it has.
    """

    style: Style | None = None
    width_mm: float | None = None
    depth_mm: float | None = None
    loss: float = 1.0
    length: float = 0.3
    bends: float = 0.3
    milling: float = 0.0
    anew: bool = False
    look: Look | None = None
    line_x_mm: float | None = None
    line_y_mm: float | None = None
    seed: int = 0
    seconds: float = 10.0
