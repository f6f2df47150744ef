"""What is answered, as models: plates, revisions, sheets, tables. The parts of the live answer are in ``live``.

Every key without a default is always there; more may stand beside them.
"""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from sketcher.document.outlines import Outline
from sketcher.document.plate import FitReading, Shop
from sketcher.server.live import Counts, FindingAnswer, FlowAnswers, PlotAnswer
from sketcher.server.request_models import PlateDocument


class Answer(BaseModel):
    """An answer, or a part of one."""

    # Most of these describe what is answered and check nothing: they are built when they are first asked for.
    model_config = ConfigDict(frozen=True, extra="allow", defer_build=True)


class Fault(Answer):
    """One thing wrong with a document, with a JSON pointer to its place."""

    pointer: str
    message: str


class Problem(Answer):
    """What could not be done: a short code, and a sentence with the fix.

    For a document each fault; for a store that keeps nothing the ``cause`` (full, held, read-only, damaged, other).
    """

    code: str
    message: str
    pointer: str = ""
    faults: list[Fault] = []
    cause: str = ""


class Error(Answer):
    """The one envelope for everything that goes wrong."""

    error: Problem


class Here(Answer):
    """The server is there."""

    here: bool = True


class PlateState(Answer):
    """Where a plate is in its steps; ``can_undo`` and ``can_redo`` are labels of steps, empty when there is none."""

    id: int
    state: int
    can_undo: str
    can_redo: str


class PlateAnswer(PlateState):
    """A plate as it stands. ``fault`` says why its document cannot be read, and is empty when it can."""

    document: dict[str, Any] | None = Field(
        description="As it is stored: that of another version of the program may be no Document to this one."
    )
    fault: str


class PlateRow(Answer):
    """A plate in the list."""

    id: int
    name: str
    state: int
    changed: str
    deleted: bool
    fault: str


class PlateList(Answer):
    """Every plate, and the examples that a new one can be made from."""

    plates: list[PlateRow]
    examples: list[str]


class Deleted(Answer):
    """Whether a plate is deleted."""

    id: int
    deleted: bool


class RevisionAnswer(Answer):
    """A kept revision, with the SHA-256 fingerprint of each of its files."""

    number: int
    kind: str
    label: str
    reason: str
    made: str
    files: dict[str, str]


class RevisionDocument(RevisionAnswer):
    """A kept revision with its document, as it is stored."""

    document: dict[str, Any] | None
    fault: str


class RevisionList(Answer):
    """Every revision, the oldest first."""

    revisions: list[RevisionAnswer]


class DifferenceRow(Answer):
    """One item that differs between two documents."""

    id: str
    kind: str
    what: str
    words: str


class Compared(Answer):
    """Two documents compared, and the one drawn over the other."""

    table: list[DifferenceRow]
    svg: str


class SheetLayer(Answer):
    """A layer of a sheet; a depth where it is not cut through."""

    name: str
    about: str
    depth_mm: float | None


class SheetAnswer(Answer):
    """What a sheet needs and says."""

    sheet: str
    width_mm: float
    depth_mm: float
    cut_length_mm: float
    layers: list[SheetLayer]
    notes: list[str]


class ReturnedRow(Answer):
    """One contour of a returned drawing, or face of a returned solid, that is not as ours; a solid's place has a z."""

    what: str
    item: str
    layer: str
    at: list[float]
    words: str


class ReturnedPort(Answer):
    """How far a port of a returned drawing is off."""

    id: str
    same: bool
    off_mm: float | None


class PartPlace(Answer):
    """A part of a returned drawing that was nested elsewhere, and how it lies against its place on ours."""

    part: str
    shift_mm: list[float]
    turn_deg: float
    mirrored: bool
    scale: float
    words: str


class Returned(Answer):
    """A returned file compared with our own sheet or solids, once the shift, turn and size that bring the two together
    are found; what is done otherwise comes first. A solid's shift has a z, and its turn an axis."""

    sheet: str
    unit: str
    shift_mm: list[float]
    turn_deg: float
    turn_axis: list[float] | None = None
    mirrored: bool
    scale: float
    parts: list[PartPlace]
    counts: dict[str, int]
    ports: list[ReturnedPort]
    rows: list[ReturnedRow]
    messages: list[str]


class FloorFound(Answer):
    """The outlines in a drawing of a floor: the outermost, those inside it, those beside it."""

    outline: Outline
    inner: list[Outline]
    outer: list[Outline]
    unit: str
    messages: list[str]


class OutlineAnswer(Answer):
    """An outline, and what should be known of how it came about."""

    outline: Outline
    messages: list[str]
    changed: bool


class FollowAnswer(Answer):
    """A document with new or changed items that follow a thing, and their ids; nothing is saved by this."""

    document: PlateDocument
    ids: list[str]
    messages: list[str]


class DocumentAnswer(Answer):
    """A changed document; nothing is saved by this."""

    document: PlateDocument


class FloorUsed(DocumentAnswer):
    """The document with the floor of a drawing."""

    unit: str
    messages: list[str]


class PhotoKept(Answer):
    """A kept photo, under the name that the document is to give it."""

    file: str
    width_px: int
    height_px: int


