"""A forecast brought in: pick its file, see what would move, and only then take it."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.message import Message
from textual.widget import Widget
from textual.widgets import Input, Static
from textual.worker import Worker, WorkerState

from sequencer.errors import SequencerError, one_line
from sequencer.job import Job
from sequencer.job.writing import Change
from sequencer.tui.change_form import ChangeForm, FormWords
from sequencer.tui.clocktext import day_month
from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn
from sequencer.tui.forecast_view import ForecastView
from sequencer.tui.forms import Option, Options, Typed, shown_lines
from sequencer.tui.trying import Outcome, Trial
from sequencer.weather.forecast import Forecast, read_forecast, weather_files

FAULT_LINES = 6
MOST_FILES = 200


class FileList(Options):
    """The weather files beside the job; a click takes one."""

    def on_click(self, event: events.Click) -> None:
        """Take the file clicked."""
        event.stop()
        at = self.top + event.y
        if at < len(self.shown) and isinstance(self.screen, FilePick):
            self.at = at
            self.screen.take(self.shown[at].key)


class FilePick(ChangeForm[Forecast]):
    """Ask for the file; what is wrong with it is said here, and what was typed stays."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", show=False, priority=True),
        Binding("down", "move(1)", show=False, priority=True),
        Binding("pageup", "move(-8)", show=False, priority=True),
        Binding("pagedown", "move(8)", show=False, priority=True),
    ]

    def __init__(self, job: Job, since: dt.date) -> None:
        super().__init__()
        self.job, self.since = job, since
        files = weather_files(job.folder)[:MOST_FILES]
        self.list = FileList([Option(path.name, path.name, _about(path)) for path in files])

    def compose(self) -> ComposeResult:
        """A line for the path, the files beside the job, what is wrong, and the keys."""
        with Vertical(id="form") as box:
            box.border_title = Text(f"forecast from {day_month(self.since)} on")
            about = (
                "A table of hours (CSV), an EPW file or a forecast in JSON: type its path, or pick one beside the job."
            )
            yield Static(Text(about), id="form-about")
            yield Typed(id="typed", placeholder="path, or letters to narrow", compact=True, select_on_focus=False)
            if self.list.options:
                yield self.list
            yield Static(Text(""), id="form-fault")
            yield FormWords(("read", "enter reads it"), ("close", "escape leaves it"))

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        self.list.narrow(event.value)

    @on(Input.Submitted)
    def _submitted(self) -> None:
        self.action_read()

    def action_move(self, by: int) -> None:
        """Stand on another file."""
        self.list.move(by)

    def action_read(self) -> None:
        """Read the file typed, or else the one stood on."""
        typed = self.query_one(Input).value.strip()
        chosen = self.list.chosen
        self.take(typed if typed and (chosen is None or self._there(typed)) else chosen.key if chosen else typed)

    def _there(self, typed: str) -> bool:
        try:
            return self._path(typed).is_file()
        except (OSError, ValueError):
            return False

    def _path(self, typed: str) -> Path:
        try:
            return self.job.folder / Path(typed).expanduser()
        except RuntimeError:
            return self.job.folder / typed

    def take(self, typed: str) -> None:
        """Read a file; a fault is told, and the form stays."""
        if not typed:
            self._say("Type the path of a file.")
            return
        try:
            found = read_forecast(self.job, self._path(typed), self.since)
        except SequencerError as error:
            name = f"{one_line(Path(error.file or typed).name, 60)}: "
            told = [name + fault.sentence() for fault in error.faults[:FAULT_LINES]]
            self._say("\n".join(told))
            return
        if found.days:
            self.dismiss(found)
        else:
            self._say(f"{one_line(found.name, 60)}: it says nothing of these days that is not known already.")

    def _say(self, words: str) -> None:
        self.query_one("#form-fault", Static).update(Text(shown_lines(words)))


def _about(path: Path) -> str:
    try:
        changed = dt.datetime.fromtimestamp(path.stat().st_mtime)
    except (OSError, ValueError, OverflowError):
        return ""
    return f"of {day_month(changed)}"


