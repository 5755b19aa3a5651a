"""A job file open for changes: only the lines a change is about are written, all others stay as they are.

Beside the text its plain data are kept and changed alike; :meth:`Book.finished` holds one against the other, so
that no change says anything but what was meant.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from sequencer.errors import Fault, JobError
from sequencer.job.layout import KINDS, SINGLE, check_kind, key_of, name_of, place
from sequencer.job.pen import plain, put_plain, same
from sequencer.job.segments import Segment
from sequencer.job.sheet import BY_HAND, Sheet
from sequencer.job.source import MAX_BYTES, parse_toml
from sequencer.job.wording import listing, nearest, shown

BOM = "\ufeff"


class Book:
    """The text of a job file, and its data as TOML gives them.

    Tables go by kind (such as ``task`` or ``weather.day``) and name (an id, a date as 2027-04-16, a month; empty
    where there is one of the kind). Every method raises JobError for what can't be done.
    """

    def __init__(self, text: str) -> None:
        bare = text.removeprefix(BOM)
        self._mark = text[: len(text) - len(bare)]
        self.data: dict[str, Any] = parse_toml(bare)
        self._sheet = Sheet(bare)

    @property
    def text(self) -> str:
        """The text as it is now."""
        return self._mark + self._sheet.text

    def finished(self) -> str:
        """The text, once it has been read again and held against the data."""
        text = self._sheet.text
        if len((self._mark + text).encode()) > MAX_BYTES:
            raise JobError([Fault("", "the file would be too large for a job", "shorten what goes into it")])
        try:
            read = parse_toml(text)
        except JobError:
            read = {}
        if not same(read, self.data):
            what = "the file is laid out so that this can't be changed without touching other lines"
            raise JobError([Fault("", what, BY_HAND)])
        self.data = read
        return self._mark + text

    # -- looking --------------------------------------------------------------------------------------------

    def tables(self, kind: str) -> list[dict[str, Any]]:
        """The tables of a kind as plain data, not to be changed; at most one of a single kind."""
        check_kind(kind)
        found = _at(self.data, kind.split("."))
        return [table for table in (found if isinstance(found, list) else [found]) if isinstance(table, dict)]

    def names(self, kind: str) -> list[str]:
        """What the tables of a kind go by."""
        return ["" if kind in SINGLE else name_of(kind, table) for table in self.tables(kind)]

    def find(self, kind: str, name: str = "") -> dict[str, Any]:
        """One table as plain data, not to be changed."""
        return self.tables(kind)[self._index(kind, name)]

    def _index(self, kind: str, name: str) -> int:
        names = self.names(kind)
        if name in names:
            return names.index(name)
        near = nearest(name, names) if name else None
        if near is not None:
            hint = f"did you mean {shown(near)}?"
        else:
            hint = f"there {'is' if len(names) == 1 else 'are'} {listing(names)}" if any(names) else "add it first"
        raise JobError([Fault("", f"there is no {place(kind, name)}", hint)])

    # -- changing -------------------------------------------------------------------------------------------

    def put(self, kind: str, name: str, field: str, value: object) -> None:
        """Set a field, or take it out where `value` is None; ``needs.dry`` is a field within a field.

        A table that is missing of a single kind is made. Hours of a stage become ``opens`` where it gets more.
        """
        check_kind(kind)
        path = field.split(".")
        if f"{kind}.{path[0]}" in KINDS:
            raise JobError([Fault(place(kind, name, field), "these are tables of their own", "change one of them")])
        if kind in SINGLE and self._headless(kind):
            if value is None:
                return
            self.add(kind, {})
        self._put(kind, self._index(kind, name), path, value)

    def _put(self, kind: str, index: int, path: list[str], value: object) -> None:
        table = self.tables(kind)[index]
        new = None if value is None else plain(value)
        for depth in range(1, len(path)):
            held = _at(table, path[:depth])
            if held is not None and not isinstance(held, dict):
                if new is None:
                    return
                for part in reversed(path[depth:]):
                    new = {part: new}
                path, new = path[:depth], {"opens": held, **new}
                break
        old = _at(table, path)
        if (new is None and old is None) or (new is not None and old is not None and same(old, new)):
            return
        # A table that would hold nothing goes with its last field.
        while new is None and len(path) > 1 and len(_at(table, path[:-1])) == 1:
            path = path[:-1]
        self._sheet.write(kind, index, path, new)
        put_plain(table, path, new)

    def rename_field(self, kind: str, name: str, old: str, new: str) -> None:
        """Give a field another name, its value and place kept; nothing where it is not there."""
        index = self._index(kind, name)
        table = self.tables(kind)[index]
        if old not in table:
            return
        if new in table:
            what = f"there is a {shown(new)} already"
            raise JobError([Fault(place(kind, name, old), what, "take another name")])
        self._sheet.rename_field(kind, index, old, new)
        table[new] = table.pop(old)

    def add(self, kind: str, values: Mapping[str, object], beside: str = "") -> None:
        """A new table, after the one named `beside`, else after the last of its kind, else where its kind belongs."""
        check_kind(kind)
        table = {key: plain(value) for key, value in values.items() if value is not None}
        self._add(kind, table, self._sheet.written_anew(kind, table), beside)

    def copy(self, kind: str, name: str, new: str, without: Sequence[str] = ()) -> None:
        """A copy of a table under a new name, right after it, comments among its fields included."""
        index = self._index(kind, name)
        self._add(kind, copy.deepcopy(self.tables(kind)[index]), self._sheet.copied(kind, index), name)
        for field in without:
            self._put(kind, index + 1, [field], None)
        self._put(kind, index + 1, [key_of(kind)], new)

    def add_text(self, text: str) -> None:
        """All tables of a TOML text, each after the last of its kind; comments above the first go to its tasks."""
        data = parse_toml(text.replace("\r\n", "\n"))
        for kind, groups in self._sheet.cut_groups(text).items():
            listed = _at(data, kind.split("."))
            for table, segments in zip(listed, groups, strict=True):
                self._add(kind, table, segments, "")

    def remove(self, kind: str, name: str) -> None:
        """Take a table out with the comments glued to it; comments that stand on their own stay."""
        index = self._index(kind, name)
        if kind in SINGLE and any(
            isinstance(value, list) and f"{kind}.{key}" in KINDS for key, value in (self.find(kind).items())
        ):
            raise JobError([Fault(kind, "it has days or months in it", "take those out first")])
        self._sheet.remove(kind, index)
        if kind in SINGLE:
            del self.data[kind]
        else:
            self._listed(kind).pop(index)
            self._forget_empty(kind)

    def _listed(self, kind: str) -> list[Any]:
        """The list of plain tables of a kind, made where it is missing."""
        held: Any = self.data
        *outer, last = kind.split(".")
        for part in outer:
            held = held.setdefault(part, {})
        listed: list[Any] = held.setdefault(last, [])
        return listed

    def _forget_empty(self, kind: str) -> None:
        """Take out of the data what holds nothing any more and does not stand in the text either."""
        path = kind.split(".")
        while path and not _at(self.data, path) and not self._sheet.stands(tuple(path)):
            put_plain(self.data, path, None)
            path.pop()

    def _headless(self, kind: str) -> bool:
        """Whether a single kind has no table of its own, though tables within it may be there."""
        within = self.data.get(kind, {})
        stands = self._sheet.stands
        return not stands((kind,)) and isinstance(within, dict) and all(stands((kind, key)) for key in within)

    def _add(self, kind: str, table: dict[str, Any], segments: list[Segment], beside: str) -> None:
        if kind in SINGLE:
            self._sheet.insert(kind, segments, None)
            self.data.setdefault(kind, {}).update(table)
            return
        after = self._index(kind, beside) if beside else len(self.tables(kind)) - 1
        self._sheet.insert(kind, segments, after if after >= 0 else None)
        self._listed(kind).insert(after + 1, table)


def _at(table: Any, path: Sequence[str]) -> Any:
    """The value at a path, None where there is none."""
    for part in path:
        table = table.get(part) if isinstance(table, dict) else None
    return table
