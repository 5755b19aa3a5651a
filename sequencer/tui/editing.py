"""Editing in the app: cards, new tables, copies, new job files, other jobs, building blocks."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

from textual import on, work

from sequencer.blocks import block_about, block_names, material_names, material_text
from sequencer.errors import SequencerError
from sequencer.job.layout import SINGLE, name_of
from sequencer.job.pen import Value
from sequencer.job.writing import AddItem, AddText, Change, SetField, Several, free_name
from sequencer.starting import begin_job, block_change, copy_job, own_timezone
from sequencer.tui.asking import Say
from sequencer.tui.card_screen import CardScreen, table_of, tables_of
from sequencer.tui.editor import Editor
from sequencer.tui.fields import FIELDS, Field, NotReadError, called, read_value
from sequencer.tui.forms import Option, Pick, Write
from sequencer.tui.keeping import NO_FILE, Keeping
from sequencer.tui.page import Page
from sequencer.tui.text import shown

KINDS = (
    ("task", "task", "something to do, or to wait for"),
    ("material", "material", "a resin, filler, paint: when it may be worked, how it cures"),
    ("zone", "place", "a place on the boat: its shelter, its air"),
    ("crew", "person", "somebody's hands, and when they are here"),
    ("gear", "gear", "a mould, a grinder: something there are only so many of"),
    ("delivery", "delivery", "something that must come first"),
    ("weather.day", "day of weather", "one day by hand"),
    ("weather.normal", "usual weather", "what a month is like past the forecast"),
    ("yard", "yard", "what the stay costs"),
    ("job", "job", "the stay itself: when hauled, how it ends"),
    ("weather", "weather file", "hours of weather from a file"),
)
"""Kinds of tables, what they are called on screen, and about."""
JOBS_FOLDER = Path(__file__).resolve().parent.parent.parent / "jobs"
"""The jobs that come with the tool, where it runs from its own folder."""
FIRST_HOURS = "Mon-Fri 08:00-12:00; Mon-Fri 13:00-17:00"


class Editing(Keeping):
    """An app in which everything of the job can be edited."""

    @property
    def editor(self) -> Editor:
        """What asks for values."""
        return Editor(self)

    def edit_card(self, kind: str, name: str = "") -> None:
        """The card of a table."""
        if self.file is None:
            self.push_screen(Say(NO_FILE))
        elif kind in SINGLE or table_of(self.job_text, kind, name):
            self.tell_together(True)
            self.push_screen(CardScreen(self.editor, kind, name), lambda _: self.tell_together(False))

    def action_edit(self) -> None:
        """The card of the task marked."""
        self.edit_card("task", self.model.marked.partition("/key/")[0])

    @on(Page.Edited)
    def _edited(self, message: Page.Edited) -> None:
        self.edit_card("task", message.row.partition("/key/")[0])

    @work(exclusive=True, group="asking")
    async def action_book(self) -> None:
        """Pick any table of the job, and open its card."""
        kind = await self._kind("what to edit?")
        if not kind:
            return
        if kind in SINGLE:
            self.edit_card(kind)
            return
        found = tables_of(self.job_text, kind)
        options = [Option(name_of(kind, table), called(kind, table)) for table in found]
        options.append(Option("", "new", "one that is not there yet"))
        name = await self.push_screen_wait(Pick(f"which {_word(kind)}?", options))
        if name == "":
            await self._new(kind)
        elif name is not None:
            self.edit_card(kind, name)

    async def _kind(self, title: str, single: bool = True) -> str | None:
        if self.file is None:
            self.push_screen(Say(NO_FILE))
            return None
        options = [Option(kind, word, about) for kind, word, about in KINDS if single or kind not in SINGLE]
        return await self.push_screen_wait(Pick(title, options))

    @work(exclusive=True, group="asking")
    async def action_new(self) -> None:
        """A new table of any kind, a task first."""
        kind = await self._kind("new: what?", single=False)
        if kind:
            await self._new(kind)

    @work(exclusive=True, group="asking")
    async def action_new_task(self) -> None:
        """A new task."""
        if self.file is None:
            self.push_screen(Say(NO_FILE))
        else:
            await self._new("task")

    @work(exclusive=True, group="asking")
    async def action_copy(self) -> None:
        """A copy of the task marked, and its card."""
        name = self.model.marked.partition("/key/")[0]
        if self.file is not None and table_of(self.job_text, "task", name):
            new = await self.editor.copy("task", name)
            if new:
                self.edit_card("task", new)

    async def _new(self, kind: str) -> None:
        """Ask for what a table of that kind can't do without, add it, and open its card."""
        if kind == "material":
            name = await self._new_material()
        elif kind in ("weather.day", "weather.normal"):
            name = await self._new_weather(kind)
        else:
            name = await self._new_titled(kind)
        if name:
            self.edit_card(kind, name)

    async def _new_material(self) -> str:
        options = [
            Option(name, name.replace("-", " "), "usual numbers: your data sheet first") for name in material_names()
        ]
        picked = await self.push_screen_wait(Pick("a material of which kind?", options))
        if picked is None:
            return ""
        taken = [name_of("material", table) for table in tables_of(self.job_text, "material")]
        if picked in taken:
            return await self.editor.copy("material", picked)
        why = self.change_or_why(AddText(material_text(picked), f"material {picked}"))
        return self._told(why) and picked

    async def _new_weather(self, kind: str) -> str:
        day = kind == "weather.day"
        about = (
            "day, low, high, dew point: 2027-04-16, 6, 13.5, 5" if day else "month, low, high, dew point: 4, 4, 12, 5"
        )
        made = ""

        def check(text: str) -> str:
            nonlocal made
            parts = [part.strip() for part in text.split(",")]
            if len(parts) != 4:
                return f"Write four values: {about}."
            try:
                values: list[Value | None] = [read_value(Field("", ""), part) for part in parts]
            except NotReadError as error:
                return str(error)
            names = ("date" if day else "month", "low", "high", "dew")
            table = dict(zip(names, values, strict=True))
            made = name_of(kind, table)
            return self.change_or_why(AddItem(kind, table))

        title = "a day of weather by hand" if day else "usual weather of a month"
        return made if await self.push_screen_wait(Write(title, about, "", check)) is not None else ""

    async def _new_titled(self, kind: str) -> str:
        """Title, then one line more where the kind needs it; the name is made of the title."""
        title = await self.push_screen_wait(Write(f"new {_word(kind)}", "its title", "", _some_words))
        if title is None:
            return ""
        name = free_name(title, [name_of(kind, table) for table in tables_of(self.job_text, kind)])
        values: dict[str, Value | None] = {"id": name, "title": title.strip() if title.strip() != name else None}
        if kind == "task":
            return await self._new_task(values)
        asked = {"crew": ("hours", FIRST_HOURS), "gear": ("count", "1"), "delivery": ("due", "")}.get(kind)
        if asked is None:
            return self._told(self.change_or_why(AddItem(kind, values))) and name
        field = next(field for field in FIELDS[kind] if field.path == asked[0])

        def check(text: str) -> str:
            return self._add(kind, {**values}, field, text)

        done = await self.push_screen_wait(Write(field.words, field.about, asked[1], check))
        return name if done is not None else ""

    def _add(self, kind: str, values: dict[str, Value | None], field: Field, text: str) -> str:
        """Add a table with one more field as typed; why not, else empty."""
        try:
            values[field.path] = read_value(field, text)
        except NotReadError as error:
            return str(error)
        return self.change_or_why(AddItem(kind, values))

    async def _new_task(self, values: dict[str, Value | None]) -> str:
        """Where, how long, and whether the launch waits for it."""
        zones = [Option(name_of("zone", t), called("zone", t)) for t in tables_of(self.job_text, "zone")]
        marked = table_of(self.job_text, "task", self.model.marked)
        if zones:
            zone = await self.push_screen_wait(
                Pick("where on the boat?", [*zones, Option("", "nowhere on her")], str(marked.get("zone", "")))
            )
            if zone is None:
                return ""
            values["zone"] = zone or None
        assert self.file is not None
        finish = self.file.job.job.finish
        waits = [Option("yes", "yes, she waits for it"), Option("no", "no, it may be done later, or is linked later")]
        before = await self.push_screen_wait(Pick("must it be done before she goes back in?", waits))
        if before is None:
            return ""
        work = next(field for field in FIELDS["task"] if field.path == "work")
        name = str(values["id"])

        def check(text: str) -> str:
            try:
                values["work"] = read_value(work, text)
            except NotReadError as error:
                return str(error)
            return self.change_or_why(self._task_change(values, finish if before == "yes" else ""), name)

        done = await self.push_screen_wait(Write("hours at the job", work.about, "1", check))
        return name if done is not None else ""

    def _task_change(self, values: dict[str, Value | None], finish: str) -> Change:
        name = str(values["id"])
        beside = self.model.marked if table_of(self.job_text, "task", self.model.marked) else ""
        added = AddItem("task", values, beside)
        if not finish:
            return added
        after: list[Any] = list(table_of(self.job_text, "task", finish).get("after", []))
        return Several((added, SetField("task", finish, "after", [*after, name])), f"{name} is new, before {finish}")

    def _told(self, why: str) -> str:
        """Tell why something can't be; a word that is true where it could."""
        if why:
            self.push_screen(Say(f"Not done. {why}"))
        return "" if why else "done"

    # -- whole jobs -------------------------------------------------------------------------------------------

    @property
    def folder(self) -> Path:
        """Where jobs are looked for first: beside the one that is open."""
        return self.job_path.parent if self.job_path is not None else Path.cwd()

    def _jobs(self) -> list[Path]:
        """Job files beside this one, and those that come with the tool."""
        folders = dict.fromkeys([self.folder.resolve(), JOBS_FOLDER])
        return [path for folder in folders if folder.is_dir() for path in sorted(folder.glob("*.toml"))]

    @work(exclusive=True, group="asking")
    async def action_open_job(self) -> None:
        """Another job in place of this one."""
        options = [Option(str(path), path.stem, str(path.parent)) for path in self._jobs()]
        picked = await self.push_screen_wait(Pick("which job?", options))
        if picked:
            self.open_job(Path(picked))

    @work(exclusive=True, group="asking")
    async def action_new_job(self) -> None:
        """A new job file: from nothing, from a block of the trade, or a copy of another job; then it is opened."""
        options = [Option("", "from nothing", "one small task, and comments that teach the file")]
        options += [
            Option(f"block {name}", f"from {name.replace('-', ' ')}", block_about(name)) for name in block_names()
        ]
        options += [
            Option(f"copy {path}", f"a copy of {path.stem}", "without what happened to it") for path in self._jobs()
        ]
        source = await self.push_screen_wait(Pick("a new job, from what?", options))
        if source is None:
            return

        def check(text: str) -> str:
            name = text.strip()
            if not name or name.startswith(".") or any(c in name for c in "/\\\0"):
                return "Write a file name, such as my-boat.toml."
            path = self.folder / (name if name.endswith(".toml") else f"{name}.toml")
            try:
                self._begin(path, source)
            except SequencerError as error:
                return f"{shown(path.name)}: " + " ".join(fault.sentence() for fault in error.faults)
            self.open_job(path)
            return ""

        await self.push_screen_wait(Write("name of the new job's file", f"in {self.folder}", "my-boat.toml", check))

    def _begin(self, path: Path, source: str) -> None:
        how, _, what = source.partition(" ")
        if how == "copy":
            copy_job(path, Path(what))
        else:
            begin_job(path, timezone=own_timezone(), hauled=self._today(), blocks=[what] if how == "block" else [])

    def _today(self) -> dt.date:
        return self.clock().date()

    @work(exclusive=True, group="asking")
    async def action_add_block(self) -> None:
        """A building block of the trade added to the job."""
        if self.file is None:
            self.push_screen(Say(NO_FILE))
            return
        options = [Option(name, name, block_about(name)) for name in block_names()]
        picked = await self.push_screen_wait(Pick("add which block?", options))
        if picked:
            self.change(block_change(self.file.job, picked))


def _word(kind: str) -> str:
    return next(word for name, word, _ in KINDS if name == kind)


def _some_words(text: str) -> str:
    return "" if text.strip() else "Write a few words."
