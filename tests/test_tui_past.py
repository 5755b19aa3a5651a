"""On Odds: a file of past years, or of a typical year, is named, told of, refused in plain words, and taken back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest
from tui_support import NARROW, SMALL, WIDE, app_on, job_file, running, settled, text_of, until

from sequencer.odds import Odds
from sequencer.tui import questions
from sequencer.tui.app import SequencerApp
from sequencer.tui.asking import Say
from sequencer.tui.forms import Pick


@pytest.fixture(autouse=True)
def few_tries(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questions, "RUNS", 60)


def hours(year: int, first: int, last: int, wet: bool) -> Iterator[str]:
    """Lines of an hourly table: days of a year, counted from 0."""
    for day in range(first, last):
        date = dt.date(year, 1, 1) + dt.timedelta(days=day)
        for hour in range(24):
            yield f"{date}T{hour:02}:00,14.0,70,{1.0 if wet and 6 <= hour < 20 else 0.0},6"


def table(path: Path, *lines: str) -> None:
    path.write_text("\n".join(("time,temp_c,humidity,rain_mm,wind_kn", *lines)) + "\n", "utf-8")


def epw(path: Path) -> None:
    """A typical year by the published layout (8 header lines, 35 fields): rain two days of three."""
    head = ["LOCATION,Nowhere,-,-,made,000000,50.0,-1.0,0.0,10.0"]
    names = ("DESIGN CONDITIONS", "TYPICAL/EXTREME PERIODS", "GROUND TEMPERATURES", "HOLIDAYS/DAYLIGHT SAVINGS")
    head += [f"{name},0" for name in names] + ["COMMENTS 1,", "COMMENTS 2,"]
    head += ["DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"]
    rows = []
    for day in range(365):
        date = dt.date(2005, 1, 1) + dt.timedelta(days=day)
        for hour in range(1, 25):
            fields = ["0"] * 35
            year = 1990 + date.month
            fields[:5] = [str(year), str(date.month), str(date.day), str(hour), "0"]
            fields[6], fields[7], fields[8], fields[9] = "14.0", "9.0", "72", "101000"
            fields[21], fields[33], fields[34] = "3.0", "1.0" if 7 <= hour <= 20 and day % 3 else "0.0", "1.0"
            rows.append(",".join(fields))
    path.write_text("\n".join([*head, *rows]) + "\n", "utf-8")


async def picked(app: SequencerApp, pilot: object, name: str) -> None:
    """Pick a file by typing its name."""
    press = pilot.press  # type: ignore[attr-defined]
    await press("f")
    assert isinstance(app.screen, Pick)
    await press(*name, "enter")


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_a_typical_year_takes_the_months_place_and_is_taken_back(tmp_path: Path, size: tuple[int, int]) -> None:
    path = job_file(tmp_path)
    epw(tmp_path / "rainy.epw")
    app = app_on(path)
    async with running(app, size) as pilot:
        await pilot.press("o")
        await until(pilot, lambda: app.model.answers.odds_over)
        usual = app.model.odds
        assert isinstance(usual, Odds)
        assert "drawn from the job's usual months." in text_of(app)
        await picked(app, pilot, "rainy")
        await settled(app, pilot)
        assert app.file is not None
        assert app.file.job.weather.past == "rainy.epw"
        await pilot.press("o")
        await until(pilot, lambda: app.model.answers.odds_over and app.model.odds is not usual)
        wet = app.model.odds
        assert isinstance(wet, Odds)
        assert "days are drawn from rainy.epw: a typical year." in text_of(app)
        # Two days of three nobody paints.
        assert wet.as_planned < usual.as_planned
        await pilot.press("u")
        await settled(app, pilot)
        assert path.read_text("utf-8") == SMALL
        await pilot.press("o")
        await until(pilot, lambda: app.model.answers.odds_over)
        assert app.model.odds == usual


async def test_files_that_will_not_do_are_refused_in_plain_words(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    (tmp_path / "notes.csv").write_text("shopping,eggs\n1,2\n", "utf-8")
    table(tmp_path / "winter.csv", *hours(2020, 0, 40, False))
    table(tmp_path / "gaps.csv", *(line for line in hours(2020, 100, 200, False) if "T03" in line))
    app = app_on(path)
    async with running(app) as pilot:
        await pilot.press("o")
        for name, words in (
            ("notes", "notes.csv"),
            ("winter", "has no days of the time around"),
            ("gaps", "has no whole day"),
        ):
            await picked(app, pilot, name)
            await pilot.pause()
            assert isinstance(app.screen, Say), name
            assert words in text_of(app).replace("\n", " "), name
            await pilot.press("escape")
        assert path.read_text("utf-8") == SMALL


async def test_a_file_that_is_gone_is_said_on_the_page(tmp_path: Path) -> None:
    path = job_file(
        tmp_path, SMALL.replace("[[weather.normal]]", '[weather]\npast = "gone.csv"\n\n[[weather.normal]]', 1)
    )
    table(tmp_path / "other.csv", *hours(2020, 100, 260, False))
    app = app_on(path)
    async with running(app) as pilot:
        await pilot.press("o")
        await until(pilot, lambda: app.model.answers.trouble is not None)
        assert "there is no such file" in text_of(app)
        assert "f names another file" in text_of(app)
        await picked(app, pilot, "other")
        await settled(app, pilot)
        await pilot.press("o")
        await until(pilot, lambda: app.model.answers.odds_over)
        assert "other.csv: 2020." in text_of(app)
        # And with none the months' own weather again.
        await picked(app, pilot, "none")
        await settled(app, pilot)
        assert app.file is not None
        assert app.file.job.weather.past is None


async def test_with_no_file_beside_the_job_it_says_what_to_do(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("o", "f")
        assert isinstance(app.screen, Say)
        assert "lies beside the job" in text_of(app)
