"""A forecast from a file: the days it makes different, what it must not touch, and files that are none."""

from __future__ import annotations

import datetime as dt
import tomllib
from pathlib import Path

import pytest
from telling_jobs import HEAD, NORMALS, SOFT, day

from sequencer.errors import JobError
from sequencer.job import Job, parse_job
from sequencer.job.jobfile import JobFile
from sequencer.job.writing import apply_change
from sequencer.weather.forecast import MOST_BYTES, MOST_DAYS, Forecast, read_forecast, weather_files

MONDAY = dt.date(2027, 4, 5)
TEXT = HEAD + day("2027-04-06", 5, 12, 4, "10:00/14:00") + NORMALS + SOFT
HEADER = "time,temp_c,humidity,rain_mm,wind_kn\n"


def hours(first: str, count: int, temp: float = 9, humidity: float = 70, rain: float = 0, wind: float = 7) -> str:
    """Hours all alike from a moment on."""
    begin = dt.datetime.fromisoformat(first)
    times = [(begin + dt.timedelta(hours=k)).isoformat(timespec="minutes") for k in range(count)]
    return "".join(f"{time},{temp},{humidity},{rain},{wind}\n" for time in times)


def job_in(folder: Path, text: str = TEXT) -> Job:
    path = folder / "job.toml"
    path.write_text(text, "utf-8")
    return parse_job(text, path)


def forecast_of(folder: Path, rows: str, since: dt.date = MONDAY, text: str = TEXT) -> Forecast:
    path = folder / "forecast.csv"
    path.write_text(HEADER + rows, "utf-8")
    return read_forecast(job_in(folder, text), path, since)


def days_of(text: str) -> dict[str, dict[str, object]]:
    return {str(table["date"]): table for table in tomllib.loads(text)["weather"]["day"]}


def test_whole_days_become_days_by_hand(tmp_path: Path) -> None:
    rows = hours("2027-04-05T00:00", 12, 4) + hours("2027-04-05T12:00", 12, 9, rain=0.4, wind=11.2)
    found = forecast_of(tmp_path, rows)
    assert [day.date for day in found.days] == [MONDAY]
    after = found.days[0].after
    assert (after["low"], after["high"], after["wind"], after["rain"]) == (4, 9, 12, ["12:00/24:00"])
    # 70 % at 4 °C and at 9 °C: dew points of -1.0 and 3.8 by the formula of WMO-No. 8, their mean rounded up.
    assert after["dew"] == pytest.approx(1.5, abs=0.1)


def test_hours_it_does_not_tell_stay_as_they_were_known(tmp_path: Path) -> None:
    found = forecast_of(tmp_path, hours("2027-04-06T16:00", 8, 2))
    (day,) = found.days
    assert day.before["rain"] == ["10:00/14:00"]
    assert day.after["rain"] == ["10:00/14:00"]
    assert (day.before["low"], day.after["low"]) == (5, 2)
    assert day.after["high"] == 12


def test_a_day_of_which_little_is_known_is_left_out(tmp_path: Path) -> None:
    text = TEXT.replace(NORMALS, "")
    found = forecast_of(tmp_path, hours("2027-04-07T00:00", 30), text=text)
    assert [day.date.day for day in found.days] == [7]
    assert found.days[0].before == {}


def test_days_before_today_and_past_the_most_are_left_out(tmp_path: Path) -> None:
    found = forecast_of(tmp_path, hours("2027-04-01T00:00", 24 * 60))
    assert found.days[0].date == MONDAY
    assert len(found.days) == MOST_DAYS
    assert found.more == 56 - MOST_DAYS


def test_what_is_known_already_is_no_change(tmp_path: Path) -> None:
    found = forecast_of(tmp_path, hours("2027-04-05T00:00", 24))
    text = apply_change(TEXT, found.change()).text
    again = forecast_of(tmp_path, hours("2027-04-05T00:00", 24), text=text)
    # A day by hand is a curve through low and high; of a steady day that is the same.
    assert again.days == ()


def test_offsets_count_by_the_clock_of_the_yard(tmp_path: Path) -> None:
    rows = hours("2027-04-04T23:00+00:00", 24, rain=1)
    (day,) = forecast_of(tmp_path, rows).days
    assert day.date == MONDAY
    assert day.after["rain"] == ["00:00/24:00"]


def test_the_change_writes_and_undoes(tmp_path: Path) -> None:
    rows = hours("2027-04-05T00:00", 48, 8)
    with_humidity = TEXT.replace("dew = 4\nwind = 5\nrain", "humidity = 80\nnote = 'mine'\nwind = 5\nrain", 1)
    found = forecast_of(tmp_path, rows, text=with_humidity)
    with JobFile.open(tmp_path / "job.toml") as file:
        file.apply(found.change())
        days = days_of(file.text)
        assert set(days) == {"2027-04-05", "2027-04-06"}
        assert days["2027-04-06"] == {
            "date": dt.date(2027, 4, 6),
            "low": 8.0,
            "high": 8.0,
            "dew": days["2027-04-05"]["dew"],
            "wind": 7.0,
            "note": "mine",
            "title": "forecast, read 2027-04-05",
        }
        assert file.next_undo == "forecast forecast.csv taken in: 2 days from 2027-04-05"
        file.undo()
        assert file.text == with_humidity


def refused(folder: Path, name: str) -> str:
    with pytest.raises(JobError) as caught:
        read_forecast(job_in(folder), folder / name, MONDAY)
    return caught.value.text()


def test_an_old_file_is_refused_with_its_days(tmp_path: Path) -> None:
    (tmp_path / "old.csv").write_text(HEADER + hours("2019-07-01T00:00", 48), "utf-8")
    said = refused(tmp_path, "old.csv")
    assert said.startswith("old.csv: its hours are from 2019-07-01 to 2019-07-02, none from 2027-04-05 on")


def test_what_is_no_weather_is_refused_in_plain_words(tmp_path: Path) -> None:
    assert "there is no such file" in refused(tmp_path, "none.csv")
    assert "is no file" in refused(tmp_path, "")
    (tmp_path / "picture.csv").write_bytes(b"\x89PNG\0\xff")
    assert "is no text" in refused(tmp_path, "picture.csv")
    (tmp_path / "list.csv").write_text("a,b\n1,2\n", "utf-8")
    assert "time" in refused(tmp_path, "list.csv")
    (tmp_path / "wild.csv").write_text(HEADER + "2027-04-05T00:00,9,70,0,1048\n", "utf-8")
    assert "line 2: wind_kn is 1048" in refused(tmp_path, "wild.csv")
    with (tmp_path / "huge.csv").open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    assert "is too large for a forecast" in refused(tmp_path, "huge.csv")
    for name in ("x" * 500, "a\0b", "[bold]", "\x1b[2J.csv"):
        said = refused(tmp_path, name)
        assert said.isprintable()
        assert "no such file" in said or "no name of a file" in said


def test_weather_files_beside_the_job_newest_first(tmp_path: Path) -> None:
    for name in ("a.csv", "b.EPW", "c.json", "d.toml", "e.txt"):
        (tmp_path / name).write_text("", "utf-8")
    (tmp_path / "folder.csv").mkdir()
    assert sorted(path.name for path in weather_files(tmp_path)) == ["a.csv", "b.EPW", "c.json"]
    assert weather_files(tmp_path / "none") == []
