"""The card of one table of the job file: every field a line, each edited where it stands, saved at once."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any, ClassVar

from rich.text import Text
from textual import events, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical

from sequencer.job.layout import SINGLE, name_of
from sequencer.tui.asking import Dialog
from sequencer.tui.drawing import Line, line
from sequencer.tui.drawn import Drawn
from sequencer.tui.editor import Editor
from sequencer.tui.fields import Field, fields_of, value_at, write_value
from sequencer.tui.scrolling import follow
from sequencer.tui.text import cut, pad, shown

LABEL = 17
BUTTONS = (("edit", "enter edit"), ("copy", "y copy"), ("delete", "delete take out"), ("close", "escape back"))


def tables_of(text: str, kind: str) -> list[dict[str, Any]]:
    """The tables of a kind in a job's text, in its order; those there is one of as a list of one."""
    data: Any = tomllib.loads(text)
    for part in kind.split("."):
        data = data.get(part, {} if kind in SINGLE else []) if isinstance(data, dict) else []
    return [data] if isinstance(data, dict) else list(data)


def table_of(text: str, kind: str, name: str) -> dict[str, Any]:
    """One table by its name; empty where there is none."""
    found = tables_of(text, kind)
    if kind in SINGLE:
        return found[0] if found else {}
    return next((table for table in found if name_of(kind, table) == name), {})


class CardLines(Drawn):
    """The fields, one stood on; what is left out in pencil with what then holds."""

    def __init__(self, kind: str, name: str) -> None:
        super().__init__(id="card-lines")
        self.kind, self.name_ = kind, name
        self.table: Mapping[str, Any] = {}
        self.fields: list[Field] = []
        self.at = self.top = 0
        self._buttons: list[tuple[int, int, str]] = []

    def take(self, text: str) -> None:
        """Read the fields from the job's text."""
        self.table = table_of(text, self.kind, self.name_)
        material = table_of(text, "material", str(self.table.get("material"))) if self.kind == "task" else None
        self.fields = fields_of(self.kind, self.table, material or None)
        self.at = min(self.at, len(self.fields) - 1)
        self.redraw()

    @property
    def field(self) -> Field:
        """The field stood on."""
        return self.fields[self.at]

    def get_content_height(self, container: object, viewport: object, width: int) -> int:
        """A line a field, and the buttons; as many as the screen has room for."""
        return max(4, min(len(self.fields) + 2, self.app.size.height - 4))

    def drawing(self, width: int, height: int) -> list[Line]:
        """The fields around the one stood on, then the keys."""
        room = max(1, height - 2)
        self.top = follow(self.top, self.at, self.at + 1, room, len(self.fields))
        lines = [self._field(n, width) for n in range(self.top, min(len(self.fields), self.top + room))]
        hidden = len(self.fields) - self.top - len(lines)
        more = f"{hidden} more below" if hidden else f"{self.top} more above" if self.top else " "
        return [*lines, line(pad(more, width), "pencil dusk"), self._keys()]

    def _field(self, number: int, width: int) -> Line:
        field, here = self.fields[number], number == self.at
        value = value_at(self.table, field.path)
        drawn = line("> " if here else "  ", "ink bold dusk")
        drawn.add(pad(field.words, LABEL), "ink bold dusk" if here else "pencil dusk").add(" ", "dusk")
        room = width - LABEL - 3
        if value is None:
            return drawn.add(cut(f"-  {field.about}".rstrip(), room), "pencil dusk")
        return drawn.add(cut(write_value(value, field.shape), room), "ink bold dusk" if here else "ink dusk")

    def _keys(self) -> Line:
        drawn, self._buttons = Line(), []
        for action, words in BUTTONS:
            if self.kind in SINGLE and action in ("copy", "delete"):
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
        Binding("escape", "close", show=False),
    ]

    def __init__(self, editor: Editor, kind: str, name: str = "") -> None:
        super().__init__()
        self.editor, self.kind, self.table_name = editor, kind, name
        self.lines = CardLines(kind, name)

    def compose(self) -> ComposeResult:
        """The lines in a box."""
        with Vertical(id="form") as box:
            box.border_title = Text(shown(f"{self.kind.replace('.', ' ')} {self.table_name}".strip()))
            yield self.lines

    def on_mount(self) -> None:
        """Read the table."""
        self.again()

    def again(self) -> None:
        """Read the table again from the job as it is now."""
        self.lines.take(self.editor.text)
        self.lines.refresh(layout=True)
        self.query_one("#form").border_title = Text(shown(f"{self.kind.replace('.', ' ')} {self.table_name}".strip()))

    def action_move(self, by: int) -> None:
        """Stand on another field."""
        self.lines.move(by)

    @work(exclusive=True)
    async def action_edit(self) -> None:
        """Edit the field stood on."""
        name = await self.editor.edit(self.kind, self.table_name, self.lines.field)
        self.table_name = self.lines.name_ = name
        self.again()

    @work(exclusive=True)
    async def action_copy(self) -> None:
        """Copy this table, and go on with the copy."""
        new = await self.editor.copy(self.kind, self.table_name)
        if new:
            self.table_name = self.lines.name_ = new
            self.again()

    @work(exclusive=True)
    async def action_delete(self) -> None:
        """Take it out, after saying what depends on it."""
        if self.kind not in SINGLE and await self.editor.delete(self.kind, self.table_name):
            self.dismiss(None)

    def action_close(self) -> None:
        """Back to the page."""
        self.dismiss(None)
