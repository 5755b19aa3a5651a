"""Editing one table of the job: what is asked for each shape of field, and the change that comes of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Protocol, TypeVar
from zoneinfo import available_timezones

from textual.screen import Screen

from sequencer.errors import SequencerError
from sequencer.job.layout import key_of, name_of
from sequencer.job.pen import Value
from sequencer.job.references import Use
from sequencer.job.writing import Change, CopyItem, Delete, dependents, free_name
from sequencer.tui.asking import Choose
from sequencer.tui.changing import field_change, new_stage_change, stage_name_change
from sequencer.tui.fields import Field
from sequencer.tui.fieldtext import CODED_ABOUT, NotReadError, code, decode, is_coded, read_value
from sequencer.tui.fieldwords import called, text_at
from sequencer.tui.forms import Option, Pick, Write
from sequencer.tui.listing import Listing
from sequencer.tui.lookup import table_of, tables_of

T = TypeVar("T")
HOURLY = (".csv", ".epw", ".json")
"""Files that may hold hours of weather."""
NOTHING, OTHER = "", "+"
"""Keys of options: take it out; write another."""


class Owner(Protocol):
    """What the editor asks of the app."""

    @property
    def job_text(self) -> str:
        """What the job file holds."""

    @property
    def folder(self) -> Path:
        """Where the job file lies."""

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

    def table(self, kind: str, name: str) -> dict[str, Any]:
        """One table; empty where there is none."""
        return table_of(self.text, kind, name)

    async def edit(self, kind: str, name: str, field: Field) -> str:
        """Edit a field; what the table goes by afterwards."""
        if field.shape in ("one", "choice", "flag", "zone-name"):
            await self._pick(kind, name, field)
        elif field.shape in ("many", "links", "gear"):
            await Listing(self, name, field).edit()
        elif field.shape == "known":
            await self._pick_known(kind, name, field)
        else:
            return await self._write(kind, name, field)
        return name

    # -- shapes -----------------------------------------------------------------------------------------------

    async def _write(self, kind: str, name: str, field: Field) -> str:
        """A line of text; a fault is told in the form, and nothing typed is lost."""
        table = self.table(kind, name)
        before = text_at(table, field)
        coded = field.shape in ("text", "known") and is_coded(before)
        begin = code(before) if coded else before
        new_name = name

        def check(text: str) -> str:
            nonlocal new_name
            if text == begin:
                return ""
            try:
                # The table as it is by now: another program may have changed it while the form was open.
                now = self.table(kind, name)
                change, new_name = self._written(kind, name, field, now, decode(text) if coded else text)
            except NotReadError as error:
                return str(error)
            return self.app.change_or_why(change, new_name if kind == "task" else "")

        may_go = field.unset or (field.shape in ("text", "known", "stage-name") and field.path != key_of(kind))
        about = [f"{field.about}." if field.about else "", "Empty takes it out." if may_go else ""]
        about += [CODED_ABOUT] if coded else []
        words = field.words.strip()
        form = Write(f"{words} of {name}" if name else words, " ".join(filter(None, about)), begin, check)
        taken = await self.app.push_screen_wait(form)
        return name if taken is None else new_name

    def _written(self, kind: str, name: str, field: Field, table: Mapping[str, Any], text: str) -> tuple[Change, str]:
        """The change that `text` asks for, and what the table then goes by. Raises NotReadError."""
        if field.shape == "stage":
            return new_stage_change(name, table, text), name
        if field.shape == "stage-name":
            return stage_name_change(name, field.path, text.strip()), name
        value = read_value(field.shape, text.strip() if field.path == "id" else text)
        if field.path == key_of(kind) and value is None:
            raise NotReadError("It has to be called something.")
        becomes = name_of(kind, {key_of(kind): value}) if field.path == key_of(kind) else name
        return field_change(kind, name, table, field.path, value), becomes

    async def _pick(self, kind: str, name: str, field: Field) -> None:
        if field.shape == "flag":
            options = [Option("yes", "yes"), Option("no", "no")]
        elif field.shape == "zone-name":
            options = [Option(place, place) for place in sorted(available_timezones())]
        elif field.shape == "choice":
            options = [Option(choice, choice) for choice in field.choices]
        else:
            options = [Option(name_of(field.of, t), called(field.of, t)) for t in tables_of(self.text, field.of)]
        if field.path not in ("finish", "timezone"):
            said = "as usual" if field.shape != "one" else "none"
            options.append(Option(NOTHING, said, field.unset if field.unset != said else ""))
        taken = await self._ask(_title(field, name), options, text_at(self.table(kind, name), field))
        if taken is not None:
            become: Value | None = taken == "yes" if field.shape == "flag" else taken
            await self.set(kind, name, field, become if taken != NOTHING else None)

    async def _pick_known(self, kind: str, name: str, field: Field) -> None:
        """One of those in use, none, or another that is then written."""
        known = self._known(kind, name, field)
        options = [
            *known,
            Option(NOTHING, "none", field.unset if field.unset != "none" else ""),
            Option(OTHER, "another", "write it"),
        ]
        taken = await self._ask(_title(field, name), options, text_at(self.table(kind, name), field))
        if taken == OTHER:
            await self._write(kind, name, field)
        elif taken is not None:
            await self.set(kind, name, field, taken or None)

    def _known(self, kind: str, name: str, field: Field) -> list[Option]:
        """What a field may well hold: files beside the job, airs and places, parts named before."""
        if kind == "weather":
            files = sorted(path.name for path in self.app.folder.glob("*.*") if path.suffix.lower() in HOURLY)
            return [Option(file, file) for file in files]
        used = [str(table[field.path]) for table in tables_of(self.text, kind) if table.get(field.path)]
        found = {value: Option(value, value) for value in used if value not in (NOTHING, OTHER)}
        if kind == "zone":
            places = [(name_of(kind, table), called(kind, table)) for table in tables_of(self.text, kind)]
            found |= {key: Option(key, f"with {words}") for key, words in places if key != name}
        return list(found.values())

    # -- whole tables -----------------------------------------------------------------------------------------

    async def copy(self, kind: str, name: str) -> str:
        """Copy a table under a new name; the name, empty where nothing was copied."""
        stem = re.sub(r"-\d+$", "", name)
        new = free_name(stem, [stem, *(name_of(kind, table) for table in tables_of(self.text, kind))])

        def check(text: str) -> str:
            return self.app.change_or_why(CopyItem(kind, name, text.strip()), text.strip() if kind == "task" else "")

        taken = await self.app.push_screen_wait(Write(f"copy of {name}", "its short name", new, check))
        return (taken or "").strip()

    async def delete(self, kind: str, name: str) -> bool:
        """Take a table out, once more asked; whether it is out."""
        told = _depends(dependents(self.text, kind, name))
        choices = (("keep", "leave everything as it is"), ("take out", f"take out {name}; u brings it back"))
        chosen = await self.app.push_screen_wait(Choose(f"Take out {name}? {told}", choices))
        return chosen == "take out" and await self.make(Delete(kind, name), self._beside(kind, name))

    def _beside(self, kind: str, name: str) -> str:
        """The task to stand on once this one is out: the next, else the one before."""
        if kind != "task":
            return ""
        names = [name_of(kind, table) for table in tables_of(self.text, kind)]
        at = names.index(name) if name in names else 0
        return next(iter([*names[at + 1 : at + 2], *names[max(0, at - 1) : at]]), "")

    # -- asking and making ------------------------------------------------------------------------------------

    async def set(self, kind: str, name: str, field: Field, value: Value | None) -> bool:
        """Set a field; a refusal is told. Whether it was set."""
        change = field_change(kind, name, self.table(kind, name), field.path, value)
        return await self.make(change, name if kind == "task" else "")

    async def make(self, change: Change, marked: str) -> bool:
        """Make a change; a refusal is told. Whether it was made."""
        why = self.app.change_or_why(change, marked)
        if why:
            await self.app.push_screen_wait(Choose(f"Not done. {why}", (("back", "the job is as it was"),)))
        return not why

    async def _ask(self, title: str, options: list[Option], at: str | None = None) -> str | None:
        return await self.app.push_screen_wait(Pick(title, options, at))


def faults_told(error: SequencerError) -> str:
    """What is wrong, a sentence after the other."""
    return " ".join(fault.sentence() for fault in error.faults)


def _title(field: Field, name: str) -> str:
    return f"{field.words.strip()} of {name}" if name else field.words.strip()


def _depends(found: list[Use]) -> str:
    """What depends on a table, in a sentence."""
    if not found:
        return "Nothing depends on it."
    names = list(dict.fromkeys(str(use) for use in found))
    more = f" and {len(names) - 8} more" if len(names) > 8 else ""
    one = len(names) == 1
    return f"{', '.join(names[:8])}{more} name{'s' if one else ''} it, and would no longer."
