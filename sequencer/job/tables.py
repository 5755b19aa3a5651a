"""What the tables of the job file have in common: kinds of fields, and rules within one table."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Iterator
from functools import cache
from types import FunctionType
from typing import Annotated, Any, NamedTuple, Self, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationInfo, model_validator

from sequencer.job.values import BadValueError, parse_clock, parse_moment, parse_span
from sequencer.job.wording import show

SLUG = re.compile(r"[a-z0-9][a-z0-9-]*\Z")
"""The shape of an id."""

FROM_FILE = "from file"
"""Validation context of values as TOML gave them, where 8 is no time of day."""


def _slug(value: object) -> str:
    if not isinstance(value, str):
        raise BadValueError(f"must be text in quotes, not {show(value)}")
    if not SLUG.match(value):
        hint = "use small letters, digits and hyphens, with a letter or digit first"
        raise BadValueError(f"must be a short name, not {show(value)}", hint)
    return value


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or value != value:
        raise BadValueError(f"must be a number, not {show(value)}")
    try:
        return float(value)
    except OverflowError:
        raise BadValueError("must be a smaller number") from None


def _clock(value: object, info: ValidationInfo) -> int:
    if info.context == FROM_FILE and isinstance(value, int):
        raise BadValueError(f"must be a time of day in quotes, not {show(value)}", 'write it like "08:30"')
    return parse_clock(value)


Slug = Annotated[str, BeforeValidator(_slug)]
"""An id."""
Text = Annotated[str, Field(strict=True)]
Ref = Text
"""The id of something in another table; whether that exists is for the rules between tables."""
Flag = Annotated[bool, Field(strict=True)]
Number = Annotated[float, BeforeValidator(_number)]
Hours0 = Annotated[Number, Field(ge=0, le=20000)]
"""Hours, none to two years and a bit."""
Celsius = Annotated[Number, Field(ge=-60, le=80)]
Percent = Annotated[Number, Field(ge=0, le=100)]
Knots = Annotated[Number, Field(ge=0, le=150)]
Money = Annotated[Number, Field(ge=0, le=1e9)]
Whole = Annotated[int, Field(strict=True, ge=0, le=1000)]
Moment = Annotated[dt.datetime | dt.date, BeforeValidator(parse_moment)]
Clock = Annotated[int, BeforeValidator(_clock)]
"""Minutes after local midnight, 0 to 1440."""
ClockSpan = Annotated[tuple[int, int], BeforeValidator(parse_span)]
"""Minutes after local midnight, the first before the second."""


class Flaw(NamedTuple):
    """What one table has wrong in itself: a sentence, what to do, the field it is about (may be empty)."""

    what: str
    hint: str = ""
    field: str = ""


Rule = Callable[[Any], Iterator[Flaw]]
R = TypeVar("R", bound=Rule)
_RULES: dict[Rule, tuple[str, ...]] = {}


def checks(*fields: str) -> Callable[[R], R]:
    """Mark a method as a rule that yields flaws; it is asked only where all of `fields` could be read."""

    def mark(method: R) -> R:
        _RULES[method] = fields
        return method

    return mark


@cache
def _rules_of(model: type[Table]) -> tuple[Rule, ...]:
    members = (member for base in reversed(model.__mro__) for member in vars(base).values())
    return tuple(member for member in members if isinstance(member, FunctionType) and member in _RULES)


class Table(BaseModel):
    """A table of the file: unknown fields are faults, values do not change once read."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    @classmethod
    def widen(cls, raw: object) -> object:
        """The table that a short form stands for; anything else as it is."""
        return raw

    @classmethod
    def gather(cls, raw: dict[str, Any]) -> dict[str, Any]:
        """The file's fields as this model has them."""
        return raw

    def flaws(self, unsure: frozenset[str] = frozenset()) -> Iterator[Flaw]:
        """What breaks the rules within this table, leaving out rules on fields that are `unsure`."""
        for check in _rules_of(type(self)):
            if unsure.isdisjoint(_RULES[check]):
                yield from check(self)

    @model_validator(mode="before")
    @classmethod
    def _widened(cls, raw: Any) -> Any:
        return cls.widen(raw)

    @model_validator(mode="after")
    def _flawless(self) -> Self:
        if found := [flaw.what for flaw in self.flaws()]:
            raise ValueError("; ".join(found))
        return self


class Named(Table):
    """A table with an id of its own kind, and a title and a note if the owner wants."""

    id: Slug
    title: Text = ""
    note: Text = ""

    @property
    def name(self) -> str:
        """The title, or else the id."""
        return self.title or self.id
