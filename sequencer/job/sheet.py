"""A job file's text with its tables to be changed one by one; what it says is not its business."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from sequencer.errors import Fault, JobError
from sequencer.job.layout import KINDS, SINGLE, place, rank
from sequencer.job.pen import ERRORS, changed, key_text, written
from sequencer.job.segments import Field, Path, Segment, cut
from sequencer.job.wording import listing, shown

BY_HAND = "change it in the file itself"
_RULE = re.compile(r"^\s*#.*[-=*#~]{4}", re.MULTILINE)
_KEY = re.compile(r"\s*(\"[^\"]*\"|'[^']*'|[^\s=.]+)")


class Sheet:
    """The text as segments. Tables are named by kind and position; raises JobError where a layout is in the way."""

    def __init__(self, text: str) -> None:
        self._segments = cut(text)
        self.line_end = "\r\n" if "\r\n" in text else "\n"

    @property
    def text(self) -> str:
        """The text as it is now."""
        return "".join(segment.text for segment in self._segments)

    def stands(self, path: Path) -> bool:
        """Whether any table of that path stands in the text."""
        return any(segment.path == path for segment in self._segments)

    # -- whole tables ---------------------------------------------------------------------------------------

    def written_anew(self, kind: str, table: dict[str, Any]) -> list[Segment]:
        """The segment of a new table."""
        head = f"[{kind}]" if kind in SINGLE else f"[[{kind}]]"
        keys = sorted(table, key=lambda key: rank(kind, key))
        lines = [head, *(f"{key_text(key)} = {written(table[key])}" for key in keys)]
        body = "".join(line + self.line_end for line in lines[1:])
        return [Segment(tuple(kind.split(".")), kind not in SINGLE, "", head + self.line_end, body, "")]

    def copied(self, kind: str, index: int) -> list[Segment]:
        """Copies of the segments of a table, without the comments around it."""
        first, last = self._group(kind, index)
        segments = [replace(segment) for segment in self._segments[first:last]]
        segments[0].lead, segments[-1].tail = "", ""
        return segments

    def cut_groups(self, text: str) -> dict[str, list[list[Segment]]]:
        """The tables of another text by kind, each as its segments; what stands above them leads the first task."""
        segments = cut(text.replace("\r\n", "\n").replace("\n", self.line_end))
        heading = segments.pop(0).text.strip()
        groups: dict[str, list[list[Segment]]] = {}
        for segment in segments:
            if segment.many and ".".join(segment.path) in KINDS:
                groups.setdefault(".".join(segment.path), []).append([segment])
            else:
                what = f"the text to add has {listing(['.'.join(segment.path)])}"
                raise JobError([Fault("", what, "only tables in double brackets can be added")])
        if heading and "task" in groups:
            first = groups["task"][0][0]
            first.lead = f"{heading}{self.line_end * 2}{first.lead}"
        return groups

    def insert(self, kind: str, segments: list[Segment], after: int | None) -> None:
        """Put a table after the one at position `after` of its kind, or else where its kind belongs."""
        at = self._group(kind, after)[1] if after is not None else self._place_for(kind)
        before, end = self._segments[at - 1], self.line_end
        if before.text and not before.text.endswith("\n"):
            before.body, before.tail = before.body + before.tail + end, ""
        if not segments[-1].tail.strip():
            segments[-1].tail = ""
        # A blank line before the new table; what stood after the old one now stands after the new.
        segments[-1].tail += before.tail if before.text else end
        if before.text:
            before.tail = end
        self._segments[at:at] = segments

    def remove(self, kind: str, index: int) -> None:
        """Take a table out with the comments glued to it; comments that stand on their own stay."""
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
            before.tail = before.tail.rstrip() + self.line_end if before.tail.strip() else ""

    def _place_for(self, kind: str) -> int:
        """Where the first table of a kind goes: after the last of the kinds that stand before it in a job file."""
        kinds = list(KINDS)
        before = kinds[: kinds.index(kind)]
        at = [i for i, segment in enumerate(self._segments) if _kind_of(segment.path) in before]
        return at[-1] + 1 if at else 1

    def _group(self, kind: str, index: int) -> tuple[int, int]:
        """The segments of a table: its own, and those of tables within it."""
        path = tuple(kind.split("."))
        firsts = [i for i, s in enumerate(self._segments) if s.path == path and s.many == (kind not in SINGLE)]
        if index >= len(firsts):
            what = "it stands within another table or a list, and can't be changed from here"
            head = f"[{kind}]" if kind in SINGLE else f"[[{kind}]]"
            raise JobError([Fault(kind, what, f"write it as {head}, its fields below")])
        first = firsts[index]
        if kind in SINGLE:
            return first, first + 1
        end = firsts[index + 1] if index + 1 < len(firsts) else len(self._segments)
        within = [i for i in range(first + 1, end) if self._segments[i].path[: len(path)] == path]
        if within and within[-1] - first != len(within):
            what = "fields of one stand in two places of the file, with other tables between"
            raise JobError([Fault(kind, what, "put them together")])
        return first, first + 1 + len(within)

    # -- fields ---------------------------------------------------------------------------------------------

    def write(self, kind: str, index: int, path: Sequence[str], value: Any) -> None:
        """Set the value at `path` within a table, or take it out where it is None."""
        first, last = self._group(kind, index)
        own, parts = self._segments[first], tuple(path)
        fields = own.fields()
        holder = next((field for field in fields if field.path == parts[: len(field.path)]), None)
        if holder is not None:
            gone = value is None and holder.path == parts
            line = "" if gone else self._changed(own.body[holder.begin : holder.end], list(parts), value)
            own.body = own.body[: holder.begin] + line + own.body[holder.end :]
            return
        if self._is_spread(kind, first, last, parts[0]):
            if not isinstance(value, list):
                self._write_spread(kind, first, last, parts, value)
                return
            self._write_spread(kind, first, last, parts[:1], None)
            own = self._segments[first]
        for part in reversed(parts[1:]):
            value = {part: value}
        line = f"{key_text(parts[0])} = {written(value)}{self.line_end}"
        _insert_line(own, line, _line_place(kind, parts[0], own.fields()), self.line_end)

    def rename_field(self, kind: str, index: int, old: str, new: str) -> None:
        """Give a field another name where it stands."""
        own = self._segments[self._group(kind, index)[0]]
        held = [field for field in own.fields() if field.path[0] == old]
        if len(held) != 1:
            raise JobError([Fault(place(kind, "", old), "it stands in several lines", BY_HAND)])
        begin = held[0].begin
        key = _KEY.match(own.body, begin)
        assert key is not None
        own.body = own.body[: key.start(1)] + key_text(new) + own.body[key.end(1) :]

    def _is_spread(self, kind: str, first: int, last: int, key: str) -> bool:
        """Whether a field stands in dotted lines, or in tables of its own."""
        depth = kind.count(".") + 1
        within = (segment.path[depth : depth + 1] for segment in self._segments[first + 1 : last])
        return any(field.path[0] == key for field in self._segments[first].fields()) or (key,) in within

    def _write_spread(self, kind: str, first: int, last: int, path: Path, value: Any) -> None:
        """Where a field is spread, the whole table is given to the pen."""
        text = "".join(s.text for s in self._segments[first:last])
        where: list[str | int] = [*kind.split("."), *([] if kind in SINGLE else [0])]
        self._segments[first:last] = cut(self._changed(text, [*where, *path], value))[1:]

    def _changed(self, text: str, path: Sequence[str | int], value: Any) -> str:
        try:
            return changed(text, path, value)
        except ERRORS:
            what = "this part of the file is laid out so that it can't be changed from here"
            raise JobError([Fault(shown(str(path[-1])), what, BY_HAND)]) from None


def _kind_of(path: Path) -> str:
    """The kind a table is of, or within; empty before the first table."""
    dotted = ".".join(path[:2])
    return dotted if dotted in KINDS else ".".join(path[:1])


def _line_place(kind: str, key: str, fields: list[Field]) -> int:
    """Where in the body a new field goes: after the last of those that usually stand before it."""
    before = [field.end for field in fields if rank(kind, field.path[0]) <= rank(kind, key)]
    return max(before, default=0)


def _insert_line(segment: Segment, line: str, at: int, line_end: str) -> None:
    above, fields = segment.body[:at], segment.fields()
    first = segment.body[fields[0].begin :] if fields else ""
    indent = first[: len(first) - len(first.lstrip(" \t"))]
    if not above and not segment.head.endswith("\n"):
        segment.head += line_end
    elif above and not above.endswith("\n"):
        above += line_end
    segment.body = above + indent + line + segment.body[at:]