class AddedReadings(Answer):
    """The document with a table's readings added, their ids, and the points that they named for the first time."""

    document: PlateDocument
    readings: list[str]
    new_points: list[str]


class LensAnswer(Answer):
    """Brown and Conrady's coefficients in half diagonals about the picture's middle, and the map beneath them."""

    k1: float
    k2: float
    sigma_k1: float
    sigma_k2: float
    known: bool
    centre_px: list[float]
    radius_px: float
    from_floor: list[list[float]]


class PhotoPlaced(Answer):
    """The homography from pixels to mm, row by row, and how far to trust it."""

    matrix: list[list[float]]
    trust_mm: float | None
    within_mm: float
    lens: LensAnswer
    messages: list[str]


class Residual(Answer):
    """What is left at a port after the piece's shift and turn as a whole; null where it was not read."""

    port: str
    dx_mm: float | None
    dy_mm: float | None
    suspect: bool


class Move(Answer):
    """A port's proposed move."""

    port: str
    dx_mm: float
    dy_mm: float


class Hypothesis(Answer):
    """One explanation of what a test piece showed, with its chance among all."""

    off: list[str]
    whole: str
    chance: float
    words: str


class TrialPiece(Answer):
    """Ports that belong together: whether they move as one, and why."""

    id: str
    kind: str
    ports: list[str]
    moves: bool
    why: str


class TrialSlip(Answer):
    """A slip in laying the piece in or in writing it down; the whole piece's when it names no port."""

    kind: str
    ports: list[str]
    words: str


class NextReading(Answer):
    """The reading that would tell; of the piece's own place when the port is null."""

    port: str | None
    words: str


class FitAnswer(Answer):
    """How the test piece sat: as a whole, and each port by itself."""

    shift_mm: list[float]
    turn_deg: float | None
    residuals: list[Residual]
    moves: list[Move]
    moved_with: dict[str, str]
    not_read: list[str]
    doubted: list[str]
    level: float
    hypotheses: list[Hypothesis]
    pieces: list[TrialPiece]
    slips: list[TrialSlip]
    reading: NextReading | None
    messages: list[str]
    fit_readings: list[FitReading]


class FitApplied(DocumentAnswer):
    """The document after the accepted moves, the findings that they bring, and those that they do away with."""

    brings: list[FindingAnswer]
    mends: list[FindingAnswer]
    counts: Counts


class ScrewHole(Answer):
    """A hole to add for a screw of the lid."""

    kind: str
    screw: str
    x_mm: float
    y_mm: float


class ScrewHoles(Answer):
    """Holes to add, the closest spacing used, their thread, and what does not hold even so, in words."""

    holes: list[ScrewHole]
    pitch_mm: float
    screw: str
    grooves: str
    chose: str
    problems: list[str]


class Measured(Answer):
    """How far items reach (left, front, right, rear), where their centres are, their heights, mm; the gap of two."""

    extents: dict[str, tuple[float, float, float, float] | None]
    centres: dict[str, tuple[float, float] | None]
    heights: dict[str, tuple[float, float] | None]
    gap_mm: float | None


class SectionPiece(Answer):
    """What a section cuts: from and to along the line, and its heights, mm."""

    id: str
    part: str
    start: float
    end: float
    low: float
    high: float


class SectionAnswer(Answer):
    """A section through the plate."""

    svg: str
    pieces: list[SectionPiece]


class TubeBend(Answer):
    """One bend of a tube: where it begins, how far it bends, and by how much the tube is turned about itself first."""

    number: int
    mark_mm: float
    angle_deg: float
    turn_deg: float
    radius_mm: float
    arc_mm: float
    straight_mm: float


class TubeAnswer(Answer):
    """A tube: its corners and its line in space, and how it is cut and bent."""

    id: str
    kind: str
    size: str
    ends: list[str]
    corners: list[list[float]]
    line: list[list[float]]
    length_mm: float
    cut_length_mm: float
    bends: list[TubeBend]
    misses_mm: float


class StockAnswer(Answer):
    """Tube of one size to buy, and what is cut from each length."""

    size: str
    bought_mm: float
    offcut_mm: float
    exact: bool
    too_long: list[str]


class TubesAnswer(Answer):
    """Every tube, and the tube to buy."""

    tubes: list[TubeAnswer]
    stock: list[StockAnswer]


class CourseAnswer(Answer):
    """A proposed course: how many bends, how long, or why there is none."""

    id: str
    bends: int
    length_mm: float
    why: str


class CoursesAnswer(TubesAnswer):
    """The document with proposed courses, and what its tubes are then."""

    document: PlateDocument
    proposals: list[CourseAnswer]


class ShopList(Answer):
    """Every kept profile of a shop."""

    shops: list[Shop]
    damaged: list[str] = []


class LoopAnswers(FlowAnswers):
    """Loop orders, half speed, what widening gains, and plots."""

    plots: list[PlotAnswer]


class SchemaAnswer(Answer):
    """The document's JSON Schema."""

    dialect: str = Field(alias="$schema")
    definitions: dict[str, Any] = Field(alias="$defs")


class Description(Answer):
    """An OpenAPI 3.1 description."""

    openapi: str
    info: dict[str, Any]
    paths: dict[str, Any]
    components: dict[str, Any]
