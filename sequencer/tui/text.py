"""Text by the cell: the owner's words shown letter for letter, cut and padded so that columns never shift."""

from __future__ import annotations

from rich.cells import cell_len, get_character_cell_size

from sequencer.job import Job

JOINERS = frozenset("\u200d\ufe0e\ufe0f")
"""Codes that only change how neighbours are drawn; terminals disagree on the width they leave, so they are left out."""

UNITS = frozenset({"h", "min", "°C", "%", "kn"})
"""Units that stay on the line of their number."""


def shown(text: str) -> str:
    """`text` on one line and safe to draw: control and direction codes as escapes, everything else as typed."""
    if text.isascii() and text.isprintable():
        return text
    kept = (c for c in text if c not in JOINERS)
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in kept)


def owner_words(job: Job) -> str:
    """The titles the owner gave, as one text: whose signs are his and stay on plain terminals too."""
    tables = (job.zone, job.task, job.material, job.crew, job.gear, job.delivery)
    return "\n".join((job.job.title, job.job.boat, *(one.title for table in tables for one in table)))


def width_of(text: str) -> int:
    """How many cells `text` takes, counted a letter at a time, as the grids draw it."""
    return len(text) if text.isascii() else sum(get_character_cell_size(c) for c in text)


def cut(text: str, width: int, more: str = "…") -> str:
    """`text` safe to draw and at most `width` cells; where letters are left out it ends in `more`."""
    text = shown(text)
    if width_of(text) <= width:
        return text
    if width <= len(more):
        return more[: max(0, width)]
    room, kept = width - len(more), []
    for letter in text:
        size = get_character_cell_size(letter)
        if size > room:
            break
        kept.append(letter)
        room -= size
    return "".join(kept) + more


def pad(text: str, width: int, more: str = "…") -> str:
    """`text` cut or filled up with blanks to exactly `width` cells."""
    text = cut(text, width, more)
    return text + " " * (width - width_of(text))


def wrap(text: str, width: int, most: int, more: str = "…") -> list[str]:
    """`text` in at most `most` lines of `width` cells, broken at blanks where there are any; the last is cut."""
    words, lines, line = _words(text), [], ""
    for number, word in enumerate(words):
        tried = f"{line} {word}" if line else word
        if width_of(tried) <= width or not line:
            line = tried
            continue
        lines.append(line)
        line = word
        if len(lines) == most - 1:
            line = " ".join(words[number:])
            break
    lines.append(line)
    return [cut(part, width, more) for part in lines[:most]]


def _words(text: str) -> list[str]:
    """The words of `text`, a number and its unit as one: they stay on one line."""
    found: list[str] = []
    for word in shown(text).split(" "):
        if found and word.rstrip(".,;:") in UNITS and found[-1][-1:].isdigit():
            found[-1] += f" {word}"
        else:
            found.append(word)
    return found


__all__ = ["cell_len", "cut", "pad", "shown", "width_of", "wrap"]
