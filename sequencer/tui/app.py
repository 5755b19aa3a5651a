"""The app: keeps one model, hands it to strip and pages, runs the search off the screen."""

from __future__ import annotations

import datetime as dt
import os
import traceback
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual import events, on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container

from sequencer.errors import Fault, UsageError, one_line
from sequencer.moved import compare
from sequencer.tui.air import AirPage
from sequencer.tui.ask import palette_screen
from sequencer.tui.asking import Say
from sequencer.tui.clocktext import now_slot
from sequencer.tui.explain import Explain
from sequencer.tui.foot import Foot
from sequencer.tui.jot import Jotting
from sequencer.tui.jots import Jot
from sequencer.tui.keeping import NO_FILE
from sequencer.tui.keys import EVERYWHERE, bindings
from sequencer.tui.marks import plain_wanted
from sequencer.tui.model import Model
from sequencer.tui.notice import NO_JOB, Notice
from sequencer.tui.page import Page
from sequencer.tui.pages import page_types
from sequencer.tui.papers import Papers
from sequencer.tui.rail import Rail
from sequencer.tui.strip import LaunchStrip
from sequencer.tui.text import shown
from sequencer.tui.theme import DARK, LIGHT, THEMES, role_colours
from sequencer.tui.tiny import Tiny
from sequencer.tui.warning import next_warning

BROKEN = (
    "Something went wrong inside the screens, and they had to close. Every change that was accepted is in the job "
    "file; open it again to go on."
)
TICK_SECONDS = 15.0
ORPHANED = 1
"""The process that takes over those whose parent has died."""
FURTHER = 6
"""How many times longer `look further` searches."""
TINY = (60, 20)
"""Below this width or height only the strip and the to-do list are shown."""


def wall_clock() -> dt.datetime:
    """The computer's clock, with offset."""
    return dt.datetime.now(dt.UTC)


class SequencerApp(Papers):
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
        super().__init__(job_path, now, clock or wall_clock, seconds)
        self.model = Model(ascii=plain_wanted() if ascii is None else ascii)
        self.pages: dict[str, Page] = {}
        self.current = ""
        self._history: list[str] = []
        self._warned: set[tuple[str, int]] = set()

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
            self.show_model(replace(self.model, trouble=UsageError([Fault("", NO_JOB.removesuffix("."))])))
        else:
            self.look_for(self.seconds)
        self._tick()

    # -- the model --------------------------------------------------------------------------------------------

    def show_model(self, model: Model) -> None:
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
        if page.asks and not gives_way:
            self.ask_for(page.asks)

    def _tick(self) -> None:
        """The yard's clock, once a while: the strip, the file, the plan as time goes by, and windows about to shut."""
        if self.is_web and os.getppid() == ORPHANED:
            # Whoever served the page was killed: nobody sees this any more.
            self.action_leave()
            return
        self.show_model(replace(self.model, now=self.now_of(self.model.job)))
        self.watch_file()
        self._keep_up()
        self._warn()

    def _keep_up(self) -> None:
        """What was planned for a quarter hour that has passed, and was not jotted, is planned anew."""
        plan, now = self.model.plan, self.model.now
        if plan is None or now is None or self.model.looking or self.model.trouble is not None:
            return
        if self.given_now is None and plan.job.job.now is None and now_slot(plan, now) > plan.now:
            self.look_for(self.seconds, plan.job, plan)

    def _warn(self) -> None:
        """Say once that a window is about to shut, while there is time to act."""
        warning = next_warning(self.model)
        if warning is not None and warning.key not in self._warned:
            self._warned.add(warning.key)
            self.bell()
            self.notify(warning.words, severity="warning", timeout=60, markup=False)

    # -- pages ------------------------------------------------------------------------------------------------

    def open_page(self, title: str, row: str = "", slot: int | None = None) -> None:
        """Show a page, standing on a row or at a moment where given."""
        if title not in self.pages:
            return
        if title != self.current:
            self._history = [*self._history[-20:], self.current]
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

    def action_jot(self) -> None:
        """Jot what happened, in a second key."""
        if self.file is None or self.model.job is None:
            self.push_screen(Say(NO_FILE))
        else:
            self.push_screen(Jotting(self.model), self._jotted)

    def _jotted(self, jot: Jot | None) -> None:
        if jot is not None and jot.change is not None:
            self.change(jot.change, jot.task)

    def show_moved(self) -> None:
        """Bring up the page that tells what moved; where nothing did, a line says so, and one stays where one is."""
        before, plan = self.model.turn.before, self.model.plan
        if self.model.trouble is None and before is not None and plan is not None and compare(before, plan).nothing:
            self.notify(f"{shown(self.model.turn.words)}. Launch stays. u takes it back.", markup=False)
            self.show_model(self.model)
        else:
            self.open_page("Moved")

    def action_forecast(self) -> None:
        """Bring in a forecast, on Air."""
        self.open_page("Air")
        page = self.pages["Air"]
        assert isinstance(page, AirPage)
        page.action_forecast()

    def day_looked_at(self) -> dt.date | None:
        """The date of the page in front."""
        return self.pages[self.current].date_shown

    def action_again(self) -> None:
        """Read the file again and plan anew."""
        self.look_again(self.seconds)

    def action_further(self) -> None:
        """Search longer."""
        self.look_again(self.seconds * FURTHER)

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
        self.show_model(replace(self.model, ascii=plain))

    def _fatal_error(self) -> None:
        """A fault of the screens themselves: they close, and say so in plain words instead of a traceback."""
        error = self._exception
        frame = traceback.extract_tb(error.__traceback__)[-1] if error is not None and error.__traceback__ else None
        where = f" ({Path(frame.filename).name}, line {frame.lineno})" if frame is not None else ""
        self._exit_renderables.append(Text(f"{BROKEN} What it was: {one_line(repr(error), 300)}{where}."))
        self._close_messages_no_wait()

    def action_leave(self) -> None:
        """Stop the search and leave."""
        self.stop_looking()
        self.exit()

    async def action_quit(self) -> None:
        """Stop the search and leave."""
        self.action_leave()


def run_app(path: Path | None, now: dt.datetime | None = None, seconds: float = 5.0) -> None:
    """Run the screens on a job file until the person leaves."""
    SequencerApp(path, now=now, seconds=seconds).run()
