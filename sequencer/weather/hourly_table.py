"""Hourly tables of other layouts: whatever marks between the columns, whatever their names, units and dates."""

from __future__ import annotations

import csv
import datetime as dt
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from sequencer.errors import Fault, JobError, one_line
from sequencer.weather.columns import CALENDAR, QUANTITIES, column_of
from sequencer.weather.gathering import SOME_RAIN_MM, Gathering, Told
from sequencer.weather.moments import ORDERS, order_of, read_moment, zone_of
from sequencer.weather.naming import LEFT_OUT, check_wanted, unit_for
from sequencer.weather.units import MM, Unit

MOST_LINES_ABOVE = 100
"""Lines of words about the station that may stand above the columns' names."""

GAPS = frozenset(("", "-", "--", "na", "n/a", "nan", "null", "none", "m", "/", "//", "///"))
"""What stands in a cell that has no value."""

GAP_NUMBERS = frozenset((-999.0, -999.9, -9999.0, -9999.9))
"""Numbers that stand for no value in tables of measured weather."""

TRACE = "t"
"""Rain too little to be measured."""

_CLOCK_ALONE = re.compile(r"\A\d{1,2}(:?\d{2})?(:\d{2})?\s*([ap]m)?\s*\Z", re.IGNORECASE)
_TIMES = ("time", "date", *CALENDAR)


@dataclass(frozen=True)
class Layout:
    """How a table is laid out. at: column numbers by quantity, and by parts of the moment; line: of the names."""

    mark: str
    line: int
    header: tuple[str, ...]
    at: Mapping[str, int]

    @property
    def tells_time(self) -> bool:
        """Whether its columns tell a moment."""
        return "time" in self.at or "date" in self.at or all(name in self.at for name in CALENDAR)


def read_table(text: str, columns: Mapping[str, str], units: Mapping[str, str]) -> tuple[Gathering, list[str]]:
    """The hours of a table as gathered, and what there is to know about them, a sentence each.

    columns: column names by quantity (and ``time``, ``date``, ``year``, ``month``, ``day``, ``hour``) where they are
    not to be guessed; ``none`` for rain or wind that the table lacks. units: units by quantity; ``time``: the time
    zone; ``date``: which way round dates are. Raises JobError where the layout is not understood, with all that is
    missing.
    """
    lines = text.splitlines()
    layout = _layout(lines, columns)
    where = f"line {layout.line}"
    found = {*layout.at, *(("time",) if layout.tells_time else ())}
    check_wanted(found, columns, layout.header, where)
    faults: list[Fault] = []
    by_name = _units(layout, units, faults)
    records = list(_records(lines, layout, faults))
    zone = _zone(layout, units, faults)
    order = _order([_time_text(layout, cells) for _, cells in records], units, faults)
    if faults:
        raise JobError(faults)
    gathered = Gathering(frozenset(by_name))
    for number, cells in records:
        _take(gathered, layout, f"line {number}", cells, by_name, (order, zone))
    return gathered, _notes(layout, by_name, zone)


def _layout(lines: Sequence[str], columns: Mapping[str, str]) -> Layout:
    """The line with the columns' names: the first from which a moment and a temperature can be told."""
    best: Layout | None = None
    for number, line in enumerate(lines[:MOST_LINES_ABOVE], 1):
        for mark in ",;\t":
            if mark not in line:
                continue
            header = tuple(cell.strip() for cell in _cells(line, mark))
            layout = Layout(mark, number, header, _columns(header, columns))
            if layout.tells_time and "temp" in layout.at:
                return layout
            if best is None or len(layout.at) > len(best.at):
                best = layout
    if best is None:
        hint = "a table has its columns' names in a line, with commas, semicolons or tabs between"
        raise JobError([Fault("line 1", "this is no table of weather", hint)])
    return best


def _cells(line: str, mark: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=mark, skipinitialspace=True), [])
    except csv.Error:
        return []


def _columns(header: Sequence[str], columns: Mapping[str, str]) -> dict[str, int]:
    """Column numbers by what they tell: as named, else the first that is called so."""
    at: dict[str, int] = {}
    for number, name in enumerate(header):
        quantity = column_of(name).quantity
        if quantity and quantity not in columns:
            at.setdefault(quantity, number)
    for quantity, name in columns.items():
        if name != LEFT_OUT and name in header:
            at[quantity] = header.index(name)
    if "time" in columns and "date" not in columns:
        at.pop("date", None)
    return at


def _units(layout: Layout, units: Mapping[str, str], faults: list[Fault]) -> dict[str, Unit]:
    found: dict[str, Unit] = {}
    for quantity in QUANTITIES:
        if quantity in layout.at:
            name = layout.header[layout.at[quantity]]
            known = column_of(name, quantity).unit
            told = known.name if known is not None else _spelled(name)
            found[quantity] = unit_for(quantity, name, told, units, faults)
    return found


