"""One day of a plan, read for its sheet: the sky, who is there, what opens and shuts, what stays dry, what comes."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property

import numpy as np

from sequencer.cautions import CATALOGUE, cautions_for, cautions_for_keying
from sequencer.cautions.doing import doings_of
from sequencer.errors import one_line
from sequencer.paper.sheet import Event, SheetCaution, SheetTask
from sequencer.paper.sheet_work import Span24, sheet_task, who_words
from sequencer.planning.plan import Plan, Row
from sequencer.telling import called, stage_words, windows
from sequencer.telling.hands import hands_on
from sequencer.telling.leaving import leave_alone
from sequencer.telling.wet import dry_until, wet_from

LEAVE_MOST = 3
"""Tasks named under what to leave; more would be a list of the whole stay."""


class Day:
    """Day `index` of a plan (0 = the grid's first), for everybody or for one person (a crew id)."""

    def __init__(self, plan: Plan, index: int, person: str | None) -> None:
        self.plan, self.person = plan, person
        self.span = self._span(index)
        self.next = self._span(index + 1)

    def _span(self, index: int) -> Span24:
        grid = self.plan.grid
        return Span24(self.plan, grid.date(index), grid.day_start(index), grid.day_start(index + 1))

    def _rows(self, span: Span24) -> list[Row]:
        """Everybody's rows of a day, in order; hours that just pass are nothing to do."""
        rows = [r for r in self.plan.rows.values() if span.spans(r.pieces) and (r.keys or r.task.wait is None)]
        return sorted(rows, key=lambda r: (span.spans(r.pieces)[0], r.id))

    @cached_property
    def rows(self) -> list[Row]:
        """The rows of the sheet: for a person only what he has a hand in."""
        return [r for r in self._rows(self.span) if self._mine(r, self.span)]

    def _mine(self, row: Row, span: Span24) -> bool:
        return self.person is None or self.person in self._doers(span).get(row.id, {})

    def _doers(self, span: Span24) -> dict[str, dict[str, list[tuple[int, int]]]]:
        return self._today if span is self.span else self._morrow

    @cached_property
    def _today(self) -> dict[str, dict[str, list[tuple[int, int]]]]:
        return hands_on(self.plan, self.span.begin, self.span.end)

    @cached_property
    def _morrow(self) -> dict[str, dict[str, list[tuple[int, int]]]]:
        return hands_on(self.plan, self.next.begin, self.next.end)

    @cached_property
    def tasks(self) -> tuple[SheetTask, ...]:
        """What to do, in order; what the owner notes to a material stands with the first task that takes it."""
        told, found = set[str](), []
        for number, row in enumerate(self.rows, 1):
            task = sheet_task(self.span, number, row, self._today.get(row.id, {}))
            if task.mix is not None and not task.done:
                name = row.task.material or ""
                task = replace(task, mix=replace(task.mix, note="")) if name in told else task
                told.add(name)
            found.append(task)
        return tuple(found)

    # -- the day ----------------------------------------------------------------------------------------

    def sky(self, span: Span24 | None = None) -> str:
        """``7 to 14 °C, dew point 4 to 6; rain 13:00-15:00; wind to 12 kn``; rounded against oneself."""
        span = span or self.span
        air, at = self.plan.problem.tables.outside, slice(span.begin, span.end)
        known = air.known[at]
        if not known.any():
            return "no weather known"
        low, high = (math.floor(float(edge(air.temp_c[at][known])) + 1e-6) for edge in (np.min, np.max))
        dew = math.ceil(float(air.dew_c[at][known].max()) - 1e-6)
        wind = math.ceil(float(air.wind_kn[at][known].max()) - 1e-6)
        wet = np.flatnonzero(np.diff(np.concatenate(([0], air.rain[at].astype(np.int8), [0]))))
        spans = [(span.begin + int(b), span.begin + int(e)) for b, e in zip(wet[::2], wet[1::2], strict=True)]
        rain = f"rain {span.clocks(spans)}" if spans else "no rain seen"
        return f"{low} to {high} °C, dew point to {dew}; {rain}; wind to {wind} kn"

    def here(self, span: Span24 | None = None) -> tuple[str, ...]:
        """Who is there and when, a line each."""
        span, told = span or self.span, []
        for name, there in self.plan.problem.tables.shifts.items():
            edges = np.flatnonzero(np.diff(np.concatenate(([0], there[span.begin : span.end].astype(np.int8), [0]))))
            spans = [(span.begin + int(b), span.begin + int(e)) for b, e in zip(edges[::2], edges[1::2], strict=True)]
            if spans:
                told.append(f"{one_line(self.plan.job.people[name].name, 40)} {span.clocks(spans)}")
        return tuple(told)

    def windows(self) -> tuple[Event, ...]:
        """What opens and shuts on the day, in time's order: windows, and stages something waits for."""
        span, found = self.span, set[tuple[int, str]]()
        mine = {row.id for row in self.rows}
        for window in windows(self.plan):
            if window.keyed or window.begun or (self.person is not None and window.after not in mine):
                continue
            if span.begin <= window.opens < span.end:
                found.add((window.opens, f"the window of {window.before} for {window.after} opens"))
            if span.begin <= window.last < min(span.end, window.closes):
                found.add((window.last, f"last start of {window.after} in the window of {window.before}"))
            if span.begin <= window.closes < span.end:
                found.add((window.closes, f"the window of {window.before} for {window.after} shuts"))
        for row in self.plan.rows.values():
            if self.person is None or row.id in mine:
                found |= self._ready(row)
        return tuple(Event(span.when(slot), one_line(said, 200)) for slot, said in sorted(found))

    def _ready(self, row: Row) -> set[tuple[int, str]]:
        """Stages without a window, and ends of waits, that the row waits for and that are reached on the day."""
        if row.keys or row.finished or row.begun:
            return set()
        found = set()
        for link in row.task.after:
            before = self.plan.rows.get(link.task)
            if before is None or link.stage in before.closes:
                continue
            passed = before.task.wait is not None
            at = before.end if passed else before.stages.get(link.stage, -1)
            if self.span.begin <= at < self.span.end:
                done = "is over" if passed else stage_words(link.stage)
                found.add((at, f"{before.id} {done}: {row.id} may follow"))
        return found

    # -- wet, and to be left alone ----------------------------------------------------------------------

    def _wet(self) -> list[tuple[Row, int]]:
        """What is wet at some time of the day, and until when."""
        rows = [r for r in self.plan.rows.values() if r.task.material and not r.keys and r.start < self.span.end]
        return [(r, until) for r in rows if (until := dry_until(self.plan, r)) > self.span.begin and until > r.start]

    def dry(self) -> tuple[str, ...]:
        """What must stay dry or free of dust, until when, and what is seen of rain and dew till then.

        On a helper's sheet nothing: it stands with what he keeps off.
        """
        if self.person is not None:
            return ()
        told = []
        for row, until in self._wet():
            zone = self.plan.job.zones[row.zone]
            what = "dry" if zone.shelter == "open" else "free of dust"
            lead = f"{row.id} ({one_line(zone.name, 40)}) {what} till {self.span.when(until)}"
            told.append(f"{lead}. {self._seen(row, until)}".strip())
        return tuple(told)

    def _seen(self, row: Row, until: int) -> str:
        if self.plan.job.zones[row.zone].shelter != "open":
            return ""
        begin = max(row.end, self.span.begin)
        wet = wet_from(self.plan, row, begin, until)
        if wet is not None:
            return f"{wet[0]} seen from {self.span.when(wet[1])}: cover it."
        air = self.plan.problem.tables.air(self.plan.job.zones[row.zone])
        known = air.known[begin : min(until, self.plan.grid.length)]
        return "No rain or dew seen." if known.all() else "No weather known: cover it."

    def leave(self) -> tuple[str, ...]:
        """What must not be begun, and why; on a helper's sheet nothing, he begins nothing on his own."""
        if self.person is not None:
            return ()
        return tuple(
            one_line(f"{called(r)}: {why}", 300) for r, why in leave_alone(self.plan, self.span.end, LEAVE_MOST)
        )

    def keep_off(self) -> tuple[str, ...]:
        """What a helper leaves alone: wet coats, others' dust, current and lifts, and the stands."""
        if self.person is None:
            return ()
        told = []
        for row, until in self._wet():
            zone = one_line(self.plan.job.zones[row.zone].name, 40)
            begin = row.end if row in self.rows else row.start
            since = f"from {self.span.when(begin)} " if begin > self.span.begin else ""
            told.append(f"{row.id}, {zone}: {since}wet till {self.span.when(until)}. No hand, ladder or dust near it.")
        for row in self._rows(self.span):
            if row not in self.rows and not row.finished:
                told += self._others(row)
        return (*told, "The stands: nobody but the yard moves or touches them.")

    def _others(self, row: Row) -> list[str]:
        zone = self.plan.job.zones.get(row.zone)
        place = f", {one_line(zone.name, 40)}" if zone is not None else ""
        times = self.span.clocks(self.span.spans(row.pieces))
        if row.dusty:
            return [f"{called(row)}{place} {times}: dust. Stay away, or wear the mask."]
        doings = doings_of(self.plan.job, row.task) if not row.keys else {}
        if "current" in doings:
            return [f"{row.id}{place} {times}: batteries and cables. Not yours to touch."]
        if "lift" in doings or "heavy" in doings:
            return [f"{row.id}{place} {times}: it hangs. Out from under."]
        return []

    # -- tomorrow, and cautions -------------------------------------------------------------------------

    def tomorrow(self) -> tuple[str, ...]:
        """What comes the day after: who is there, what is done, what is delivered, the sky."""
        span = self.next
        if span.begin > self.plan.launch:
            return ()
        told = []
        for row in self._rows(span):
            if self._mine(row, span):
                spans = span.spans(row.pieces)
                who = who_words(span, row, self._morrow.get(row.id, {}), spans)
                told.append(one_line(f"{span.when(spans[0][0])} {row.title} ({who})", 200))
        due = [d for d in self.plan.job.delivery if self._due(d.due, span)]
        told += [f"due: {one_line(d.name, 80)}" for d in due]
        return (*(told or ["nothing planned"]), f"air {self.sky(span)}")

    def _due(self, due: object, span: Span24) -> bool:
        return span.begin <= self.plan.grid.slot(due) < span.end  # type: ignore[arg-type]

    def cautions(self) -> tuple[SheetCaution, ...]:
        """Each caution once, the gravest first, with the numbers of the tasks it is for; done work has none."""
        numbers: dict[str, list[int]] = {}
        job = self.plan.job
        for number, row in enumerate(self.rows, 1):
            if row.finished:
                continue
            mine = cautions_for_keying(job, job.tasks[row.keys]) if row.keys else cautions_for(job, row.task)
            for caution in mine:
                numbers.setdefault(caution.id, []).append(number)
        return tuple(SheetCaution(CATALOGUE[c], tuple(numbers[c])) for c in CATALOGUE if c in numbers)
