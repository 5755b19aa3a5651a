"""The card of one table of the job file: every field a line, each edited where it stands, saved at once."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from typing import Any, ClassVar

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical

from sequencer.job.layout import SINGLE, key_of
from sequencer.tui.asking import Dialog
from sequencer.tui.drawing import Line, line
from sequencer.tui.drawn import Drawn
from sequencer.tui.editor import Editor
from sequencer.tui.fields import Field, fields_of, word_of
from sequencer.tui.fieldwords import text_at, told_fields, unit_of
from sequencer.tui.forms import BOX_SHARE, signs_of
from sequencer.tui.lookup import table_of
from sequencer.tui.reader import Reader
from sequencer.tui.scrolling import follow
from sequencer.tui.text import cut, pad, shown

LABEL = 17
FRAME = 2
BUTTONS = (
    ("edit", "enter edit"),
    ("copy", "y copy"),
    ("delete", "delete take out"),
    ("close", "escape back"),
    ("explain", "? fields"),
)


class CardLines(Drawn):
    """The fields, one stood on; what is left out in pencil with what then holds."""

    ground = "ink dusk"

    def __init__(self, kind: str, name: str) -> None:
        super().__init__(id="card-lines")
        self.kind, self.name_ = kind, name
        self.table: Mapping[str, Any] = {}
        self.fields: list[Field] = []
        self.at = self.top = 0
        self._buttons: list[tuple[int, int, str]] = []

    def take(self, text: str) -> None:
        """Read the fields from the job's text, standing on the same field as before."""
        here = self.field.path if self.fields else ""
        self.table = table_of(text, self.kind, self.name_)
        material = table_of(text, "material", str(self.table.get("material"))) if self.kind == "task" else None
        self.fields = fields_of(self.kind, self.table, material or None)
        at = min(self.at, len(self.fields) - 1)
        self.at = next((n for n, field in enumerate(self.fields) if field.path == here), at)
        self.redraw()

    @property
    def field(self) -> Field:
        """The field stood on."""
        return self.fields[self.at]

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """A line a field, and the buttons; as many as the screen has room for."""
        return max(4, min(len(self.fields) + 2, int(self.app.size.height * BOX_SHARE) - FRAME))

    def drawing(self, width: int, height: int) -> list[Line]:
        """The fields around the one stood on, then the keys."""
        room = max(1, height - 2)
        self.top = follow(self.top, self.at, self.at + 1, room, len(self.fields))
        lines = [self._field(n, width) for n in range(self.top, min(len(self.fields), self.top + room))]
        hidden = len(self.fields) - self.top - len(lines)
        said = [f"{self.top} more above"] if self.top else []
        said += [f"{hidden} more below"] if hidden else []
        return [*lines, line(pad(", ".join(said), width), "pencil dusk"), self._keys()]

    def _field(self, number: int, width: int) -> Line:
        field, here, signs = self.fields[number], number == self.at, signs_of(self)
        drawn = line("> " if here else "  ", "ink bold dusk")
        label = pad(signs.own(field.words), LABEL, signs.more)
        drawn.add(label, "ink bold dusk" if here else "pencil dusk").add(" ", "dusk")
        room = width - LABEL - 3
        said = text_at(self.table, field)
        if not said:
            return drawn.add(cut(f"-  {signs.own(field.unset)}".rstrip(), room, signs.more), "pencil dusk")
        drawn.add(cut(said, room, signs.more), "ink bold dusk" if here else "ink dusk")
        unit = signs.own(unit_of(field))
        return drawn.add(f" {unit}", "pencil dusk") if unit and drawn.width + len(unit) < width else drawn

    def _keys(self) -> Line:
        drawn, self._buttons = Line(), []
        for action, words in BUTTONS:
            if not may(action, self.kind):
                continue
            begin = drawn.width
            key, _, said = words.partition(" ")
            drawn.add(key, "ink bold dusk").add(f" {said}", "ink dusk")
            self._buttons.append((begin, drawn.width, action))
            drawn.add("   ", "dusk")
        return drawn

    def move(self, by: int) -> None:
        """Stand on another field."""
        self.at = max(0, min(len(self.fields) - 1, self.at + by))
        self.redraw()

    async def on_click(self, event: events.Click) -> None:
        """A click marks a field, on the marked one it edits; the words of the keys are buttons."""
        event.stop()
        at = self.top + event.y
        if event.y == self.size.height - 1:
            action = next((a for begin, end, a in self._buttons if begin <= event.x < end), "")
            if action:
                await self.screen.run_action(action)
        elif event.y < self.size.height - 2 and at < len(self.fields):
            if at == self.at:
                await self.screen.run_action("edit")
            else:
                self.at = at
                self.redraw()

    def on_mouse_scroll_down(self, event: events.MouseScrollDown) -> None:
        """The wheel walks down."""
        event.stop()
        self.move(1)

    def on_mouse_scroll_up(self, event: events.MouseScrollUp) -> None:
        """The wheel walks up."""
        event.stop()
        self.move(-1)


