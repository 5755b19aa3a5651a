"""The rail: the pages by name, each a button, its first letter the key."""

from __future__ import annotations

from textual import events
from textual.message import Message

from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn

SHORT = 4
"""Letters kept of a page's name where the rail is narrow."""


def rail_line(titles: list[str], current: str, width: int, ascii_only: bool) -> tuple[Line, list[tuple[int, int, str]]]:
    """The rail for a width, and where each page's button lies: (begin, end, title)."""
    dash = "-" if ascii_only else "─"
    narrow = sum(len(t) + 4 for t in titles) + 1 > width
    names = [t[:SHORT] if narrow else t for t in titles]
    drawn, spots = Line(), []
    for title, name in zip(titles, names, strict=True):
        begin = drawn.width
        here = title == current
        left, right, role = ("[", "]", "ink bold") if here else (dash, dash, "pencil")
        drawn.add(dash, "pencil").add(left, role)
        drawn.add(name[0], f"ink underline{' bold' if here else ''}").add(name[1:], "ink bold" if here else "ink")
        drawn.add(right, role).add(dash, "pencil")
        spots.append((begin, drawn.width, title))
    drawn.add(dash * max(0, width - drawn.width), "pencil")
    return drawn, spots


class Rail(Drawn):
    """The pages; a click opens one."""

    class Picked(Message):
        """A page's word was clicked."""

        def __init__(self, page: str) -> None:
            super().__init__()
            self.page = page

    def __init__(self, titles: list[str], ascii_only: bool) -> None:
        super().__init__()
        self.titles = titles
        self.current = titles[0]
        self.ascii_only = ascii_only
        self._spots: list[tuple[int, int, str]] = []

    def drawing(self, width: int, height: int) -> list[Line]:
        """The one line."""
        drawn, self._spots = rail_line(self.titles, self.current, width, self.ascii_only)
        return [drawn]

    def on_click(self, event: events.Click) -> None:
        """Open the page whose word is under the finger."""
        for begin, end, title in self._spots:
            if begin <= event.x < end:
                self.post_message(self.Picked(title))
