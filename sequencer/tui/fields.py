"""The fields of a job file as a card shows and takes them: what each is called, holds, and may be picked from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sequencer.tui.fieldtext import HOURS_ABOUT

FIXED = ("id", "title", "note", "apply", "dry_until", "no_cure_below", "temps")
"""A material's fields that are no stages."""
NEW_STAGE = "+stage"
"""The path of the line that takes a new stage."""


@dataclass(frozen=True)
class Field:
    """One field of a kind of table.

    path: as in the file, dots within; words: what a card calls it; shape: how it is edited (text; value; list; hours:
    lines of days and hours; flag; one: one of a kind; many; links; gear; choice; known: one of those in use, or
    another; zone-name: a time zone; stage-name, stage: of a material); of: the kind it picks from; choices: what it
    picks from; about: what to write; unset: what holds where nothing stands.
    """

    path: str
    words: str
    shape: str = "value"
    of: str = ""
    choices: tuple[str, ...] = ()
    about: str = ""
    unset: str = ""


KINDS = (
    ("task", "task", "something to do, or to wait for"),
    ("material", "material", "resin, filler, paint: when it may go on, how it cures"),
    ("zone", "place", "a place on the boat: its shelter, its air"),
    ("crew", "person", "somebody's hands, and when they are here"),
    ("gear", "gear", "a mould, a grinder: something there are only so many of"),
    ("delivery", "delivery", "something that must come first"),
    ("weather.day", "day of weather", "one day by hand"),
    ("weather.normal", "usual weather", "what a month is like past the forecast"),
    ("yard", "yard", "what the stay costs"),
    ("job", "job", "the stay itself: when hauled, how it ends"),
    ("weather", "weather file", "hours of weather from a file"),
)
"""Kinds of tables, what they are called on screen, and about."""


def word_of(kind: str) -> str:
    """What a kind is called on screen."""
    return next(word for name, word, _ in KINDS if name == kind)


SHELTERS = "open to rain, dew and wind; covered: neither rain nor dew; inside: nor wind"
ID = Field("id", "short name", "text", about="small letters, digits, hyphens; what names it follows")
TITLE = Field("title", "title", "text", about="what it is called on screen and on paper")
NOTE = Field("note", "note", "text", about="anything worth keeping with it")
DEGREES = tuple(Field(name, name, about="°C") for name in ("low", "high", "dew"))
HUMIDITY = Field("humidity", "humidity", about="%, in place of dew", unset="dew says it")
WIND = Field("wind", "wind", about="knots", unset="none")

FIELDS: dict[str, tuple[Field, ...]] = {
    "job": (
        TITLE,
        Field("boat", "boat", "text", about="her name, her length"),
        Field("hauled", "hauled", about="such as 2027-04-12 10:00"),
        Field(
            "timezone", "time zone", "zone-name", about="the yard's, such as Europe/London; every time is told in it"
        ),
        Field("finish", "ends with", "one", "task", about="the task whose start ends the stay"),
        Field("now", "plan from", about="a moment, such as 2027-04-15 18:00", unset="now, by the clock"),
        NOTE,
    ),
    "yard": (
        Field("currency", "currency", "text", about="such as GBP"),
        Field("night", "a night", about="what one costs, such as 38.5", unset="0"),
        Field("free_nights", "free nights", about="how many cost nothing, such as 2", unset="0"),
        Field("fixed", "haul and launch", about="what they cost together, such as 420", unset="0"),
        TITLE,
        NOTE,
    ),
    "weather": (
        Field("file", "hourly file", "known", about="a file beside the job", unset="none"),
        Field("past", "past years", "known", about="a file of hours of past years, for the odds", unset="none"),
        TITLE,
        NOTE,
    ),
    "weather.day": (
        Field("date", "date", about="such as 2027-04-16"),
        *DEGREES,
        HUMIDITY,
        Field("rain", "rain", "list", about="hours, such as 13:00/18:00; 22:00/24:00", unset="dry"),
        WIND,
        TITLE,
        NOTE,
    ),
    "weather.normal": (
        Field("month", "month", about="1 to 12"),
        *DEGREES,
        HUMIDITY,
        WIND,
        Field("wet_days", "wet days", about="days with rain in the month", unset="0"),
        Field("rain_hours", "hours of rain", about="on such a day", unset="0"),
        Field(
            "wet_after_wet",
            "wet after wet",
            about="0 to 1: chance that rain today means rain tomorrow",
            unset="as any day",
        ),
        TITLE,
        NOTE,
    ),
    "crew": (
        ID,
        TITLE,
        Field("hours", "here", "hours", about=f"such as {HOURS_ABOUT}", unset="never"),
        Field("away", "away", "list", about="days, such as 2027-04-22; 2027-05-01/2027-05-03", unset="no day"),
        NOTE,
    ),
    "zone": (
        ID,
        TITLE,
        Field("shelter", "shelter", "choice", choices=("open", "covered", "inside"), about=SHELTERS, unset="open"),
        Field("heat_to", "heated to", about="°C", unset="not heated"),
        Field("air", "shares air", "known", about="a name: places of one air share dust", unset="its own"),
        NOTE,
    ),
    "gear": (ID, TITLE, Field("count", "how many", about="a whole number", unset="1"), NOTE),
    "delivery": (
        ID,
        TITLE,
        Field("due", "due", about="such as 2027-04-26"),
        Field("range", "may come", "list", about="earliest; latest, such as 2027-04-24; 2027-05-05", unset="when due"),
        NOTE,
    ),
    "task": (
        ID,
        TITLE,
        Field("zone", "where", "one", "zone", about="the place whose air and weather it has", unset="nowhere on her"),
        Field("work", "work", about="hours: 4; or low, likely, high: 3, 4, 6. Takes the place of wait"),
        Field("wait", "wait", about="hours that just pass. Takes the place of work"),
        Field("hands", "hands", about="people at once; 0 needs nobody and goes on day and night", unset="1"),
        Field("who", "who", "many", "crew", about="named people, all of them at it", unset="anybody"),
        Field(
            "material",
            "material",
            "one",
            "material",
            about="what is laid on; it cures once the work ends",
            unset="none",
        ),
        Field(
            "after",
            "after",
            "links",
            "task",
            about="tasks that come first, or a stage their material must reach",
            unset="nothing",
        ),
        Field(
            "gear",
            "gear",
            "gear",
            "gear",
            about="held while at it, or until its material reaches a stage",
            unset="none",
        ),
        Field("delivery", "delivery", "one", "delivery", about="what must have come before", unset="none"),
        Field("not_before", "not before", about="such as 2027-04-14, or 2027-04-14 08:30", unset="any day"),
        Field("slots", "may start", "hours", about="such as Mon-Fri 09:00-15:00", unset="at any time"),
        Field(
            "one_go",
            "in one go",
            "flag",
            about="begun and ended on one day, in weather that suits it all along",
            unset="yes with a material, else no",
        ),
        Field(
            "makes",
            "makes",
            "choice",
            choices=("dust",),
            about="dust, that settles on wet coats in the same air",
            unset="no dust",
        ),
        Field("needs.dry", "needs it dry", "flag", about="no rain while at it", unset="yes with a material, else no"),
        Field("needs.max_wind", "wind at most", about="knots", unset="any wind"),
        Field("needs.min_temp", "air at least", about="°C", unset="any"),
        Field("needs.max_temp", "air at most", about="°C", unset="any"),
        Field("part", "part", "known", about="free words, for grouping", unset="none"),
        NOTE,
        Field("started", "started", about="such as 2027-04-14 08:30", unset="not yet"),
        Field("finished", "finished", about="such as 2027-04-14 16:30", unset="not yet"),
        Field("work_left", "work left", about="hours", unset="what is not done of the work"),
    ),
}