class CardScreen(Dialog[None]):
    """A card over the page; what it changes is saved line by line, and Moved tells what all of it did."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "move(-1)", show=False),
        Binding("down", "move(1)", show=False),
        Binding("pageup", "move(-8)", show=False),
        Binding("pagedown", "move(8)", show=False),
        Binding("home", "move(-999)", show=False),
        Binding("end", "move(999)", show=False),
        Binding("enter", "edit", show=False),
        Binding("y", "copy", show=False),
        Binding("delete,backspace", "delete", show=False),
        Binding("question_mark", "explain", show=False),
        Binding("escape", "close", show=False),
    ]

    def __init__(self, editor: Editor, kind: str, name: str = "") -> None:
        super().__init__()
        self.editor, self.kind, self.table_name = editor, kind, name
        self.lines = CardLines(kind, name)
        self._asking = False

    def compose(self) -> ComposeResult:
        """The lines in a box."""
        with Vertical(id="form"):
            yield self.lines

    def on_mount(self) -> None:
        """Read the table."""
        self.again()

    def again(self, name: str | None = None) -> None:
        """Read the table again from the job as it is now, under another name where given."""
        if name is not None:
            self.table_name = self.lines.name_ = name
        self.lines.take(self.editor.text)
        self.lines.refresh(layout=True)
        for box in self.query("#form"):  # None where the card was left before it was up.
            box.border_title = Text(shown(f"{word_of(self.kind)} {self.table_name}".strip()))

    def action_move(self, by: int) -> None:
        """Stand on another field."""
        self.lines.move(by)

    def action_edit(self) -> None:
        """Edit the field stood on."""
        self._ask(self._edit)

    def action_copy(self) -> None:
        """Copy this table, and go on with the copy."""
        if may("copy", self.kind):
            self._ask(self._copy)

    def action_delete(self) -> None:
        """Take it out, after saying what depends on it."""
        if may("delete", self.kind):
            self._ask(self._delete)

    def action_explain(self) -> None:
        """What the fields mean, over the card."""
        said = signs_of(self).own(told_fields(self.kind, self.lines.fields))
        self.app.push_screen(Reader(f"the card of a {word_of(self.kind)}", said, {}))

    def action_close(self) -> None:
        """Back to the page."""
        self.dismiss(None)

    def on_click(self, event: events.Click) -> None:
        """A click beside the card leaves it."""
        if event.widget is self:
            self.dismiss(None)

    def _ask(self, ask: Callable[[], Awaitable[None]]) -> None:
        """One dialog at a time, however fast the keys come."""
        if not self._asking and self.is_current:
            self._asking = True
            self.run_worker(self._asked(ask))

    async def _asked(self, ask: Callable[[], Awaitable[None]]) -> None:
        try:
            await ask()
        finally:
            self._asking = False

    async def _edit(self) -> None:
        self.again(await self.editor.edit(self.kind, self.table_name, self.lines.field))

    async def _copy(self) -> None:
        new = await self.editor.copy(self.kind, self.table_name)
        if new:
            self.again(new)

    async def _delete(self) -> None:
        if await self.editor.delete(self.kind, self.table_name):
            self.dismiss(None)


def may(action: str, kind: str) -> bool:
    """Whether a kind's tables can be copied, or taken out."""
    if action == "copy":
        return kind not in SINGLE and key_of(kind) == "id"
    return action != "delete" or kind not in SINGLE
