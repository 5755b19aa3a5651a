"""Hours taken from a file of any layout: values held against what air can be, faults and gaps kept count of."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from sequencer.errors import Fault, JobError, one_line
from sequencer.weather.files import MOST_FAULTS, RANGES, HourlyRow
from sequencer.weather.units import Unit

COLUMNS = {"temp": "temp_c", "humidity": "humidity", "dew": "dew_c", "rain": "rain_mm", "wind": "wind_kn"}
"""Our columns by quantity."""

OUR_UNITS = {"temp": "°C", "humidity": "%", "dew": "°C", "rain": "mm", "wind": "kn"}

MOST_HUMID = 110.0
"""Sensors in fog read past 100 %; up to here (the bound of the EPW layout) it is taken for 100."""

DEW_EXCESS = 1.5
"""A dew point so far above the temperature, °C, is rounding; the temperature is then taken for it. An estimate."""

SOME_RAIN_MM = 0.1
"""What a trace, or rain of no told amount, is written as."""


@dataclass(frozen=True)
class Told:
    """One value as a file tells it; None stands for a gap. shown: how the file wrote it."""

    value: float | None
    unit: Unit
    shown: str = ""


@dataclass
class Gathering:
    """Rows of a file as they are read. wants: quantities the file should have; others are not missed."""

    wants: frozenset[str]
    rows: list[HourlyRow] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    gaps: Counter[str] = field(default_factory=Counter)
    first_gap: dict[str, str] = field(default_factory=dict)

    def add(self, where: str, time: dt.datetime, told: Mapping[str, Told]) -> None:
        """Take one hour; what no air has is a fault with its place, an hour with a gap is left out and counted."""
        before = len(self.faults)
        values = {name: self._value(where, name, one) for name, one in told.items()}
        if len(self.faults) > before:
            return
        temp, humidity, dew = (values.get(name) for name in ("temp", "humidity", "dew"))
        rain, wind = (values.get(name, 0.0 if name not in self.wants else None) for name in ("rain", "wind"))
        gap = "temp" if temp is None else "rain" if rain is None else "wind" if wind is None else ""
        gap = gap or ("humidity or dew" if humidity is None and dew is None else "")
        if temp is None or rain is None or wind is None or gap:
            self.gaps[gap] += 1
            self.first_gap.setdefault(gap, where)
            return
        if dew is not None:
            if dew > temp + DEW_EXCESS:
                what = f"the dew point is {dew:.1f} °C and the air {temp:.1f} °C, which no air has"
                self.fault(where, what, "check the line, or take it out")
                return
            humidity, dew = None, min(dew, temp)
        self.rows.append(HourlyRow(time, temp, humidity, dew, rain, wind))

    def _value(self, where: str, name: str, told: Told) -> float | None:
        if told.value is None:
            return None
        value = told.unit.ours(told.value)
        low, high = RANGES[COLUMNS[name]]
        if name == "humidity" and high < value <= MOST_HUMID:
            value = high
        # Written so that what is no number fails it too.
        if not low <= value <= high:
            ours = OUR_UNITS[name]
            also = f" ({value:.4g} {ours})" if told.unit.name != ours else ""
            shown = one_line(told.shown or f"{told.value:g}", 40)
            what = f"{name} is {shown} {told.unit.name}{also}, which no air has ({low:g} to {high:g} {ours})"
            self.fault(where, what, "check the line, or take it out")
            return None
        return value

    def fault(self, where: str, what: str, hint: str) -> None:
        """Something wrong at a place of the file."""
        self.faults.append(Fault(where, what, hint))

    def done(self) -> tuple[HourlyRow, ...]:
        """All rows. Raises JobError with the faults, the first of them one by one, or where no hour is whole."""
        more = len(self.faults) - MOST_FAULTS
        faults = self.faults[:MOST_FAULTS]
        if more > 0:
            faults.append(Fault("", f"{more} more lines have faults", "mend the first ones and read the file again"))
        if not faults and not self.rows:
            gaps = "; ".join(self.gap_words())
            what = "no hour of it is whole" if gaps else "the file has no hours"
            faults.append(Fault("", what, gaps or "check that it is the right file"))
        if faults:
            raise JobError(faults)
        return tuple(self.rows)

    def gap_words(self) -> list[str]:
        """What was left out, a sentence each without a full stop."""
        return [
            f"{count} hour{'s are' if count > 1 else ' is'} left out, {gap} being empty ({self.first_gap[gap]}"
            f"{' the first' if count > 1 else ''})"
            for gap, count in self.gaps.items()
        ]
