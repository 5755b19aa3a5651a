"""Two small forms: pick from a list that narrows as one types, and write a line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import ClassVar

from rich.text import Text
from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical
from textual.widget import Widget
from textual.widgets import Input, Static

from sequencer.tui.asking import Dialog
from sequencer.tui.change_form import FormWords
from sequencer.tui.drawing import Line, line
from sequencer.tui.drawn import Drawn
from sequencer.tui.fieldtext import code, is_coded
from sequencer.tui.marks import Signs
from sequencer.tui.scrolling import follow
from sequencer.tui.text import cut, shown, width_of, wrap

BOX_SHARE, BOX_LINES = 0.92, 4
"""How much of the screen's height a form may take, as `app.tcss` says, and its lines beside those of a list."""

TOLD_LINES = 2
"""Lines below a list for what is said of the option stood on, where the list itself has no room for it."""


@dataclass(frozen=True)
class Option:
    """Something to pick: what it stands for, and how it is called."""

    key: str
    words: str
    about: str = ""
    at_once: bool = True
    """Whether it is listed before anything is typed."""


def signs_of(node: Widget) -> Signs:
    """The marks the app draws with: a plain terminal's, or the full set."""
    return Signs(bool(getattr(getattr(node.app, "model", None), "ascii", False)))


def _rank(option: Option, words: list[str]) -> int | None:
    """How well an option holds all the words, a hyphen also finding a blank: 0 its name begins with the first of
    them, 1 its name holds them, 2 its name and what is said of it; None where it does not hold them."""
    name = option.words.lower()

    def held(text: str) -> bool:
        return all(word in text or word.replace("-", " ") in text for word in words)

    if held(name):
        return 0 if name.startswith(words[0]) else 1
    return 2 if held(f"{name} {option.about.lower()}") else None


