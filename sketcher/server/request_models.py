"""What requests carry: JSON bodies and queries, as models. A key that no model names is passed over."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer

from sketcher.document import Document, from_plain, to_plain
from sketcher.document.base import FARTHEST_MM, Id, Length, LengthOrZero
from sketcher.document.dimensions import DimensionEnd

#: A document as the format has it, and as it is written: what is as the format has it by default is left out.
PlateDocument = Annotated[
    Document,
    BeforeValidator(lambda value: value if isinstance(value, Document) else from_plain(value)),
    PlainSerializer(to_plain, return_type=dict[str, Any]),
]
Text = Annotated[str, Field(max_length=2000)]
#: A coordinate on the floor, mm.
Coordinate = Annotated[float, Field(ge=-FARTHEST_MM, le=FARTHEST_MM, allow_inf_nan=False)]
PlanPlace = Annotated[list[Coordinate], Field(min_length=2, max_length=2)]


class Body(BaseModel):
    """A JSON body: no text is taken for a number, and no number for yes or no."""

    model_config = ConfigDict(strict=True, frozen=True, defer_build=True)


class Base(Body):
    """The state of the plate that a change was made on."""

    base: int


class Step(Base):
    """A step of the history to go to."""

    step: Annotated[int, Field(ge=1, le=2**53)]


class Save(Base):
    """A finished edit."""

    document: PlateDocument
    label: Annotated[str, Field(max_length=200)] = ""


class Start(Body):
    """The three things that a first plate needs, as they are in the document; ``begin`` checks them."""

    width_mm: Any
    depth_mm: Any
    body_thickness_mm: Any
    name: Any = ""


class New(Body):
    """A new plate: from one of these, the first that is given."""

    document: PlateDocument | None = None
    example: Text | None = None
    start: Start | None = None


class OneDocument(Body):
    """A document that need not be saved."""

    document: PlateDocument


class ReadingsTable(OneDocument):
    """A table of readings, and the tool and unit they were taken in where it does not say."""

    text: Annotated[str, Field(max_length=200_000)]
    tool: Text | None = None
    unit: Literal["mm", "cm", "in"] = "mm"


class Look(Body):
    """Parts of the live answer that are wanted; ``quick`` leaves the slow rules out.

    The document comes whole, or as an ``edit`` of one that an answer before gave a name: its ``base``. Then what stays
    of that answer's findings and flow is left out of this one.
    """

    document: PlateDocument | None = None
    base: Annotated[str, Field(max_length=60)] = Field(
        default="", description="The name of a document that was asked about with `keep`; 409 when it is not known now."
    )
    edit: Annotated[dict[str, dict[str, Any]], Field(max_length=20)] = Field(
        default={}, description="For each list of the base its items that are other ones now, by their number."
    )
    keep: bool = Field(default=False, description="Give the document a name, to ask on from.")
    want: Annotated[list[str], Field(max_length=20)] | None = None
    quick: bool = False
    fixes: bool = Field(
        default=True,
        description="Try the fixes of the findings out, which takes longer. It stops when the asker hangs up.",
    )
    ellipse_scale: Annotated[float, Field(ge=1, le=1000, allow_inf_nan=False)] = 1.0
    sides: Annotated[list[Literal["front", "rear", "left", "right"]], Field(max_length=4)] = Field(
        default=["front", "left"], description="From where the case is seen in the part `elevations`."
    )


class Answers(OneDocument):
    """A channel to be studied, by its id."""

    channel: Annotated[str, Field(max_length=24)] = ""


class Fit(OneDocument):
    """Readings of the test piece as CSV text, in place of the document's own."""

    csv: Annotated[str, Field(max_length=1_000_000)] | None = None


class FitMoves(Fit):
    """The ports whose moves are accepted (none given: all), and whether the plate is moved as a whole."""

    accept: list[str] | None = None
    whole: bool = False


class Screws(OneDocument):
    """``anew`` proposes a whole pattern in place of the screws there are."""

    anew: bool = False


class Measure(OneDocument):
    """Ids of the items to be measured; a plate has a few hundred."""

    items: Annotated[list[Annotated[str, Field(max_length=24)]], Field(max_length=10_000)]


class Between(OneDocument):
    """Two references to be measured between, as the ends of a dimension line have them."""

    first: DimensionEnd
    second: DimensionEnd


class OutlineEdit(OneDocument):
    """An outline that goes by another shape: see ``geometry.outline_edits.edited``."""

    target: Annotated[str, Field(max_length=24)]
    do: Literal["follow", "along", "union", "minus", "common"]
    other: Annotated[str, Field(max_length=24)]
    distance_mm: Annotated[float, Field(ge=-1000, le=1000, allow_inf_nan=False)] = 0.0
    edge: Annotated[int, Field(ge=0, le=2000)] | None = None


class Hold(OneDocument):
    """A board or device, and what is to hold it; none: nothing."""

    item: Annotated[str, Field(max_length=24)]
    holder: Annotated[str, Field(max_length=24)] | None = None


class Along(OneDocument):
    """A thing that becomes a cutout, a pocket or a keep-out along its outline, with its mounting holes if wanted."""

    item: Id
    kind: Literal["cutout", "pocket", "keep-out"]
    clearance_mm: Annotated[LengthOrZero, Field(le=200)] = 1.0
    depth_mm: Annotated[Length, Field(le=200)] = 4.0
    holes: bool = False


