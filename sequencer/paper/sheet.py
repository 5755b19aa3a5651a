"""The sheet for a day, as data: what text, Markdown and HTML are made of. For a whole crew, or a helper alone.

The owner's words come as typed but for control codes, which are spelled out; each format escapes its own marks.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from sequencer.cautions import Caution
from sequencer.errors import Fault, UsageError, one_line
from sequencer.job.wording import nearest
from sequencer.planning.plan import Plan
from sequencer.telling import day_name, headline
from sequencer.telling.figures import MONTHS

CLOSING = "Your data sheets, the yard's rules, local codes and licensed trades have the last word."


@dataclass(frozen=True)
class Mix:
    """What to mix: its name, the air it may be worked in, and the owner's note to it."""

    name: str
    limits: str
    note: str = ""


@dataclass(frozen=True)
class SheetTask:
    """One thing to do. times: ``08:00-09:30``, a comma between spans; all texts may be empty but number, id and title.

    checks: what must hold before it is begun. by: the last start and what a later one costs; shuts: whether that is
    a window shutting. goes_on: until when, where the work goes on past the day. done: finished already.
    """

    number: int
    id: str
    title: str
    times: str
    hours: str
    place: str
    who: str
    gear: tuple[str, ...] = ()
    mix: Mix | None = None
    checks: tuple[str, ...] = ()
    by: str = ""
    shuts: bool = False
    goes_on: str = ""
    note: str = ""
    done: bool = False


@dataclass(frozen=True)
class Event:
    """Something at a moment of the day: its clock, and a sentence."""

    clock: str
    said: str


@dataclass(frozen=True)
class SheetCaution:
    """A caution, and the numbers of the tasks it is for."""

    caution: Caution
    numbers: tuple[int, ...]

    @property
    def said(self) -> str:
        """The caution in a line: what to do, for which tasks, who has the last word."""
        return f"{self.caution.title} [for {', '.join(map(str, self.numbers))}; {self.caution.last_word}]"


@dataclass(frozen=True)
class Sheet:
    """The sheet of one day. person: whose sheet, empty for everybody's.

    headline: when she launches. sky: the day's air. here: who is there and when. windows: what opens and shuts today.
    dry: what must stay dry, and until when. leave: what must not be begun. keep_off: what a helper leaves alone
    (empty on everybody's sheet). tomorrow: what comes then.
    """

    title: str
    boat: str
    date: dt.date
    person: str
    headline: str
    sky: str
    here: tuple[str, ...]
    tasks: tuple[SheetTask, ...]
    windows: tuple[Event, ...]
    dry: tuple[str, ...]
    leave: tuple[str, ...]
    keep_off: tuple[str, ...]
    tomorrow: tuple[str, ...]
    cautions: tuple[SheetCaution, ...]
    closing: str = CLOSING

    @property
    def day(self) -> str:
        """``Thu 13 May 2027``."""
        return f"{day_name(self.date)} {MONTHS[self.date.month - 1]} {self.date.year}"


def day_sheet(plan: Plan, date: dt.date, person: str | None = None) -> Sheet:
    """The sheet of a local day of a plan. person: a crew id, for only what that one has a hand in.

    Raises UsageError for a day outside of the stay, or a person the job does not know.
    """
    from sequencer.paper.sheet_day import Day

    _checked(plan, date, person)
    day = Day(plan, (date - plan.grid.day0).days, person)
    job = plan.job.job
    return Sheet(
        title=one_line(job.title, 120),
        boat=one_line(job.boat, 80),
        date=date,
        person=one_line(plan.job.people[person].name, 60) if person is not None else "",
        headline=f"{headline(plan)}.",
        sky=day.sky(),
        here=day.here(),
        tasks=day.tasks,
        windows=day.windows(),
        dry=day.dry(),
        leave=day.leave(),
        keep_off=day.keep_off(),
        tomorrow=day.tomorrow(),
        cautions=day.cautions(),
    )


def _checked(plan: Plan, date: dt.date, person: str | None) -> None:
    first, last = plan.grid.day0, plan.launched.date()
    if not first <= date <= last:
        hint = f"name a day from {first.isoformat()} to {last.isoformat()}"
        raise UsageError([Fault("", f"{date.isoformat()} is not within the stay", hint)])
    if person is not None and person not in plan.job.people:
        known = list(plan.job.people)
        near = nearest(person, known)
        hint = f"did you mean {near}?" if near else f"the crew is {', '.join(known) or 'empty'}"
        raise UsageError([Fault("", f"nobody of the crew is {one_line(person, 60)}", hint)])


def sheet_json(sheet: Sheet) -> dict[str, Any]:
    """The sheet as one JSON-ready object: the fields of :class:`Sheet`, its date as ISO 8601."""
    return {
        "title": sheet.title,
        "boat": sheet.boat,
        "date": sheet.date.isoformat(),
        "person": sheet.person,
        "headline": sheet.headline,
        "sky": sheet.sky,
        "here": list(sheet.here),
        "tasks": [_task(task) for task in sheet.tasks],
        "windows": [{"clock": event.clock, "said": event.said} for event in sheet.windows],
        "dry": list(sheet.dry),
        "leave": list(sheet.leave),
        "keep_off": list(sheet.keep_off),
        "tomorrow": list(sheet.tomorrow),
        "cautions": [
            {
                "title": one.caution.title,
                "why": one.caution.why,
                "source": one.caution.source,
                "defers": one.caution.defers,
                "tasks": list(one.numbers),
            }
            for one in sheet.cautions
        ],
    }


def _task(task: SheetTask) -> dict[str, Any]:
    mix = None
    if task.mix is not None:
        mix = {"name": task.mix.name, "limits": task.mix.limits, "note": task.mix.note}
    plain = ("number", "id", "title", "times", "hours", "place", "who", "by", "shuts", "goes_on", "note", "done")
    told = {name: getattr(task, name) for name in plain}
    return told | {"gear": list(task.gear), "mix": mix, "checks": list(task.checks)}
