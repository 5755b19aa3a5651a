"""A job file's text open for changes: only the lines a change is about are written, all others stay as they are.

Beside the text its plain data are kept and changed alike; :meth:`Book.finished` holds one against the other, so
that no change says anything but what was meant.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping, Sequence
from typing import Any

from sequencer.errors import Fault, JobError
from sequencer.job.layout import KINDS, SINGLE, check_kind, key_of, name_of, place, rank
from sequencer.job.pen import ERRORS, changed, key_text, plain, put_plain, same, written
from sequencer.job.segments import Field, Path, Segment, cut
from sequencer.job.source import parse_toml
from sequencer.job.wording import listing, nearest, shown

_RULE = re.compile(r"^\s*#.*[-=*#~]{4}", re.MULTILINE)
BY_HAND = "change it in the file itself"


class Book:
    """The text of a job file, and its data as TOML gives them. Every method raises JobError for what can't be done."""

    def __init__(self, text: str) -> None:
        self._mark = text[: len(text) - len(text.removeprefix("\ufeff"))]
        body = text.removeprefix("\ufeff")
        self.data: dict[str, Any] = parse_toml(body)
        self._segments = cut(body)
        self._line_end = "\r\n" if "\r\n" in body else "\n"

    @property
    def text(self) -> str:
        """The text as it is now."""
        return self._mark + "".join(segment.text for segment in self._segments)

    def finished(self) -> str:
        """The text, once it has been held against the data."""
        text = self.text
        try:
            sound = same(parse_toml(text.removeprefix("\ufeff")), self.data)
        except JobError:
            sound = False
        if not sound:
            what = "the file is laid out so that this can't be changed without touching other lines"
            raise JobError([Fault("", what, BY_HAND)])
        return text

    # -- looking --------------------------------------------------------------------------------------------

    def tables(self, kind: str) -> list[dict[str, Any]]:
        """The tables of a kind as plain data, not to be changed; at most one of a single kind."""
        check_kind(kind)
        found: Any = self.data
        for part in kind.split("."):
            found = found.get(part, {}) if isinstance(found, dict) else {}
        listed = found if isinstance(found, list) else [found] if found or kind in self.data else []
        return [table for table in listed if isinstance(table, dict)]

    def names(self, kind: str) -> list[str]:
        """What the tables of a kind go by."""
        return ["" for _ in self.tables(kind)] if kind in SINGLE else [name_of(kind, t) for t in self.tables(kind)]

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
                new = {"opens": held, **_nested(path[depth:], new)}
                path = path[:depth]
                break
        old = _at(table, path)
        if (new is None and old is None) or (new is not None and old is not None and same(old, new)):
            return
        while new is None and len(path) > 1 and len(_at(table, path[:-1])) == 1:
            path = path[:-1]
        self._write(kind, index, tuple(path), new)
        put_plain(table, path, new)

    def add(self, kind: str, values: Mapping[str, object], beside: str = "") -> None:
        """A new table, after the one named `beside`, else after the last of its kind, else where its kind belongs."""
        check_kind(kind)
        table = {key: plain(value) for key, value in values.items() if value is not None}
        lines = [f"{key_text(k)} = {written(table[k])}" for k in sorted(table, key=lambda key: rank(kind, key))]
        head = f"[{kind}]" if kind in SINGLE else f"[[{kind}]]"
        body = "".join(f"{line}{self._line_end}" for line in lines)
        segment = Segment(tuple(kind.split(".")), kind not in SINGLE, "", head + self._line_end, body, "")
        self._add(kind, table, [segment], beside)

    def copy(self, kind: str, name: str, new: str, without: Sequence[str] = ()) -> None:
        """A copy of a table under a new name, right after it, comments among its fields included."""
        index = self._index(kind, name)
        first, last = self._group(kind, index)
        segments = [copy.copy(segment) for segment in self._segments[first:last]]
        segments[0].lead, segments[-1].tail = "", ""
        self._add(kind, copy.deepcopy(self.tables(kind)[index]), segments, name)
        for field in without:
            self._put(kind, index + 1, [field], None)
        self._put(kind, index + 1, [key_of(kind)], new)

    def add_text(self, text: str) -> None:
        """All tables of a TOML text, each after the last of its kind; comments before the first go before its tasks."""
        unix = text.replace("\r\n", "\n")
        data, segments = parse_toml(unix), cut(unix.replace("\n", self._line_end))
        heading = segments.pop(0).text.strip()
        for kind in KINDS:
            path = tuple(kind.split("."))
            for table in _plain_tables(data, path):
                group = [segments.pop(next(i for i, s in enumerate(segments) if s.path == path and s.many))]
                if heading and kind == "task":
                    group[0].lead = f"{heading}{self._line_end * 2}{group[0].lead}"
                    heading = ""
                self._add(kind, table, group, "")
        if segments:
            raise JobError(
                [Fault("", f"the text has {listing('.'.join(s.path) for s in segments)}", "add only tables")]
            )

    def remove(self, kind: str, name: str) -> None:
        """Take a table out, with the comments glued to it; comments that stand on their own stay."""
        index = self._index(kind, name)
        first, last = self._group(kind, index)
        kept = "".join(s.lead for s in self._segments[first:last] if _RULE.search(s.lead))
        tail = kept + self._segments[last - 1].tail
        del self._segments[first:last]
        before = self._segments[first - 1]
        if tail.strip() and not before.tail.strip() and (before.tail or not before.text):
            tail = tail.lstrip("\r\n")
        if tail.strip():
            before.tail += tail
        elif first == len(self._segments):
            # The last table of the file: no blank line is left at its end.
            before.tail = before.tail.rstrip() + self._line_end if before.tail.strip() else ""
        self._forget(kind, index)

    # -- the text -------------------------------------------------------------------------------------------

    def _listed(self, kind: str) -> list[Any]:
        """The list of plain tables of a kind, made where it is missing."""
        held: Any = self.data
        *outer, last = kind.split(".")
        for part in outer:
            held = held.setdefault(part, {})
        listed: list[Any] = held.setdefault(last, [])
        return listed

    def _forget(self, kind: str, index: int) -> None:
        """Take a table out of the data, with what holds nothing then."""
        self._listed(kind).pop(index)
        path = kind.split(".")
        while path and not _at(self.data, path) and not any(s.path == tuple(path) for s in self._segments):
            put_plain(self.data, path, None)
            path.pop()

    def _headless(self, kind: str) -> bool:
        """Whether a single kind has no table of its own, though tables within it may be there."""
        within = self.data.get(kind, {})
        heads = {s.path for s in self._segments}
        return (kind,) not in heads and isinstance(within, dict) and all((kind, key) in heads for key in within)

    def _add(self, kind: str, table: dict[str, Any], segments: list[Segment], beside: str) -> None:
        if kind in SINGLE:
            at = self._place_for(kind)
            self.data.setdefault(kind, {}).update(table)
        else:
            number = len(self.tables(kind))
            index = self._index(kind, beside) if beside else number - 1
            at = self._group(kind, index)[1] if number else self._place_for(kind)
            self._listed(kind).insert(index + 1, table)
        before, end = self._segments[at - 1], self._line_end
        if before.text and not before.text.endswith("\n"):
            before.body, before.tail = before.body + before.tail + end, ""
        if not segments[-1].tail.strip():
            segments[-1].tail = ""
        # A blank line before the new table; what stood after the old one now stands after the new.
        segments[-1].tail += before.tail if before.text else end
        if before.text:
            before.tail = end
        self._segments[at:at] = segments

    def _place_for(self, kind: str) -> int:
        """Where the first table of a kind goes: after the last of the kinds that stand before it in a job file."""
        kinds = list(KINDS)
        before = kinds[: kinds.index(kind)]
        at = [i for i, segment in enumerate(self._segments) if _kind_of(segment.path) in before]
        return at[-1] + 1 if at else 1

    def _group(self, kind: str, index: int) -> tuple[int, int]:
        """The segments of a table: its own, and those of tables within it."""
        path = tuple(kind.split("."))
        if kind in SINGLE:
            own = [i for i, s in enumerate(self._segments) if s.path == path and not s.many]
            if len(own) == 1:
                return own[0], own[0] + 1
        firsts = [i for i, s in enumerate(self._segments) if s.path == path and s.many]
        if kind in SINGLE or len(firsts) != len(self.tables(kind)):
            what = "it stands within another table or a list, and can't be changed from here"
            head = f"[{kind}]" if kind in SINGLE else f"[[{kind}]]"
            raise JobError([Fault(kind, what, f"write it as {head}, its fields below")])
        first = firsts[index]
        end = firsts[index + 1] if index + 1 < len(firsts) else len(self._segments)
        within = [i for i in range(first + 1, end) if self._segments[i].path[: len(path)] == path]
        if within and within[-1] - first != len(within):
            what = "its fields stand in two places of the file, with other tables between"
            raise JobError([Fault(place(kind, self.names(kind)[index]), what, "put them together")])
        return first, first + 1 + len(within)

    def _write(self, kind: str, index: int, path: Path, value: Any) -> None:
        """Set or take out the value at `path` in the text."""
        first, last = self._group(kind, index)
        own = self._segments[first]
        fields = own.fields()
        holder = next((field for field in fields if field.path == path[: len(field.path)]), None)
        if holder is not None:
            old = own.body[holder.begin : holder.end]
            gone = value is None and holder.path == path
            new = "" if gone else self._changed(old, list(path), value)
            own.body = own.body[: holder.begin] + new + own.body[holder.end :]
            return
        spread = any(field.path[0] == path[0] for field in fields)
        spread = spread or any(s.path[kind.count(".") + 1 :][:1] == path[:1] for s in self._segments[first + 1 : last])
        if spread and not isinstance(value, list):
            self._write_spread(kind, first, last, path, value)
            return
        if spread:
            self._write_spread(kind, first, last, path[:1], None)
            own = self._segments[first]
        line = f"{key_text(path[0])} = {written(_nested(path, value)[path[0]])}{self._line_end}"
        _insert_line(own, line, _line_place(kind, path[0], own.fields()), self._line_end)

    def _write_spread(self, kind: str, first: int, last: int, path: Path, value: Any) -> None:
        """Where a field stands in several lines or tables of its own, the whole table is given to the pen."""
        text = "".join(s.text for s in self._segments[first:last])
        where: list[str | int] = [*kind.split(".")]
        if kind not in SINGLE:
            where.append(0)
        self._segments[first:last] = cut(self._changed(text, [*where, *path], value))[1:]

    def _changed(self, text: str, path: list[str | int] | list[str], value: Any) -> str:
        try:
            return changed(text, path, value)
        except ERRORS:
            what = "this part of the file is laid out so that it can't be changed from here"
            raise JobError([Fault(shown(str(path[-1])), what, BY_HAND)]) from None


