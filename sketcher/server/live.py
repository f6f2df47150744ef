"""The live answer, as models: findings, flow, seal, lid, survey, snaps, the drawing.

Every key without a default is always there; more may stand beside them.
"""

from __future__ import annotations

from typing import Any, Literal

from sketcher.server.live_elevations import ElevationAnswer
from sketcher.server.live_seal import LidAnswer, SealAnswer
from sketcher.server.live_survey import Part, SurveyAnswer


class FixChange(Part):
    """A value to be set in the document, at a JSON pointer."""

    pointer: str
    value: Any


class FixAnswer(Part):
    """An edit that ends a finding."""

    label: str
    changes: list[FixChange]


class ListedAnswer(Part):
    """One of the things that a grouped finding is about."""

    items: list[str]
    value: float | None
    at: list[float] | None


class FindingAnswer(Part):
    """What a rule found: the measured value and its limit, the place, what is wrong and the remedy."""

    rule: str
    level: Literal["error", "warning", "note"]
    items: list[str]
    value: float | None
    limit: float | None
    unit: str
    at: list[float] | None
    message: str
    mend: str
    line: list[list[float]] | None = None
    fix: FixAnswer | None = None
    accepted: str = ""
    listed: list[ListedAnswer] = []
    listed_more: int = 0


class Counts(Part):
    """How many findings there are of each level."""

    error: int
    warning: int
    note: int


class QuestionAnswer(Part):
    """One of the four questions: how many findings it has, and what it did not look at."""

    question: Literal["fits", "flows", "holds", "made"]
    counts: Counts
    not_looked_at: list[str]


class CoolantAnswer(Part):
    """The coolant at its temperature."""

    name: str
    temperature_c: float
    density_kg_m3: float
    viscosity_pa_s: float
    heat_capacity_j_kg_k: float


class OperatingPoint(Part):
    """Where the pumps' curve meets the loop's."""

    flow_l_min: float
    pump_pressure_kpa: float


class PumpAnswer(Part):
    """What one pump does."""

    id: str
    flow_l_min: float
    pressure_kpa: float
    speed_percent: float


class ElementAnswer(Part):
    """One element of the loop; a channel or a tube has its section and its losses too."""

    id: str
    kind: str
    flow_l_min: float
    pressure_drop_kpa: float
    width_mm: float | None = None
    depth_mm: float | None = None
    length_mm: float | None = None
    hydraulic_diameter_mm: float | None = None
    velocity_m_s: float | None = None
    reynolds: float | None = None
    friction_factor: float | None = None
    friction_kpa: float | None = None
    minor_loss_coefficient: float | None = None
    minor_kpa: float | None = None


class TemperatureAnswer(Part):
    """Coolant in and out of a device, and its heat."""

    id: str
    inlet_c: float | None
    outlet_c: float | None
    heat_w: float


class LoopAnswer(Part):
    """One loop of its own, with its operating point; one that no pump drives stands."""

    devices: list[str]
    pumps: list[str]
    driven: bool
    flow_l_min: float
    pump_pressure_kpa: float


class FlowAnswer(Part):
    """What the loop does."""

    coolant: CoolantAnswer
    operating_point: OperatingPoint | None
    pumps: list[PumpAnswer]
    loops: list[LoopAnswer]
    elements: list[ElementAnswer]
    temperatures: list[TemperatureAnswer]
    volume_l: float
    findings: list[FindingAnswer]


class OrderAnswer(Part):
    """One order of the blocks in the loop, with the coolant's temperature at each."""

    order: list[str]
    words: str
    inlet_c: dict[str, float]
    outlet_c: dict[str, float]
    present: bool


class OrdersCompared(Part):
    """How many orders were worked out, and whether the first is the best there is."""

    count: int
    exact: bool
    words: str


class WhatIfAnswer(Part):
    """The loop with one thing changed; the first is the loop as it is."""

    id: str
    words: str
    flow_l_min: float
    pump_pressure_kpa: float
    flow_change_l_min: float
    warmest_block: str | None
    warmest_block_c: float | None
    hottest_c: float | None
    blocks_without_flow: list[str]


class SpreadAnswer(Part):
    """What the disagreement of published losses does to the flow: lowest and highest."""

    flow_l_min: list[float]
    pump_pressure_kpa: list[float]
    words: str


class HalfSpeed(Part):
    """What the loop does with every pump at half its speed."""

    flow_l_min: float
    pump_pressure_kpa: float
    temperature_c: float
    inlet_c: dict[str, float | None]
    outlet_c: dict[str, float | None]


class CurvesAnswer(Part):
    """Pressure (kPa) against flow (l/min), as pairs, and the operating point."""

    pump: list[list[float]]
    pump_half_speed: list[list[float]]
    loop: list[list[float]]
    point: list[float]


class WideningAnswer(Part):
    """What 2 mm more of width or depth gain in a channel."""

    id: str
    wider_2mm_saves_kpa: float
    wider_2mm_gains_l_min: float
    deeper_2mm_saves_kpa: float
    deeper_2mm_gains_l_min: float


class ShareAnswer(Part):
    """An element's share of the loop's loss."""

    id: str
    kind: str
    share: float
    pressure_drop_kpa: float