class CableWay(OneDocument):
    """A pocket that a cable leaves, and where to; ``nearest``: to what is nearest, else to the plate's edge when no end
    is named."""

    start: Id
    end: Id | None = None
    nearest: bool = False
    cable_mm: Annotated[Length, Field(le=100)] = 4.0
    clearance_mm: Annotated[LengthOrZero, Field(le=100)] = 0.5


class Section(OneDocument):
    """Two points on the floor, mm: the plate is cut along the line between them."""

    line: Annotated[
        list[
            Annotated[
                list[Annotated[float, Field(allow_inf_nan=False, ge=-1e9, le=1e9)]], Field(min_length=2, max_length=2)
            ]
        ],
        Field(min_length=2, max_length=2),
    ]


class Compare(Body):
    """Two documents."""

    before: PlateDocument
    after: PlateDocument


class Keep(Body):
    """A revision to be kept; ``state`` (0: any) is the plate's state that the page shows."""

    label: Annotated[str, Field(max_length=40)]
    reason: Text = ""
    kind: Literal["kept", "test-piece", "hand-off"] = "kept"
    state: int = 0


class FloorUse(OneDocument):
    """A drawing of a floor, in base64, and what becomes of the outlines inside it."""

    kind: Literal["dxf", "svg"]
    content_base64: str
    unit: Annotated[str, Field(max_length=20)] = ""
    inner: Literal["openings", "obstacles", "nothing"] = "openings"


def _whole(value: Any) -> Any:
    if isinstance(value, str) and not re.fullmatch(r"[0-9]{1,9}", value):
        raise ValueError("a whole number belongs here")
    return value


Number = Annotated[int, BeforeValidator(_whole)]


class Query(BaseModel):
    """What stands behind the question mark of an address."""

    model_config = ConfigDict(frozen=True)


class ShownQuery(Query):
    """The plate's state that the page shows; another one is refused (0: any)."""

    state: Number = 0


class RevisionQuery(ShownQuery):
    """A kept revision by its number (0: the plate as it stands), and the label to be scored into the piece."""

    revision: Number = 0
    label: str = ""


class SheetQuery(RevisionQuery):
    """One sheet, and how many test pieces are nested on it."""

    sheet: str = "test-piece"
    copies: Number = 1


class ExportQuery(SheetQuery):
    """The sheet's kind of file; for a PDF, the paper; for a DXF, the version."""

    format: str = "dxf"
    paper: str | None = None
    dxf: str = "R2010"


class HandoffQuery(RevisionQuery):
    """Whose package, which DXF, and whether a state that is not kept may be packed as a draft."""

    receiver: Literal["shop", "builder"] = "shop"
    dxf: str = "R2010"
    draft: bool = False


class ReturnedQuery(RevisionQuery):
    """What a returned file is: its kind, the sheet it should be, the unit of a drawing that does not say."""

    kind: Literal["dxf", "svg", "step"] = "dxf"
    sheet: str | None = None
    unit: str | None = None


class FloorQuery(Query):
    """What a drawing of a floor is: its kind of file and its unit."""

    kind: Literal["dxf", "svg"]
    unit: str | None = None


class LookQuery(Query):
    """Parts of the live answer that are wanted, with commas between."""

    want: str = ""


Weight = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
SizeAsked = Annotated[float, Field(gt=0, le=200, allow_inf_nan=False)]


class PortsWanted(OneDocument):
    """A document whose ports are to stand under their tubes."""

    add: bool = Field(default=True, description="Whether device ports that have none get one.")


class Propose(OneDocument):
    """What is wanted of channels that the program lays out; see ``plate-sketcher propose``."""

    style: Literal["square", "diagonal", "free"] | None = None
    width_mm: SizeAsked | None = None
    depth_mm: SizeAsked | None = None
    loss: Weight = 1.0
    length: Weight = 0.3
    bends: Weight = 0.3
    milling: Weight = 0.0
    anew: bool = False
    look: Literal["parallel", "edges", "symmetry", "drawn"] | None = None
    line_x_mm: Annotated[float, Field(ge=-1e6, le=1e6, allow_inf_nan=False)] | None = None
    line_y_mm: Annotated[float, Field(ge=-1e6, le=1e6, allow_inf_nan=False)] | None = None
    seed: Annotated[int, Field(ge=0, le=2**31)] = 0
    seconds: Annotated[float, Field(ge=0.1, le=600, allow_inf_nan=False)] = 10.0


class LaidTube(OneDocument):
    """A tube that is laid by hand: its two ports, and its corners in plan."""

    start: Annotated[str, Field(max_length=60)]
    end: Annotated[str, Field(max_length=60)]
    places: Annotated[list[PlanPlace], Field(max_length=38)] = []
    height_mm: Coordinate | None = Field(
        default=None, description="Of the corners above the floor; what the ports ask for when not given."
    )


class Reroute(OneDocument):
    """A document in which something was moved, and what."""

    moved: Annotated[list[Annotated[str, Field(max_length=60)]], Field(min_length=1, max_length=1000)]


class SmallestPlateWanted(OneDocument):
    """A document whose plate is to be as small as it may: a rectangle, or one without corners in which nothing lies."""

    shape: Literal["rectangle", "notched"] = "rectangle"
    clear_mm: Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)] = Field(
        default=0.0, description="Kept between the plate's edge and the floor's, mm."
    )


class Courses(OneDocument):
    """A document whose tubes get courses."""

    only: list[Annotated[str, Field(max_length=60)]] | None = Field(
        default=None, description="Ids of the tubes, or of the ports that they drop to; all when none."
    )
    clearance_mm: Annotated[float, Field(ge=0, le=100)] = 3.0
