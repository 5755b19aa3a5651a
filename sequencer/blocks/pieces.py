"""The blocks' texts taken apart: tables of a TOML text with the comments that belong to them, and their ids.

The texts are the tool's own, a field a line; what an owner wrote is never read by these.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files
from typing import Any

KINDS = ("zone", "gear", "delivery", "material", "task")
"""The tables blocks are made of, in the order a job file has them."""

_HEAD = re.compile(r"\[\[(\w+)\]\]\s*\Z")
_QUOTED = re.compile(r'"([^"@]+)(@[^"]*)?"')


@dataclass(frozen=True)
class Piece:
    """One table: its kind, its id, its lines as they stand in the file, without a blank line at the end."""

    kind: str
    id: str
    text: str

    @property
    def data(self) -> dict[str, Any]:
        """Its fields."""
        table: dict[str, Any] = tomllib.loads(self.text)[self.kind][0]
        return table

    def names(self) -> dict[str, list[str]]:
        """By kind the ids it names in its fields, its own not among them."""
        data = self.data
        named: dict[str, list[str]] = {k: [data[k]] for k in ("zone", "delivery", "material") if k in data}
        used = [use if isinstance(use, str) else use["id"] for use in data.get("gear", ())]
        return {**named, "gear": used} if self.kind == "task" else {}

    def renamed(self, new: Mapping[str, Mapping[str, str]]) -> Piece:
        """The same with other ids. new: by kind the new id of each old one."""
        fields = {"id": self.kind, "after": "task"} | {kind: kind for kind in KINDS if kind != "task"}
        lines = []
        for line in self.text.split("\n"):
            kind = fields.get(line.partition(" = ")[0])
            # A stage in quotes has no @ before it and is no id: only known ids change.
            lines.append(line if kind is None else _swap(line, new.get(kind, {}).get))
        return replace(self, id=new.get(self.kind, {}).get(self.id, self.id), text="\n".join(lines))

    def after(self, links: Iterable[str], gone: Iterable[str] = ()) -> Piece:
        """The same task, after `links` too, and no longer after the tasks in `gone`."""
        known: list[str] = self.data.get("after", [])
        kept = [link for link in known if link.partition("@")[0] not in set(gone)]
        wanted = [*kept, *(link for link in links if link not in kept)]
        if wanted == known:
            return self
        lines = [line for line in self.text.split("\n") if not line.startswith("after = [")]
        if wanted:
            lines.append(f"after = [{', '.join(quoted(link) for link in wanted)}]")
        return replace(self, text="\n".join(lines))


def _swap(line: str, new: Callable[[str], str | None]) -> str:
    return _QUOTED.sub(lambda m: f'"{new(m[1]) or m[1]}{m[2] or ""}"', line)


def quoted(text: str) -> str:
    """`text` as a TOML string, whatever is in it."""
    plain = text.encode("utf-8", "replace").decode()
    marks = {'"': '\\"', "\\": "\\\\"}
    return '"' + "".join(marks.get(c, c if c.isprintable() else _escaped(c)) for c in plain) + '"'


def _escaped(letter: str) -> str:
    code = ord(letter)
    return f"\\u{code:04X}" if code < 0x10000 else f"\\U{code:08X}"


def pieces_of(text: str) -> list[Piece]:
    """The tables of a text of blocks; what stands before the first is left out."""
    found: list[tuple[str, list[str]]] = []
    for line in text.split("\n"):
        head = _HEAD.match(line)
        if head:
            found.append((head[1], [line]))
        elif found:
            found[-1][1].append(line)
    pieces = [Piece(kind, "", "\n".join(lines).strip()) for kind, lines in found]
    return [replace(piece, id=piece.data["id"]) for piece in pieces]


@cache
def read_text(name: str) -> str:
    """The text of a file beside this one."""
    return files("sequencer.blocks").joinpath(f"{name}.toml").read_text(encoding="utf-8")


@cache
def stock() -> dict[tuple[str, str], Piece]:
    """Materials, places and gear of all blocks, by kind and id."""
    return {(piece.kind, piece.id): piece for name in ("places", "materials") for piece in pieces_of(read_text(name))}


def stages_of(material: Mapping[str, Any]) -> frozenset[str]:
    """The stages a material of the stock has."""
    fixed = {"id", "title", "note", "apply", "dry_until", "no_cure_below", "temps"}
    return frozenset(material) - fixed
