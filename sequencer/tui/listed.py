"""A page that is a list one walks: the mark, the wheel and the click, and telling the others where one stands."""

from __future__ import annotations

from typing import Protocol

from textual import events

from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn
from sequencer.tui.page import Page
from sequencer.tui.posted import Posted


class ListView(Protocol):
    """What a list page asks of its view. at: the entry stood on."""

    at: int

    @property
    def row(self) -> str:
        """The plan's row of that entry; empty for none."""

    def draw(self, width: int, height: int) -> list[Line]:
        """The page in cells."""

    def move(self, by: int) -> bool:
        """Stand on another entry; whether there is one."""

    def at_line(self, y: int) -> int | None:
        """The entry drawn on a line."""


class Listed(Page, Drawn):
    """Walks entries; enter, or a click on the marked one, opens its task."""

    view: ListView

    def __init__(self, name: str) -> None:
        super().__init__(id=f"page-{name}")
        self.posted = Posted()

    def drawing(self, width: int, height: int) -> list[Line]:
        """The page in cells."""
        return self.view.draw(width, height)

    def action_move(self, by: int) -> None:
        """Stand on another entry."""
        if self.view.move(by):
            self.tell()

    def action_open(self) -> None:
        """Open the task of the entry."""
        if self.view.row:
            self.post_message(self.Opened("Tasks", self.view.row))

    def on_click(self, event: events.Click) -> None:
        """A click marks an entry; on the marked one it opens its task."""
        at = self.view.at_line(event.y)
        if at is None:
            return
        if at == self.view.at:
            self.action_open()
        else:
            self.action_move(at - self.view.at)

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """The wheel walks down."""
        event.stop()
        self.action_move(1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The wheel walks up."""
        event.stop()
        self.action_move(-1)

    def tell(self) -> None:
        """One stands elsewhere: draw, and tell the others on which row."""
        self.redraw()
        self.posted.tell(self.view.row)
        self.post_message(self.Marked(self.view.row))
