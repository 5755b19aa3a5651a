"""A text to read over the page: the sheet of a day, the findings of the review."""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from sequencer.tui.asking import Dialog
from sequencer.tui.forms import signs_of
from sequencer.tui.text import cut, shown

FRAME = 6
"""Cells of a frame's bottom line that its words can't have."""


class Reader(Dialog[str | None]):
    """Plain text in a box that scrolls. keys: letters that close it, each with what it does; dismissed with the one."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "close", show=False),
        Binding("up", "scroll(-1)", show=False),
        Binding("down", "scroll(1)", show=False),
        Binding("pageup", "scroll(-10)", show=False),
        Binding("pagedown,space", "scroll(10)", show=False),
        Binding("home", "scroll(-9999)", show=False),
        Binding("end", "scroll(9999)", show=False),
    ]

    def __init__(self, title: str, text: str, keys: Mapping[str, str]) -> None:
        super().__init__()
        self.about, self.text, self.keys = title, text, dict(keys)

    def compose(self) -> ComposeResult:
        """The text letter for letter, and the keys below."""
        with VerticalScroll(id="explain") as box:
            box.border_title = Text(shown(self.about))
            yield Static(Text("\n".join(shown(part) for part in self.text.split("\n"))), id="explain-text")

    def on_resize(self) -> None:
        """The keys, as many as the frame has room for."""
        said = "  ".join([*(f"{key} {words}" for key, words in self.keys.items()), "escape back"])
        for box in self.query("#explain"):
            box.border_subtitle = Text(cut(said, box.outer_size.width - FRAME, signs_of(self).more))

    def on_key(self, event: events.Key) -> None:
        """One of its letters."""
        if event.character in self.keys:
            event.stop()
            self.dismiss(event.character)

    def on_click(self, event: events.Click) -> None:
        """A click beside the box closes it."""
        if event.widget is self:
            self.dismiss(None)

    def action_scroll(self, by: int) -> None:
        """Lines up or down."""
        self.query_one("#explain", VerticalScroll).scroll_relative(y=by, animate=False)

    def action_close(self) -> None:
        """Back to the page."""
        self.dismiss(None)