class Tried(Message):
    """What a trial has to say."""

    def __init__(self, outcome: Outcome) -> None:
        super().__init__()
        self.outcome = outcome


class ForecastLines(Drawn):
    """What would move, then the days; scrolled by the arrows."""

    can_focus = True

    def __init__(self, forecast: Forecast, ascii_only: bool) -> None:
        super().__init__(id="form-lines")
        self.view = ForecastView(forecast, ascii_only)

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """As many lines as there are, up to what the screen has room for."""
        return max(4, min(len(self.view.lines(width)), self.app.size.height - 6))

    def drawing(self, width: int, height: int) -> list[Line]:
        """The lines scrolled to."""
        return self.view.draw(width, height)

    def changed(self) -> None:
        """Draw anew; it may have grown."""
        self._kept = None
        self.refresh(layout=True)


class ForecastForm(ChangeForm[None]):
    """What a forecast would move, planned off the screen; enter takes it.

    keep: saves the change; why it could not be, empty where it was.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "scroll(-1)", show=False),
        Binding("down", "scroll(1)", show=False),
        Binding("pageup", "scroll(-8)", show=False),
        Binding("pagedown", "scroll(8)", show=False),
        Binding("enter", "take", show=False),
    ]

    def __init__(
        self, forecast: Forecast, trial: Callable[[], Trial], ascii_only: bool, keep: Callable[[Change], str]
    ) -> None:
        super().__init__()
        self.forecast, self.trial, self.keep = forecast, trial, keep
        self.change = forecast.change()
        self.lines = ForecastLines(forecast, ascii_only)
        self._leaving = threading.Event()

    def compose(self) -> ComposeResult:
        """The lines and the keys."""
        with Vertical(id="form") as box:
            box.border_title = Text(f"forecast {one_line(self.forecast.name, 50)}")
            yield self.lines
            yield FormWords(("take", "enter takes it"), ("close", "escape leaves everything as it is"))

    def on_mount(self) -> None:
        """Begin to plan."""
        self.lines.focus()
        # The message pump may be gone when a search ends late: only posting is safe from a thread.
        run = partial(self.trial().run, self.change, self._tell, self._leaving.is_set)
        self.run_worker(run, name="trial", description="a trial", group="trial", thread=True, exit_on_error=False)

    def on_unmount(self) -> None:
        """However it ends, stop planning."""
        self._leaving.set()

    def _tell(self, outcome: Outcome) -> None:
        self.post_message(Tried(outcome))

    @on(Tried)
    def _tried(self, message: Tried) -> None:
        if not self._leaving.is_set():
            self._show(message.outcome)

    def _show(self, outcome: Outcome) -> None:
        self.lines.view.outcome = outcome
        self.lines.changed()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """A fault of the planner itself is told; the forecast may still be taken."""
        if event.state is WorkerState.ERROR:
            words = f"What would move can't be told: {one_line(repr(event.worker.error), 200)}."
            self._tried(Tried(Outcome((words,), bad=True, done=True)))

    def action_scroll(self, by: int) -> None:
        """Further down or up."""
        self.lines.view.scroll(by)
        self.lines.redraw()

    def action_take(self) -> None:
        """Take it, once it is told what moves."""
        if self.lines.view.outcome is None or not self.is_current:
            return
        why = self.keep(self.change)
        if why:
            self._leaving.set()  # What the trial has yet to say would hide it.
            self._show(Outcome((f"Not taken: {why}",), bad=True, done=True))
        else:
            self.dismiss(None)


def bring_in(
    page: Widget,
    job: Job,
    since: dt.date,
    trial: Callable[[], Trial],
    ascii_only: bool,
    keep: Callable[[Change], str],
) -> None:
    """Ask for a file, show what it would move, and have the change saved; nothing where it is left."""

    def picked(forecast: Forecast | None) -> None:
        if forecast is not None:
            page.app.push_screen(ForecastForm(forecast, trial, ascii_only, keep))

    page.app.push_screen(FilePick(job, since), picked)
