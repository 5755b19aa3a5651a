"""The text of a job file, and its TOML: everything that can be wrong before the first table is looked at."""

from __future__ import annotations

import os
import re
import stat
import tomllib
from itertools import islice
from pathlib import Path
from typing import Any

from sequencer.errors import Fault, JobError
from sequencer.job.wording import listing, nearest, shown

MAX_BYTES = 2_000_000
"""A job of a thousand tasks has a few hundred thousand bytes; more is some other file."""

MAX_DEPTH = 60
"""Parts of a dotted key: tomllib's memory grows with the square of their number."""

_PART = r"(?:[A-Za-z0-9_-]+|\"[^\"\n]*\"|'[^'\n]*')[ \t]*"
_DEEP_KEY = re.compile(rf"(?:^|[\[{{,])[ \t]*(?:{_PART}\.[ \t]*){{{MAX_DEPTH}}}", re.MULTILINE)
_SPOT = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)\Z")

EMPTY_HINT = "a job needs at least [job], a [[crew]] and a [[task]]"

SYNTAX = (
    ("Expected '=' after a key", "a field's name needs an = after it", "write it like hands = 2"),
    (
        "Invalid statement",
        "this is neither a field nor a table",
        "write field = value, or [[task]] to begin a task",
    ),
    (
        "Expected newline or end of document",
        "something follows the value",
        "write one field a line; text needs quotes",
    ),
    (
        "Cannot declare",
        "the table stands here a second time",
        "write [[task]] with two brackets for each of several",
    ),
    ("Cannot mutate immutable", "the table was closed before", "write its fields together in one place"),
    ("Cannot redefine", "the table stands here a second time", "write its fields together in one place"),
    ("Cannot overwrite", "the field, or a table of that name, stands here a second time", "keep one of them"),
    ("Duplicate inline table key", "the field stands in the braces a second time", "keep one of them"),
    ("Expected ']'", "the table's name is not closed", "close it with ]"),
    ("Expected ']]'", "the table's name is not closed", "close it with ]]"),
    (
        "Invalid initial character for a key",
        "a field's name can't begin like this",
        "names are letters, digits, _ and -",
    ),
    ("Unclosed array", "the list is not closed", "put commas between its values and ] at its end"),
    (
        "Unclosed inline table",
        "the braces are not closed",
        "put commas between the fields and } at the end, on one line",
    ),
    (
        "Unescaped",
        "a backslash in quotes begins a code that TOML does not know",
        "write it twice, or use single quotes",
    ),
    (
        "Invalid hex value",
        "a backslash code is not complete",
        "write the backslash twice, or use single quotes",
    ),
    ("Escaped character is not", "a backslash code stands for no letter", "write the backslash twice"),
    ("Unterminated string", "the quotes are not closed", "close them with the same mark on the same line"),
    (
        "Illegal character",
        "the quotes are not closed on this line, or hold a control character",
        "close them, or take it out",
    ),
    ("Found invalid character", "a control character stands here", "take it out"),
    (
        "Invalid date or datetime",
        "there is no such date or time",
        "write it like 2027-04-12 or 2027-04-12T10:00:00",
    ),
    ("Invalid value", "this is no value", "put text in quotes; numbers, true, false and dates stand without"),
    ("Expected", "a mark is missing here", "look for quotes, commas or brackets that are not closed"),
)
"""How tomllib's sentences begin, what they mean, and what to do."""


PIPED = ("/dev/stdin", "/dev/fd/", "/proc/self/fd/")
"""How a shell names a pipe that it has made itself: that ends."""


NOT_THERE = "there is no such file"
"""What is said of a path that leads to nothing."""


def no_file(path: Path) -> Fault | None:
    """The fault of a path that leads to a pipe or a device, at which reading may wait or go on for ever."""
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return None
    if stat.S_ISREG(mode) or stat.S_ISDIR(mode) or (stat.S_ISFIFO(mode) and str(path).startswith(PIPED)):
        return None
    return Fault("", "this is no plain file but a pipe or a device", "name a file")


