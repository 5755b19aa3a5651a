"""The tasks of the job file: what there is to do, what it needs, and what has happened to it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from sequencer.job.links import Link, parse_link
from sequencer.job.people import Hours
from sequencer.job.tables import (
    Celsius,
    Flag,
    Flaw,
    Hours0,
    Moment,
    Named,
    Number,
    Ref,
    Table,
    Text,
    Whole,
    checks,
)
from sequencer.job.values import BadValueError
from sequencer.job.wording import show, shown

MAX_WORK_HOURS = 20_000


class Needs(Table):
    """The air a task needs while it is worked: °C, knots.

    ``dry`` left out means true with a material, else false.
    """

    dry: Flag | None = None
    max_wind: Annotated[Number, Field(ge=0, le=1000)] | None = None
    min_temp: Celsius | None = None
    max_temp: Celsius | None = None

    @property
    def any(self) -> bool:
        """Whether it asks anything of the air."""
        return bool(self.dry) or any(v is not None for v in (self.max_wind, self.min_temp, self.max_temp))

    @checks("min_temp", "max_temp")
    def _rising(self) -> Iterator[Flaw]:
        if self.min_temp is not None and self.max_temp is not None and self.max_temp < self.min_temp:
            yield Flaw(f"max_temp is {self.max_temp:g} and min_temp is {self.min_temp:g}", "change them over")


class GearUse(Table):
    """Gear a task holds: which, how many of its count, until which stage (left out: the end of the work)."""

    id: Ref
    until: Text | None = None
    units: Annotated[int, Field(strict=True, ge=1, le=1000)] = 1

    @classmethod
    def widen(cls, raw: object) -> object:
        """A name alone is one of that gear until the end of the work."""
        return {"id": raw} if isinstance(raw, str) else raw


class Work(BaseModel):
    """Hours at the job: low, likely, high (all the same where one number was given)."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    low: float
    likely: float
    high: float


def _work(value: object) -> Work:
    if isinstance(value, Work):
        return value
    listed: Sequence[Any] = value if isinstance(value, list | tuple) else [value] * 3
    hint = "write one number, or three: low, likely, high"
    for number in listed:
        if isinstance(number, bool) or not isinstance(number, int | float):
            raise BadValueError(f"must be hours, not {show(number)}", hint)
        if not 0 <= number <= MAX_WORK_HOURS:
            raise BadValueError(f"must be hours from 0 to {MAX_WORK_HOURS}, not {show(number)}")
    if len(listed) != 3:
        raise BadValueError(f"has {len(listed)} number{'s' if len(listed) != 1 else ''}", hint)
    low, likely, high = listed
    if not low <= likely <= high:
        raise BadValueError("must rise from low over likely to high", "put the smallest number first")
    return Work(low=low, likely=likely, high=high)


def _link(value: object) -> object:
    if isinstance(value, Link):
        return value
    if not isinstance(value, str):
        raise BadValueError(f"must be a task or task@stage in quotes, not {show(value)}")
    link = parse_link(value)
    if not link.task or not link.stage:
        what = f"must name a task, or a task and a stage, not {show(value)}"
        raise BadValueError(what, "write it like task@stage")
    return link


class Task(Named):
    """``[[task]]``: one thing to do (``work``) or to wait for (``wait``), and what has happened to it."""

    zone: Ref | None = None
    work: Annotated[Work, BeforeValidator(_work)] | None = None
    wait: Hours0 | None = None
    hands: Whole = 1
    who: tuple[Ref, ...] = ()
    material: Ref | None = None
    after: tuple[Annotated[Link, BeforeValidator(_link)], ...] = ()
    one_go_set: Flag | None = Field(None, alias="one_go")
    makes: Literal["dust"] | None = None
    needs: Needs = Needs()
    gear: tuple[GearUse, ...] = ()
    delivery: Ref | None = None
    not_before: Moment | None = None
    slots: tuple[Hours, ...] = ()
    part: Text = ""
    started: Moment | None = None
    finished: Moment | None = None
    work_left: Hours0 | None = None
    reached: dict[str, Moment] = Field(default_factory=dict)

    @property
    def one_go(self) -> bool:
        """Whether it must be done in one go: as written, or else true where there is a material."""
        return self.one_go_set if self.one_go_set is not None else self.material is not None

    @property
    def dry(self) -> bool:
        """Whether it must be dry while it is worked: as written, or else true where there is a material."""
        return self.needs.dry if self.needs.dry is not None else self.material is not None

    @property
    def dusty(self) -> bool:
        """Whether its work makes dust."""
        return self.makes == "dust"

    @property
    def people(self) -> int:
        """Pairs of hands at once: 0 for a wait."""
        return 0 if self.wait is not None else self.hands

    @property
    def hours(self) -> float:
        """Likely hours of work, or the hours of a wait."""
        if self.wait is not None:
            return self.wait
        assert self.work is not None
        return self.work.likely

    @checks("work", "wait")
    def _work_or_wait(self) -> Iterator[Flaw]:
        if self.work is None and self.wait is None:
            yield Flaw("work is missing", "add work (hours at the job), or wait (hours that just pass)")
        elif self.work is not None and self.wait is not None:
            yield Flaw("work and wait both stand here", "keep one of the two")

    @checks("work", "wait", "who", "hands")
    def _enough_hands(self) -> Iterator[Flaw]:
        if self.wait is not None and self.work is None and (self.who or self.hands > 1):
            field = "who" if self.who else "hands"
            hint = f"take {field} out, or write work in place of wait"
            yield Flaw(f"{field} stands with wait, and a wait needs nobody", hint)
        elif self.work is not None and self.hands < (named := len(set(self.who))):
            what = f"hands is {self.hands}, and who names {named}"
            yield Flaw(what, f"make hands {named} or more: it counts those in who")

    @checks("zone", "material")
    def _zone_for_material(self) -> Iterator[Flaw]:
        if self.zone is None and self.material is not None:
            yield Flaw("zone is missing, and a task with a material needs one", "add the place on the boat")

    @checks("zone", "material", "needs")
    def _zone_for_needs(self) -> Iterator[Flaw]:
        if self.zone is None and self.material is None and self.needs.any:
            yield Flaw("zone is missing, and needs is about the air there", "add the place on the boat")

    @checks()
    def _named_once(self) -> Iterator[Flaw]:
        for field, names in (("who", self.who), ("gear", [use.id for use in self.gear])):
            for name, count in Counter(names).items():
                if count > 1:
                    hint = "name it once; units says how many of it" if field == "gear" else "name each once"
                    yield Flaw(f"{field} names {shown(name)} {count} times", hint)
