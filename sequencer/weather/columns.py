"""What a column of a weather table holds, by its name: quantity and unit, as far as the name tells them.

The short names are those of hourly tables that national weather offices hand out, with the units such tables have;
from memory, so a unit that the name or its brackets spell out goes before.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from sequencer.weather.units import UNITS, Unit, unit_of

QUANTITIES = tuple(UNITS)
"""temp, dew, humidity, rain, wind."""

CALENDAR = ("year", "month", "day", "hour")
"""Columns a moment may be spread over, all four together."""

_BRACKET = re.compile(r"\A(?P<name>.*?)\s*[(\[{](?P<inside>[^)\]}]*)[)\]}]\s*\Z")
_ENDING = re.compile(r"\A(?P<name>.*[a-z0-9])_(?P<unit>c|f|k|degc|degf|mm|in|inch|kn|kt|kts|ms|mps|kmh|kph|mph|pct)\Z")
_PLAIN = re.compile(r"[\W_]+")
_HEIGHT = re.compile(r"(?<=[a-z])(2m|10m)\Z")

_NAMES = {
    "time": "time valid datetime datetimelst datetimeutc timeutc timestamp dateandtime datehour validtime messdatum "
    "aaaammjjhh yyyymmddhh",
    "date": "date datum",
    "year": "year",
    "month": "month",
    "day": "day",
    "hour": "hour",
    "temp": "temp temperature airtemperature airtemp tmpf tmpc tt tttu t ta tair drybulb drybulbtemperature "
    "hourlydrybulbtemperature",
    "dew": "dew dewpoint dewpt dewp dewpointtemp dewpointtemperature dwpf dwpc td hourlydewpointtemperature",
    "humidity": "humidity humid rh relh relhum rhum relativehumidity relativehum rftu u hum hourlyrelativehumidity",
    "rain": "rain precip precipitation prcp rainfall p01i p01m precipamount precipitationamount rr1 r1 "
    "hourlyprecipitation",
    "wind": "wind windspeed windspd sknt wdsp ff ws meanwindspeed hourlywindspeed",
}
_QUANTITY = {name: quantity for quantity, names in _NAMES.items() for name in names.split()}

_KNOWN_UNITS = {
    "F": "tmpf dwpf hourlydrybulbtemperature hourlydewpointtemperature",
    "C": "tmpc dwpc tttu dewpt",
    "in": "p01i hourlyprecipitation",
    "mm": "p01m rr1 r1",
    "kn": "sknt wdsp",
    "m/s": "ff",
    "mph": "hourlywindspeed",
}
_UNIT = {name: unit for unit, names in _KNOWN_UNITS.items() for name in names.split()}

_IN_UTC = frozenset(("datetimeutc", "timeutc", "messdatum", "aaaammjjhh"))
_STANDARD_TIME = re.compile(r"\b(LST|standard time)\b", re.IGNORECASE)


@dataclass(frozen=True)
class Column:
    """What a column's name says.

    quantity: ``time``, ``date``, one of CALENDAR or QUANTITIES, or empty for what is of no use.

    unit: None where the name tells none. utc: its moments are in UTC. standard: in a standard time of no told offset.
    """

    quantity: str
    unit: Unit | None = None
    utc: bool = False
    standard: bool = False


def column_of(name: str, quantity: str = "") -> Column:
    """What a column holds by its name. quantity: what it holds where that is known; its unit is then sought."""
    told, plain = _split(name)
    found = quantity or _QUANTITY.get(plain, "")
    if found not in UNITS:
        return Column(found, None, plain in _IN_UTC or told.upper() == "UTC", bool(_STANDARD_TIME.search(name)))
    unit = unit_of(found, told) if told else None
    if unit is None and plain in _UNIT:
        unit = unit_of(found, _UNIT[plain])
    if unit is None and found == "humidity" and not told:
        unit = unit_of(found, "%")
    return Column(found, unit)


def _split(name: str) -> tuple[str, str]:
    """The unit a name spells out (empty where it does not), and the name without it and without marks."""
    name = name.strip()
    if (found := _BRACKET.match(name)) is not None:
        return found["inside"].strip(), _bare(found["name"])
    if (found := _ENDING.match(name.lower())) is not None:
        unit = {"ms": "m/s", "pct": "%"}.get(found["unit"], found["unit"])
        return unit, _bare(found["name"])
    return "", _bare(name)


def _bare(name: str) -> str:
    return _HEIGHT.sub("", _PLAIN.sub("", name.lower()))