def _spelled(name: str) -> str:
    """What stands in brackets behind a name, where it is no unit that is known."""
    found = re.search(r"[(\[{]([^)\]}]+)[)\]}]\s*\Z", name)
    return found[1] if found else ""


def _zone(layout: Layout, units: Mapping[str, str], faults: list[Fault]) -> dt.tzinfo | None:
    """The zone of moments without an offset; None for the yard's."""
    if told := units.get("time", ""):
        try:
            return zone_of(told)
        except ValueError:
            hint = "write UTC, an offset such as +01:00, or a name such as Europe/London"
            faults.append(Fault("", f"{one_line(told, 40)!r} is no time zone", hint))
            return None
    for quantity in ("time", "date"):
        if quantity in layout.at:
            name = layout.header[layout.at[quantity]]
            column = column_of(name, quantity)
            if column.utc:
                return dt.UTC
            if column.standard:
                what = "its times are in a standard time, and its hours from UTC are not told"
                faults.append(Fault(one_line(name, 40), what, "say them: --unit time=-05:00"))
    return None


def _order(texts: Sequence[str], units: Mapping[str, str], faults: list[Fault]) -> str:
    told = units.get("date", "").lower()
    if told in ORDERS:
        return told
    if told:
        faults.append(Fault("", f"{one_line(told, 20)!r} is no order of dates", f"take one of {', '.join(ORDERS)}"))
    found = order_of(texts)
    if found is None and not told:
        hint = f"say which: --unit date={ORDERS[0]}, or {ORDERS[1]}"
        faults.append(Fault("", "its dates may have the day or the month first", hint))
    return found or ORDERS[0]


def _records(lines: Sequence[str], layout: Layout, faults: list[Fault]) -> Iterator[tuple[int, list[str]]]:
    """Lines below the names that have anything in them, with their numbers."""
    rows = csv.reader(lines[layout.line :], delimiter=layout.mark, skipinitialspace=True)
    while True:
        try:
            cells = next(rows, None)
        except csv.Error as error:
            where = f"line {layout.line + rows.line_num}"
            faults.append(Fault(where, f"is no line of a table ({error})", "check the line"))
            return
        if cells is None:
            return
        if any(cell.strip() for cell in cells):
            yield layout.line + rows.line_num, cells


def _time_text(layout: Layout, cells: Sequence[str]) -> str:
    """The moment of a line as one text, whatever columns it is spread over."""
    told = {name: cells[layout.at[name]].strip() for name in _TIMES if layout.at.get(name, len(cells)) < len(cells)}
    time, date = told.get("time", ""), told.get("date", "")
    if date and (not time or _CLOCK_ALONE.match(time)):
        return f"{date} {time}".strip()
    if not time and all(name in told for name in CALENDAR):
        return f"{told['year']}-{told['month']}-{told['day']} {told['hour']}"
    return time


def _take(
    gathered: Gathering,
    layout: Layout,
    where: str,
    cells: Sequence[str],
    units: Mapping[str, Unit],
    moment: tuple[str, dt.tzinfo | None],
) -> None:
    """Take one line into what is gathered. moment: the order of dates, and the zone of moments without an offset."""
    text, (order, zone) = _time_text(layout, cells), moment
    try:
        time = read_moment(text, order)
    except ValueError:
        gathered.fault(where, f"{one_line(text, 40)!r} is no moment", "write 2027-04-12 10:00, or take the line out")
        return
    told: dict[str, Told] = {}
    for quantity, unit in units.items():
        at = layout.at[quantity]
        found = _value(quantity, cells[at].strip() if at < len(cells) else "", unit, layout.mark)
        if found is None:
            shown = one_line(cells[at], 40)
            gathered.fault(where, f"{quantity} {shown!r} is no number", "check the line, or take it out")
            return
        told[quantity] = found
    gathered.add(where, time if time.tzinfo is not None else time.replace(tzinfo=zone), told)


def _value(quantity: str, cell: str, unit: Unit, mark: str) -> Told | None:
    """A cell's value; None where it is no number. A comma is a decimal one wherever none stands between columns."""
    if cell.lower() in GAPS:
        return Told(None, unit)
    if quantity == "rain" and cell.lower() == TRACE:
        return Told(SOME_RAIN_MM, MM, cell)
    try:
        value = float(cell.replace(",", ".") if mark != "," else cell)
    except ValueError:
        return None
    return Told(None if value in GAP_NUMBERS else value, unit, cell)


def _notes(layout: Layout, units: Mapping[str, Unit], zone: dt.tzinfo | None) -> list[str]:
    said = [f"{q} from {one_line(layout.header[layout.at[q]], 40)} in {unit.name}" for q, unit in units.items()]
    lacks = [f"{quantity} is taken for none" for quantity in ("rain", "wind") if quantity not in units]
    where = f"times without an offset are in {zone}" if zone is not None else "times without an offset are the yard's"
    return [f"Read: {', '.join(said)}; {'; '.join([*lacks, where])}"]
