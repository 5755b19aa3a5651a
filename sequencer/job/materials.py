"""Resins, fillers, paints: when they may be worked, and how long their cure takes. °C, %, hours."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, model_validator

from sequencer.job.links import DONE
from sequencer.job.tables import Celsius, Flag, Flaw, Hours0, Named, Number, Percent, Table, Text, checks
from sequencer.job.values import BadValueError
from sequencer.job.wording import nearest, show, shown

NONE = "none"
"""``dry_until`` of a material that rain and dew do not hurt."""

STAGE_HINT = (
    "write hours, a number for each of temps, or { opens = …, closes = … }; any field of no fixed name is a stage"
)
MAX_STAGE_HOURS = 100_000
"""Eleven years: longer is a slip of the pen."""

_STAGE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*\Z")


class IfMissed(Table):
    """What a missed window costs: hours of keying for one pair of hands, dusty unless said otherwise."""

    work: Hours0 = 1.0
    dust: Flag = True


def _column(value: object) -> tuple[float, ...]:
    """Hours for each of the material's temperatures; one number may stand alone."""
    listed: Sequence[Any] = value if isinstance(value, list | tuple) else [value]
    for number in listed:
        if isinstance(number, bool) or not isinstance(number, int | float):
            raise BadValueError(f"must be hours, not {show(number)}", STAGE_HINT)
        if not 0 < number <= MAX_STAGE_HOURS:
            raise BadValueError(f"must be hours above 0 and up to {MAX_STAGE_HOURS}, not {show(number)}")
    if not listed:
        raise BadValueError("is empty", STAGE_HINT)
    return tuple(float(number) for number in listed)


StageHours = Annotated[tuple[float, ...], BeforeValidator(_column)]


class Stage(Table):
    """One stage of a material: hours to it for each of ``temps`` and, for a window, hours to its closing.

    opens, closes: as many numbers as the material has ``temps``, all above zero.
    """

    opens: StageHours
    closes: StageHours | None = None
    if_missed: IfMissed = IfMissed()

    @classmethod
    def widen(cls, raw: object) -> object:
        """Hours alone are the hours to the stage."""
        return raw if isinstance(raw, dict | Stage) else {"opens": raw}


class Apply(Table):
    """The air in which a material may be worked: °C, %, °C above the dew point."""

    min_temp: Celsius | None = None
    max_temp: Celsius | None = None
    max_humidity: Percent | None = None
    above_dew: Annotated[Number, Field(ge=0, le=40)] | None = None

    @checks("min_temp", "max_temp")
    def _rising(self) -> Iterator[Flaw]:
        if self.min_temp is not None and self.max_temp is not None and self.max_temp < self.min_temp:
            yield Flaw(f"max_temp is {self.max_temp:g} and min_temp is {self.min_temp:g}", "change them over")


def _temps(value: object) -> object:
    return [value] if isinstance(value, int | float) and not isinstance(value, bool) else value


def _slip(name: str, fixed: Sequence[str]) -> bool:
    """Whether `name` is so like a fixed field that it must be a slip of the pen, not a stage."""
    return nearest(name, fixed, cutoff=0.8) not in (None, "id")


class Material(Named):
    """``[[material]]``: when it may be worked and how its stages follow from the hours' temperatures.

    Any field that is not one of the fixed ones is a stage of that name; every material has ``set``.
    """

    apply: Apply = Apply()
    dry_until: Text = "set"
    no_cure_below: Celsius | None = None
    temps: Annotated[tuple[Celsius, ...], BeforeValidator(_temps)]
    stages: dict[str, Stage]

    @model_validator(mode="before")
    @classmethod
    def _gathered(cls, raw: Any) -> Any:
        return cls.gather(raw) if isinstance(raw, dict) and "stages" not in raw else raw

    @classmethod
    def gather(cls, raw: dict[str, Any]) -> dict[str, Any]:
        """Put every field that is not a fixed one, nor a slip of the pen for one, into ``stages``."""
        fixed = [name for name in cls.model_fields if name != "stages"]
        own = {name for name in raw if name in fixed or _slip(name, fixed)}
        stages = {name: value for name, value in raw.items() if name not in own}
        return {name: value for name, value in raw.items() if name in own} | {"stages": stages}

    @checks("temps")
    def _rising(self) -> Iterator[Flaw]:
        if not self.temps:
            yield Flaw("temps is empty", "give the temperatures of the columns")
        if any(after <= before for before, after in pairwise(self.temps)):
            yield Flaw("temps must rise from left to right", "sort the columns of every stage with them")

    @checks()
    def _named_stages(self) -> Iterator[Flaw]:
        if "set" not in self.stages:
            yield Flaw("set is missing", "add the hours until it has set: every material has that stage")
        for name in self.stages:
            if name in (DONE, NONE, "stages") or name.endswith("_closes"):
                hint = "write each stage under a name of its own"
                yield Flaw(f"{shown(name)} can't be the name of a stage", hint)
            elif not _STAGE_NAME.match(name):
                hint = "use letters, digits and hyphens"
                yield Flaw(f"{show(name)} can't be the name of a stage", hint)

    @checks("dry_until")
    def _dry_until_a_stage(self) -> Iterator[Flaw]:
        known = (*self.stages, DONE, NONE)
        if self.dry_until not in (*known, "set"):
            near = nearest(self.dry_until, known)
            hint = f"did you mean {shown(near)}?" if near else f"it may be {', '.join(map(shown, known))}"
            yield Flaw(f"dry_until names {show(self.dry_until)}, and the material has no such stage", hint)

    @checks("temps")
    def _columns(self) -> Iterator[Flaw]:
        """Every stage has hours for each of temps; where all agree against temps, that is told once."""
        if not self.temps:
            return
        wrong = [
            (name, field, hours)
            for name, stage in self.stages.items()
            for field, hours in (("opens", _hours(stage, "opens")), ("closes", _hours(stage, "closes")))
            if hours and len(hours) != len(self.temps)
        ]
        right = any(len(_hours(stage, "opens")) == len(self.temps) for stage in self.stages.values())
        if len(wrong) > 1 and not right and len({len(hours) for _, _, hours in wrong}) == 1:
            what = f"temps has {_count(self.temps)}, and every stage has {_count(wrong[0][2])}"
            yield Flaw(what, "give a number of hours for each of temps", "temps")
            return
        for name, field, hours in wrong:
            subject = field if _hours(self.stages[name], "closes") else "it"
            what = f"{subject} has {_count(hours)}, and temps has {_count(self.temps)}"
            yield Flaw(what, "give a number of hours for each of temps", shown(name))

    @checks()
    def _windows(self) -> Iterator[Flaw]:
        for name, stage in self.stages.items():
            hours = zip(_hours(stage, "opens"), _hours(stage, "closes"), strict=False)
            if any(closes < opens for opens, closes in hours):
                hint = "closes must not be less than opens"
                yield Flaw("the window closes before it opens", hint, shown(name))


def _hours(stage: Stage, field: str) -> tuple[float, ...]:
    """``opens`` or ``closes``; nothing where it could not be read, for that is told elsewhere."""
    return getattr(stage, field, None) or ()


def _count(numbers: tuple[float, ...]) -> str:
    return f"{len(numbers)} number{'s' if len(numbers) != 1 else ''}"