def fields_of(kind: str, table: Mapping[str, Any], material: Mapping[str, Any] | None = None) -> list[Field]:
    """The fields of a table in the order of its card; those of a material's stages, and of a coat's log, by name.

    material: of a task, the table of its material.
    """
    if kind == "material":
        return _material_fields(table)
    found = list(FIELDS[kind])
    if kind == "task" and material is not None:
        found += [
            Field(f"reached.{stage}", f"seen {stage}", about="such as 2027-04-15 07:00", unset="not yet")
            for stage in stages_of(material)
        ]
    return found


def stages_of(material: Mapping[str, Any]) -> list[str]:
    """The stages of a material's table, in its order."""
    return [name for name in material if name not in FIXED]


def _material_fields(table: Mapping[str, Any]) -> list[Field]:
    stages = stages_of(table)
    found = [
        ID,
        TITLE,
        Field("apply.min_temp", "air at least", about="°C", unset="any"),
        Field("apply.max_temp", "air at most", about="°C", unset="any"),
        Field("apply.max_humidity", "humidity at most", about="%", unset="any"),
        Field("apply.above_dew", "above dew point", about="°C at least", unset="any"),
        Field(
            "dry_until",
            "keep dry until",
            "choice",
            choices=(*stages, "done", "none"),
            about="the stage up to which rain would spoil it",
            unset="set",
        ),
        Field("no_cure_below", "no cure below", about="°C", unset="cures however cold"),
        Field("temps", "columns, °C", about="10, 20, 30. More or fewer: the hours are reckoned anew, to look over"),
    ]
    for stage in stages:
        found += _stage_fields(stage, isinstance(table[stage], dict))
    new = "name, then hours for each column: demould 12, 6, 3"
    return [*found, Field(NEW_STAGE, "a new stage", "stage", about=new), NOTE]


def _stage_fields(stage: str, window: bool) -> list[Field]:
    """The lines of one stage. window: it is a table with `opens`."""
    hours = "hours from the end of the work, a number for each column"
    found = [] if stage == "set" else [Field(stage, "stage", "stage-name", about="a name of your own")]
    opens = f"{stage}.opens" if window else stage
    found.append(Field(opens, "set after" if stage == "set" else "  after", about=hours))
    closes = "hours from the start of the work, a number for each column"
    found.append(Field(f"{stage}.closes", "  window shuts", about=closes, unset="never"))
    if window:
        found.append(Field(f"{stage}.if_missed.work", "  if missed", about="hours of keying", unset="1"))
        found.append(
            Field(f"{stage}.if_missed.dust", "  dusty then", "flag", about="whether keying makes dust", unset="yes")
        )
    return found
