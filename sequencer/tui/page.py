"""The base of every page: what lies between the rail and the foot."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import ClassVar

from textual.message import Message
from textual.widget import Widget

from sequencer.job.writing import Change
from sequencer.tui.model import NOTHING_KNOWN, Model


class Page(Widget):
    """One page. `show` is called with a new model whenever anything changes; draw from that alone.

    title: the word on the rail, whose first letter is the page's key. help: lines for the `?` screen. marks: names of
    the marks it uses, for that screen. takes_trouble: whether it has something to show when there is no plan; the
    others then give way to the plain sentences that say why. asks: the question whose answer it shows.
    """

    title: ClassVar[str] = ""
    help: ClassVar[str] = ""
    marks: ClassVar[tuple[str, ...]] = ()
    takes_trouble: ClassVar[bool] = False
    asks: ClassVar[str] = ""
    can_focus = True

    class Marked(Message):
        """The person stands on another row; the app hands it to all pages."""

        def __init__(self, row: str) -> None:
            super().__init__()
            self.row = row

    class Opened(Message):
        """The person wants another page, standing on a row; slot: at this moment (a quarter hour of the grid)."""

        def __init__(self, page: str, row: str = "", slot: int | None = None) -> None:
            super().__init__()
            self.page = page
            self.row = row
            self.slot = slot

    class Edited(Message):
        """The person wants the card of a row's task."""

        def __init__(self, row: str) -> None:
            super().__init__()
            self.row = row

    class Changed(Message):
        """The person changes the job; the app saves it, plans anew and shows what moved.

        marked: the row to stand on afterwards, empty: the one stood on.
        """

        def __init__(self, change: Change, marked: str = "") -> None:
            super().__init__()
            self.change = change
            self.marked = marked

    def show(self, model: Model) -> None:
        """Draw `model`."""
        raise NotImplementedError

    def forget(self, model: Model) -> None:
        """Let go of answers that are no more those of `model`, while another page is in front. `show` brings new
        ones."""
        for node in (self, *self.walk_children()):
            kept = getattr(node, "model", None)
            if isinstance(kept, Model) and kept.answers is not model.answers:
                vars(node)["model"] = replace(kept, answers=NOTHING_KNOWN)

    @property
    def date_shown(self) -> dt.date | None:
        """The date it shows, where it shows one."""
        return None

    def go(self, slot: int) -> None:
        """Stand at a moment, where the page has moments."""

    def to_now(self) -> None:
        """Stand at now, where the page has moments."""
        self._no_hours()

    def closer(self) -> None:
        """Show time finer, where that means something."""
        self._no_hours()

    def wider(self) -> None:
        """Show more time at once, where that means something."""
        self._no_hours()

    def _no_hours(self) -> None:
        """A key that has nothing to do here says so."""
        self.app.notify(f"{self.title} has no hours: Stay, Day, Cures and Air do.", markup=False, timeout=2)
