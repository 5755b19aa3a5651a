"""The foot: what the marks mean, and the keys that work everywhere. It never changes."""

from __future__ import annotations

from textual import events
from textual.message import Message

from sequencer.tui.drawing import Line, line
from sequencer.tui.drawn import Drawn
from sequencer.tui.keys import FOOT
from sequencer.tui.marks import BY_NAME, LEGEND, Signs

WIDE = 110


def legend_line(signs: Signs, width: int) -> Line:
    """The marks and their words, as many as fit; water always."""
    wide = width >= WIDE
    names = [*LEGEND, "holds", "afloat"] if wide else [*LEGEND, "afloat"]
    drawn = Line()
    tail = len("≈afloat") + (3 if wide else 0)
    for name in names:
        mark = BY_NAME[name]
        words = f"{' ' if wide else ''}{mark.word}"
        if not wide and name == "sand":
            words = "may sand"
        size = 1 + len(words) + (2 if wide else 1)
        if name != "afloat" and drawn.width + size + tail > width:
            continue
        drawn.add(signs[name], mark.role).add(words + ("  " if wide else " "), "pencil")
    return drawn


def keys_line(signs: Signs) -> tuple[Line, list[tuple[int, int, str]]]:
    """The keys, and where each word lies: (begin, end, action)."""
    drawn, spots = line(" "), []
    for action, words in FOOT:
        if signs.ascii:
            words = words.replace("←↑↓→", "arrows")
        key, _, said = words.partition(" ")
        begin = drawn.width
        drawn.add(key, "ink bold").add(f" {said}", "ink")
        spots.append((begin, drawn.width, action))
        drawn.add("   ", "ink")
    return drawn, spots


class Foot(Drawn):
    """Legend and keys; each word is a button."""

    class Picked(Message):
        """A word of the foot was clicked."""

        def __init__(self, action: str) -> None:
            super().__init__()
            self.action = action

    def __init__(self, ascii_only: bool) -> None:
        super().__init__()
        self.signs = Signs(ascii_only)
        self._spots: list[tuple[int, int, str]] = []

    def use(self, ascii_only: bool) -> None:
        """Plain marks or the full set."""
        self.signs = Signs(ascii_only)
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """Both lines."""
        keys, self._spots = keys_line(self.signs)
        return [legend_line(self.signs, width), keys]

    def on_click(self, event: events.Click) -> None:
        """Do what the word says."""
        if event.y != 1:
            return
        for begin, end, action in self._spots:
            if begin <= event.x < end:
                self.post_message(self.Picked(action))
