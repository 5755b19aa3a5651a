"""The app: keeps one model, hands it to strip and pages, runs the search off the screen."""

from __future__ import annotations

import datetime as dt
import threading
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import ClassVar

from textual import events, on
from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.containers import Container
from textual.worker import Worker, WorkerState

from sequencer.errors import Fault, UsageError
from sequencer.job import Job
from sequencer.tui.ask import palette_screen
from sequencer.tui.explain import Explain, Trouble
from sequencer.tui.foot import Foot
from sequencer.tui.keys import EVERYWHERE, bindings
from sequencer.tui.looking import Better, Done, Failed, JobRead, Search, look
from sequencer.tui.marks import plain_wanted
from sequencer.tui.model import Model
from sequencer.tui.notice import NO_JOB, Notice
from sequencer.tui.page import Page
from sequencer.tui.pages import page_types
from sequencer.tui.rail import Rail
from sequencer.tui.strip import LaunchStrip
from sequencer.tui.theme import DARK, LIGHT, THEMES, role_colours
from sequencer.tui.tiny import Tiny

TICK_SECONDS = 15.0
FURTHER = 6
"""How many times longer `look further` searches."""
TINY = (60, 20)
"""Below this width or height only the strip and the to-do list are shown."""


def wall_clock() -> dt.datetime:
    """The computer's clock, with offset."""
    return dt.datetime.now(dt.UTC)


