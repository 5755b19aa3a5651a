"""The fields of a job file as a card shows and takes them: what each is called, holds, and may be picked from."""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sequencer.job.layout import key_of
from sequencer.job.pen import Value

FIXED = ("id", "title", "note", "apply", "dry_until", "no_cure_below", "temps")
"""A material's fields that are no stages."""


class NotReadError(ValueError):
    """What was typed can't be a value of the field; the message is a plain sentence."""


@dataclass(frozen=True)
class Field:
    """One field of a kind of table.

    path: as in the file, dots within; words: what a card calls it; shape: how it is edited (text, value, hours: lines
    of days and hours, flag, one: one of a kind, many, links, gear, choice); of: the kind it picks from; choices: what
    it picks from; about: what to write, or what holds where nothing stands.
    """

    path: str
    words: str
    shape: str = "value"
    of: str = ""
    choices: tuple[str, ...] = ()
    about: str = ""


ID, TITLE, NOTE = Field("id", "short name", "text"), Field("title", "title", "text"), Field("note", "note", "text")

FIELDS: dict[str, tuple[Field, ...]] = {
    "job": (
        TITLE,
        Field("boat", "boat", "text"),
        Field("hauled", "hauled", about="2027-04-12 10:00"),
        Field("timezone", "time zone", "text", about="Europe/London"),
        Field("finish", "ends with", "one", "task", about="the task whose start ends the stay"),
        Field("now", "plan from", about="a moment; nothing: the clock"),
        NOTE,
    ),
    "yard": (
        Field("currency", "currency", "text", about="GBP"),
        Field("night", "a night", about="38.5"),
        Field("free_nights", "free nights", about="2"),
        Field("fixed", "haul and launch", about="420"),
        TITLE,
        NOTE,
    ),
    "weather": (Field("file", "hourly file", "text", about="a file beside the job"), TITLE, NOTE),
    "weather.day": (
        Field("date", "date", about="2027-04-16"),
        *(Field(name, name, about="°C") for name in ("low", "high", "dew")),
        Field("humidity", "humidity", about="%, in place of dew"),
        Field("rain", "rain", "list", about="13:00/18:00"),
        Field("wind", "wind", about="knots"),
        NOTE,
    ),
    "weather.normal": (
        Field("month", "month", about="1 to 12"),
        *(Field(name, name, about="°C") for name in ("low", "high", "dew")),
        Field("humidity", "humidity", about="%, in place of dew"),
        Field("wind", "wind", about="knots"),
        Field("wet_days", "wet days", about="days with rain in the month"),
        Field("rain_hours", "hours of rain", about="on such a day"),
        Field("wet_after_wet", "wet after wet", about="0 to 1: chance that rain today means rain tomorrow"),
        NOTE,
    ),
    "crew": (
        ID,
        TITLE,
        Field("hours", "here", "hours", about="Mon-Sat 08:00-12:00; Mon-Sat 13:00-17:30"),
        Field("away", "away", "list", about="2027-04-22; 2027-05-01/2027-05-03"),
        NOTE,
    ),
    "zone": (
        ID,
        TITLE,
        Field("shelter", "shelter", "choice", choices=("open", "covered", "inside"), about="open"),
        Field("heat_to", "heated to", about="°C"),
        Field("air", "shares air", "text", about="its own; one name for places that share dust"),
        NOTE,
    ),
    "gear": (ID, TITLE, Field("count", "how many", about="1"), NOTE),
    "delivery": (
        ID,
        TITLE,
        Field("due", "due", about="2027-04-26"),
        Field("range", "may come", "list", about="earliest; latest, for the odds"),
        NOTE,
    ),
    "task": (
        ID,
        TITLE,
        Field("zone", "where", "one", "zone"),
        Field("work", "work", about="hours: 4; or low, likely, high: 3, 4, 6"),
        Field("wait", "wait", about="hours that just pass, in place of work"),
        Field("hands", "hands", about="1"),
        Field("who", "who", "many", "crew", about="anybody"),
        Field("material", "material", "one", "material"),
        Field("after", "after", "links", "task"),
        Field("gear", "gear", "gear", "gear"),
        Field("delivery", "delivery", "one", "delivery"),
        Field("not_before", "not before", about="2027-04-14 or 2027-04-14 08:30"),
        Field("slots", "may start", "hours", about="any time; Mon-Fri 09:00-15:00"),
        Field("one_go", "in one go", "flag", about="yes with a material, else no"),
        Field("makes", "makes", "choice", choices=("dust",), about="no dust"),
        Field("needs.dry", "needs it dry", "flag", about="yes with a material, else no"),
        Field("needs.max_wind", "wind at most", about="knots"),
        Field("needs.min_temp", "air at least", about="°C"),
        Field("needs.max_temp", "air at most", about="°C"),
        Field("part", "part", "text", about="for grouping"),
        NOTE,
        Field("started", "started", about="nothing yet"),
        Field("finished", "finished", about="nothing yet"),
        Field("work_left", "work left", about="hours"),
    ),
}


def fields_of(kind: str, table: Mapping[str, Any], material: Mapping[str, Any] | None = None) -> list[Field]:
    """The fields of a table in the order of its card; those of a material's stages, and of a coat's log, by name.

    material: of a task, the table of its material.
    """
    if kind == "material":
        return [*_material_fields(table)]
    found = list(FIELDS[kind])
    if kind == "task" and material is not None:
        found += [Field(f"reached.{stage}", f"seen {stage}", about="nothing yet") for stage in stages_of(material)]
    return found


def stages_of(material: Mapping[str, Any]) -> list[str]:
    """The stages of a material's table, in its order."""
    return [name for name in material if name not in FIXED]


