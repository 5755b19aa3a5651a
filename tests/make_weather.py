"""Writes the made-up hourly weather that lies beside the demo jobs.

    python tests/make_weather.py

rewrites every CSV file in jobs/, byte for byte the same each time. Nothing here was measured: the
numbers come from a small model with a fixed seed for each file, so that the jobs have weather that
behaves like weather and belongs to nobody.

The model, a day at a time and then an hour at a time, in the yard's own clock:

- Wet or dry: a two-state chain of days. A wet day has one spell of rain, some have two, each a few
  hours long, with an amount drawn for every hour.
- Temperature: the day's mean drifts from the first day's to the last day's and carries an anomaly that
  remembers yesterday (first-order autoregression). A wave runs through the day, lowest at 05:00 and
  highest at 15:00, half a cosine between; rain and cloud flatten it.
- Dew point: a little below the night's lowest temperature, higher on wet days, with a slow wander of
  its own; close to the air while it rains; never above the air.
- Wind: the day's level remembers yesterday, is stronger on wet days and freshens in the afternoon.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

JOBS = Path(__file__).resolve().parent.parent / "jobs"

LOWEST_HOUR = 5
HIGHEST_HOUR = 15
TEMPERATURE_MEMORY = 0.7
"""How much of a day's warmth or cold is still there the day after."""
WIND_MEMORY = 0.55
CLOUDY_SWING = 0.45
"""The day's swing under rain clouds, as a share of a fair day's."""
SECOND_SPELL_CHANCE = 0.35


@dataclass(frozen=True)
class Climate:
    """What the weather is like over one file: temperatures in °C, wind in knots, rain in hours and mm."""

    first_low: float
    first_high: float
    last_low: float
    last_high: float
    anomaly: float
    """Standard deviation of a day's mean temperature."""
    dew_below_low: float
    """How far the dew point of a dry day lies below its lowest temperature."""
    wet_after_dry: float
    wet_after_wet: float
    spell_hours: float
    rain_mm_an_hour: float
    wind: float


@dataclass(frozen=True)
class Station:
    """One file to write."""

    file: str
    timezone: str
    first: date
    days: int
    climate: Climate
    seed: int
    damp_column: str = "humidity"
    """Which of the two the file carries: `humidity` in per cent, or `dew_c`."""


@dataclass(frozen=True)
class Day:
    """One day before it is cut into hours."""

    low: float
    high: float
    dew: float
    rain: dict[int, float]
    """Millimetres for each local hour that has rain."""
    wind: float


@dataclass(frozen=True)
class Hour:
    """One line of a file."""

    at: datetime
    temp: float
    dew: float
    rain: float
    wind: float


STATIONS = [
    Station(
        file="dunlin-april.csv",
        timezone="Europe/London",
        first=date(2027, 4, 4),
        days=24,
        climate=Climate(
            first_low=5.0,
            first_high=12.5,
            last_low=7.0,
            last_high=14.5,
            anomaly=1.4,
            dew_below_low=1.2,
            wet_after_dry=0.22,
            wet_after_wet=0.5,
            spell_hours=5.0,
            rain_mm_an_hour=0.9,
            wind=9.0,
        ),
        seed=17,
    ),
    Station(
        file="plover-may.csv",
        timezone="Europe/Amsterdam",
        first=date(2027, 5, 9),
        days=18,
        climate=Climate(
            first_low=7.5,
            first_high=16.0,
            last_low=9.5,
            last_high=18.5,
            anomaly=1.8,
            dew_below_low=0.8,
            wet_after_dry=0.25,
            wet_after_wet=0.5,
            spell_hours=4.0,
            rain_mm_an_hour=1.1,
            wind=9.0,
        ),
        seed=11,
        damp_column="dew_c",
    ),
    Station(
        file="knot-march.csv",
        timezone="Europe/Stockholm",
        first=date(2027, 3, 14),
        days=19,
        climate=Climate(
            first_low=-1.5,
            first_high=6.0,
            last_low=1.5,
            last_high=9.5,
            anomaly=1.6,
            dew_below_low=1.5,
            wet_after_dry=0.2,
            wet_after_wet=0.45,
            spell_hours=4.0,
            rain_mm_an_hour=0.6,
            wind=8.0,
        ),
        seed=3,
    ),
]


def saturation_hpa(temp: float) -> float:
    """Vapour pressure over water at saturation, hPa (WMO-No. 8)."""
    return 6.112 * math.exp(17.62 * temp / (243.12 + temp))


def humidity(temp: float, dew: float) -> float:
    """Relative humidity in per cent."""
    return 100.0 * saturation_hpa(dew) / saturation_hpa(temp)