def read_text(path: Path) -> str:
    """The text of a file; raises JobError where it can't be had."""
    if (fault := no_file(path)) is not None:
        raise JobError([fault], str(path))
    try:
        with path.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        raise JobError([_unreadable(path, error)], str(path)) from None
    try:
        return decode(raw)
    except JobError as error:
        raise JobError(error.faults, str(path)) from None


def decode(raw: bytes) -> str:
    """Bytes as UTF-8 text without a byte order mark; raises JobError where they are none."""
    if len(raw) > MAX_BYTES:
        raise JobError([Fault("", "the file is too large for a job", "check that it is the right one")])
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise JobError([Fault("", "the file is UTF-16 text", "save it as UTF-8")])
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        what = f"the byte {raw[error.start]:#04x} is not UTF-8 text"
        raise JobError([Fault(f"line {line}", what, "save the file as UTF-8")]) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        what = "there is a NUL byte, which text never has"
        raise JobError([Fault(f"line {line}", what, "check that it is a text file")])
    return text


def parse_toml(text: str) -> dict[str, Any]:
    """The tables of a TOML text; raises JobError with the line where it is none."""
    if not text.strip():
        raise JobError([Fault("", "the file is empty", EMPTY_HINT)])
    if (deep := _DEEP_KEY.search(text)) is not None:
        line = text.count("\n", 0, deep.end()) + 1
        raise JobError([Fault(f"line {line}", "the name has too many parts between dots", "a job file needs none")])
    try:
        return tomllib.loads(text)
    except RecursionError:
        hint = "a job file needs three levels at most"
        raise JobError([Fault("", "lists or tables are nested too deep", hint)]) from None
    except tomllib.TOMLDecodeError as error:
        raise JobError([_syntax_fault(str(error), text)]) from None
    except ValueError:
        # Python reads no decimal number of more than 4300 digits.
        raise JobError([Fault("", "a number has thousands of digits", "write a smaller one")]) from None


def _syntax_fault(message: str, text: str) -> Fault:
    spot = _SPOT.search(message)
    where = f"line {spot[1]}, column {spot[2]}" if spot and spot[1] else "the end of the file"
    what, hint = next(
        ((what, hint) for begin, what, hint in SYNTAX if message.startswith(begin)), ("this is not TOML", "")
    )
    line = text.splitlines()[int(spot[1]) - 1].strip() if spot and spot[1] and text.splitlines() else ""
    return Fault(where, f"{what}: {shown(line)}" if line else what, hint)


def _unreadable(path: Path, error: OSError | ValueError) -> Fault:
    """Why a file can't be read, and what else there is."""
    if isinstance(error, FileNotFoundError):
        if path.parent.is_dir():
            return Fault("", NOT_THERE, _other_files(path.parent, path.name))
        return Fault("", f"there is no folder {shown(str(path.parent))}", "check the path")
    if isinstance(error, IsADirectoryError):
        return Fault("", "this is a folder, not a file", _other_files(path, path.name))
    if isinstance(error, NotADirectoryError):
        return Fault("", "a part of the path is a file, not a folder", "check the path")
    if isinstance(error, PermissionError):
        return Fault("", "the file may not be read", "check who may read it")
    reason = os.strerror(error.errno) if isinstance(error, OSError) and error.errno else "no such name"
    return Fault("", f"the file can't be read ({reason.lower()})", "check the path")


def _other_files(folder: Path, name: str) -> str:
    """A hint that names the file most likely meant."""
    try:
        files = [entry.name for entry in islice(folder.iterdir(), 2000) if entry.is_file()]
    except OSError:
        return "check the path"
    jobs = sorted(file for file in files if file.lower().endswith(".toml"))
    near = nearest(name, jobs) or nearest(name, sorted(files))
    if near is not None:
        return f"did you mean {shown(near)}?"
    return f"the folder holds {listing(jobs, 5)}" if jobs else "check the path"