def _material_fields(table: Mapping[str, Any]) -> list[Field]:
    stages = stages_of(table)
    found = [
        ID,
        TITLE,
        Field("apply.min_temp", "air at least", about="°C"),
        Field("apply.max_temp", "air at most", about="°C"),
        Field("apply.max_humidity", "humidity at most", about="%"),
        Field("apply.above_dew", "above dew point", about="°C"),
        Field("dry_until", "keep dry until", "choice", choices=(*stages, "done", "none"), about="set"),
        Field("no_cure_below", "no cure below", about="°C"),
        Field("temps", "columns, °C", about="10, 20, 30"),
    ]
    for stage in stages:
        value = table[stage]
        if not isinstance(value, dict):
            found.append(Field(stage, f"{stage} after", about="hours, a number for each column"))
            continue
        found.append(Field(f"{stage}.opens", f"{stage} opens", about="hours, a number for each column"))
        found.append(Field(f"{stage}.closes", f"{stage} closes", about="hours from the start; nothing: never"))
        found.append(Field(f"{stage}.if_missed.work", f"{stage} missed", about="hours of keying: 1"))
        found.append(Field(f"{stage}.if_missed.dust", "  dusty then", "flag", about="yes"))
    return [*found, NOTE]


def value_at(table: Mapping[str, Any], path: str) -> Any:
    """The value of a field of a table, None where it is left out."""
    found: Any = table
    for part in path.split("."):
        found = found.get(part) if isinstance(found, dict) else None
    return found


# -- values as text, and back -----------------------------------------------------------------------------------


def write_value(value: Any, shape: str = "value") -> str:
    """A value of the file as the card shows it and the person edits it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dt.datetime):
        return value.isoformat(" ", "minutes" if not value.second else "seconds")
    if shape == "hours" and isinstance(value, list):
        return "; ".join(_write_hours(item) for item in value)
    if isinstance(value, list):
        between = "; " if shape == "list" else ", "
        return between.join(write_value(item) for item in value)
    if isinstance(value, dict):
        if set(value) <= {"id", "until", "units"}:
            return _write_gear(value)
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    return f"{value:g}" if isinstance(value, float) and value == round(value, 4) else str(value)


def _write_gear(use: Mapping[str, Any]) -> str:
    until = f" until {use['until']}" if use.get("until") else ""
    many = f"{use['units']} " if use.get("units", 1) != 1 else ""
    return f"{many}{use.get('id')}{until}"


def _write_hours(line: Any) -> str:
    if not isinstance(line, dict):
        return str(line)
    days = line.get("days", "")
    if "rule" in line:
        since = line.get("since", "")
        days = f"{line['rule']} since {since}"
    return f"{days} {line.get('from', '')}-{line.get('to', '')}"


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_toml(item) for item in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    return f'"{value}"' if isinstance(value, str) else str(value)


def read_value(field: Field, text: str) -> Value | None:
    """What a person typed as a value of the file; None: the field is left out. Raises NotReadError.

    Whether the value is right is for the file's own rules, which know more.
    """
    if field.shape == "text":
        return text or None
    text = text.strip()
    if not text:
        return None
    if field.shape == "hours":
        return [_read_hours(part) for part in re.split(r";\s+|;$", text) if part.strip()]
    if field.shape == "flag":
        return _read_flag(text)
    if field.shape == "list":
        return [part.strip() for part in text.split(";") if part.strip()]
    if "," in text and not text.startswith(("[", "{")):
        return [_read_one(part.strip()) for part in text.split(",")]
    return _read_one(text)


def _read_flag(text: str) -> bool:
    found = {"yes": True, "y": True, "true": True, "no": False, "n": False, "false": False}.get(text.lower())
    if found is None:
        raise NotReadError("Write yes or no.")
    return found


def _read_one(text: str) -> Value:
    """A number, a moment or a table as TOML has them; other words are text. A moment may lack its seconds."""
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}[ T]\d{1,2}:\d{2}", text):
        day, _, clock = text.replace("T", " ").partition(" ")
        text = f"{day} {clock.zfill(5)}:00"
    for tried in (text, f"0{text}" if text.startswith(".") else text, f'"{text}"'):
        try:
            found: Value = tomllib.loads(f"x = {tried}\n")["x"]
        except (tomllib.TOMLDecodeError, ValueError):
            continue
        return found
    raise NotReadError("This can't be read. Write a number, a moment such as 2027-04-14 08:30, or words.")


_HOURS = re.compile(r"(?P<days>.+?)\s+(?P<start>\d{1,2}:\d{2})\s*-\s*(?P<end>\d{1,2}:\d{2})\Z")


def _read_hours(text: str) -> dict[str, Value]:
    found = _HOURS.match(text.strip())
    if found is None:
        raise NotReadError("Write days and hours: Mon-Sat 08:00-12:00; Mon-Sat 13:00-17:30.")
    start, end = (f"{int(c.split(':')[0]):02}:{c.split(':')[1]}" for c in (found["start"], found["end"]))
    if "=" not in found["days"]:
        return {"days": found["days"], "from": start, "to": end}
    rule, _, since = found["days"].partition(" since ")
    if not re.fullmatch(r"\d{4}-\d{2}-\d{2}", since.strip()):
        raise NotReadError("A rule counts from a day: FREQ=WEEKLY;BYDAY=SA since 2027-04-10 09:00-16:00.")
    return {"rule": rule.strip(), "since": since.strip(), "from": start, "to": end}


def called(kind: str, table: Mapping[str, Any]) -> str:
    """What a table goes by on a list: its name and its title."""
    name = str(table.get(key_of(kind), ""))
    title = str(table.get("title", ""))
    return f"{name}  {title}" if title and title != name else name
