"""Weather in EPW files and in forecasts saved as JSON."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest
from weather_files import faults, read, saved

from sequencer.errors import UsageError
from sequencer.job import parse_job
from sequencer.weather.bringing import converted
from sequencer.weather.files import read_hourly
from sequencer.weather.forecast import read_forecast

# -- EPW


EPW_HEAD = """\
LOCATION,Nowhere,-,XXX,made up,000000,52.0,1.5,-5.0,10.0
DESIGN CONDITIONS,0
TYPICAL/EXTREME PERIODS,0
GROUND TEMPERATURES,0
HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0
COMMENTS 1,made up for a test
COMMENTS 2,none
DATA PERIODS,1,1,Data,Sunday,1/1,12/31
"""


def epw_line(
    moment: str, temp: str = "8.4", dew: str = "3.1", humidity: str = "69", wind: str = "5.0", **more: str
) -> str:
    """An hour as the layout's data dictionary has it; more: observed, codes, rain."""
    observed, codes, rain = more.get("observed", "9"), more.get("codes", "999999999"), more.get("rain", "0.0")
    sun = "0,0,300,0,0,0,0,0,0,0"
    cells = f"{moment},60,flags,{temp},{dew},{humidity},101325,{sun},200,{wind},5,5,9999,99999"
    return f"{cells},{observed},{codes},10,0.1,0,88,0.2,{rain},1.0\n"


def test_an_epw_hour_has_35_values_as_its_dictionary_says() -> None:
    assert epw_line("2001,4,12,11").count(",") == 34


def test_an_epw_file_is_read_by_its_layout(tmp_path: Path) -> None:
    text = EPW_HEAD + epw_line("2001,4,12,1") + epw_line("1999,4,12,24", rain="0.4", wind="10")
    weather = read(tmp_path, text)
    zone = dt.timezone(dt.timedelta(hours=-5))
    assert weather.layout == "EPW"
    # Hour 1 is 00:01 to 01:00, hour 24 the day's last.
    assert [row.time for row in weather.rows] == [
        dt.datetime(2001, 4, 12, 0, tzinfo=zone),
        dt.datetime(1999, 4, 12, 23, tzinfo=zone),
    ]
    one, two = weather.rows
    assert (one.temp_c, one.dew_c, one.rain_mm) == (8.4, 3.1, 0.0)
    assert two.rain_mm == 0.4
    assert two.wind_kn == pytest.approx(19.438, abs=1e-3)
    assert "years 1999 to 2001" in weather.notes[0]


@pytest.mark.parametrize(
    ("more", "rain"),
    [
        ({"observed": "0", "codes": "909999999", "rain": "999"}, 0.1),
        ({"observed": "0", "codes": "990999999"}, 0.1),
        ({"observed": "0", "codes": "999909999"}, 0.1),
        ({"observed": "0", "codes": "999999099"}, 0.0),
        ({"observed": "0", "codes": "099999999"}, 0.0),
        ({"observed": "9", "codes": "909999999"}, 0.0),
        ({"observed": "0", "codes": "909999999", "rain": "1.5"}, 1.5),
        ({"observed": "0", "codes": "999999999", "rain": "999"}, 0.0),
        # A program that takes the codes for a number drops the zero before them.
        ({"observed": "0", "codes": "9999999"}, 0.1),
    ],
)
def test_rain_in_an_epw_file_is_a_depth_or_the_weather_observed(
    more: dict[str, str], rain: float, tmp_path: Path
) -> None:
    assert read(tmp_path, EPW_HEAD + epw_line("2001,4,12,11", **more)).rows[0].rain_mm == rain


def test_missing_values_of_an_epw_file_are_no_values(tmp_path: Path) -> None:
    gaps = epw_line("2001,4,12,2", temp="99.9") + epw_line("2001,4,12,3", wind="999")
    text = EPW_HEAD + epw_line("2001,4,12,1", dew="99.9") + gaps + epw_line("2001,4,12,4", dew="99.9", humidity="999")
    weather = read(tmp_path, text)
    assert [(row.humidity, row.dew_c) for row in weather.rows] == [(69.0, None)]
    assert len(weather.notes) == 3
    dry = "".join(epw_line(f"2001,4,12,{hour}", rain="999") for hour in range(1, 25))
    assert "It says nothing of rain: every hour is taken for dry" in read(tmp_path, EPW_HEAD + dry).notes


