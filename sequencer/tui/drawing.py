"""What a screen looks like, line by line, before there is a screen: text with roles, no colours yet.

A role is words: a colour role of the theme (``ink``, ``hull``), and any of ``bold``, ``reverse``, ``underline``
and ``dusk`` (the darker ground).
"""

from __future__ import annotations

from dataclasses import dataclass, field

from rich.cells import get_character_cell_size

from sequencer.tui.text import shown, width_of

BLOCKS = "█▒"

Run = tuple[str, str]
"""Text and its role."""


@dataclass
class Line:
    """One line of a drawing: runs from left to right."""

    runs: list[Run] = field(default_factory=list)

    def add(self, text: str, role: str = "ink") -> Line:
        """Put `text` at the end; the line itself comes back."""
        if text:
            self.runs.append((shown(text), role))
        return self

    @property
    def plain(self) -> str:
        """The text alone."""
        return "".join(text for text, _ in self.runs)

    @property
    def width(self) -> int:
        """Cells taken."""
        return sum(width_of(text) for text, _ in self.runs)


def line(text: str = "", role: str = "ink") -> Line:
    """A line of one run."""
    return Line().add(text, role)


class Cells:
    """A line of fixed width drawn cell by cell, in any order; wide letters take two cells and never shift others."""

    def __init__(self, width: int, role: str = "ink") -> None:
        self.width = max(0, width)
        self._text = [" "] * self.width
        self._role = [role] * self.width

    def put(self, x: int, text: str, role: str | None = None) -> int:
        """Write `text` from cell `x` on, clipped at both edges; returns the cell after it. role None keeps the old."""
        for letter in text:
            size = get_character_cell_size(letter)
            if size == 0:
                # A combining letter belongs to the cell before it.
                if 0 < x <= self.width and self._text[x - 1]:
                    self._text[x - 1] += letter
                continue
            if x >= 0 and x + size <= self.width:
                self._place(x, letter, size, role)
            x += size
        return x

    def _place(self, x: int, letter: str, size: int, role: str | None) -> None:
        for at in range(x, x + size):
            self._clear(at)
            if role is not None:
                self._role[at] = role
        self._text[x] = letter
        for at in range(x + 1, x + size):
            self._text[at] = ""

    def _clear(self, at: int) -> None:
        """Blank a cell, and the other half of a wide letter that stood in it."""
        if self._text[at] == "" and at > 0:
            self._text[at - 1] = " "
        if at + 1 < self.width and self._text[at + 1] == "":
            self._text[at + 1] = " "
        self._text[at] = " "

    def tint(self, begin: int, end: int, role: str) -> None:
        """Add the words of `role` to the cells [begin, end)."""
        for at in range(max(0, begin), min(self.width, end)):
            self._role[at] = f"{self._role[at]} {role}"

    def stand(self, at: int, here: str) -> None:
        """Show that one stands on cell `at`: reversed; on a full block, which reversed shows nothing, by `here`."""
        if 0 <= at < self.width:
            if self._text[at] in BLOCKS:
                self._text[at] = here
            self.tint(at, at + 1, "reverse ink bold")

    def free(self, begin: int, end: int) -> bool:
        """Whether the cells [begin, end) are blank and on the line."""
        return begin >= 0 and end <= self.width and all(t == " " for t in self._text[begin:end])

    def line(self) -> Line:
        """The cells as runs of one role each."""
        found = Line()
        begin = 0
        for at in range(1, self.width + 1):
            if at == self.width or self._role[at] != self._role[begin]:
                found.runs.append(("".join(self._text[begin:at]), self._role[begin]))
                begin = at
        return found
