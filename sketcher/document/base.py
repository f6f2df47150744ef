"""The pieces every model is made of: strict fields, ids, numbers with a range, places."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated, Any, Literal, NoReturn, Self, TypeVar, get_args

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, GetCoreSchemaHandler, Strict
from pydantic_core import CoreSchema, core_schema

#: Nothing on a case floor is farther away than this; it keeps overflows and slips of the unit out.
FARTHEST_MM = 5_000.0

#: Nothing made or measured is smaller, mm (a caliper reads a hundredth). What is nearly zero would be divided by.
SMALLEST_MM = 0.001
#: Any other quantity that is not zero is more than this in its unit.
SMALLEST = 1e-6


def _not_nearly_zero(value: float) -> float:
    """What is left over of a subtraction is zero: no length is meant that is below a thousandth of SMALLEST_MM."""
    return 0.0 if abs(value) < SMALLEST else value


def _whole(value: Any) -> Any:
    """JSON has one kind of number: 4.0 is 4."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


#: A number in a document is a number of JSON: neither true nor the text "140", which hide slips of other programs.
Number = Annotated[float, Strict()]
Truth = Annotated[bool, Strict()]
AsWhole = BeforeValidator(_whole)

Millimetres = Annotated[Number, Field(ge=-FARTHEST_MM, le=FARTHEST_MM, allow_inf_nan=False)]
Length = Annotated[Number, Field(ge=SMALLEST_MM, le=FARTHEST_MM, allow_inf_nan=False)]
LengthOrZero = Annotated[Number, Field(ge=0, le=FARTHEST_MM, allow_inf_nan=False), AfterValidator(_not_nearly_zero)]
Degrees = Annotated[Number, Field(ge=-360, le=360, allow_inf_nan=False)]
Positive = Annotated[Number, Field(ge=SMALLEST, le=1e9, allow_inf_nan=False)]
NotNegative = Annotated[Number, Field(ge=0, le=1e9, allow_inf_nan=False), AfterValidator(_not_nearly_zero)]
Percent = Annotated[Number, Field(ge=0, le=100, allow_inf_nan=False)]
Celsius = Annotated[Number, Field(ge=-40, le=120, allow_inf_nan=False)]

#: Short and readable, as it stands on the drawing and is scored into the plate: ``P3``, ``C12``, ``GPU``.
Id = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_-]{0,23}$")]
#: A device's port: the device's id, a full stop, the port's id within the device (``GPU.in``).
DevicePortRef = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_-]{0,23}\.[A-Za-z][A-Za-z0-9_-]{0,23}$")]


def _printable(text: str) -> str:
    """The text without the control characters that no drawing can hold (XML 1.0, section 2.2): often pasted unseen."""
    return _UNPRINTABLE.sub("", text) if _UNPRINTABLE.search(text) else text


def _on_one_line(text: str) -> str:
    return " ".join(_printable(text).splitlines()) if text.splitlines() != [text] else _printable(text)


_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ufffe\uffff]")
Name = Annotated[str, Field(max_length=120), AfterValidator(_on_one_line)]
Note = Annotated[str, Field(max_length=4000), AfterValidator(_printable)]

Face = Literal["top", "bottom", "edge"]
BroadFace = Literal["top", "bottom"]


Key = TypeVar("Key")
Value = TypeVar("Value")


class FrozenDict(dict[Key, Value]):
    """A dictionary that nobody changes once it is made, so that it can be hashed like a tuple."""

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        key, value = get_args(source) or (Any, Any)
        return core_schema.no_info_after_validator_function(cls, handler(dict[key, value]))  # type: ignore[valid-type]

    def _refuse(self, *_args: Any, **_named: Any) -> NoReturn:
        raise TypeError("this part of a document is frozen; make a new document with the change in it")

    __setitem__ = __delitem__ = __ior__ = clear = pop = popitem = setdefault = update = _refuse

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(frozenset(self.items()))

    def __reduce__(self) -> tuple[Any, ...]:
        return FrozenDict, (dict(self),)


class Model(BaseModel):
    """A part of a document, frozen all the way down; an unknown key is an error, so that a slip of the pen is seen."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        validate_default=False,
        populate_by_name=True,
        allow_inf_nan=False,
        # Most parts are only ever checked within a document: a validator of their own is made when it is asked for.
        defer_build=True,
    )

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """Pydantic's copy, which checks nothing: lists and dictionaries among the changes are frozen first."""
        return super().model_copy(update={key: _frozen(value) for key, value in (update or {}).items()}, deep=deep)


def _frozen(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(value)
    return FrozenDict(value) if isinstance(value, dict) else value


class Place(Model):
    """A point in plan, mm from the floor's front left inner corner: x to the right, y to the rear."""

    x_mm: Millimetres
    y_mm: Millimetres


class Item(Model):
    """Whatever has an id of its own and can be picked on the drawing."""

    id: Id
    name: Name = ""
    note: Note = ""
    locked: Truth = Field(default=False, description="A locked item stays where it is in the page.")