EPW_WRONG = [
    (EPW_HEAD.replace("-5.0", "east"), "line 1: LOCATION tells no time zone"),
    (EPW_HEAD.replace("COMMENTS 2", "REMARKS"), "line 7: begins with 'REMARKS,none'"),
    (EPW_HEAD.replace("PERIODS,1,1", "PERIODS,1,4"), "line 8: it has 4 lines an hour"),
    (EPW_HEAD + "2001,4,12,1,60,x,8\n", "line 9: has 7 values, and an EPW line has 35"),
    (EPW_HEAD + epw_line("2001,4,31,1"), "line 9: 2001,4,31,1,60 is no year, month, day, hour and minute"),
    (EPW_HEAD + epw_line("2001,4,12,25"), "line 9: 2001,4,12,25,60 is no year"),
    (EPW_HEAD + epw_line("2001,4,12,1", temp="warm"), "line 9: temp 'warm' is no number"),
    (EPW_HEAD + epw_line("2001,4,12,1", temp="-75"), "line 9: temp is -75 °C, which no air has"),
    (EPW_HEAD + epw_line("2001,4,12,1", wind="80"), "line 9: wind is 80 m/s (155.5 kn), which no air has"),
]


@pytest.mark.parametrize(("text", "said"), EPW_WRONG)
def test_what_is_wrong_in_an_epw_file_is_told_with_its_line(text: str, said: str, tmp_path: Path) -> None:
    assert faults(tmp_path, text)[0].startswith(said)


def test_a_typical_year_is_laid_on_the_year_of_the_stay(tmp_path: Path) -> None:
    text = EPW_HEAD + epw_line("2004,2,29,1") + epw_line("2004,2,28,1") + epw_line("1999,3,1,1")
    csv_text, _ = converted(saved(tmp_path, text, "typical.epw"), year=2027)
    rows = read_hourly(saved(tmp_path, csv_text))
    assert [row.time.date() for row in rows] == [dt.date(2027, 2, 28), dt.date(2027, 3, 1)]
    with pytest.raises(UsageError, match="nothing of it is left in 2027"):
        converted(saved(tmp_path, EPW_HEAD + epw_line("2004,2,29,1"), "leap.epw"), year=2027)


# -- forecasts saved as JSON


def forecast(**changes: Any) -> dict[str, Any]:
    """A forecast of three hours in American units, as such services answer."""
    hourly = {
        "time": ["2027-04-12T10:00", "2027-04-12T11:00", "2027-04-12T12:00"],
        "temperature_2m": [50.0, 51.8, 53.6],
        "apparent_temperature": [40.0, 41.0, 42.0],
        "dew_point_2m": [41.0, None, 42.8],
        "relative_humidity_2m": [71, 70, 67],
        "rain": [0.0, 0.0, 0.0],
        "precipitation": [0.0, 0.0, 0.1],
        "wind_speed_10m": [10.0, 11.0, 12.0],
    }
    units = {
        "time": "iso8601",
        "temperature_2m": "°F",
        "dew_point_2m": "°F",
        "relative_humidity_2m": "%",
        "precipitation": "inch",
        "wind_speed_10m": "mp/h",
    }
    found = {"utc_offset_seconds": 3600, "timezone": "Europe/London", "hourly_units": units, "hourly": hourly}
    return found | changes


def test_a_saved_forecast_is_read_by_its_keys_and_units(tmp_path: Path) -> None:
    weather = read(tmp_path, json.dumps(forecast()))
    one, two, three = weather.rows
    assert (one.temp_c, one.dew_c, one.wind_kn) == (
        pytest.approx(10),
        pytest.approx(5),
        pytest.approx(8.6898, abs=1e-3),
    )
    assert one.time.astimezone(dt.UTC) == dt.datetime(2027, 4, 12, 9, tzinfo=dt.UTC)
    assert (two.dew_c, two.humidity) == (None, 70)
    # The rain of 12:00 may have fallen before it: both hours are wet, and snow or showers count as rain does.
    assert [row.rain_mm for row in (one, two, three)] == [0.0, pytest.approx(2.54), pytest.approx(2.54)]


