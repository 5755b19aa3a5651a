"""The Air page: when each material may go on and why not, the days of weather, and a forecast brought in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from typing import ClassVar, Protocol, cast

from textual import events
from textual.binding import BindingType

from sequencer.errors import SequencerError
from sequencer.job.writing import Change
from sequencer.tui.air_drawing import AirDrawing
from sequencer.tui.air_view import AirView
from sequencer.tui.asking import Say
from sequencer.tui.day_form import DayForm
from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn
from sequencer.tui.forecast_form import bring_in
from sequencer.tui.keeping import NO_FILE
from sequencer.tui.keys import bindings
from sequencer.tui.model import Model
from sequencer.tui.page import Page
from sequencer.tui.trying import Trial


class Keeper(Protocol):
    """What the page asks of the app: the job's text, changes of it, and from when and how long it plans."""

    @property
    def job_text(self) -> str:
        """What the job file holds; empty before it is read."""

    def change_or_why(self, change: Change, marked: str = "") -> str:
        """Make a change; why it can't be made, empty where it was."""

    given_now: dt.datetime | None
    clock: Callable[[], dt.datetime]
    seconds: float


class AirPage(Page, Drawn):
    """Hours on top, days below."""

    title = "Air"
    takes_trouble = True
    marks = ("open", "cold", "warm", "damp", "rain", "wind", "now", "here")
    help = """
    A line for every material: the hours in which it may go on, and what is against it in the others. What counts is
    what the plan keeps: the limits of the material and of the task it is next for, and in an open place that neither
    rain nor dew reaches it before it is dry. A blank is an hour of which too little is known. Hours with nobody there
    are darker.

    Each material is shown in the air of the place where it goes on next; w shows them all in one place after another.

    Below, the days: lowest, highest and dew point in °C, hours of rain, wind in knots, and who says so. Enter edits
    the day you stand at; tab steps between hours and days. j r jots that today is rained off.

    f brings in a forecast from a file: what would move is shown first, and enter then takes it.
    """
    BINDINGS: ClassVar[list[BindingType]] = [*bindings("Air")]

    def __init__(self) -> None:
        super().__init__(id="page-air")
        self.view = AirView(Model())
        self.drawn: AirDrawing | None = None

    def show(self, model: Model) -> None:
        """Draw `model`, standing where one stood."""
        old, self.view = self.view, AirView(model)
        self.view.follow(old)
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """The page in cells."""
        self.drawn = AirDrawing(self.view, width, height)
        return self.drawn.lines()

    # -- moves --------------------------------------------------------------------------------------------------

    def action_move(self, right: int, down: int) -> None:
        """Cells right or left; down the materials, then the days."""
        self.view.move(right, down)
        self.redraw()

    def action_turn(self, days: int) -> None:
        """Other days, at the same hour."""
        self.view.turn(days)
        self.redraw()

    def action_edge(self, side: int) -> None:
        """To the first or the last day."""
        self.view.turn(9999 * side)
        self.redraw()

    def action_cross(self) -> None:
        """From the hours to the days, or back."""
        self.view.cross()
        self.redraw()

    def action_place(self) -> None:
        """The air of the next place."""
        self.view.turn_place()
        self.redraw()

    def go(self, slot: int) -> None:
        """Stand at a moment."""
        self.view.go(slot)
        self.redraw()

    def to_now(self) -> None:
        """Stand at now."""
        self.view.to_now()
        self.redraw()

    def closer(self) -> None:
        """Finer hours."""
        self.view.zoom(1)
        self.redraw()

    def wider(self) -> None:
        """More days."""
        self.view.zoom(-1)
        self.redraw()

    # -- verbs --------------------------------------------------------------------------------------------------

    @property
    def _keeper(self) -> Keeper:
        return cast(Keeper, self.app)

    def action_open(self) -> None:
        """Edit the day stood at."""
        job = self.view.job
        if job is None or self.view.fault is not None or not self._keeper.job_text:
            self.app.push_screen(Say(self.view.fault or NO_FILE))
            return
        try:
            date = self.view.grid.date(self.view.day)
            form = DayForm(job, date, self._keeper.job_text, self._keeper.change_or_why)
        except SequencerError as error:  # The weather file was changed under the page.
            self.app.push_screen(Say(error))
        else:
            self.app.push_screen(form)

    def action_forecast(self) -> None:
        """Bring in a forecast from a file."""
        job = self.view.job
        if job is None or not self._keeper.job_text:
            self.app.push_screen(Say(NO_FILE))
            return
        today = self.view.grid.date(max(0, self.view.grid.day_of(self.view.now)))
        bring_in(self, job, today, self._trial, self.view.model.ascii, self._keeper.change_or_why)

    def _trial(self) -> Trial:
        """What a change would be tried on: the job as it is now."""
        keeper, job = self._keeper, self.view.job
        path = job.path if job is not None else None
        plan = self.view.model.plan
        return Trial(keeper.job_text, path, keeper.given_now, keeper.clock(), keeper.seconds, plan)

    # -- the mouse ----------------------------------------------------------------------------------------------

    def on_click(self, event: events.Click) -> None:
        """A click stands on a cell or a day; on the day stood on it edits it."""
        if self.drawn is None or event.y >= len(self.drawn.hits):
            return
        hit, view = self.drawn.hits[event.y], self.view
        if hit.day >= 0:
            again = view.in_days and hit.day == view.day
            view.turn(hit.day - view.day)
            view.spot = len(view.materials)
            self.redraw()
            if again:
                self.action_open()
            return
        cell = self.drawn.cell_at(event.x) if hit.hours else None
        if cell is not None:
            view.slot = cell.begin
        if hit.spot >= 0:
            view.spot = hit.spot
        self.redraw()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """The wheel walks down the materials and the days."""
        event.stop()
        self.action_move(0, 1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The wheel walks up."""
        event.stop()
        self.action_move(0, -1)
