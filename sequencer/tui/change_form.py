"""Forms that end in a change of the job, and the words under them: each a key and a button."""

from __future__ import annotations

from typing import ClassVar, Generic, TypeVar

from textual import events
from textual.binding import Binding, BindingType

from sequencer.tui.asking import Dialog
from sequencer.tui.drawing import Line
from sequencer.tui.drawn import Drawn

T = TypeVar("T")


class ChangeForm(Dialog[T | None], Generic[T]):
    """A box over the page; escape, or a click beside it, leaves it without anything done."""

    DEFAULT_CSS = """
    ChangeForm .form-row { width: 100%; height: 1; }
    ChangeForm .form-name { width: 7; color: $ink; text-style: bold; }
    ChangeForm .form-input { width: 28; height: 1; border: none; padding: 0; background: $paper; color: $ink; }
    ChangeForm .form-hint { width: 1fr; padding: 0 0 0 1; color: $pencil; }
    ChangeForm .form-words, ChangeForm #form-lines { width: 100%; height: auto; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "close", "back", show=False)]

    def action_close(self) -> None:
        """Leave it."""
        self.dismiss(None)

    def on_click(self, event: events.Click) -> None:
        """A click beside the box leaves it."""
        if event.widget is self:
            self.dismiss(None)


class FormWords(Drawn):
    """Words such as ``enter saves``, each with the action of its screen that a click on it does."""

    can_focus = False

    def __init__(self, *words: tuple[str, str]) -> None:
        """words: (action, words), the key first."""
        super().__init__(classes="form-words")
        self.words = words
        self._buttons: list[tuple[int, int, str]] = []

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """One line."""
        return 1

    def drawing(self, width: int, height: int) -> list[Line]:
        """The words in a row."""
        drawn, self._buttons = Line(), []
        for action, words in self.words:
            begin = drawn.width
            key, _, said = words.partition(" ")
            drawn.add(key, "ink bold dusk").add(f" {said}", "ink dusk")
            self._buttons.append((begin, drawn.width, action))
            drawn.add("   ", "dusk")
        drawn.add(" " * max(0, width - drawn.width), "dusk")
        return [drawn]

    async def on_click(self, event: events.Click) -> None:
        """A click does what the word says."""
        event.stop()
        action = next((a for begin, end, a in self._buttons if begin <= event.x < end), "")
        if action:
            await self.screen.run_action(action)
