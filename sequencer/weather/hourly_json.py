"""A forecast saved as JSON: an object of columns by the hour with ``time`` among them, and their units beside it.

{"timezone": "Europe/London", "utc_offset_seconds": 3600,
 "hourly_units": {"time": "iso8601", "temperature_2m": "°C", "wind_speed_10m": "km/h", ...},
 "hourly": {"time": ["2027-04-12T00:00", ...], "temperature_2m": [6.1, ...], ...}}
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping, Sequence
from typing import Any

from sequencer.errors import Fault, JobError, one_line
from sequencer.job.wording import listing
from sequencer.weather.columns import QUANTITIES, Column, column_of
from sequencer.weather.gathering import Gathering, Told
from sequencer.weather.moments import read_moment, zone_of
from sequencer.weather.naming import check_wanted, unit_for
from sequencer.weather.units import Unit


def is_json(text: str) -> bool:
    """Whether a text begins as a JSON object does."""
    return text.lstrip()[:1] == "{"


def read_json(text: str, columns: Mapping[str, str], units: Mapping[str, str]) -> tuple[Gathering, list[str]]:
    """The hours of a saved forecast as gathered, and what there is to know about them.

    columns: keys by quantity where they are not to be guessed; units: units by quantity where the file has none, and
    the time zone as ``time``. An hour counts as wet if the rain told with it or with the next hour says so: some
    services sum up the hour before, and the file does not tell. Raises JobError where it is no such file.
    """
    found = _object(text)
    name, hourly = _hourly(found)
    keys = _keys(hourly, columns)
    check_wanted({**keys, "time": "time"}, columns, list(hourly), name)
    told_units = found.get(f"{name}_units", {})
    told_units = told_units if isinstance(told_units, dict) else {}
    faults: list[Fault] = []
    by_name = {q: _unit(q, key, told_units, units, faults) for q, key in keys.items()}
    if faults:
        raise JobError(faults)
    moments = _moments(hourly["time"], str(told_units.get("time", "")), _zone(found, units))
    gathered = Gathering(frozenset(keys))
    lists = {q: _listed(hourly[key], key, len(moments)) for q, key in keys.items()}
    notes = [] if "rain" in keys else ["It says nothing of rain: every hour is taken for dry"]
    for at, (where, time) in enumerate(moments):
        if time is None:
            gathered.fault(where, f"{one_line(str(hourly['time'][at]), 40)!r} is no moment", "take the file anew")
            continue
        values = {q: _told(gathered, where, q, lists[q][at], by_name[q]) for q in keys}
        if "rain" in keys and at + 1 < len(moments):
            values["rain"] = _wetter(values["rain"], lists["rain"][at + 1])
        gathered.add(where, time, values)
    return gathered, notes


def _object(text: str) -> dict[str, Any]:
    try:
        found = json.loads(text)
    except (ValueError, RecursionError) as error:
        line = f"line {error.lineno}" if isinstance(error, json.JSONDecodeError) else ""
        raise JobError([Fault(line, "is no sound JSON", "save the forecast anew, whole")]) from None
    return found if isinstance(found, dict) else {}


def _hourly(found: Mapping[str, Any]) -> tuple[str, Mapping[str, Any]]:
    """The object of columns by the hour, and its key."""
    tables = [k for k, v in found.items() if isinstance(v, dict) and isinstance(v.get("time"), list)]
    if "hourly" in tables or len(tables) == 1:
        name = "hourly" if "hourly" in tables else tables[0]
        return name, found[name]
    what = "has no hourly table" if not tables else f"has the tables {listing(tables)}, and none called hourly"
    raise JobError([Fault("", what, "ask the service for hourly values, and save what it answers")])


def _keys(hourly: Mapping[str, Any], columns: Mapping[str, str]) -> dict[str, str]:
    """By quantity the key that tells it: as named, or else the first that is called so."""
    keys: dict[str, str] = {}
    for key in hourly:
        column: Column = column_of(key)
        if column.quantity in QUANTITIES:
            keys.setdefault(column.quantity, key)
    if "precipitation" in hourly:
        # Rain alone leaves showers and snow out.
        keys["rain"] = "precipitation"
    named = {q: key for q, key in columns.items() if q in QUANTITIES}
    keys = {**keys, **named}
    return {q: key for q, key in keys.items() if key != "none"}


def _unit(quantity: str, key: str, told: Mapping[str, Any], units: Mapping[str, str], faults: list[Fault]) -> Unit:
    known = column_of(key, quantity).unit
    own = told.get(key, known.name if known is not None else "")
    return unit_for(quantity, key, str(own), units, faults)


def _zone(found: Mapping[str, Any], units: Mapping[str, str]) -> dt.tzinfo | None:
    """The zone of moments without an offset; None for the yard's."""
    for told in (units.get("time"), found.get("timezone")):
        if isinstance(told, str) and told:
            try:
                return zone_of(told)
            except ValueError:
                continue
    seconds = found.get("utc_offset_seconds")
    if isinstance(seconds, int) and not isinstance(seconds, bool) and abs(seconds) <= 14 * 3600:
        return dt.timezone(dt.timedelta(seconds=seconds))
    return None


def _moments(times: Sequence[Any], unit: str, zone: dt.tzinfo | None) -> list[tuple[str, dt.datetime | None]]:
    """Place and moment of each hour; a local time that comes again is the second of that time."""
    found: list[tuple[str, dt.datetime | None]] = []
    seen: set[dt.datetime] = set()
    for number, told in enumerate(times, 1):
        where = f"hour {number} ({one_line(str(told), 30)})"
        try:
            if isinstance(told, str):
                moment = read_moment(told)
            elif unit.lower().startswith("unix") and isinstance(told, int | float) and not isinstance(told, bool):
                moment = dt.datetime.fromtimestamp(told, dt.UTC)
            else:
                raise ValueError
        except (ValueError, OverflowError, OSError):
            found.append((where, None))
            continue
        if moment.tzinfo is None:
            moment = moment.replace(tzinfo=zone, fold=int(zone is not None and moment in seen))
            seen.add(moment.replace(tzinfo=None, fold=0))
        found.append((where, moment))
    return found


def _listed(values: Any, key: str, length: int) -> Sequence[Any]:
    if not isinstance(values, list) or len(values) != length:
        count = f"{len(values)} values" if isinstance(values, list) else "no list of values"
        hint = "save the forecast anew, whole"
        raise JobError([Fault(one_line(key, 40), f"has {count}, and there are {length} times", hint)])
    return values


def _told(gathered: Gathering, where: str, quantity: str, value: Any, unit: Unit) -> Told:
    if value is None:
        return Told(None, unit)
    if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > 1e9 or value != value:
        gathered.fault(where, f"{quantity} {one_line(str(value), 40)!r} is no number", "take the file anew")
        return Told(None, unit)
    return Told(float(value), unit)


def _wetter(now: Told, then: Any) -> Told:
    """The rain of an hour, or of the next where that is more."""
    if isinstance(then, bool) or not isinstance(then, int | float) or now.value is None:
        return now
    return Told(float(then), now.unit) if now.value < then <= 1e9 else now