class SequencerApp(App[None]):
    """The planner's screens for one job file.

    now: plan from then and stand there, whatever the clock says. clock: what tells the time. seconds: how long a
    search may take. ascii: plain marks (None: as the environment says).
    """

    CSS_PATH = "app.tcss"
    TITLE = "sequencer"
    ENABLE_COMMAND_PALETTE = False  # Its key would be taken from text fields; `ask` opens the palette.
    BINDINGS: ClassVar[list[BindingType]] = [*bindings(EVERYWHERE)]

    def __init__(
        self,
        job_path: Path | None,
        now: dt.datetime | None = None,
        clock: Callable[[], dt.datetime] | None = None,
        seconds: float = 5.0,
        ascii: bool | None = None,  # noqa: A002
    ) -> None:
        super().__init__()
        self.job_path = job_path
        self.given_now = now
        self.clock = clock or wall_clock
        self.seconds = seconds
        self.model = Model(ascii=plain_wanted() if ascii is None else ascii)
        self.pages: dict[str, Page] = {}
        self.current = ""
        self._history: list[str] = []
        self._run = 0
        self._leaving = threading.Event()

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Our roles exist under every theme."""
        return role_colours(DARK)

    def compose(self) -> ComposeResult:
        """Strip, rail, the pages (one shown at a time), foot."""
        pages = [page() for page in page_types()]
        self.pages = {page.title: page for page in pages}
        self.current = pages[0].title
        yield LaunchStrip()
        yield Rail(list(self.pages), self.model.ascii)
        with Container(id="body"):
            yield from pages
            yield Notice(id="notice")
        yield Tiny(id="tiny")
        yield Foot(self.model.ascii)

    def on_mount(self) -> None:
        """Themes, the clock, and the first search."""
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = DARK
        self.set_interval(TICK_SECONDS, self._tick)
        if self.job_path is None:
            self._show(replace(self.model, trouble=UsageError([Fault("", NO_JOB.removesuffix("."))])))
        else:
            self._look(self.seconds)
        self._tick()

    # -- the model --------------------------------------------------------------------------------------------

    def _show(self, model: Model) -> None:
        """Take a new model and hand it to whatever is on the screen."""
        self.model = model
        self.query_one(LaunchStrip).show(model)
        self.query_one(Tiny).show(model)
        self._show_page()

    def _show_page(self) -> None:
        """Only the page on the screen draws; the others are told when they come up."""
        page, notice = self.pages[self.current], self.query_one(Notice)
        gives_way = self.model.plan is None and not (page.takes_trouble and self.model.trouble is not None)
        for other in self.pages.values():
            other.display = other is page and not gives_way
        notice.display = gives_way
        shown: Page | Notice = notice if gives_way else page
        shown.show(self.model)
        if not self.screen.is_modal and self.screen.focused is not shown:
            shown.focus()

    def _tick(self) -> None:
        """The yard's clock, once a while."""
        self._show(replace(self.model, now=self._now(self.model.job)))

    def _now(self, job: Job | None) -> dt.datetime | None:
        """Where one stands in time: as given, as the job says, or as the clock does."""
        if job is None:
            return None
        moment = self.given_now or job.job.now or self.clock()
        if not isinstance(moment, dt.datetime):
            moment = dt.datetime.combine(moment, dt.time())
        zone = job.job.timezone
        return moment.replace(tzinfo=zone) if moment.tzinfo is None else moment.astimezone(zone)

    # -- the search -------------------------------------------------------------------------------------------

    def _look(self, seconds: float) -> None:
        """Start a search; one still running is told to stop."""
        if self.job_path is None:
            return
        self._run += 1
        run = self._run
        search = Search(run, self.job_path, self.given_now, self.clock(), seconds)
        stop = partial(self._stopped, run)
        self._show(replace(self.model, looking=True))
        self.run_worker(
            partial(look, search, self.post_message, stop),
            name=f"search {run}",
            group="search",
            exit_on_error=False,
            thread=True,
        )

    def _stopped(self, run: int) -> bool:
        return self._leaving.is_set() or run != self._run

    @on(JobRead)
    def _job_read(self, found: JobRead) -> None:
        if found.run == self._run:
            self._show(replace(self.model, job=found.job, now=self._now(found.job)))

    @on(Better)
    @on(Done)
    def _planned(self, found: Better | Done) -> None:
        """A plan; while the search is on, only one that is better than the one shown."""
        if found.run != self._run:
            return
        shown, done = self.model.plan, isinstance(found, Done)
        same = shown is not None and self.model.trouble is None and shown.job == found.plan.job
        if not done and same and shown is not None and shown.launch <= found.plan.launch:
            return
        self._show(replace(self.model, plan=found.plan, trouble=None, looking=not done))

    @on(Failed)
    def _failed(self, found: Failed) -> None:
        if found.run == self._run:
            self._show(replace(self.model, trouble=found.error, looking=False))

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """A fault of the tool itself is told in a dialog; the pages stay as they were."""
        if event.state is WorkerState.ERROR and event.worker.name == f"search {self._run}":
            self._show(replace(self.model, looking=False))
            error = event.worker.error
            said = f"{type(error).__name__}: {error}"
            self.push_screen(Trouble(f"Something went wrong inside the planner.\n\n{said}\n\n{NOT_LOST}"))

    # -- pages ------------------------------------------------------------------------------------------------

    def open_page(self, title: str, row: str = "", slot: int | None = None) -> None:
        """Show a page, standing on a row or at a moment where given."""
        if title not in self.pages:
            return
        if title != self.current:
            self._history = [*self._history[-20:], self.current]
        self._switch(title, row)
        if slot is not None:
            self.pages[title].go(slot)

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
        self._show(replace(self.model, marked=row))

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

    def on_resize(self, event: events.Resize) -> None:
        """Very small screens show the strip and the list of the day alone."""
        small = event.size.width < TINY[0] or event.size.height < TINY[1]
        self.screen_stack[0].set_class(small, "tiny")

    # -- verbs ------------------------------------------------------------------------------------------------

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

    def action_explain(self) -> None:
        """Explain this page."""
        page = self.pages[self.current]
        self.push_screen(Explain(page.title, page.help, page.marks, self.model.ascii))

    def action_ask(self) -> None:
        """Ask for a page, a task or a verb."""
        self.push_screen(palette_screen())

    def action_again(self) -> None:
        """Read the file again and plan anew."""
        self._look(self.seconds)

    def action_further(self) -> None:
        """Search longer."""
        self._look(self.seconds * FURTHER)

    def action_turn_theme(self) -> None:
        """Dark or light."""
        self.theme = LIGHT if self.theme == DARK else DARK

    def action_plain_marks(self) -> None:
        """Plain marks or the full set."""
        rail, foot = self.query_one(Rail), self.query_one(Foot)
        plain = not self.model.ascii
        rail.ascii_only = plain
        foot.use(plain)
        rail.redraw()
        self._show(replace(self.model, ascii=plain))

    def action_leave(self) -> None:
        """Stop the search and leave."""
        self._leaving.set()
        self.exit()

    async def action_quit(self) -> None:
        """Stop the search and leave."""
        self.action_leave()

    def on_unmount(self) -> None:
        """However it ends, the search must not hold up the way out."""
        self._leaving.set()


NOT_LOST = "The job file is as it was, and the last plan still stands. Escape goes back; space, again looks anew."


def run_app(path: Path | None, now: dt.datetime | None = None, seconds: float = 5.0) -> None:
    """Run the screens on a job file until the person leaves."""
    SequencerApp(path, now=now, seconds=seconds).run()