class AirPocket(Part):
    """Air that stays in one item, how it leaves, and the port that would bleed it."""

    item: str
    kind: str
    volume_ml: float
    leaves: str
    bleed_port: str | None


class PostureAnswer(Part):
    """What air stays in one posture of the case, and how full the reservoir is once it has left."""

    posture: str
    pockets: list[AirPocket]
    air_ml: float
    reservoir_left_percent: float | None
    top_up_ml: float


class FilledItem(Part):
    """How high the coolant must stand for gravity to fill an item, mm above the floor."""

    item: str
    level_mm: float


class FillingAnswer(Part):
    """The order in which gravity fills the loop, and what only the pump fills."""

    filled_from: list[str]
    fills_to_mm: float | None
    order: list[FilledItem]
    needs_pump: list[str]


class LeftBehind(Part):
    """What an item holds back when the loop is drained."""

    item: str
    volume_ml: float


class DrainAnswer(Part):
    """What the drain ports leave behind; none of it is known without one."""

    ports: list[str]
    left_ml: float | None
    items: list[LeftBehind]


class AirAnswer(Part):
    """Filling and emptying: air by posture, the order of filling, what the drain leaves behind."""

    postures: list[PostureAnswer]
    filling: FillingAnswer
    drain: DrainAnswer
    reservoir_ml: float


class FlowAnswers(Part):
    """What takes a few solutions more."""

    orders: list[OrderAnswer]
    orders_compared: OrdersCompared
    what_if: list[WhatIfAnswer]
    spread: SpreadAnswer | None
    air: AirAnswer
    half_speed: HalfSpeed | None
    curves: CurvesAnswer | None
    widening: list[WideningAnswer]
    shares: list[ShareAnswer]


class PlotAnswer(Part):
    """A plot: as it stands in the page, and as a file of its own."""

    title: str
    words: str
    svg: str
    file: str


class SnapPlace(Part):
    """A place to snap to."""

    x_mm: float
    y_mm: float
    kind: str
    item: str
    label: str


class SnapEdge(Part):
    """An edge to snap to."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    item: str


class Snaps(Part):
    """Places and edges to snap to."""

    places: list[SnapPlace]
    edges: list[SnapEdge]


class DimensionAnswer(Part):
    """A dimension line: its value and the places it measures between, mm; or why it is not drawn."""

    value_mm: float | None
    why: str
    first: list[float] | None
    second: list[float] | None


class DrawingAnswer(Part):
    """The plan as SVG, the box it shows, mm, and the dimension lines by their ids."""

    svg: str
    box: list[float]
    dimensions: dict[str, DimensionAnswer]


class FindingsPiece(Part):
    """Some of the findings: ``count`` of those before, beginning at number ``start``, or new ``rows``."""

    start: int | None = None
    count: int | None = None
    rows: list[FindingAnswer] | None = None


class ElementsPiece(Part):
    """Some of the flow's elements, likewise."""

    start: int | None = None
    count: int | None = None
    rows: list[ElementAnswer] | None = None


class FlowDifferences(Part):
    """What differs of the flow: its keys, the elements as pieces; a key that is not there stays as it was."""

    coolant: CoolantAnswer | None = None
    operating_point: OperatingPoint | None = None
    pumps: list[PumpAnswer] | None = None
    loops: list[LoopAnswer] | None = None
    elements: list[ElementsPiece] | None = None
    temperatures: list[TemperatureAnswer] | None = None
    volume_l: float | None = None
    findings: list[FindingAnswer] | None = None


class DrawingPiece(Part):
    """Some of the drawing's rows, likewise: its text is cut before every ``<g class="item``, ``layer``, ``finding``."""

    start: int | None = None
    count: int | None = None
    rows: list[str] | None = None


class DrawingDifferences(Part):
    """The drawing with its text as pieces."""

    rows: list[DrawingPiece]
    box: list[float]
    dimensions: dict[str, DimensionAnswer]


class NoDifference(Part):
    """The part is as it was."""


class Differences(Part):
    """What differs from what was answered last of the base and of those before it; a part that is not there is whole in
    the answer."""

    findings: list[FindingsPiece] | None = None
    flow: FlowDifferences | None = None
    drawing: DrawingDifferences | None = None
    snaps: NoDifference | None = None


class LookAnswer(Part):
    """The parts asked for; one that cannot be worked out is null, with the reason under ``missing``.

    ``known`` is the name of the document to ask on from. A part that is null and has no reason is under
    ``differences``.
    """

    known: str | None = None
    differences: Differences | None = None
    drawing: DrawingAnswer | None = None
    elevations: dict[str, ElevationAnswer] | None = None
    findings: list[FindingAnswer] | None = None
    counts: Counts | None = None
    more: int | None = None
    empty: bool | None = None
    questions: list[QuestionAnswer] | None = None
    flow: FlowAnswer | None = None
    answers: FlowAnswers | None = None
    seal: SealAnswer | None = None
    lid: LidAnswer | None = None
    survey: SurveyAnswer | None = None
    snaps: Snaps | None = None
    missing: dict[str, str]
