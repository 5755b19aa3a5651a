"""Hourly weather files: ``time,temp_c,humidity,rain_mm,wind_kn`` (``dew_c`` in place of ``humidity``).

A value holds for the hour from its time on.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from sequencer.errors import Fault, JobError, one_line

REQUIRED = ("time", "temp_c", "rain_mm", "wind_kn")
RANGES = {
    "temp_c": (-60.0, 60.0),
    "humidity": (0.0, 100.0),
    "dew_c": (-80.0, 40.0),
    "rain_mm": (0.0, 310.0),
    "wind_kn": (0.0, 150.0),
}
"""What air near the ground can be; 310 mm is the most rain an hour has been known to bring. From memory."""

OTHERS = 'a file of another layout is turned into one by "sequencer weather FILE OUT.csv"'
"""What to do with the weather one has."""

MOST_FAULTS = 12
"""Lines named one by one; a file of nothing but faults need not be recited whole."""


@dataclass(frozen=True)
class HourlyRow:
    """One hour of air as told: `time` with an offset, or in the yard's zone. One of humidity and dew_c is None."""

    time: dt.datetime
    temp_c: float
    humidity: float | None
    dew_c: float | None
    rain_mm: float
    wind_kn: float


def read_hourly(path: Path) -> tuple[HourlyRow, ...]:
    """The rows of an hourly file in the file's order.

    Raises JobError with every fault found (a missing file, missing columns, values that are no numbers or that
    no air ever had), each naming the line.
    """
    try:
        stat = path.stat()
        return _read(path, stat.st_mtime_ns, stat.st_size)
    except FileNotFoundError:
        fault = Fault("weather, file", "there is no such file", "check the name, or leave weather.file out")
    except (IsADirectoryError, PermissionError, OSError) as error:
        fault = Fault(
            "weather, file", f"can't be read ({error.strerror or 'no access'})", "check the file and its rights"
        )
    except (UnicodeDecodeError, ValueError):
        fault = Fault("weather, file", "is not plain UTF-8 text", "save the table as CSV, UTF-8")
    raise JobError([fault], str(path))


def is_hourly(text: str) -> bool:
    """Whether a text begins with the columns' names of an hourly file of ours."""
    names = {name.strip() for name in text.partition("\n")[0].split(",")}
    return names >= set(REQUIRED) and bool(names & {"humidity", "dew_c"})


def to_hourly_csv(rows: Sequence[HourlyRow]) -> str:
    """Rows as the text of an hourly file, which :func:`read_hourly` reads again; a line an hour.

    Kept to hundredths, rounded against the owner: temperatures down, humidity, dew points, rain and wind up. Moments
    have an offset where the row has one, and are the yard's clock otherwise.
    """
    damp = [name for name in ("humidity", "dew_c") if any(getattr(row, name) is not None for row in rows)]
    names = ["time", "temp_c", *damp, "rain_mm", "wind_kn"]
    lines = [",".join(names)]
    for row in rows:
        cells = [row.time.isoformat(timespec="minutes")]
        cells += [_cell(getattr(row, name), up=name != "temp_c") for name in names[1:]]
        lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def _cell(value: float | None, up: bool) -> str:
    if value is None:
        return ""
    hundredths = math.ceil(value * 100 - 1e-6) if up else math.floor(value * 100 + 1e-6)
    if up and value > 0:
        # The least rain is rain.
        hundredths = max(hundredths, 1)
    return f"{hundredths / 100:g}"


@lru_cache(maxsize=16)
def _read(path: Path, _mtime: int, _size: int) -> tuple[HourlyRow, ...]:
    text = path.read_text(encoding="utf-8-sig")
    if "\0" in text:
        raise ValueError("NUL")
    table = csv.DictReader(io.StringIO(text), skipinitialspace=True)
    columns = [c.strip() for c in table.fieldnames or []]
    table.fieldnames = columns
    missing = [c for c in REQUIRED if c not in columns]
    if "humidity" not in columns and "dew_c" not in columns:
        missing.append("humidity (or dew_c)")
    if missing:
        hint = "the first line names the columns: time,temp_c,humidity,rain_mm,wind_kn; " + OTHERS
        raise JobError([Fault("line 1", f"column {', '.join(missing)} is missing", hint)], str(path))
    rows: list[HourlyRow] = []
    faults: list[Fault] = []
    try:
        for record in table:
            row = _row(record, table.line_num, faults)
            if row is not None:
                rows.append(row)
    except csv.Error as error:
        faults.append(Fault(f"line {table.line_num}", f"is no line of a CSV table ({error})", "check the line"))
    if not rows and not faults:
        faults.append(Fault("line 2", "the file has no hours", "add a line an hour, or leave weather.file out"))
    if faults:
        more = len(faults) - MOST_FAULTS
        shown = faults[:MOST_FAULTS]
        if more > 0:
            shown.append(Fault("", f"{more} more lines have faults", "mend the first ones and read the file again"))
        raise JobError(shown, str(path))
    return tuple(rows)


def _row(record: dict[str, str | None], line: int, faults: list[Fault]) -> HourlyRow | None:
    before = len(faults)
    where = f"line {line}"
    try:
        time = dt.datetime.fromisoformat((record["time"] or "").strip())
        if not 1900 <= time.year <= 2200:
            raise ValueError
    except ValueError:
        faults.append(
            Fault(where, f"time {one_line(record['time'] or '', 40)!r} is no moment", "write 2027-04-12T10:00")
        )
        return None
    values = {name: _value(record.get(name), name, where, faults) for name in RANGES}
    if values["humidity"] is None and values["dew_c"] is None and len(faults) == before:
        faults.append(Fault(where, "has neither humidity nor dew_c", "fill in one of the two"))
    for name in ("temp_c", "rain_mm", "wind_kn"):
        if values[name] is None and len(faults) == before:
            faults.append(Fault(where, f"{name} is empty", "fill it in, or take the line out"))
    if len(faults) > before:
        return None
    assert values["temp_c"] is not None
    assert values["rain_mm"] is not None
    assert values["wind_kn"] is not None
    return HourlyRow(time, values["temp_c"], values["humidity"], values["dew_c"], values["rain_mm"], values["wind_kn"])


def _value(text: str | None, name: str, where: str, faults: list[Fault]) -> float | None:
    """A number within what air can be; None where the cell is empty or at fault."""
    if text is None or not text.strip():
        return None
    low, high = RANGES[name]
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if math.isnan(value) or math.isinf(value):
        faults.append(Fault(where, f"{name} {one_line(text, 40)!r} is no number", "check the line"))
        return None
    if not low <= value <= high:
        faults.append(
            Fault(
                where, f"{name} is {value:g}, which no air has ({low:g} to {high:g})", "check the line, or take it out"
            )
        )
        return None
    return value
