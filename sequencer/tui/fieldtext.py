"""Values of the job file as text a person edits, and back."""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from collections.abc import Mapping
from typing import Any

from sequencer.job.pen import Value
from sequencer.tui.text import JOINERS

HOURS_ABOUT = "Mon-Sat 08:00-12:00; Mon-Sat 13:00-17:30"


class NotReadError(ValueError):
    """What was typed can't be a value of the field; the message is a plain sentence."""


# -- values as text -----------------------------------------------------------------------------------------------


def write_value(value: Any, shape: str = "value") -> str:
    """A value of the file as the card shows it and the person edits it; see `Field` for the shapes."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime):
        precise = "microseconds" if value.microsecond else "seconds" if value.second else "minutes"
        return value.isoformat(" ", precise)
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    if shape == "hours" and isinstance(value, list):
        return "; ".join(_write_hours(item) for item in value)
    if isinstance(value, list):
        between = "; " if shape == "list" else ", "
        return between.join(write_value(item) for item in value)
    if isinstance(value, dict):
        return _write_gear(value) if set(value) <= {"id", "until", "units"} else _toml(value)
    return str(value)


def _write_gear(use: Mapping[str, Any]) -> str:
    until = f" until {use['until']}" if use.get("until") else ""
    many = f"{use['units']} " if use.get("units", 1) != 1 else ""
    return f"{many}{use.get('id')}{until}"


def _write_hours(line: Any) -> str:
    if not isinstance(line, dict):
        return str(line)
    days = line.get("days", "")
    if isinstance(days, list):
        days = " ".join(map(str, days))
    if "rule" in line:
        days = f"{line['rule']} since {line.get('since', '')}"
    begin, end = (str(line.get(side, ""))[:5] for side in ("from", "to"))
    return f"{days} {begin}-{end}"


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else str(value)


# -- text as values -----------------------------------------------------------------------------------------------


def read_value(shape: str, text: str) -> Value | None:
    """What a person typed as a value of the file; None: the field is left out. Raises NotReadError.

    Whether the value is right is for the file's own rules, which know more.
    """
    if shape in ("text", "known"):
        return text or None
    text = text.strip()
    if not text:
        return None
    if shape == "hours":
        # Lines end in a clock or an hour; a recurrence has semicolons of its own.
        return [_read_hours(part) for part in re.split(r"(?<=[:–-]\d\d)\s*[;,]", text) if part.strip()]
    if shape == "flag":
        return _read_flag(text)
    if shape == "list":
        return [_read_span(part.strip()) for part in re.split("[;,]", text) if part.strip()]
    if "," in text and not text.startswith(("[", "{")):
        return [_read_one(part.strip()) for part in text.split(",")]
    return _read_one(text)


def _read_flag(text: str) -> bool:
    found = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}.get(text.lower())
    if found is None:
        raise NotReadError("Write yes or no.")
    return found


_MOMENT = re.compile(r"(\d{4}-\d{2}-\d{2})[ T](\d{1,2}:\d{2})(:\d{2}(?:\.\d+)?)?(Z|[+-]\d{2}:\d{2})?", re.ASCII)


def _read_one(text: str) -> Value:
    """A number, a moment or a table as TOML has them; other words are text. A moment may lack its seconds."""
    if re.fullmatch(r"[+-]?\d{1,15}", text, re.ASCII):
        return int(text)
    if re.fullmatch(r"[+-]?(\d{1,15}\.\d{0,15}|\.\d{1,15})", text, re.ASCII):
        return float(text)
    moment = _MOMENT.fullmatch(text)
    if moment is not None:
        text = f"{moment[1]} {moment[2].zfill(5)}{moment[3] or ':00'}{moment[4] or ''}"
    # What TOML takes for a comment would be lost.
    for tried in (text, f'"{text}"') if "#" not in text else (f'"{text}"',):
        try:
            found: Value = tomllib.loads(f"x = {tried}\n")["x"]
        except (tomllib.TOMLDecodeError, ValueError):
            continue
        return found
    raise NotReadError("This can't be read. Write a number, a moment such as 2027-04-14 08:30, or words.")


_SPAN = re.compile(
    r"(\d{4}-\d{2}-\d{2})\s+to\s+(\d{4}-\d{2}-\d{2})|(\d{1,2}:\d{2})\s*(?:-|–|to)\s*(\d{1,2}:\d{2})", re.ASCII
)


def _read_span(text: str) -> str:
    """A span with its stroke, ``2027-05-01/2027-05-03`` or ``13:00/18:00``, also where it was typed otherwise."""
    found = _SPAN.fullmatch(text)
    return text if found is None else "/".join(part.zfill(5) for part in found.groups() if part)


_HOURS = re.compile(r"(?P<days>.+?)\s+(?P<start>\d{1,2}(?::\d{2})?)\s*[-–]\s*(?P<end>\d{1,2}(?::\d{2})?)\Z", re.ASCII)


def _read_hours(text: str) -> dict[str, Value]:
    found = _HOURS.match(text.strip())
    if found is None:
        raise NotReadError(f"Write days and hours: {HOURS_ABOUT}.")
    start, end = ((clock if ":" in clock else f"{clock}:00").zfill(5) for clock in (found["start"], found["end"]))
    if "=" not in found["days"]:
        return {"days": found["days"], "from": start, "to": end}
    rule, _, since = found["days"].partition(" since ")
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", since.strip(), re.ASCII):
        raise NotReadError("A rule counts from a day: FREQ=WEEKLY;BYDAY=SA since 2027-04-10 09:00-16:00.")
    return {"rule": rule.strip(), "since": since.strip(), "from": start, "to": end}


# -- what can't be drawn ------------------------------------------------------------------------------------------

CODED_ABOUT = r"It holds signs that can't be drawn: \n is a new line, \t a tab, \\ a backslash."
_PLAIN = {"\n": r"\n", "\t": r"\t", "\r": r"\r", "\\": r"\\"}
_SIGNS = {coded: sign for sign, coded in _PLAIN.items()}


def drawable(letter: str) -> bool:
    """Whether a letter can stand in a line to type in."""
    return letter.isprintable() or letter in JOINERS


def is_coded(text: str) -> bool:
    """Whether `text` holds line ends, tabs or codes, and is edited with escapes in their place."""
    return not all(map(drawable, text))


def code(text: str) -> str:
    """`text` with escapes in place of what can't be drawn, and of backslashes; :func:`decode` gives it back."""
    return "".join(_PLAIN.get(c) or (c if drawable(c) else c.encode("unicode_escape").decode()) for c in text)


def decode(text: str) -> str:
    """What :func:`code` made its text of; a backslash before anything else is a backslash."""

    def sign(found: re.Match[str]) -> str:
        whole = found[0]
        if whole in _SIGNS:
            return _SIGNS[whole]
        number = int(whole[2:], 16)
        return chr(number) if number < 0x110000 and not 0xD800 <= number < 0xE000 else whole

    return re.sub(r"\\(?:[ntr\\]|x[0-9a-f]{2}|u[0-9a-f]{4}|U[0-9a-f]{8})", sign, text)
