"""Pages turned: one is in front at a time, stands on a row or at a moment, and is gone back from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from textual import on

from sequencer.tui.foot import Foot
from sequencer.tui.model import NOTHING_KNOWN, Model
from sequencer.tui.notice import Notice
from sequencer.tui.page import Page
from sequencer.tui.papers import Papers
from sequencer.tui.rail import Rail
from sequencer.tui.strip import LaunchStrip
from sequencer.tui.tiny import Tiny

HISTORY = 20
"""Pages one can go back."""


class Turning(Papers):
    """An app of pages; whoever composes them fills `pages` and `current`."""

    def __init__(
        self, job_path: Path | None, now: dt.datetime | None, clock: Callable[[], dt.datetime], seconds: float
    ) -> None:
        super().__init__(job_path, now, clock, seconds)
        self.pages: dict[str, Page] = {}
        self.current = ""
        self._history: list[str] = []

    # -- what is shown ----------------------------------------------------------------------------------------

    def show_model(self, model: Model) -> None:
        """Take a new model and hand it to whatever is on the screen."""
        if model.answers.about is not model.plan:
            model = replace(model, answers=NOTHING_KNOWN)
        self.model = model
        if not self.query(LaunchStrip):
            # What a search or an answer had left to say came when the screens were already gone.
            return
        self.set_class(model.ascii, "plain")
        self.query_one(LaunchStrip).show(model)
        self.query_one(Tiny).show(model)
        self._show_page()

    def _show_page(self) -> None:
        """Only the page on the screen draws; the others are told when they come up."""
        page, notice = self.pages[self.current], self.query_one(Notice)
        gives_way = self.model.plan is None and not (page.takes_trouble and self.model.trouble is not None)
        for other in self.pages.values():
            other.display = other is page and not gives_way
            if other is not page:
                other.forget(self.model)
        notice.display = gives_way
        shown: Page | Notice = notice if gives_way else page
        shown.show(self.model)
        if not self.screen.is_modal and self.screen.focused is not shown:
            shown.focus()
        if page.asks and not gives_way:
            self.ask_for(page.asks)

    # -- turning ----------------------------------------------------------------------------------------------

    def open_page(self, title: str, row: str = "", slot: int | None = None) -> None:
        """Show a page, standing on a row or at a moment where given."""
        if title not in self.pages:
            return
        if title != self.current:
            self._history = [*self._history[-HISTORY:], self.current]
        self._switch(title, row)
        self._go(row, slot)

    def _switch(self, title: str, row: str = "") -> None:
        self.current = title
        rail = self.query_one(Rail)
        rail.current = title
        rail.redraw()
        if row:
            self.model = replace(self.model, marked=row)
        self._show_page()

    def stand_on(self, row: str) -> None:
        """Stand on a row, on the page one is on."""
        self.show_model(replace(self.model, marked=row))
        self._go(row, None)

    def _go(self, row: str, slot: int | None) -> None:
        """To a moment, else to the start of a row."""
        plan = self.model.plan
        if slot is None and plan is not None and row in plan.rows:
            slot = plan.rows[row].start
        if slot is not None:
            self.pages[self.current].go(slot)

    @on(Page.Marked)
    def _marked(self, message: Page.Marked) -> None:
        self.model = replace(self.model, marked=message.row)
        self._show_page()

    @on(Page.Opened)
    def _opened(self, message: Page.Opened) -> None:
        self.open_page(message.page, message.row, message.slot)

    @on(Rail.Picked)
    def _rail(self, message: Rail.Picked) -> None:
        self.open_page(message.page)

    @on(Foot.Picked)
    async def _foot(self, message: Foot.Picked) -> None:
        if message.action == "open":
            await self.pages[self.current].run_action("open")
        elif message.action != "move":
            await self.run_action(message.action)

    # -- what the page in front does --------------------------------------------------------------------------

    def action_page(self, title: str) -> None:
        """Open a page by its key."""
        self.open_page(title)

    def action_go_back(self) -> None:
        """To the page before; never out."""
        if self._history:
            self._switch(self._history.pop())

    def action_to_now(self) -> None:
        """Stand at now."""
        self.pages[self.current].to_now()

    def action_closer(self) -> None:
        """Finer hours."""
        self.pages[self.current].closer()

    def action_wider(self) -> None:
        """More days."""
        self.pages[self.current].wider()

    def day_looked_at(self) -> dt.date | None:
        """The date of the page in front."""
        return self.pages[self.current].date_shown
