"""A day of weather edited: low, high, dew, rain and wind, held against the job's own rules before it is saved."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Input, Label, Static

from sequencer.errors import SequencerError
from sequencer.job import Job
from sequencer.job.jotting import DayByHand
from sequencer.job.pen import Value
from sequencer.job.writing import Change, apply_change
from sequencer.tui.air_days import day_of_job, rain_words
from sequencer.tui.change_form import ChangeForm, FormWords
from sequencer.tui.clocktext import day_month
from sequencer.tui.forms import Typed, shown_lines, signs_of
from sequencer.weather.daily import day_values
from sequencer.weather.forecast import TITLE

FAULT_LINES = 6
NO_RAIN = ("", "-", "no", "none", "dry")
ALL_DAY = "all day"


@dataclass(frozen=True)
class Entry:
    """One field: its name in the file, and what to write."""

    name: str
    about: str


ENTRIES = (
    Entry("low", "lowest, °C, about 05:00"),
    Entry("high", "highest, °C, about 15:00"),
    Entry("dew", "dew point, °C"),
    Entry("rain", "11:00-17:00, 20-22; or all day"),
    Entry("wind", "knots"),
)


def begin_values(job: Job, date: dt.date) -> dict[str, str]:
    """What stands in the fields at first: the day by hand as written, else as the file or the month has it.

    Raises JobError where the weather file has faults.
    """
    known = day_values(job, date)
    found = {entry.name: "" for entry in ENTRIES}
    for name in ("low", "high", "dew", "wind"):
        if name in known:
            found[name] = f"{known[name]:g}"
    rain = known.get("rain", [])
    found["rain"] = rain_words(rain) if isinstance(rain, list) else ""
    day = day_of_job(job, date)
    if day is not None:
        found |= {"low": f"{day.low:g}", "high": f"{day.high:g}", "wind": f"{day.wind:g}"}
        found["rain"] = rain_words([], list(day.rain))
        if day.dew is not None:
            found["dew"] = f"{day.dew:g}"
    return found


def read_number(text: str) -> Value | None:
    """A number, with a point or a comma; other words as they are, for the job's rules to refuse; empty: left out."""
    text = text.strip()
    if not text:
        return None
    if re.fullmatch(r"[+-]?\d{1,9}(?:[.,]\d{0,9})?|[+-]?[.,]\d{1,9}", text):
        return float(text.replace(",", "."))
    return text


def read_rain(text: str) -> Value | None:
    """Spans as the file has them: ``11-17, 20:00-22:00`` gives ``["11:00/17:00", "20:00/22:00"]``."""
    text = text.strip()
    if text.lower() in NO_RAIN:
        return None
    if text.lower() == ALL_DAY:
        return ["00:00/24:00"]
    return [_span(part.strip()) for part in re.split(r"[;,]", text) if part.strip()]


def _span(text: str) -> str:
    found = re.fullmatch(r"(\d{1,2})(?::(\d{2}))?\s*(?:-|/|to)\s*(\d{1,2})(?::(\d{2}))?", text, re.ASCII)
    if found is None:
        return text
    return f"{int(found[1]):02}:{found[2] or '00'}/{int(found[3]):02}:{found[4] or '00'}"


def day_change(job: Job, date: dt.date, before: Mapping[str, str], typed: Mapping[str, str]) -> DayByHand:
    """What was typed as a change; of a day that is by hand already only what is different.

    A day known otherwise and left as it was shown is no change: by hand it would lose its own hours.
    """
    day = day_of_job(job, date)
    if day is None and any(before.values()) and all(text == before[name] for name, text in typed.items()):
        return DayByHand(date, {})
    values: dict[str, Value | None] = {}
    for name, text in typed.items():
        if day is None or text != before[name]:
            values[name] = read_rain(text) if name == "rain" else read_number(text)
    if day is not None and day.humidity is not None and values.get("dew") is not None:
        values["humidity"] = None
    if day is not None and values and day.title.startswith(TITLE):
        values["title"] = None
    return DayByHand(date, values)


class DayForm(ChangeForm[None]):
    """The form over the page. keep: saves the change; why it could not be, empty where it was."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "step(-1)", show=False, priority=True),
        Binding("down", "step(1)", show=False, priority=True),
    ]

    def __init__(self, job: Job, date: dt.date, text: str, keep: Callable[[Change], str]) -> None:
        """text: the job's, to hold the change against. Raises JobError where the weather file has faults."""
        super().__init__()
        self.job, self.date, self.text, self.keep = job, date, text, keep
        self.before = begin_values(job, date)

    def compose(self) -> ComposeResult:
        """A line a field, what is wrong, and the keys."""
        with Vertical(id="form") as box:
            box.border_title = Text(f"weather of {day_month(self.date)}")
            yield Static(Text(self._about()), id="form-about")
            for entry in ENTRIES:
                with Horizontal(classes="form-row"):
                    yield Label(Text(f"{entry.name:<6}"), classes="form-name")
                    name = f"day-{entry.name}"
                    yield Typed(self.before[entry.name], id=name, compact=True, classes="form-input")
                    yield Label(Text(signs_of(self).own(entry.about)), classes="form-hint")
            yield Static(Text(""), id="form-fault")
            yield FormWords(("save", "enter saves"), ("step(1)", "tab next"), ("close", "escape leaves it"))

    def _about(self) -> str:
        day = day_of_job(self.job, self.date)
        if day is None:
            return "Changed, it becomes a day by hand, in place of what was known of it."
        if day.humidity is not None:
            return f"By hand, with a humidity of {day.humidity:g} %: a dew point typed here takes its place."
        return "By hand already; what you change here is changed in the job."

    def on_mount(self) -> None:
        """Type in the first field."""
        self.query(Input).first().focus()

    def action_step(self, by: int) -> None:
        """To another field."""
        if by > 0:
            self.focus_next(Input)
        else:
            self.focus_previous(Input)

    @on(Input.Submitted)
    def _submitted(self) -> None:
        self.action_save()

    def action_save(self) -> None:
        """Take what was typed, or say what is wrong with it."""
        if not self.is_current:  # A second key, under way when the first one closed the form.
            return
        typed = {entry.name: self.query_one(f"#day-{entry.name}", Input).value for entry in ENTRIES}
        change = day_change(self.job, self.date, self.before, typed)
        if not change.values:
            self.dismiss(None)
            return
        fault = self._fault(change) or self.keep(change)
        if fault:
            self.query_one("#form-fault", Static).update(Text(shown_lines(fault)))
        else:
            self.dismiss(None)

    def _fault(self, change: Change) -> str:
        """What the job's own rules say against it, a sentence a line; empty for nothing."""
        try:
            apply_change(self.text, change, self.job.path)
        except SequencerError as error:
            told = [fault.sentence() for fault in error.faults]
            more = [f"And {len(told) - FAULT_LINES} more."] if len(told) > FAULT_LINES else []
            return "\n".join(told[:FAULT_LINES] + more)
        return ""
