"""The app: keeps one model, hands it to strip and pages, runs the search off the screen."""

from __future__ import annotations

import datetime as dt
import gc
import os
import sys
import traceback
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Container
from textual.scrollbar import ScrollBar

from sequencer.errors import Fault, UsageError, one_line
from sequencer.moved import compare
from sequencer.tui.air import AirPage
from sequencer.tui.ask import ask
from sequencer.tui.asking import Say
from sequencer.tui.explain import Explain
from sequencer.tui.foot import Foot
from sequencer.tui.jot import Jotting
from sequencer.tui.jots import Jot
from sequencer.tui.keeping import NO_FILE
from sequencer.tui.keys import EVERYWHERE, bindings
from sequencer.tui.marks import Signs, plain_wanted
from sequencer.tui.model import Model
from sequencer.tui.notice import NO_JOB, Notice
from sequencer.tui.pages import page_types
from sequencer.tui.rail import Rail
from sequencer.tui.scrolling import WholeCells
from sequencer.tui.strip import LaunchStrip
from sequencer.tui.text import shown
from sequencer.tui.theme import DARK, LIGHT, THEMES, role_colours
from sequencer.tui.tiny import Tiny
from sequencer.tui.turning import Turning
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
SWITCH = 0.001
"""Seconds after which a search that computes lets the screen have its turn; Python's own are five times as many."""
TINY = (60, 20)
"""Below this width or height only the strip and the to-do list are shown."""


def wall_clock() -> dt.datetime:
    """The computer's clock, with offset."""
    return dt.datetime.now(dt.UTC)


class SequencerApp(Turning):
    """The planner's screens for one job file.

    now: plan from then and stand there, whatever the clock says. clock: what tells the time. seconds: how long a
    search may take. ascii: plain marks (None: as the environment says).
    """

    CSS_PATH = "app.tcss"
    TITLE = "sequencer"
    ENABLE_COMMAND_PALETTE = False  # `ask` is a form of ours, with names as plain text and all answers at once.
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
        ScrollBar.renderer = WholeCells
        self.model = Model(ascii=plain_wanted() if ascii is None else ascii)
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

    def _tick(self) -> None:
        """The yard's clock, once a while: the strip, the file, the plan as time goes by, and windows about to shut."""
        if self.is_web and os.getppid() == ORPHANED:
            # Whoever served the page was killed: nobody sees this any more.
            self.action_leave()
            return
        self.show_model(replace(self.model, now=self.now_of(self.model.job)))
        self.watch_file()
        self.watch_clock()
        self._warn()

    def _warn(self) -> None:
        """Say once that a window is about to shut, while there is time to act."""
        warning = next_warning(self.model)
        if warning is not None and warning.key not in self._warned:
            self._warned.add(warning.key)
            self.bell()
            self.notify(warning.words, severity="warning", timeout=60, markup=False)

    def on_resize(self, event: events.Resize) -> None:
        """Very small screens show the strip and the list of the day alone."""
        small = event.size.width < TINY[0] or event.size.height < TINY[1]
        self.screen_stack[0].set_class(small, "tiny")

    # -- verbs ------------------------------------------------------------------------------------------------

    def action_explain(self) -> None:
        """Explain this page."""
        page = self.pages[self.current]
        self.push_screen(Explain(page.title, page.help, page.marks, self.model.ascii))

    def action_ask(self) -> None:
        """Ask for a page, a task or a verb."""
        ask(self)

    def action_jot(self) -> None:
        """Jot what happened, in a second key."""
        if self.file is None or self.model.job is None:
            self.push_screen(Say(NO_FILE))
        else:
            self.push_screen(Jotting(self.model, self._jot_or_why))

    def _jot_or_why(self, jot: Jot) -> str:
        return self.change_or_why(jot.change, jot.task) if jot.change is not None else ""

    def show_moved(self) -> None:
        """Bring up the page that tells what moved; where nothing did, a line says so, and one stays where one is."""
        before, plan = self.model.turn.before, self.model.plan
        if self.model.trouble is None and before is not None and plan is not None and compare(before, plan).nothing:
            words = Signs(self.model.ascii).own(shown(self.model.turn.words), self.job_text)
            self.notify(f"{words}. Launch stays. u takes it back.", markup=False)
        else:
            self.open_page("Moved")

    def action_forecast(self) -> None:
        """Bring in a forecast, on Air."""
        self.open_page("Air")
        page = self.pages["Air"]
        assert isinstance(page, AirPage)
        page.action_forecast()

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
    app = SequencerApp(path, now=now, seconds=seconds)
    sys.setswitchinterval(SWITCH)
    # What is loaded by now stays: each round of the garbage collector need not go through it again and hold up keys.
    gc.freeze()
    app.run()