def _kind_of(path: Path) -> str:
    """The kind a table is of, or within; empty before the first table."""
    dotted = ".".join(path[:2])
    return dotted if dotted in KINDS else ".".join(path[:1])


def _at(table: Any, path: Sequence[str]) -> Any:
    """The value at a path, None where there is none."""
    for part in path:
        table = table.get(part) if isinstance(table, dict) else None
    return table


def _nested(path: Sequence[str], value: Any) -> dict[str, Any]:
    """The value within a table for each part of the path."""
    for part in reversed(path):
        value = {part: value}
    nested: dict[str, Any] = value
    return nested


def _plain_tables(data: dict[str, Any], path: Path) -> list[dict[str, Any]]:
    found: Any = data
    for part in path:
        found = found.get(part, {}) if isinstance(found, dict) else {}
    return found if isinstance(found, list) else []


def _line_place(kind: str, key: str, fields: list[Field]) -> int:
    """Where in the body a new field goes: after the last of those that usually stand before it."""
    before = [field.end for field in fields if rank(kind, field.path[0]) <= rank(kind, key)]
    return max(before, default=0)


def _insert_line(segment: Segment, line: str, at: int, line_end: str) -> None:
    above = segment.body[:at]
    if not above and not segment.head.endswith("\n"):
        segment.head += line_end
    elif above and not above.endswith("\n"):
        above += line_end
    fields = segment.fields()
    first = segment.body[fields[0].begin :] if fields else ""
    indent = first[: len(first) - len(first.lstrip(" \t"))]
    segment.body = above + indent + line + segment.body[at:]
