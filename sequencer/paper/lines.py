"""Lines of plain text by the cell: wide letters take two, joined ones none; no word is lost."""

from __future__ import annotations

import re
import unicodedata

_UNITS = re.compile(r"(?<=\d) (?=(?:%|°C|kn|h|min)(?!\w))")
"""The blank between a number and its unit, where no line is broken."""

_HELD = "\u00a0"


def cells(text: str) -> int:
    """How many cells of a terminal or a fixed-width print `text` takes."""
    return sum(_cell(letter) for letter in text)


def _cell(letter: str) -> int:
    if unicodedata.combining(letter) or unicodedata.category(letter) == "Cf":
        return 0
    return 2 if unicodedata.east_asian_width(letter) in "WF" else 1


def folded(text: str, width: int, first: str = "", later: str = "") -> list[str]:
    """`text` broken at blanks into lines of at most `width` cells, led by `first` and then `later`.

    A word longer than a line is cut across lines.
    """
    lines: list[str] = []
    line, empty = first, True
    for word in _UNITS.sub(_HELD, " ".join(text.split())).split(" "):
        gap = "" if empty else " "
        if cells(line) + len(gap) + cells(word) <= width:
            line, empty = line + gap + word, False
            continue
        if not empty:
            lines.append(line)
            line, gap = later, ""
        while cells(line) + cells(word) > width:
            part = _fitting(word, max(1, width - cells(line)))
            lines.append(line + part)
            line, word = later, word[len(part) :]
        line, empty = line + word, not word
    lines = [*lines, line] if line.strip() or not lines else lines
    return [one.replace(_HELD, " ").rstrip() for one in lines]


def _fitting(word: str, room: int) -> str:
    """As many letters of a word as fit in `room` cells, at least one."""
    taken = 1
    while taken < len(word) and cells(word[: taken + 1]) <= room:
        taken += 1
    return word[:taken]