@pytest.mark.parametrize(
    ("more", "first"),
    [
        ({"timezone": "GMT", "utc_offset_seconds": 0}, dt.datetime(2027, 4, 12, 10, tzinfo=dt.UTC)),
        ({"timezone": None}, dt.datetime(2027, 4, 12, 9, tzinfo=dt.UTC)),
        ({"timezone": "Nowhere/X", "utc_offset_seconds": -7200}, dt.datetime(2027, 4, 12, 12, tzinfo=dt.UTC)),
    ],
)
def test_a_forecasts_moments_are_in_the_zone_it_tells(more: dict[str, Any], first: dt.datetime, tmp_path: Path) -> None:
    assert read(tmp_path, json.dumps(forecast(**more))).rows[0].time.astimezone(dt.UTC) == first


def test_a_forecast_in_seconds_since_1970_and_over_a_change_of_the_clock(tmp_path: Path) -> None:
    seconds = forecast()
    seconds["hourly"]["time"] = [1807520400, 1807524000, 1807527600]
    seconds["hourly_units"]["time"] = "unixtime"
    assert [row.time.timestamp() for row in read(tmp_path, json.dumps(seconds)).rows] == seconds["hourly"]["time"]
    twice = forecast()
    twice["hourly"]["time"] = ["2027-10-31T00:00", "2027-10-31T01:00", "2027-10-31T01:00"]
    moments = [row.time.astimezone(dt.UTC) for row in read(tmp_path, json.dumps(twice)).rows]
    assert [(m.day, m.hour) for m in moments] == [(30, 23), (31, 0), (31, 1)]


def test_a_forecast_without_units_asks_for_them(tmp_path: Path) -> None:
    bare = forecast(hourly_units={})
    told = faults(tmp_path, json.dumps(bare))
    assert len(told) == 4
    assert "temperature_2m: the unit of temp is not told" in told[0]
    units = ["temp=F", "dew=F", "rain=in", "wind=mph"]
    assert read(tmp_path, json.dumps(bare), units=units).rows == read(tmp_path, json.dumps(forecast())).rows


def test_a_forecast_that_lacks_or_mixes_up_something_is_refused(tmp_path: Path) -> None:
    wild = forecast()
    wild["hourly"]["temperature_2m"][1] = 500
    assert faults(tmp_path, json.dumps(wild)) == [
        "hour 2 (2027-04-12T11:00): temp is 500 °F (260 °C), which no air has (-60 to 60 °C); "
        "check the line, or take it out."
    ]
    for value in ("warm", True, [1], 10**400):
        wild["hourly"]["temperature_2m"][1] = value
        assert "is no number" in faults(tmp_path, json.dumps(wild))[0]
    short = forecast()
    short["hourly"]["wind_speed_10m"].pop()
    assert "wind_speed_10m: has 2 values, and there are 3 times" in faults(tmp_path, json.dumps(short))[0]
    calm = forecast()
    del calm["hourly"]["wind_speed_10m"]
    assert "no column is known to tell wind" in faults(tmp_path, json.dumps(calm))[0]
    assert read(tmp_path, json.dumps(calm), ["wind=none"]).rows[0].wind_kn == 0
    late = forecast()
    late["hourly"]["time"][0] = "soon"
    assert "hour 1 (soon): 'soon' is no moment" in faults(tmp_path, json.dumps(late))[0]


JOB = """\
[job]
timezone = "Europe/London"
hauled = 2027-04-12T10:00:00
finish = "go"

[[crew]]
id = "me"
hours = [ { days = "Mon-Fri", from = "08:00", to = "16:00" } ]

[[task]]
id = "go"
work = 1
"""


def test_a_saved_forecast_is_brought_in_as_it_is(tmp_path: Path) -> None:
    found = forecast()
    found["hourly"] = {
        "time": [f"2027-04-12T{h:02}:00" for h in range(24)],
        "temperature_2m": [20.0] * 24,
        "dew_point_2m": [10.0] * 24,
        "precipitation": [0.0] * 24,
        "wind_speed_10m": [18.52] * 24,
    }
    found["hourly_units"] = {
        "temperature_2m": "°C",
        "dew_point_2m": "°C",
        "precipitation": "mm",
        "wind_speed_10m": "km/h",
    }
    path = saved(tmp_path, json.dumps(found), "forecast.json")
    taken = read_forecast(parse_job(JOB, tmp_path / "job.toml"), path, dt.date(2027, 4, 12))
    (day,) = taken.days
    assert day.after == {"low": 20.0, "high": 20.0, "dew": 10.0, "wind": 10.0, "rain": []}
