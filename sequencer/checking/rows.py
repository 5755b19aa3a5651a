"""A plan's JSON read into rows on the grid; what cannot be read is found fault with, never a traceback."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sequencer.checking.clock import Clock
from sequencer.checking.report import Report
from sequencer.errors import one_line

REACH = 3 * 366 * 96
"""Slots from the haul-out beyond which a moment is taken for a slip of the pen: three years."""


@dataclass(frozen=True)
class Row:
    """One row of the plan: grid lines of its start and end, its pieces as pairs of lines, the raw table."""

    id: str
    start: int
    end: int
    pieces: tuple[tuple[int, int], ...]
    raw: Mapping[str, Any]


def read_time(value: object, clock: Clock) -> dt.datetime | None:
    """An ISO 8601 text as a datetime; None where it is none, or years from the haul-out."""
    if not isinstance(value, str):
        return None
    try:
        at = dt.datetime.fromisoformat(value)
        return at if abs(clock.quarters(at)) < REACH else None
    except (ValueError, OverflowError):  # year 1 or 9999 may be pushed over the edge by the offset
        return None


def exact_line(value: object, clock: Clock) -> float | None:
    """An ISO 8601 text in quarter hours of the grid, whole on a grid line; None where it is none."""
    at = read_time(value, clock)
    return None if at is None else clock.quarters(at)


def told_now(plan: Mapping[str, Any], clock: Clock) -> dt.datetime | None:
    """The moment a plan says it was made from, None where it says none."""
    return read_time(plan.get("now"), clock)


class _Reader:
    """Reads one row's moments, noting what is wrong with them."""

    def __init__(self, clock: Clock, report: Report, task: str) -> None:
        self.clock, self.report, self.task = clock, report, task

    def line(self, value: object, field: str) -> int | None:
        """The grid line `value` names; None, and a finding, where it names none."""
        exact = exact_line(value, self.clock)
        if exact is None:
            self.report.add("shape", self.task, f"has no ISO 8601 time of these years as {field}: {value!r}")
            return None
        if exact != int(exact):
            self.report.add("grid", self.task, f"has {field} at {value}, which is on no quarter hour")
            return None
        return int(exact)

    def pieces(self, value: object) -> list[tuple[int, int]] | None:
        """The spans worked; None, and a finding, where they are no spans in order."""
        if not isinstance(value, list):
            self.report.add("shape", self.task, f"has no list of pieces: {value!r}")
            return None
        spans: list[tuple[int, int]] = []
        for pair in value:
            if not isinstance(pair, list | tuple) or len(pair) != 2:
                self.report.add("shape", self.task, f"has a piece that is no pair of times: {pair!r}")
                return None
            begin = self.line(pair[0], "a piece's start")
            end = None if begin is None else self.line(pair[1], "a piece's end")
            if begin is None or end is None:
                return None
            if begin >= end or (spans and begin < spans[-1][1]):
                span = f"{self.clock.say(begin)} to {self.clock.say(end)}"
                self.report.add("pieces", self.task, f"has the piece {span}, empty or overlapping")
                return None
            spans.append((begin, end))
        return spans


def _read_row(raw: Mapping[str, Any], name: str, clock: Clock, report: Report) -> Row | None:
    reader = _Reader(clock, report, name)
    start = reader.line(raw.get("start"), "start")
    end = None if start is None else reader.line(raw.get("end"), "end")
    pieces = None if end is None else reader.pieces(raw.get("pieces"))
    if start is None or end is None or pieces is None:
        return None
    if end < start:
        report.add("pieces", name, f"ends {clock.say(end)}, before it starts {clock.say(start)}")
        return None
    return Row(name, start, end, tuple(pieces), raw)


def read_rows(plan: Mapping[str, Any], clock: Clock, report: Report) -> dict[str, Row | None]:
    """The plan's rows by id, None for a row that cannot be read; of two with one id the first counts."""
    listed = plan.get("tasks")
    if not isinstance(listed, list):
        report.add("shape", "", "has no list of tasks")
        return {}
    rows: dict[str, Row | None] = {}
    for raw in listed:
        name = raw.get("id") if isinstance(raw, Mapping) else None
        if not isinstance(name, str):
            report.add("shape", "", f"has a row without an id: {one_line(repr(raw), 80)}")
        elif name in rows:
            report.add("tasks", name, "is in the plan more than once")
        else:
            rows[name] = _read_row(raw, name, clock, report)
    return rows
