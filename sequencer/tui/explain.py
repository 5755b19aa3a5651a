"""The screen behind `?`: what this page is for, its marks, and every key."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from sequencer.tui.asking import Dialog
from sequencer.tui.drawing import Line, line
from sequencer.tui.drawn import palette
from sequencer.tui.keys import EVERYWHERE, Key, keys_of
from sequencer.tui.marks import BY_NAME, TABLE, Signs
from sequencer.tui.text import pad, shown, wrap


def explain_lines(title: str, text: str, marks: tuple[str, ...], width: int, signs: Signs) -> list[Line]:
    """The help of a page. marks: names of those it uses; none: all."""
    lines = [line(title, "ink bold"), line()]
    for paragraph in signs.own(text).strip().split("\n\n"):
        lines += [line(part) for part in wrap(" ".join(paragraph.split()), width, 12, signs.more)]
        lines.append(line())
    lines += [line("Marks", "ink bold")]
    for mark in [BY_NAME[name] for name in marks] if marks else TABLE:
        lines.append(line(" ").add(signs[mark.name], mark.role).add(f"  {mark.means}"))
    for head, where in ((f"Keys on {title}", title), ("Keys everywhere", EVERYWHERE)):
        if keys_of(where):
            lines += [line(), line(head, "ink bold")]
            lines += [drawn for key in keys_of(where) for drawn in _key_lines(key, width, signs)]
    return lines


def _key_lines(key: Key, width: int, signs: Signs) -> list[Line]:
    arrows = {"←": "left", "→": "right", "↑": "up", "↓": "down"}
    said = arrows.get(key.shown, key.shown) if signs.ascii else key.shown
    parts = wrap(key.words, width - 16, 3, signs.more)
    return [line(" ").add(pad("" if n else said, 14), "ink bold").add(f" {part}") for n, part in enumerate(parts)]


class Explain(Dialog[None]):
    """Help for one page, over it."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,question_mark,enter,space", "close", "back", show=False),
        Binding("up", "scroll(-1)", "up", show=False),
        Binding("down", "scroll(1)", "down", show=False),
    ]

    def __init__(self, title: str, text: str, marks: tuple[str, ...], ascii_only: bool) -> None:
        super().__init__()
        self.about = (title, text, marks)
        self.signs = Signs(ascii_only)

    def compose(self) -> ComposeResult:
        """One column of text that scrolls."""
        with VerticalScroll(id="explain") as box:
            box.border_subtitle = "escape goes back"
            yield Static(id="explain-text")

    def on_mount(self) -> None:
        """Write it in the theme's colours."""
        styles = palette(self.app.theme)
        width = min(72, int(self.app.size.width * 0.96) - 9)
        text = Text(no_wrap=True)
        for drawn in explain_lines(*self.about, width, self.signs):
            for run, role in drawn.runs:
                text.append(run, styles(f"{role} dusk"))
            text.append("\n")
        self.query_one("#explain-text", Static).update(text)

    def action_close(self) -> None:
        """Back to the page."""
        self.dismiss(None)

    def action_scroll(self, by: int) -> None:
        """A line up or down."""
        self.query_one("#explain", VerticalScroll).scroll_relative(y=by, animate=False)


class Trouble(Dialog[None]):
    """An unexpected fault of the tool itself, in plain words."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,enter,space", "close", "back", show=False)]

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words

    def compose(self) -> ComposeResult:
        """The words, never as markup."""
        with VerticalScroll(id="explain") as box:
            box.border_subtitle = "escape goes back"
            yield Static(Text("\n".join(shown(part) for part in self.words.split("\n"))), id="explain-text")

    def action_close(self) -> None:
        """Back to the page."""
        self.dismiss(None)
