"""The marks: one sign, one meaning, on every page. Each is one cell wide; plain terminals get ASCII."""

from __future__ import annotations

import os
from dataclasses import dataclass

ASCII_SETTING = "SEQUENCER_ASCII"
"""Set to 1 in the environment for plain marks."""


@dataclass(frozen=True)
class Mark:
    """One mark: its sign, the sign for plain terminals, its role, and what it means in a word and in a sentence."""

    name: str
    sign: str
    plain: str
    role: str
    word: str
    means: str


TABLE = (
    Mark("work", "█", "#", "hull", "work", "Work."),
    Mark("dusty", "▒", "%", "hull", "dusty", "Dusty work."),
    Mark("wet", "~", "~", "resin", "wet", "Wet: keep off rain, dew and dust."),
    Mark("firm", ":", ":", "resin", "firm", "Firm, too early for what comes next."),
    Mark("open", "=", "=", "gate", "may coat", "Open: may be coated, work may go on."),
    Mark("shutting", "!", "!", "bell reverse", "shuts", "Shutting: the last two hours to start."),
    Mark("missed", "x", "x", "bell reverse bold", "missed", "The window is missed: key it first."),
    Mark("keying", "/", "/", "bell", "keying", "Keying a coat that was left too long."),
    Mark("sand", "-", "-", "pencil", "may sand", "Hard enough to sand."),
    Mark("cured", "_", "_", "pencil", "cured", "Cured: may be wetted."),
    Mark("waits", "·", ".", "pencil", "waits", "Waiting, or drying, with somebody on shift."),
    Mark("rain", "¦", ",", "water", "rain", "Rain."),
    Mark("wind", "»", ")", "water", "wind", "Too windy."),
    Mark("cold", "*", "*", "water", "too cold", "Too cold."),
    Mark("warm", "°", "@", "water", "too warm", "Too warm."),
    Mark("damp", "o", "o", "water", "too damp", "Too damp: too near the dew point."),
    Mark("delivery", "+", "+", "ink", "delivery", "Something is delivered."),
    Mark("holds", "═", '"', "ink bold", "holds her", "Holds the launch."),
    Mark("path", "─", "'", "ink bold", "same path", "The same path, with a day's play or more."),
    Mark("launch", "▼", "V", "water bold", "launch", "The launch."),
    Mark("afloat", "≈", "w", "water", "afloat", "Afloat."),
    Mark("now", "▲", "^", "ink bold", "now", "Now."),
    Mark("here", ">", ">", "ink bold", "you", "Where you are."),
)
BY_NAME = {mark.name: mark for mark in TABLE}

LEGEND = ("work", "dusty", "wet", "firm", "open", "shutting", "sand", "cured", "waits", "rain")
"""The marks of the foot, in order; water follows, and on wide screens what holds her."""

_WORDS = {"°": "", "…": "..", "£": "GBP ", "€": "EUR ", "─": "-", "│": "|"}
_ARROWS = {"←": "<-", "↑": "up", "↓": "down", "→": "->"}
_OF_TASKS = {"√": "v", "½": "h", "◄": "b", "►": "f"}
OWN_SIGNS = str.maketrans(_WORDS | _ARROWS | _OF_TASKS)
"""What stands for the signs of our own words on plain terminals."""


def plain_wanted() -> bool:
    """Whether the environment asks for plain marks."""
    return os.environ.get(ASCII_SETTING, "") not in ("", "0")


@dataclass(frozen=True)
class Signs:
    """The signs in use: ``signs["wet"]``. ascii: plain marks."""

    ascii: bool = False

    def __getitem__(self, name: str) -> str:
        mark = BY_NAME[name]
        return mark.plain if self.ascii else mark.sign

    def own(self, text: str, typed: str = "") -> str:
        """Our own words with signs a plain terminal has. typed: the owner's words among them, whose signs stay."""
        if not self.ascii or text.isascii():
            return text
        return text.translate({sign: plain for sign, plain in OWN_SIGNS.items() if chr(sign) not in typed})

    @property
    def more(self) -> str:
        """What stands for letters left out."""
        return ".." if self.ascii else "…"


def role_of(name: str) -> str:
    """The role a mark is drawn in."""
    return BY_NAME[name].role