def rain_hours(climate: Climate, chance: random.Random) -> dict[int, float]:
    """The hours with rain on a wet day, and how much falls in each."""
    fallen: dict[int, float] = {}
    for _ in range(2 if chance.random() < SECOND_SPELL_CHANCE else 1):
        start = chance.randrange(24)
        length = 1 + round(climate.spell_hours * (0.4 + 1.2 * chance.random()))
        for hour in range(start, min(24, start + length)):
            amount = -climate.rain_mm_an_hour * math.log(1.0 - chance.random())
            fallen[hour] = max(0.1, round(amount, 1))
    return fallen


def days_of(station: Station, chance: random.Random) -> list[Day]:
    """The days of a file, and one more so that the last night has a morning to fall towards."""
    climate = station.climate
    wet = False
    warmth = climate.anomaly * chance.gauss(0.0, 1.0)
    breeze = 0.0
    made: list[Day] = []
    for number in range(station.days + 1):
        wet = chance.random() < (climate.wet_after_wet if wet else climate.wet_after_dry)
        fresh = math.sqrt(1.0 - TEMPERATURE_MEMORY**2)
        warmth = TEMPERATURE_MEMORY * warmth + fresh * climate.anomaly * chance.gauss(0.0, 1.0)
        breeze = WIND_MEMORY * breeze + math.sqrt(1.0 - WIND_MEMORY**2) * chance.gauss(0.0, 1.0)
        along = number / station.days
        low = climate.first_low + along * (climate.last_low - climate.first_low)
        high = climate.first_high + along * (climate.last_high - climate.first_high)
        middle = (low + high) / 2 + warmth
        swing = (high - low) / 2 * (CLOUDY_SWING if wet else 0.85 + 0.4 * chance.random())
        rain = rain_hours(climate, chance) if wet else {}
        dew = middle - swing - climate.dew_below_low + 0.7 * chance.gauss(0.0, 1.0)
        wind = climate.wind * math.exp(0.35 * breeze + (0.25 if wet else 0.0))
        made.append(Day(middle - swing, middle + swing, dew, rain, wind))
    return made


def temperature(yesterday: Day, today: Day, tomorrow: Day, hour: int) -> float:
    """The air at one hour: half a cosine from each lowest to the next highest and down again."""
    if hour < LOWEST_HOUR:
        start, end, gone = yesterday.high, today.low, hour + 24 - HIGHEST_HOUR
        span = 24 - HIGHEST_HOUR + LOWEST_HOUR
    elif hour < HIGHEST_HOUR:
        start, end, gone, span = today.low, today.high, hour - LOWEST_HOUR, HIGHEST_HOUR - LOWEST_HOUR
    else:
        start, end, gone = today.high, tomorrow.low, hour - HIGHEST_HOUR
        span = 24 - HIGHEST_HOUR + LOWEST_HOUR
    return start + (end - start) * (1.0 - math.cos(math.pi * gone / span)) / 2


def hours_of(station: Station) -> Iterator[Hour]:
    """Every hour of a file, from local midnight to local midnight; clock changes are real."""
    chance = random.Random(station.seed)
    days = days_of(station, chance)
    zone = ZoneInfo(station.timezone)
    at = datetime.combine(station.first, time(), zone).astimezone(UTC)
    end = datetime.combine(station.first + timedelta(days=station.days), time(), zone).astimezone(UTC)
    wander = 0.0
    while at < end:
        local = at.astimezone(zone)
        number = (local.date() - station.first).days
        today = days[number]
        temp = temperature(days[max(0, number - 1)], today, days[number + 1], local.hour)
        temp += 0.15 * chance.gauss(0.0, 1.0)
        wander = 0.9 * wander + 0.25 * chance.gauss(0.0, 1.0)
        rain = today.rain.get(local.hour, 0.0)
        dew = today.dew + wander
        if rain:
            dew = max(dew, temp - 0.6 - 0.6 * chance.random())
        afternoon = 1.0 + 0.25 * math.cos(math.pi * (local.hour - HIGHEST_HOUR) / 12)
        wind = today.wind * afternoon * (0.85 + 0.3 * chance.random())
        yield Hour(at, temp, min(dew, temp - 0.1), rain, wind)
        at += timedelta(hours=1)


def lines_of(station: Station) -> Iterator[str]:
    """The lines of a file. A value holds for the hour from its time on; times are UTC."""
    yield f"time,temp_c,{station.damp_column},rain_mm,wind_kn"
    for hour in hours_of(station):
        damp = hour.dew if station.damp_column == "dew_c" else humidity(hour.temp, hour.dew)
        stamp = hour.at.isoformat(timespec="minutes")
        yield f"{stamp},{hour.temp:.1f},{damp:.1f},{hour.rain:.1f},{hour.wind:.0f}"


def write(station: Station, folder: Path = JOBS) -> Path:
    """Writes one file and says where it is."""
    path = folder / station.file
    path.write_text("\n".join(lines_of(station)) + "\n", encoding="ascii", newline="\n")
    return path


def main() -> None:
    """Writes them all."""
    for station in STATIONS:
        print(write(station).name)


if __name__ == "__main__":
    main()
