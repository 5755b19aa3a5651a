"""A TOML text cut into its tables and their fields, so that a change touches only the lines it is about.

The text must be sound TOML: this tells where things stand, never whether they are right. Joined again, the
segments are the text, letter for letter.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

Path = tuple[str, ...]
"""A key, its parts between dots."""

_TOKEN = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})'
    r"|'''.*?'''(?:'{0,2})"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'"
    r"|\#[^\n]*"
    r"|[\[\]{}\n]"
    r"|[^\"'\#\[\]{}\n]+",
    re.DOTALL,
)
_KEY = re.compile(r"""(?:"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|[^=#"'\n])+""")
_BARE = re.compile(r"\[\[?\s*([A-Za-z0-9_-]+(?:\.[A-Za-z0-9_-]+)*)\s*\]")


@dataclass
class Segment:
    """One table as it stands: what is before the first table has the empty path.

    path: its name; many: whether in double brackets. lead: comment lines glued to its head; head: the line in
    brackets; body: its fields, with the comments among them and right below; tail: blank lines and what comments
    come after one.
    """

    path: Path
    many: bool
    lead: str
    head: str
    body: str
    tail: str

    @property
    def text(self) -> str:
        """All of it."""
        return self.lead + self.head + self.body + self.tail

    def fields(self) -> list[Field]:
        """Its fields in order."""
        return [
            Field(body_path(self.body[begin:end]), begin, end)
            for begin, end in _statements(self.body)
            if _is_field(self.body, begin)
        ]


@dataclass(frozen=True)
class Field:
    """A field within a body: its key, and where its lines begin and end, a comment behind it included."""

    path: Path
    begin: int
    end: int


def cut(text: str) -> list[Segment]:
    """The segments of a text; the first is what stands before any table."""
    heads = [(begin, end) for begin, end in _statements(text) if text[begin:end].lstrip(" \t").startswith("[")]
    segments = []
    begin, lead_end, head_end, path, many = 0, 0, 0, Path(), False
    for at, end in [*heads, (len(text), len(text))]:
        until = _lead_begin(text, at, head_end) if at < len(text) else at
        rest = text[head_end:until]
        body = _body_end(rest)
        segments.append(Segment(path, many, text[begin:lead_end], text[lead_end:head_end], rest[:body], rest[body:]))
        begin, lead_end, head_end = until, at, end
        if at < len(text):
            path, many = _head_path(text[at:end])
    return segments


def body_path(statement: str) -> Path:
    """The key of a field."""
    found = _KEY.match(statement)
    assert found is not None
    return _path_of(found[0].strip())


def _head_path(head: str) -> tuple[Path, bool]:
    stripped = head.strip()
    many = stripped.startswith("[[")
    if (bare := _BARE.match(stripped)) is not None:
        return tuple(bare[1].split(".")), many
    return _path_of(stripped), many


@lru_cache(1000)
def _path_of(key: str) -> Path:
    """The parts of a key, or of a table's head."""
    found: object = tomllib.loads(key if key.startswith("[") else f"{key} = 0")
    parts = []
    while isinstance(found, dict | list) and found:
        if isinstance(found, list):
            found = found[0]
            continue
        part, found = next(iter(found.items()))
        parts.append(part)
    return tuple(parts)


def _statements(text: str) -> Iterator[tuple[int, int]]:
    """The spans of lines that belong together: a field over all its lines, a head, a comment, a blank line."""
    begin, depth = 0, 0
    for token in _TOKEN.finditer(text):
        mark = token[0]
        if mark in "[{":
            depth += 1
        elif mark in "]}":
            depth -= 1
        elif mark == "\n" and depth == 0:
            yield begin, token.end()
            begin = token.end()
    if begin < len(text):
        yield begin, len(text)


def _is_field(text: str, begin: int) -> bool:
    """Whether a statement is neither blank nor a comment."""
    first = text[begin:].lstrip(" \t\r")[:1]
    return first not in ("", "\n", "#")


def _lead_begin(text: str, head: int, floor: int) -> int:
    """Where the comment lines right above a head begin, not before `floor`."""
    begin = head
    while begin > floor:
        line = text.rfind("\n", floor, begin - 1) + 1 if begin - 1 > floor else floor
        line = max(line, floor)
        if not text[line:begin].strip().startswith("#"):
            break
        begin = line
    return begin


def _body_end(text: str) -> int:
    """Where the fields end: comments right below the last one belong to it."""
    last, open_end = 0, True
    for begin, end in _statements(text):
        if _is_field(text, begin):
            last, open_end = end, True
        elif text[begin:end].strip() and open_end:
            last = end
        else:
            open_end = False
    return last