class Options(Drawn):
    """The list: the ones that hold every word typed, the best first, one of them stood on. at: the key of that one
    while nothing is typed, None for the first."""

    ground = "ink dusk"
    can_focus = False

    def __init__(self, options: Sequence[Option], at: str | None = None) -> None:
        super().__init__(id="options")
        self.options = list(options)
        self.begun_at = at
        self.top = 0
        self._show("")

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """As many lines as there are options and what is said of them takes, as far as the screen has room."""
        wanted = len(self.options) + (TOLD_LINES if self._cuts(width) else 0)
        return max(1, min(int(BOX_SHARE * self.app.size.height) - BOX_LINES, wanted))

    def narrow(self, typed: str) -> None:
        """Keep what holds every word, and stand on the best."""
        self._show(typed)
        self.redraw()

    def _show(self, typed: str) -> None:
        words = typed.lower().split()
        if not words:
            self.shown = [option for option in self.options if option.at_once]
            self.at = next((n for n, option in enumerate(self.shown) if option.key == self.begun_at), 0)
            return
        ranked = [(rank, option) for option in self.options if (rank := _rank(option, words)) is not None]
        self.shown = [option for _, option in sorted(ranked, key=lambda pair: pair[0])]
        self.at = 0

    @property
    def chosen(self) -> Option | None:
        """The option stood on; None where nothing is left."""
        return self.shown[self.at] if self.at < len(self.shown) else None

    def move(self, by: int) -> None:
        """Stand on another."""
        self.at = max(0, min(len(self.shown) - 1, self.at + by))
        self.redraw()

    def drawing(self, width: int, height: int) -> list[Line]:
        """The options around the one stood on."""
        if not self.shown:
            return [line("Nothing here is called that: rub letters out, or escape.", "pencil dusk")]
        signs = signs_of(self)
        told = self._told(width, signs) if height > 2 * TOLD_LINES else []
        height -= len(told)
        self.top = follow(self.top, self.at, self.at + 1, height, len(self.shown))
        column = self._column(width)
        lines = []
        for number, option in enumerate(self.shown[self.top : self.top + height], self.top):
            here = number == self.at
            said = cut(option.words, width - 2, signs.more)
            drawn = line("> " if here else "  ", "ink bold dusk").add(said, "ink bold dusk" if here else "ink dusk")
            gap = max(2, column + 2 - width_of(said))
            room = width - drawn.width - gap
            if option.about and room > 4:
                drawn.add(" " * gap + cut(signs.own(option.about), room, signs.more), "pencil dusk")
            lines.append(drawn)
        return [*lines, *([line()] * (height - len(lines)) if told else []), *told]

    def _told(self, width: int, signs: Signs) -> list[Line]:
        """What is said of the option stood on, where it is too long for its line in the list."""
        if not self._cuts(width):
            return []
        said = wrap(signs.own(self.shown[self.at].about), width - 2, TOLD_LINES, signs.more)
        return [line(f"  {part}", "ink dusk") for part in [*said, *[""] * TOLD_LINES][:TOLD_LINES]]

    def _cuts(self, width: int) -> bool:
        """Whether something said of an option has no room in its line."""
        room = width - self._column(width) - 4
        return any(option.about and width_of(option.about) > room for option in self.options)

    def _column(self, width: int) -> int:
        """Cells of the names, so that what is said of them stands in one column; a long name goes past it."""
        names = [width_of(shown(option.words)) for option in self.options if option.about]
        return max((cells for cells in names if cells <= width // 3), default=0)

    def on_click(self, event: events.Click) -> None:
        """A click takes an option."""
        event.stop()
        at = self.top + event.y
        if at < len(self.shown):
            self.at = at
            self.screen.dismiss(self.shown[at].key)

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """The wheel walks down."""
        event.stop()
        self.move(1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The wheel walks up."""
        event.stop()
        self.move(-1)


class Typed(Input):
    """A line to type in. What is pasted comes in whole: line ends as blanks, codes as escapes that nothing obeys."""

    def validate_value(self, value: str) -> str:
        """`value` with nothing in it that can't be drawn."""
        return code(value) if is_coded(value) else value

    def _on_paste(self, event: events.Paste) -> None:
        """Every line of it, not the first alone."""
        event.prevent_default()
        event.stop()
        text = " ".join(event.text.splitlines())
        self.replace(code(text) if is_coded(text) else text, *self.selection)


class Form(Dialog[str | None]):
    """A titled box with a line to type in; escape leaves it without anything done."""

    DEFAULT_CSS = """
    Form .form-words { width: 100%; height: 1; }
    Form #form-fault { max-height: 8; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "close", "back", show=False)]

    def action_close(self) -> None:
        """Leave it."""
        self.dismiss(None)

    def on_click(self, event: events.Click) -> None:
        """A click beside the box leaves it."""
        if event.widget is self:
            self.dismiss(None)


class Pick(Form):
    """Pick from a list. at: the key stood on; typed: what the empty line says. Dismissed with the option's key, None
    for nothing."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", show=False, priority=True),
        Binding("down", "move(1)", show=False, priority=True),
        Binding("pageup", "move(-8)", show=False, priority=True),
        Binding("pagedown", "move(8)", show=False, priority=True),
    ]

    def __init__(
        self, title: str, options: Sequence[Option], at: str | None = None, typed: str = "type to narrow"
    ) -> None:
        super().__init__()
        self.about = title
        self.placeholder = typed
        self.list = Options(options, at)

    def compose(self) -> ComposeResult:
        """A line to narrow by, the list, and the keys."""
        with Vertical(id="form") as box:
            box.border_title = Text(shown(self.about))
            yield Typed(id="typed", placeholder=self.placeholder, compact=True, select_on_focus=False)
            yield self.list
            yield FormWords(("take", "enter picks"), ("close", "escape leaves it"))

    def on_mount(self) -> None:
        """How many there are."""
        self._count()

    def _count(self) -> None:
        many = len(self.list.shown)
        for box in self.query("#form"):  # None where the form was left before it was up.
            box.border_subtitle = f"{many} to pick from" if many > 1 else ""

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        self.list.narrow(event.value)
        self._count()

    @on(Input.Submitted)
    def _submitted(self) -> None:
        self.action_take()

    def action_take(self) -> None:
        """Take the option stood on."""
        if self.list.chosen is not None:
            self.dismiss(self.list.chosen.key)

    def action_move(self, by: int) -> None:
        """Stand on another option."""
        self.list.move(by)


class Write(Form):
    """Write a line. check: what is wrong with it, in a plain sentence; empty: it is taken, and the form closes."""

    def __init__(self, title: str, about: str, value: str, check: Callable[[str], str]) -> None:
        super().__init__()
        self.about = (title, about)
        self.value = value
        self.check = check

    def compose(self) -> ComposeResult:
        """What to write, the line, what is wrong with it, and the keys."""
        title, about = self.about
        with Vertical(id="form") as box:
            box.border_title = Text(shown(title))
            if about:
                yield Static(Text(signs_of(self).own(shown(about))), id="form-about")
            yield Typed(self.value, id="typed", compact=True, select_on_focus=False)
            yield Static(Text(""), id="form-fault")
            yield FormWords(("take", "enter takes it"), ("close", "escape leaves it"))

    def on_mount(self) -> None:
        """Type at the end of what stands there."""
        for typed in self.query(Input):  # None where the form was left before it was up.
            typed.cursor_position = len(self.value)

    @on(Input.Submitted)
    def _submitted(self) -> None:
        self.action_take()

    def action_take(self) -> None:
        """Take what is written, or say what is wrong with it."""
        if not self.is_current:
            return
        text = self.query_one(Input).value
        fault = self.check(text)
        if fault:
            self.query_one("#form-fault", Static).update(Text(shown_lines(fault)))
        else:
            self.dismiss(text)


def shown_lines(text: str) -> str:
    """Several sentences, each safe to draw."""
    return "\n".join(shown(part) for part in text.split("\n"))
