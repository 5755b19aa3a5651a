"""What is said of weather files that are not as they should be: whole sentences, with where, what and what to do."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import pytest
from telling_jobs import HEAD, NORMALS, SOFT
from test_weather_epw_json import EPW_HEAD, epw_line, forecast
from weather_files import faults, read, saved

from sequencer.errors import JobError, UsageError, short_path
from sequencer.job import parse_job
from sequencer.weather.bringing import converted, words_of, write_new
from sequencer.weather.files import read_hourly
from sequencer.weather.forecast import MOST_BYTES, read_forecast
from sequencer.weather.formats import read_weather

FRONT = "valid,temp_c,humidity,rain_mm,wind_kn\n"
OURS = "time,temp_c,humidity,rain_mm,wind_kn\n"
HOUR = "2027-04-12 10:00,8,70,0,5\n"


# -- words on the command line


@pytest.mark.parametrize(
    ("words", "option", "said"),
    [
        (["temp"], "--column", "--column 'temp' names nothing; write it like --column temp=TT."),
        (["temp="], "--unit", "--unit 'temp=' names nothing; write it like --unit temp=F."),
        (["temp=a", "temp=b"], "--column", "--column temp is given twice; give it once."),
        (["x" * 99], "--column", f"--column '{'x' * 39}…' names nothing; write it like --column temp=TT."),
    ],
)
def test_words_that_name_nothing(words: list[str], option: str, said: str) -> None:
    with pytest.raises(UsageError) as caught:
        words_of(words, option)
    assert [fault.sentence() for fault in caught.value.faults] == [said]


def test_words_are_taken_as_they_stand_and_blanks_round_them_go() -> None:
    assert words_of([" temp = a=b ", "dew=x"], "--column") == {"temp": "a=b", "dew": "x"}


def test_quantities_and_units_that_there_are_not(tmp_path: Path) -> None:
    path = saved(tmp_path, FRONT + HOUR)
    with pytest.raises(UsageError) as caught:
        read_weather(path, {"tempp": "TT", "qqqqqqq": "x"})
    near, far = (fault.sentence() for fault in caught.value.faults)
    assert near == "there is no column for tempp; did you mean temp?"
    assert far == (
        "there is no column for qqqqqqq; there are time, date, year, month, day, hour, temp, dew, humidity, rain, wind."
    )
    with pytest.raises(UsageError, match="there is no unit for year; there are temp, dew, humidity, rain, wind, time"):
        read_weather(path, None, {"year": "x"})


# -- files that are none


def test_a_file_that_is_not_there_or_no_text(tmp_path: Path) -> None:
    with pytest.raises(JobError) as caught:
        read_weather(tmp_path / "none.csv")
    assert (
        caught.value.text() == f"{short_path(str(tmp_path / 'none.csv'), 80)}: there is no such file; check the name."
    )
    path = tmp_path / "picture.csv"
    path.write_bytes(b"\x89PNG\0\xff")
    with pytest.raises(JobError) as caught:
        read_weather(path)
    assert caught.value.text() == f"{path}: is no text; save it as a table with commas, UTF-8."
    locked = saved(tmp_path, FRONT + HOUR, "a.csv")
    assert len(read_weather(locked).rows) == 1


def test_a_forecast_file_that_can_not_be_one(tmp_path: Path) -> None:
    job = parse_job(HEAD + NORMALS + SOFT, tmp_path / "job.toml")

    def said(name: str) -> str:
        with pytest.raises(JobError) as caught:
            read_forecast(job, tmp_path / name, dt.date(2027, 4, 5))
        return caught.value.text()

    pick = "check the name, or pick one from the list."
    assert said("none.csv") == f"{short_path(str(tmp_path / 'none.csv'), 80)}: there is no such file; {pick}"
    (tmp_path / "folder.csv").mkdir()
    assert said("folder.csv") == f"{short_path(str(tmp_path / 'folder.csv'), 80)}: is no file; {pick}"
    assert said("x" * 500).endswith(f"is no name of a file; {pick}")
    with (tmp_path / "huge.csv").open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    assert said("huge.csv").endswith("huge.csv: is too large for a forecast; cut it to the days ahead.")
    saved(tmp_path, OURS + "2019-07-01T00:00,9,70,0,5\n2019-07-03T00:00,9,70,0,5\n", "old.csv")
    assert said("old.csv") == (
        "old.csv: its hours are from 2019-07-01 to 2019-07-03, none from 2027-04-05 on; "
        "bring in one for the days ahead."
    )


def test_a_file_that_is_there_is_not_written_over(tmp_path: Path) -> None:
    path = saved(tmp_path, "mine", "out.csv")
    with pytest.raises(UsageError) as caught:
        write_new(path, "theirs")
    assert caught.value.text() == f"{path}: is there already, and nothing is overwritten; take another name."
    with pytest.raises(UsageError) as caught:
        write_new(tmp_path / "no" / "out.csv", "theirs")
    assert caught.value.text() == (
        f"{tmp_path / 'no' / 'out.csv'}: can't be written (no such file or directory); check the name and the folder."
    )
    with pytest.raises(UsageError, match=r"can't be written \(no such name\); check the name and the folder"):
        write_new(tmp_path / "a\0b.csv", "theirs")


def test_a_file_brought_in_without_a_year_keeps_its_own(tmp_path: Path) -> None:
    path = saved(tmp_path, FRONT + HOUR)
    text, weather = converted(path)
    assert text == "time,temp_c,humidity,rain_mm,wind_kn\n2027-04-12T10:00,8,70,0,5\n"
    assert len(weather.rows) == 1


def test_a_year_that_leaves_nothing(tmp_path: Path) -> None:
    path = saved(tmp_path, EPW_HEAD + epw_line("2004,2,29,1"), "leap.epw")
    with pytest.raises(UsageError) as caught:
        converted(path, year=2027)
    assert caught.value.text() == f"{path}: nothing of it is left in 2027; take another year."


# -- tables


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            "hello\n",
            "line 1: this is no table of weather; "
            "a table has its columns' names in a line, with commas, semicolons or tabs between.",
        ),
        (FRONT + "soon,8,70,0,5\n", "line 2: 'soon' is no moment; write 2027-04-12 10:00, or take the line out."),
        (
            FRONT + "2027-04-12 10:00,8,70,0,fresh\n",
            "line 2: wind 'fresh' is no number; check the line, or take it out.",
        ),
        (
            FRONT + "\n" + HOUR + "2027-04-12 11:00,8,70,0,151\n",
            "line 4: wind is 151 kn, which no air has (0 to 150 kn); check the line, or take it out.",
        ),
        (
            FRONT.replace("humidity", "dew_c") + "2027-04-12 10:00,8,9.6,0,5\n",
            "line 2: the dew point is 9.6 °C and the air 8.0 °C, which no air has; check the line, or take it out.",
        ),
        (FRONT, "the file has no hours; check that it is the right file."),
        (
            FRONT + "2027-04-12 10:00,8,,0,5\n2027-04-12 11:00,8,,0,5\n",
            "no hour of it is whole; 2 hours are left out, humidity or dew being empty (line 2 the first).",
        ),
        (
            FRONT + "2027-04-12 10:00,8,,0,5\n2027-04-12 11:00,8,70,,5\n",
            "no hour of it is whole; 1 hour is left out, humidity or dew being empty (line 2); "
            "1 hour is left out, rain being empty (line 3).",
        ),
        (
            FRONT.replace("wind_kn", "wind (furlongs)") + HOUR,
            "wind (furlongs): wind is in 'furlongs', which is not known; "
            "say which it is: --unit wind=kn (of kn, m/s, km/h, mph, ft/s).",
        ),
    ],
)
def test_what_is_wrong_with_a_table(text: str, said: str, tmp_path: Path) -> None:
    assert faults(tmp_path, text) == [said]


def test_a_field_without_an_end_is_told_with_its_line(tmp_path: Path) -> None:
    (said,) = faults(tmp_path, FRONT + HOUR + f'2027-04-12 11:00,8,70,0,"{"5" * 200_000}\n')
    assert said == "line 3: is no line of a table (field larger than field limit (131072)); check the line."


def test_orders_of_dates_that_there_are_not_and_doubtful_ones(tmp_path: Path) -> None:
    text = "valid,temp_c,humidity,rain_mm,wind_kn\n04/05/2027 10:00,8,70,0,5\n"
    assert faults(tmp_path, text, units=["date=y/d/m"]) == ["'y/d/m' is no order of dates; take one of d/m/y, m/d/y."]
    assert faults(tmp_path, text) == [
        "its dates may have the day or the month first; say which: --unit date=d/m/y, or m/d/y."
    ]
    assert faults(tmp_path, text, units=["date=d/m/y", "time=Mars"]) == [
        "'Mars' is no time zone; write UTC, an offset such as +01:00, or a name such as Europe/London."
    ]


def test_columns_that_are_not_there_or_can_not_be_left_out(tmp_path: Path) -> None:
    text = FRONT + HOUR
    assert faults(tmp_path, text, ["temp=none"]) == ["temp can't be left out; name its column: --column temp=NAME."]
    assert faults(tmp_path, text, ["temp=temp_k"]) == [
        "line 1: there is no column 'temp_k'; did you mean temp_c?",
    ]
    assert faults(tmp_path, text, ["temp=qqqqqqqqq"]) == [
        "line 1: there is no column 'qqqqqqqqq'; there are valid, temp_c, humidity, rain_mm, wind_kn."
    ]
    bare = faults(tmp_path, "valid,temp_c,x\n2027-04-12 10:00,8,1\n")
    there = "there are valid, temp_c, x."
    assert bare == [
        f"line 1: no column is known to tell rain; name it: --column rain=NAME, or --column rain=none; {there}",
        f"line 1: no column is known to tell wind; name it: --column wind=NAME, or --column wind=none; {there}",
        f"line 1: no column is known to tell humidity or dew; name one: --column humidity=NAME, or dew; {there}",
    ]
    assert faults(tmp_path, "a,temp_c,humidity,rain_mm,wind_kn\n") == [
        "line 1: no column is known to tell time; "
        "name it: --column time=NAME; there are a, temp_c, humidity, rain_mm, wind_kn."
    ]


def test_a_day_and_a_clock_in_columns_of_their_own_and_names_with_blanks_before_them(tmp_path: Path) -> None:
    text = 'date, time, "temp_c", "humidity", rain_mm, wind_kn\n2027-04-12, 10:30, 8, 70, 0, 5\n'
    (row,) = read(tmp_path, text, units=["time=UTC"]).rows
    assert (row.time, row.temp_c, row.humidity) == (dt.datetime(2027, 4, 12, 10, 30, tzinfo=dt.UTC), 8, 70)
    whole = text.replace(" 10:30,", " 2027-04-13 10:30,")
    assert read(tmp_path, whole, units=["time=UTC"]).rows[0].time.day == 13


def test_what_was_read_is_told(tmp_path: Path) -> None:
    text = "valid,temp_c,humidity,rain_mm,wind_kn\n2027-04-12 10:00,8,70,0,5\n"
    assert read(tmp_path, text, ["wind=none"]).notes == (
        "Read: temp from temp_c in °C, humidity from humidity in %, rain from rain_mm in mm; "
        "wind is taken for none; times without an offset are the yard's",
    )
    notes = read(tmp_path, text + "2027-04-12 11:00,8,70,,5\n", units=["time=UTC"]).notes
    assert notes == (
        "Read: temp from temp_c in °C, humidity from humidity in %, rain from rain_mm in mm, wind from wind_kn in kn; "
        "times without an offset are in UTC",
        "1 hour is left out, rain being empty (line 3)",
    )


@pytest.mark.parametrize("bad", [12, 13, 14])
def test_a_dozen_faults_are_named_and_the_rest_counted(bad: int, tmp_path: Path) -> None:
    told = faults(tmp_path, FRONT + "2027-04-12 10:00,99,70,0,5\n" * bad)
    assert len(told) == min(bad, 13)
    assert told[0] == "line 2: temp is 99 °C, which no air has (-60 to 60 °C); check the line, or take it out."
    if bad > 12:
        assert told[12] == f"{bad - 12} more lines have faults; mend the first ones and read the file again."


# -- our own hourly files


def own_faults(folder: Path, text: str) -> list[str]:
    """What is wrong with an hourly file of ours, a sentence each."""
    with pytest.raises(JobError) as caught:
        read_hourly(saved(folder, text, "hours.csv"))
    assert caught.value.file.endswith("hours.csv")
    return [fault.sentence() for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("soon,8,70,0,5", "time 'soon' is no moment; write 2027-04-12T10:00."),
        ("1899-12-31T23:00,8,70,0,5", "time '1899-12-31T23:00' is no moment; write 2027-04-12T10:00."),
        (",8,70,0,5", "time '' is no moment; write 2027-04-12T10:00."),
        ("2027-04-12T10:00,8,,0,5", "has neither humidity nor dew_c; fill in one of the two."),
        ("2027-04-12T10:00,,70,0,5", "temp_c is empty; fill it in, or take the line out."),
        ("2027-04-12T10:00,8,70,,5", "rain_mm is empty; fill it in, or take the line out."),
        ("2027-04-12T10:00,8,70,0,", "wind_kn is empty; fill it in, or take the line out."),
        ("2027-04-12T10:00,warm,70,0,5", "temp_c 'warm' is no number; check the line."),
        ("2027-04-12T10:00,8,inf,0,5", "humidity 'inf' is no number; check the line."),
        ("2027-04-12T10:00,61,70,0,5", "temp_c is 61, which no air has (-60 to 60); check the line, or take it out."),
        ("2027-04-12T10:00,8,70,-1,5", "rain_mm is -1, which no air has (0 to 310); check the line, or take it out."),
    ],
)
def test_what_is_wrong_with_a_line_of_our_own(line: str, said: str, tmp_path: Path) -> None:
    assert own_faults(tmp_path, f"{OURS}2027-04-12T09:00,8,70,0,5\n{line}\n") == [f"line 3: {said}"]


def test_what_is_wrong_with_a_whole_file_of_our_own(tmp_path: Path) -> None:
    names = "the first line names the columns: time,temp_c,humidity,rain_mm,wind_kn"
    other = 'a file of another layout is turned into one by "sequencer weather FILE OUT.csv".'
    assert own_faults(tmp_path, "time,temp_c\n") == [
        f"line 1: column rain_mm, wind_kn, humidity (or dew_c) is missing; {names}; {other}"
    ]
    assert own_faults(tmp_path, OURS) == [
        "line 2: the file has no hours; add a line an hour, or leave weather.file out."
    ]
    assert own_faults(tmp_path, OURS + "soon,8,70,0,5\n" * 14)[12:] == [
        "2 more lines have faults; mend the first ones and read the file again."
    ]
    assert len(own_faults(tmp_path, OURS + "soon,8,70,0,5\n" * 12)) == 12
    assert own_faults(tmp_path, OURS + "\0") == [
        "weather, file: is not plain UTF-8 text; save the table as CSV, UTF-8."
    ]
    with pytest.raises(JobError, match=r"there is no such file; check the name, or leave weather\.file out"):
        read_hourly(tmp_path / "none.csv")
    with pytest.raises(JobError, match=r"can't be read \(Is a directory\); check the file and its rights"):
        read_hourly(tmp_path)


# -- EPW


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            EPW_HEAD.replace("-5.0", "east"),
            "line 1: LOCATION tells no time zone; the ninth value is the hours from UTC, such as -5.",
        ),
        (
            EPW_HEAD.replace("-5.0", "14.5"),
            "line 1: LOCATION tells no time zone; the ninth value is the hours from UTC, such as -5.",
        ),
        (
            EPW_HEAD.replace("COMMENTS 2", "REMARKS"),
            "line 7: begins with 'REMARKS,none'; an EPW file has COMMENTS 2 there; take it anew from where it came.",
        ),
        (EPW_HEAD.replace("PERIODS,1,1", "PERIODS,1,4"), "line 8: it has 4 lines an hour; take a file with one."),
        (
            EPW_HEAD + "2001,4,12,1,60,x,8\n",
            "line 9: has 7 values, and an EPW line has 35; check the line, or take it out.",
        ),
        (
            EPW_HEAD + "\n" + epw_line("2001,4,31,1"),
            "line 10: 2001,4,31,1,60 is no year, month, day, hour and minute; check the line, or take it out.",
        ),
        (
            EPW_HEAD + epw_line("2001,4,12,1", temp="warm"),
            "line 9: temp 'warm' is no number; check the line, or take it out.",
        ),
    ],
)
def test_what_is_wrong_with_an_epw_file(text: str, said: str, tmp_path: Path) -> None:
    assert faults(tmp_path, text) == [said]


@pytest.mark.parametrize("hours", [-14, 14, 5.75])
def test_the_hours_from_utc_of_an_epw_file(hours: float, tmp_path: Path) -> None:
    text = EPW_HEAD.replace("-5.0", str(hours)) + epw_line("2001,4,12,1")
    (row,) = read(tmp_path, text).rows
    assert row.time.utcoffset() == dt.timedelta(hours=hours)
    assert read(tmp_path, text).notes == ()


def test_the_years_of_a_typical_year_are_told(tmp_path: Path) -> None:
    text = EPW_HEAD + epw_line("2001,4,12,1") + epw_line("1999,5,12,1") + epw_line("2004,6,12,1")
    assert read(tmp_path, text).notes == (
        "Its months are of the years 1999 to 2004; a year can be given for all of them",
    )


# -- forecasts saved as JSON


def changed(**hourly: Any) -> str:
    """The forecast with some of its columns in another way."""
    found = forecast()
    found["hourly"].update(hourly)
    return json.dumps(found)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "line 1: is no sound JSON; save the forecast anew, whole."),
        ('{"a":' * 100_000, "is no sound JSON; save the forecast anew, whole."),
        ("{}", "has no hourly table; ask the service for hourly values, and save what it answers."),
        (
            '{"a": {"time": []}, "b": {"time": []}}',
            "has the tables a, b, and none called hourly; ask the service for hourly values, and save what it answers.",
        ),
        (
            changed(wind_speed_10m=[1.0]),
            "wind_speed_10m: has 1 values, and there are 3 times; save the forecast anew, whole.",
        ),
        (
            changed(wind_speed_10m=7),
            "wind_speed_10m: has no list of values, and there are 3 times; save the forecast anew, whole.",
        ),
        (
            changed(time=["2027-04-12T10:00", "soon", "2027-04-12T12:00"]),
            "hour 2 (soon): 'soon' is no moment; take the file anew.",
        ),
        (
            changed(time=[1807520400, "2027-04-12T11:00", "2027-04-12T12:00"]),
            "hour 1 (1807520400): '1807520400' is no moment; take the file anew.",
        ),
        (
            changed(wind_speed_10m=[1.0, "fresh", 2.0]),
            "hour 2 (2027-04-12T11:00): wind 'fresh' is no number; take the file anew.",
        ),
    ],
)
def test_what_is_wrong_with_a_saved_forecast(text: str, said: str, tmp_path: Path) -> None:
    assert faults(tmp_path, text) == [said]


def test_a_forecast_that_says_nothing_of_rain(tmp_path: Path) -> None:
    found = forecast()
    del found["hourly"]["rain"], found["hourly"]["precipitation"]
    weather = read(tmp_path, json.dumps(found), ["rain=none"])
    assert weather.notes == ("It says nothing of rain: every hour is taken for dry",)
    assert [row.rain_mm for row in weather.rows] == [0.0, 0.0, 0.0]
    assert read(tmp_path, json.dumps(forecast())).notes == ()
