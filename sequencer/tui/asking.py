"""Small dialogs: plain sentences to read, or a choice to make."""

from __future__ import annotations

from typing import ClassVar, TypeVar

from rich.text import Text
from textual import events
from textual._styles_cache import StylesCache
from textual.app import ComposeResult
from textual.await_complete import AwaitComplete
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Static

from sequencer.errors import SequencerError
from sequencer.tui.drawing import Line, line
from sequencer.tui.drawn import Drawn
from sequencer.tui.marks import Signs
from sequencer.tui.text import shown, wrap

WIDTH = 72
"""Cells of text in a dialog on a wide screen."""


T = TypeVar("T")


class Dialog(ModalScreen[T]):
    """A dialog that can be left twice: the second key or click, already under way, finds it gone and does nothing."""

    def plain(self, text: str) -> str:
        """Our words, the owner's among them, safe to draw and as this terminal can show them."""
        model = getattr(self.app, "model", None)
        return Signs(bool(getattr(model, "ascii", False))).own(shown(text), getattr(self.app, "job_text", ""))

    def on_unmount(self) -> None:
        """What was drawn of it is let go: the library keeps in one cache whatever the last thousand widgets drew, and
        with so much of it kept, each round of Python's garbage collector holds up the keys for half a second."""
        StylesCache.get_inner_outer.cache_clear()

    def dismiss(self, result: T | None = None) -> AwaitComplete:
        """Close with a result, unless it is closed already."""
        return super().dismiss(result) if self.is_current else AwaitComplete()


class Say(Dialog[None]):
    """What went wrong, or what one should know, in plain sentences; any key of leaving closes it."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape,enter,space", "close", "back", show=False)]

    def __init__(self, about: SequencerError | str, more: str = "", title: str = "") -> None:
        super().__init__()
        said = (
            [about] if isinstance(about, str) else [title or about.title, *(fault.sentence() for fault in about.faults)]
        )
        self.words = [*said, *([more] if more else [])]

    def compose(self) -> ComposeResult:
        """The sentences, never as markup."""
        with VerticalScroll(id="explain") as box:
            box.border_subtitle = "escape goes back"
            yield Static(Text("\n\n".join(self.plain(words) for words in self.words)), id="explain-text")

    def on_click(self, event: events.Click) -> None:
        """A click beside the dialog closes it."""
        if event.widget is self:
            self.dismiss(None)

    def action_close(self) -> None:
        """Back to the page."""
        self.dismiss(None)


class Choices(Drawn):
    """Sentences, then choices one walks with the arrows."""

    ground = "ink dusk"
    can_focus = True
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", show=False),
        Binding("down", "move(1)", show=False),
        Binding("enter,space", "take", show=False),
    ]

    def __init__(self, words: str, choices: tuple[tuple[str, str], ...]) -> None:
        super().__init__(id="choices")
        self.words, self.choices = words, choices
        self.at = 0
        self._spots: list[int] = []

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """As many lines as the sentences take."""
        return len(self.drawing(width, 99))

    def drawing(self, width: int, height: int) -> list[Line]:
        """The sentences, then each choice, the one stood on marked."""
        lines = [line(part, "ink dusk") for part in wrap(self.words, width, 8)]
        lines.append(line(" ", "dusk"))
        self._spots = []
        for number, (name, about) in enumerate(self.choices):
            here = number == self.at
            parts = wrap(f"{name}: {about}", width - 2, 4)
            for count, part in enumerate(parts):
                mark = "> " if here and not count else "  "
                lines.append(line(mark + part, "ink bold dusk" if here else "ink dusk"))
                self._spots.append(number)
        self._first = len(lines) - len(self._spots)
        return lines

    def action_move(self, by: int) -> None:
        """Stand on another choice."""
        self.at = max(0, min(len(self.choices) - 1, self.at + by))
        self.redraw()

    def action_take(self) -> None:
        """Take the choice stood on."""
        self.screen.dismiss(self.choices[self.at][0])

    def on_click(self, event: events.Click) -> None:
        """A click takes a choice."""
        at = event.y - self._first
        if 0 <= at < len(self._spots):
            self.at = self._spots[at]
            self.action_take()


class Choose(Dialog[str | None]):
    """Sentences and a choice; escape chooses nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "close", "back", show=False)]

    def __init__(self, words: str, choices: tuple[tuple[str, str], ...]) -> None:
        super().__init__()
        self.about = (words, choices)

    def compose(self) -> ComposeResult:
        """The sentences and the choices."""
        with VerticalScroll(id="explain") as box:
            box.border_subtitle = "enter takes one; escape leaves it"
            yield Choices(*self.about)

    def on_mount(self) -> None:
        """The choices have the keys."""
        self.query_one(Choices).focus()

    def action_close(self) -> None:
        """Choose nothing."""
        self.dismiss(None)
