"""New tables of a job: asked for what they can't do without, added, and named for their card to open."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from sequencer.blocks import material_names, material_text
from sequencer.job.layout import name_of
from sequencer.job.pen import Value
from sequencer.job.writing import AddItem, AddText, Change, SetField, Several, free_name
from sequencer.tui.editor import Editor, Owner
from sequencer.tui.fields import FIELDS, word_of
from sequencer.tui.fieldtext import HOURS_ABOUT, NotReadError, read_value
from sequencer.tui.fieldwords import called
from sequencer.tui.forms import Option, Pick, Write
from sequencer.tui.lookup import table_of, tables_of

NEEDED = {"crew": ("hours", HOURS_ABOUT), "gear": ("count", "1"), "delivery": ("due", "")}
"""The one field more that a kind is asked for, and what stands in the form at first."""
SKY = {
    "weather.day": ("date", "a day of weather by hand", "day, low, high, dew point: 2027-04-16, 6, 13.5, 5"),
    "weather.normal": ("month", "usual weather of a month", "month, low, high, dew point: 4, 4, 12, 5"),
}


class Creating:
    """Asks for new tables. here: the task stood on, beside which a new one comes; finish: what ends the stay."""

    def __init__(self, app: Owner, here: str, finish: str) -> None:
        self.app, self.here, self.finish = app, here, finish

    async def new(self, kind: str) -> str:
        """Ask for a new table of a kind; what it goes by, empty where nothing came of it."""
        if kind == "material":
            return await self._material()
        return await (self._sky(kind) if kind in SKY else self._titled(kind))

    def _names(self, kind: str) -> list[str]:
        return [name_of(kind, table) for table in tables_of(self.app.job_text, kind)]

    async def _material(self) -> str:
        options = [
            Option(name, name.replace("-", " "), "usual numbers: your data sheet first") for name in material_names()
        ]
        picked = await self.app.push_screen_wait(Pick("a material of which kind?", options))
        if picked is None:
            return ""
        editor = Editor(self.app)
        if picked in self._names("material"):
            return await editor.copy("material", picked)
        return picked if await editor.make(AddText(material_text(picked), f"material {picked}"), "") else ""

    async def _sky(self, kind: str) -> str:
        key, title, about = SKY[kind]
        made = ""

        def check(text: str) -> str:
            nonlocal made
            parts = [part.strip() for part in text.split(",")]
            if len(parts) != 4:
                return f"Write four values: {about}."
            try:
                values: list[Value | None] = [read_value("value", part) for part in parts]
            except NotReadError as error:
                return str(error)
            table = dict(zip((key, "low", "high", "dew"), values, strict=True))
            made = name_of(kind, table)
            return self.app.change_or_why(AddItem(kind, table))

        return made if await self.app.push_screen_wait(Write(title, about, "", check)) is not None else ""

    async def _titled(self, kind: str) -> str:
        """Title, then one line more where the kind needs it; the name is made of the title."""
        title = await self.app.push_screen_wait(Write(f"new {word_of(kind)}", "its title", "", _some_words))
        if title is None:
            return ""
        name = free_name(title, self._names(kind))
        values: dict[str, Value | None] = {"id": name, "title": title.strip() if title.strip() != name else None}
        if kind == "task":
            return await self._task(values)
        if kind not in NEEDED:
            return name if await Editor(self.app).make(AddItem(kind, values), "") else ""
        path, begin = NEEDED[kind]
        return await self._last(kind, path, begin, values, lambda: AddItem(kind, values))

    async def _task(self, values: dict[str, Value | None]) -> str:
        """Where, whether the launch waits for it, and how long."""
        text = self.app.job_text
        zones = [Option(name_of("zone", t), called("zone", t)) for t in tables_of(text, "zone")]
        beside = table_of(text, "task", self.here)
        if zones:
            zones.append(Option("", "nowhere on her"))
            begin = str(beside.get("zone", "")) if beside else None
            zone = await self.app.push_screen_wait(Pick("where on the boat?", zones, begin))
            if zone is None:
                return ""
            values["zone"] = zone or None
        waits = [Option("yes", "yes, she waits for it"), Option("no", "no, it may be done later, or is linked later")]
        before = await self.app.push_screen_wait(Pick("must it be done before she goes back in?", waits))
        if before is None:
            return ""
        return await self._last("task", "work", "1", values, lambda: self._task_change(values, before == "yes"))

    def _task_change(self, values: dict[str, Value | None], waited_for: bool) -> Change:
        name, text = str(values["id"]), self.app.job_text
        added = AddItem("task", values, self.here)
        if not waited_for:
            return added
        after: list[Any] = list(table_of(text, "task", self.finish).get("after", []))
        linked = SetField("task", self.finish, "after", [*after, name])
        return Several((added, linked), f"{name} is new, before {self.finish}")

    async def _last(
        self, kind: str, path: str, begin: str, values: dict[str, Value | None], change: Callable[[], Change]
    ) -> str:
        """The last field of a table, written; with it the table is added. What it goes by, empty for nothing."""
        field = next(field for field in FIELDS[kind] if field.path == path)
        name = str(values["id"])

        def check(text: str) -> str:
            try:
                values[path] = read_value(field.shape, text)
            except NotReadError as error:
                return str(error)
            return self.app.change_or_why(change(), name if kind == "task" else "")

        words = f"{field.words} of {name}"
        return name if await self.app.push_screen_wait(Write(words, field.about, begin, check)) is not None else ""


def _some_words(text: str) -> str:
    return "" if text.strip() else "Write a few words."
