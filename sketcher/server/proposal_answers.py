"""What a search for channels answers, as models."""

from __future__ import annotations

from sketcher.document.plate import Channel
from sketcher.server.answers import Answer, DocumentAnswer
from sketcher.server.live import Counts
from sketcher.server.request_models import PlateDocument


class ProposalBegun(Answer):
    """A search has begun: its id."""

    search: str


class NamedMove(Answer):
    """An item, and how far it moves, mm."""

    item: str
    dx_mm: float
    dy_mm: float


class Unconnected(Answer):
    """A connection without a way: why, and the move of one item that makes room, when one was found."""

    ports: list[str]
    why: str
    move: NamedMove | None


class ValueChanged(Answer):
    """A value of the plate that a proposal changes beside channels and lid screws: its place, and what it then is."""

    pointer: str
    words: str


class Failure(Answer):
    """An error that stands in the best draft; ``stood_before``: no channel brought it, and none can end it."""

    rule: str
    items: list[str]
    message: str
    remedy: str
    stood_before: bool


class ChangeTried(Answer):
    """A change of the plate's values that did not make the best draft pass, and what the rules still said."""

    words: str
    left: str


class ProposalFigures(Answer):
    """New channels in figures: losses at ``flow_l_min``, and counts of all findings with them in place.

    ``parallel``, ``along_edges`` and ``mirrored`` are shares of the length, 0 to 1; ``tidiness`` is all three in one.
    ``changed_mm`` is the length that lies where nothing was drawn before; ``screw`` is the thread of the lid screws.
    """

    connected: list[list[str]]
    channels: list[str]
    width_mm: float
    depth_mm: float
    loss_kpa: float
    least_loss_kpa: float
    flow_l_min: float
    length_mm: float
    bends: int
    milling_mm3: float
    tidiness: float
    parallel: float
    along_edges: float
    mirrored: float
    changed_mm: float
    screw: str
    lid_screws: int
    changes: list[ValueChanged]
    counts: Counts


class Alternative(ProposalFigures):
    """One way to lay the channels, as a whole document."""

    style: str
    look: str | None
    best_at: list[str]
    good: bool
    document: PlateDocument


class ProposalAnswer(ProposalFigures):
    """What a search has found: the best in figures, and all that differ truly.

    Among ``alternatives`` are only such as pass every rule (``passes``). Where none does, ``drafts`` are what came
    nearest, to be looked at, and ``failures`` says why the first does not pass. ``short`` says where groove and lid
    screws find too little room; ``few`` why there are fewer than three alternatives, where there are.
    """

    unconnected: list[Unconnected]
    attempts: int
    late: bool
    seconds: float
    passes: bool
    alternatives: list[Alternative]
    drafts: list[Alternative]
    failures: list[Failure]
    tried: list[ChangeTried]
    short: list[str]
    few: str


class ProposalState(Answer):
    """How a search stands: ``running``, ``done``, ``cancelled`` or ``failed``, and what it found so far."""

    state: str
    attempts: int
    answer: ProposalAnswer | None


class RerouteAnswer(Answer):
    """Channels laid again around what was moved, whole; ``left`` found no way and are as they were."""

    channels: list[Channel]
    left: list[str]


class PortMoved(Answer):
    """A port brought to its tube: ``off_mm`` is how far beside the drop it is, ``why`` what stood under it."""

    port: str
    serves: str
    dx_mm: float
    dy_mm: float
    off_mm: float
    face: str
    turned: bool
    new: bool
    why: str


class PortLeft(Answer):
    """A port that was left where it is."""

    port: str
    why: str


class PortsAnswer(DocumentAnswer):
    """The document with its ports under the tubes, not saved; ``channels`` end at moved ports and want laying again."""

    moves: list[PortMoved]
    left: list[PortLeft]
    channels: list[str]


class DeviceOrderAnswer(Answer):
    """An order of the devices: straight lines between ports, how many cross, the coolant at the warmest block.

    ``costs_c`` is against the present order; null where nothing flows.
    """

    order: list[str]
    connections: list[list[str]]
    length_mm: float
    crossings: int
    warmest_block_c: float | None
    costs_c: float | None
    present: bool


class DeviceOrders(Answer):
    """Orders, the simplest first; none where there is only one."""

    orders: list[DeviceOrderAnswer]


class SmallestPlate(DocumentAnswer):
    """The document with the smallest plate, not saved; ``why`` says why there is none, else it is empty.

    ``notches`` is how many corners were cut away.
    """

    width_mm: float
    depth_mm: float
    before_width_mm: float
    before_depth_mm: float
    smaller_percent: float
    notches: int
    why: str
