"""What can be jotted in one key, thought out: on which task, at what time, and why not. No Textual here."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from dataclasses import dataclass

from sequencer.errors import SequencerError
from sequencer.grid import PER_HOUR
from sequencer.job import Job
from sequencer.job.jotting import Away, Finished, HalfDone, RainedOff, Reached, Started, Unlogged
from sequencer.job.writing import Change
from sequencer.planning.plan import Plan, Row
from sequencer.telling import clock, day_name, lasting, stage_words
from sequencer.tui.clocktext import day_time, now_slot
from sequencer.tui.model import Model
from sequencer.weather.daily import day_values

MOST = 12
"""Tasks offered to jot on."""
LOOK_DAYS = 60
"""Days ahead in which somebody's next day is looked for."""
TYPED = "a time as 1630, hours left as 2.5, a day as +1 or -1"


@dataclass(frozen=True)
class Jot:
    """One thing to jot. key: the second key; words: what will be jotted; why_not: why it can't be, else empty."""

    key: str
    words: str
    change: Change | None = None
    task: str = ""
    why_not: str = ""


@dataclass(frozen=True)
class Typed:
    """What was typed between the two keys. minutes: a time of the day; days: from today; left: hours of work left."""

    minutes: int | None = None
    days: int | None = None
    left: float | None = None
    fault: str = ""


def read_typed(text: str, wants_left: bool = False) -> Typed:
    """Read what was typed. A short number is hours left where those are wanted, else an hour of the clock."""
    minutes: int | None = None
    days: int | None = None
    left: float | None = None
    for word in text.split():
        if re.fullmatch(r"[+-]\d{0,2}", word):
            days = int(f"{word}1" if len(word) == 1 else word)
        elif re.fullmatch(r"\d{1,3}[.,]\d*", word) or (wants_left and re.fullmatch(r"\d{1,2}", word)):
            left = float(word.replace(",", "."))
        elif found := re.fullmatch(r"(\d{1,2}):?(\d{2})|(\d{1,2})", word):
            hour, minute = int(found[1] or found[3]), int(found[2] or 0)
            if hour > 23 or minute > 59:
                return Typed(fault=f"{hour:02}:{minute:02} is no time of the day")
            minutes = hour * 60 + minute
        else:
            return Typed(fault=f"type {TYPED}")
    return Typed(minutes, days, left)


