"""Editing a field that is a list: people, links to tasks, gear. Taken out and put in one at a time."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from sequencer.job.layout import name_of
from sequencer.job.links import DONE, parse_link
from sequencer.job.pen import Value
from sequencer.tui.fields import Field, stages_of
from sequencer.tui.fieldtext import write_value
from sequencer.tui.fieldwords import called, value_at
from sequencer.tui.forms import Option, Pick
from sequencer.tui.lookup import table_of, tables_of

if TYPE_CHECKING:
    from sequencer.tui.editor import Editor

FINISHED = ""
"""The key of the option that leaves the list as it is."""
MOST_UNITS = 50


class Listing:
    """The list in one field of a task."""

    def __init__(self, editor: Editor, task: str, field: Field) -> None:
        self.editor, self.task, self.field = editor, task, field

    @property
    def _text(self) -> str:
        return self.editor.text

    async def edit(self) -> None:
        """Take some out and put some in, each saved at once, until left."""
        while True:
            now = list(value_at(self.editor.table("task", self.task), self.field.path) or [])
            title = f"{self.field.words} of {self.task}"
            taken = await self._ask(title, [*self._standing(now), *self._addable(now)])
            if not taken:
                return
            what, key = taken[0], taken[1:]
            if what == "-":
                del now[int(key)]
            else:
                item = await self._item(_named(now[int(key)]) if what == "~" else key)
                if item is None:
                    continue
                if what == "~":
                    now[int(key)] = item
                else:
                    now.append(item)
            await self.editor.set("task", self.task, self.field, now or None)

    def _standing(self, now: list[Any]) -> list[Option]:
        """What may be done with those in the list."""
        options = [Option(FINISHED, "done", f"it is {write_value(now)}" if now else "nothing stands here")]
        for n, item in enumerate(now):
            options.append(Option(f"-{n}", f"take out {write_value(item)}"))
            if self._has_more(_named(item)):
                options.append(Option(f"~{n}", f"change {write_value(item)}", "another stage" if self._links else ""))
        return options

    @property
    def _links(self) -> bool:
        return self.field.shape == "links"

    def _has_more(self, key: str) -> bool:
        """Whether more than its name is said of an item."""
        if self._links:
            return bool(self._stages(key))
        return self.field.shape == "gear" and (bool(self._stages(self.task)) or self._count(key) > 1)

    def _addable(self, now: list[Any]) -> list[Option]:
        """What may be put in; of links, those that would close a loop last."""
        used = {_named(item) for item in now}
        own = {self.task} if self._links else set()
        tables = [(name_of(self.field.of, t), called(self.field.of, t)) for t in tables_of(self._text, self.field.of)]
        found = [(key, words) for key, words in tables if key not in used | own]
        later = self._followers() if self._links else set()
        options = [Option(f"+{key}", words, "add") for key, words in found if key not in later]
        loops = [Option(f"+{key}", words, "comes after this one: a loop") for key, words in found if key in later]
        return options + loops

    def _followers(self) -> set[str]:
        """Every task that comes after this one."""
        after: dict[str, list[str]] = {}
        for table in tables_of(self._text, "task"):
            for link in table.get("after", []):
                after.setdefault(parse_link(link).task, []).append(str(table.get("id")))
        found: set[str] = set()
        queue = [self.task]
        while queue:
            new = [name for name in after.get(queue.pop(), []) if name not in found]
            found.update(new)
            queue += new
        return found

    async def _item(self, key: str) -> Value | None:
        """What is put in: a link to a stage, gear until a stage, or the name alone."""
        if self._links:
            stages = self._stages(key)
            if not stages:
                return key
            options = [Option(DONE, "when the work is done"), *(Option(s, f"at its stage {s}") for s in stages)]
            stage = await self._ask(f"after {key}, from when?", options)
            return None if stage is None else key if stage == DONE else f"{key}@{stage}"
        return await self._gear(key) if self.field.shape == "gear" else key

    async def _gear(self, key: str) -> Value | None:
        stages, count = self._stages(self.task), self._count(key)
        until: str | None = DONE
        if stages:
            options = [Option(DONE, "to the end of the work"), *(Option(s, f"until its stage {s}") for s in stages)]
            until = await self._ask(f"{key} is held", options)
        units: str | None = "1"
        if until is not None and count > 1:
            options = [Option(str(n), f"{n} of {count}") for n in range(1, min(count, MOST_UNITS) + 1)]
            units = await self._ask(f"how many of {key}?", options)
        if until is None or units is None:
            return None
        use: dict[str, Value] = {"id": key}
        use |= {"until": until} if until != DONE else {}
        use |= {"units": int(units)} if units != "1" else {}
        return use if len(use) > 1 else key

    def _count(self, gear: str) -> int:
        count = table_of(self._text, "gear", gear).get("count", 1)
        return count if isinstance(count, int) else 1

    def _stages(self, task: str) -> list[str]:
        """The stages of a task's material."""
        material = table_of(self._text, "task", task).get("material")
        return stages_of(table_of(self._text, "material", str(material))) if material else []

    async def _ask(self, title: str, options: list[Option]) -> str | None:
        return await self.editor.app.push_screen_wait(Pick(title, options))


def _named(item: Any) -> str:
    """The name in an item of a list."""
    if isinstance(item, Mapping):
        return str(item.get("id"))
    return parse_link(item).task if isinstance(item, str) else str(item)
