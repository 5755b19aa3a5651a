"""Editing one table of the job: what is asked for each shape of field, and the change that comes of it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any, Protocol, TypeVar

from textual.screen import Screen

from sequencer.job.layout import key_of, name_of
from sequencer.job.links import parse_link
from sequencer.job.pen import Value
from sequencer.job.references import Use
from sequencer.job.writing import Change, CopyItem, Delete, SetField, dependents, free_name
from sequencer.tui.asking import Choose
from sequencer.tui.fields import Field, NotReadError, called, read_value, stages_of, value_at, write_value
from sequencer.tui.forms import Option, Pick, Write

T = TypeVar("T")
NOTHING = ""
END = "done"


class Owner(Protocol):
    """What the editor asks of the app."""

    @property
    def job_text(self) -> str:
        """What the job file holds."""

    def change_or_why(self, change: Change, marked: str = "") -> str:
        """Make a change; why it can't be made, empty where it was."""

    async def push_screen_wait(self, screen: Screen[T]) -> T:
        """Show a dialog and wait for its answer."""


class Editor:
    """Asks for values in dialogs and makes changes of them."""

    def __init__(self, app: Owner) -> None:
        self.app = app

    @property
    def text(self) -> str:
        """The job's text as it is now."""
        return self.app.job_text

    def tables(self, kind: str) -> list[dict[str, Any]]:
        """The tables of a kind."""
        data: Any = tomllib.loads(self.text)
        for part in kind.split("."):
            data = data.get(part, []) if isinstance(data, dict) else []
        return data if isinstance(data, list) else [data]

    def table(self, kind: str, name: str) -> dict[str, Any]:
        """One table; empty where there is none."""
        return next((t for t in self.tables(kind) if not name or name_of(kind, t) == name), {})

    async def edit(self, kind: str, name: str, field: Field) -> str:
        """Edit a field; what the table goes by afterwards."""
        value = value_at(self.table(kind, name), field.path)
        if field.shape in ("one", "choice", "flag"):
            await self._pick(kind, name, field, value)
        elif field.shape in ("many", "links", "gear"):
            await self._pick_some(kind, name, field)
        else:
            return await self._write(kind, name, field, value)
        return name

    # -- shapes -----------------------------------------------------------------------------------------------

    async def _write(self, kind: str, name: str, field: Field, value: Any) -> str:
        """A line of text; a fault is told in the form, and nothing typed is lost."""
        become: Value | None = None

        def check(text: str) -> str:
            nonlocal become
            try:
                become = read_value(field, text)
            except NotReadError as error:
                return str(error)
            return self.app.change_or_why(SetField(kind, name, field.path, become), name if kind == "task" else "")

        about = f"{field.about}. Empty takes it out." if field.about else ""
        form = Write(field.words.strip(), about, write_value(value, field.shape), check)
        taken = await self.app.push_screen_wait(form)
        renames = field.path == key_of(kind) and taken is not None and become is not None
        return name_of(kind, {key_of(kind): become}) if renames else name

    async def _pick(self, kind: str, name: str, field: Field, value: Any) -> None:
        if field.shape == "flag":
            options = [Option("yes", "yes"), Option("no", "no")]
        elif field.shape == "choice":
            options = [Option(choice, choice) for choice in field.choices]
        else:
            options = [Option(name_of(field.of, t), called(field.of, t)) for t in self.tables(field.of)]
        if field.path != "finish":
            options.append(Option(NOTHING, "as usual" if field.shape == "flag" else "none", field.about))
        taken = await self._ask(f"{field.words.strip()} of {name}", options, write_value(value))
        if taken is not None:
            become: Value | None = taken == "yes" if field.shape == "flag" else taken
            await self._make(SetField(kind, name, field.path, become if taken != NOTHING else None), name)

    async def _pick_some(self, kind: str, name: str, field: Field) -> None:
        """Take some out and put some in, one at a time, until escape."""
        while True:
            now = list(value_at(self.table(kind, name), field.path) or [])
            options = [Option(f"-{n}", f"take out {write_value(item)}") for n, item in enumerate(now)]
            options += [Option(f"+{key}", words, "add") for key, words in self._addable(name, field, now)]
            taken = await self._ask(f"{field.words} of {name}: escape when done", options, "")
            if taken is None:
                return
            if taken.startswith("-"):
                del now[int(taken[1:])]
            else:
                item = await self._item(name, field, taken[1:])
                if item is None:
                    continue
                now.append(item)
            await self._make(SetField(kind, name, field.path, now or None), name)

    def _addable(self, name: str, field: Field, now: list[Any]) -> list[tuple[str, str]]:
        used = {_named(item) for item in now}
        tables = [(name_of(field.of, table), called(field.of, table)) for table in self.tables(field.of)]
        own = {name} if field.of == "task" else set()
        return [(key, words) for key, words in tables if key not in used | own]

    async def _item(self, name: str, field: Field, key: str) -> Value | None:
        """What is added: a link to a stage, gear until a stage, or the name alone."""
        if field.shape == "links":
            stages = self._stages(key)
            if not stages:
                return key
            options = [Option(END, "when the work is done"), *(Option(s, f"at its stage {s}") for s in stages)]
            stage = await self._ask(f"after {key}, from when?", options, "")
            return None if stage is None else key if stage == END else f"{key}@{stage}"
        if field.shape == "gear":
            return await self._gear(name, key)
        return key

    async def _gear(self, name: str, key: str) -> Value | None:
        stages = self._stages(name)
        until: str | None = END
        if stages:
            options = [Option(END, "to the end of the work"), *(Option(s, f"until its stage {s}") for s in stages)]
            until = await self._ask(f"{key} is held", options, "")
        if until is None:
            return None
        use: dict[str, Value] = {"id": key}
        if until != END:
            use["until"] = until
        count = self.table("gear", key).get("count", 1)
        if isinstance(count, int) and count > 1:
            options = [Option(str(n), f"{n} of {count}") for n in range(1, min(count, 50) + 1)]
            units = await self._ask(f"how many of {key}?", options, "1")
            if units is None:
                return None
            if units != "1":
                use["units"] = int(units)
        return use if len(use) > 1 else key

    def _stages(self, task: str) -> list[str]:
        """The stages of a task's material."""
        material = self.table("task", task).get("material")
        table: Mapping[str, Any] = self.table("material", str(material)) if material else {}
        return stages_of(table)

    # -- whole tables -----------------------------------------------------------------------------------------

    async def copy(self, kind: str, name: str) -> str:
        """Copy a table under a new name; the name, empty where nothing was copied."""
        new = free_name(name, [name_of(kind, table) for table in self.tables(kind)])

        def check(text: str) -> str:
            return self.app.change_or_why(CopyItem(kind, name, text.strip()), text.strip() if kind == "task" else "")

        taken = await self.app.push_screen_wait(Write(f"copy of {name}", "its short name", new, check))
        return (taken or "").strip()

    async def delete(self, kind: str, name: str) -> bool:
        """Take a table out, once more asked; whether it is out."""
        told = _depends(dependents(self.text, kind, name))
        choices = (("keep", "leave everything as it is"), ("take out", f"take out {name}; u brings it back"))
        chosen = await self.app.push_screen_wait(Choose(f"Take out {name}? {told}", choices))
        return chosen == "take out" and await self._make(Delete(kind, name), "")

    async def _ask(self, title: str, options: list[Option], at: str) -> str | None:
        return await self.app.push_screen_wait(Pick(title, options, at))

    async def _make(self, change: Change, marked: str) -> bool:
        """Make a change; a refusal is told. Whether it was made."""
        why = self.app.change_or_why(change, marked)
        if why:
            await self.app.push_screen_wait(Choose(f"Not done. {why}", (("back", "the job is as it was"),)))
        return not why


def _named(item: Any) -> str:
    """The name in an item of a list."""
    if isinstance(item, Mapping):
        return str(item.get("id"))
    return parse_link(item).task if isinstance(item, str) else str(item)


def _depends(found: list[Use]) -> str:
    """What depends on a table, in a sentence."""
    if not found:
        return "Nothing depends on it."
    names = list(dict.fromkeys(str(use) for use in found))
    more = f" and {len(names) - 8} more" if len(names) > 8 else ""
    return f"{', '.join(names[:8])}{more} name{'s' if len(names) == 1 else ''} it, and would no longer."