class Jots:
    """What can be jotted for one model. at: the task of `tasks` it is about; stage: how far from the usual stage."""

    def __init__(self, model: Model) -> None:
        assert model.job is not None
        self.model = model
        self.job: Job = model.job
        self.plan: Plan | None = model.plan if model.plan is not None else None
        self.now = model.now or dt.datetime.now(dt.UTC).astimezone(self.job.job.timezone)
        self.slot = now_slot(self.plan, self.now) if self.plan is not None else 0
        self.tasks = list(dict.fromkeys(self._due()))[:MOST]
        self.at = 0
        self.stage = 0

    @property
    def task(self) -> str:
        """The task it is about; empty where there is none."""
        return self.tasks[self.at] if self.tasks else ""

    @property
    def row(self) -> Row | None:
        """That task in the plan."""
        return self.plan.rows.get(self.task) if self.plan is not None else None

    def move(self, by: int) -> None:
        """To another task."""
        if self.tasks:
            self.at = max(0, min(len(self.tasks) - 1, self.at + by))
            self.stage = 0

    def turn(self, by: int) -> None:
        """To another stage of the coat."""
        self.stage += by

    def _due(self) -> Iterator[str]:
        """The task marked, what is at work or due today, coats that are wet, then all that is not done."""
        names = {task.id for task in self.job.task}
        rows = self._rows()
        marked = self.model.marked.partition("/key/")[0]
        here = rows.get(marked)
        if marked in names and (here is None or not here.finished or self._next_stage(here)):
            yield marked
        waiting = [row for row in rows.values() if not row.finished]
        yield from (row.id for row in sorted(waiting, key=lambda r: (not r.begun, r.start)) if self._today(row))
        yield from (row.id for row in rows.values() if row.finished and self._next_stage(row))
        yield from (row.id for row in sorted(waiting, key=lambda r: r.start))
        yield from (task.id for task in self.job.task if task.finished is None)

    def _rows(self) -> dict[str, Row]:
        if self.plan is None:
            return {}
        known = {task.id for task in self.job.task}
        return {name: row for name, row in self.plan.rows.items() if not row.keys and name in known}

    def _today(self, row: Row) -> bool:
        assert self.plan is not None
        return row.begun or self.plan.moment(row.start).date() <= self.now.date()

    def _next_stage(self, row: Row) -> str:
        return next((name for name in _stages(row) if row.stages[name] > self.slot), "")

    # -- the list ---------------------------------------------------------------------------------------------

    def all(self, text: str) -> list[Jot]:
        """Every jot, in the order shown, with what was typed taken in."""
        typed = read_typed(text)
        return [
            self._log("f", "finished", typed),
            self._half(read_typed(text, True)),
            self._log("s", "started", typed),
            self._cured(typed),
            self._rained(typed),
            Jot("a", "somebody can't come: who?", None, "", "" if self.job.crew else "there is no crew in the job"),
            self._unlogged(),
        ]

    def _moment(self, typed: Typed) -> dt.datetime:
        """The time typed, today or, where that is still to come, yesterday; now where none was."""
        if typed.minutes is None and typed.days is None:
            return self.now.replace(second=0, microsecond=0)
        minutes = self.now.hour * 60 + self.now.minute if typed.minutes is None else typed.minutes
        local = self.now.replace(tzinfo=None, second=0, microsecond=0)
        moment = local.replace(hour=minutes // 60, minute=minutes % 60) + dt.timedelta(days=typed.days or 0)
        return moment - dt.timedelta(days=1) if typed.days is None and moment > local else moment

    def _said(self, moment: dt.datetime) -> str:
        return clock(moment) if moment.date() == self.now.date() else day_time(moment)

    def _refused(self, key: str, words: str, typed: Typed) -> Jot | None:
        if typed.fault:
            return Jot(key, words, None, "", typed.fault)
        if not self.task:
            return Jot(key, words, None, "", "there is no task to jot on")
        return None

    def _log(self, key: str, verb: str, typed: Typed) -> Jot:
        refused = self._refused(key, verb, typed)
        if refused is not None:
            return refused
        moment = self._moment(typed)
        if self.job.tasks[self.task].finished is not None:
            return Jot(key, verb, None, "", f"{self.task} is finished: n takes its log out")
        change: Change = Finished(self.task, moment) if key == "f" else Started(self.task, moment)
        return Jot(key, f"{verb} {self._said(moment)}", change, self.task)

    def _half(self, typed: Typed) -> Jot:
        refused = self._refused("h", "half done", typed)
        if refused is not None:
            return refused
        if self.job.tasks[self.task].finished is not None:
            return Jot("h", "half done", None, "", f"{self.task} is finished: n takes its log out")
        moment = self._moment(typed)
        left = self._left() if typed.left is None else typed.left
        words = f"half done {self._said(moment)}, {lasting(round(left * PER_HOUR))} left"
        return Jot("h", words, HalfDone(self.task, moment, left), self.task)

    def _left(self) -> float:
        """Hours left as planned until now; half of them where the plan has none done or all, up to a quarter."""
        task, row = self.job.tasks[self.task], self.row
        total = round((task.hours if task.work_left is None else task.work_left) * PER_HOUR)
        begun = [] if row is None else [*(row.past if task.work_left is None else ()), *row.pieces]
        done = sum(min(end, self.slot) - begin for begin, end in begun if begin < self.slot)
        left = total - done
        return (left if 0 < done < total else max(1, -(-total // 2))) / PER_HOUR

    def _cured(self, typed: Typed) -> Jot:
        row = self.row
        words = "seen to have cured"
        if row is None or row.task.material is None or not row.stages:
            return Jot("c", words, None, "", f"{self.task or 'this'} is no coat: pick one with the arrows")
        if not row.finished:
            return Jot("c", words, None, "", f"{row.id} is not finished yet: f first")
        if typed.fault:
            return Jot("c", words, None, "", typed.fault)
        names = _stages(row)
        usual = self._next_stage(row)
        at = ((names.index(usual) if usual else len(names) - 1) + self.stage) % len(names)
        moment = self._moment(typed)
        said = f"{row.id} {stage_words(names[at])}: seen {self._said(moment)}"
        return Jot("c", said, Reached(row.id, names[at], moment), row.id)

    def _rained(self, typed: Typed) -> Jot:
        if typed.fault:
            return Jot("r", "rained off", None, "", typed.fault)
        date = self.now.date() + dt.timedelta(days=typed.days or 0)
        since = typed.minutes if typed.minutes is not None else 0
        if typed.minutes is None and not typed.days:
            # The hour that has begun counts whole: rain does not wait for the clock.
            since = self.now.hour * 60
        day = "today" if date == self.now.date() else day_name(date)
        words = (
            f"rained off: {day} from {since // 60:02}:{since % 60:02}" if since else f"rained off: the whole of {day}"
        )
        try:
            change = RainedOff(date, since, day_values(self.job, date))
        except SequencerError as error:
            return Jot("r", words, None, "", error.faults[0].sentence())
        return Jot("r", words, change)

    def _unlogged(self) -> Jot:
        task = self.job.tasks.get(self.task)
        words = "nothing happened: take its log out"
        logged = task is not None and (task.started or task.finished or task.work_left is not None or task.reached)
        if not logged:
            return Jot("n", words, None, "", "nothing is jotted on it")
        return Jot("n", words, Unlogged(self.task), self.task)

    def away(self) -> list[Jot]:
        """Who can't come: each of the crew with the next day they are here, soonest first."""
        found = []
        for person in self.job.crew:
            day = self._next_day(person.id)
            if day is not None:
                found.append((day, person.id, Jot("", f"{person.name}, {self._day(day)}", Away(person.id, day))))
        return [jot for _, _, jot in sorted(found, key=lambda entry: entry[:2])]

    def _day(self, date: dt.date) -> str:
        return f"today, {day_name(date)}" if date == self.now.date() else day_name(date)

    def _next_day(self, person: str) -> dt.date | None:
        if self.plan is None:
            return self.now.date()
        grid, there = self.plan.grid, self.plan.problem.tables.shifts[person]
        first = max(0, grid.day_of(max(0, self.slot)))
        for day in range(first, min(first + LOOK_DAYS, grid.days)):
            begin, end = max(self.slot, grid.day_start(day)), grid.day_start(day + 1)
            if there[begin:end].any():
                return grid.date(day)
        return None


def _stages(row: Row) -> list[str]:
    """The stages of a coat in order of time, those at one time as the material lists them."""
    return sorted((name for name in row.stages if name != "done"), key=lambda name: row.stages[name])
