"""A full disk while something beside the log is saved: weather, a new job, an answer, a price, a printed paper."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from surroundings import (
    FULL,
    PLAIN,
    app_at_noon,
    at_every_step,
    noticed,
    press,
    refusing,
    told,
    true_to_disk,
    typed,
    write,
)
from textual.widgets import Input
from tui_support import (
    COATS,
    HEAD,
    NORMALS,
    SMALL,
    app_on,
    job_file,
    running,
    task,
    until,
    zone,
)

from sequencer.levers import keep_price, prices_file, read_prices
from sequencer.review import read_answers
from sequencer.tui import questions
from sequencer.tui.asking import Say
from sequencer.tui.day_form import DayForm
from sequencer.tui.forecast_form import FilePick, ForecastForm
from sequencer.tui.forms import Pick, Write
from sequencer.tui.reader import Reader


async def test_a_day_of_weather_and_a_forecast_stay_in_their_forms(tmp_path: Path) -> None:
    path = job_file(tmp_path, SMALL)
    hours = [f"2027-06-08T{hour:02}:00,15,8,0,5" for hour in range(24)]
    (tmp_path / "ahead.csv").write_text("time,temp_c,dew_c,rain_mm,wind_kn\n" + "\n".join(hours) + "\n", "utf-8")
    app = app_at_noon(path)
    async with running(app) as pilot:
        await press(app, pilot, "a", "tab", "enter")
        assert isinstance(app.screen, DayForm)
        app.screen.query_one("#day-low", Input).value = "3.5"
        with refusing():
            await press(app, pilot, "enter")
        assert FULL in told(app)
        assert app.screen.query_one("#day-low", Input).value == "3.5"
        assert path.read_text("utf-8") == SMALL
        await press(app, pilot, "enter")
        assert "low = 3.5" in path.read_text("utf-8")
        await press(app, pilot, "u", "a", "f")
        assert isinstance(app.screen, FilePick)
        await press(app, pilot, *"ahead.csv", "enter")
        await until(pilot, lambda: isinstance(app.screen, ForecastForm) and app.screen.lines.view.outcome is not None)
        with refusing():
            await press(app, pilot, "enter")
        assert f"Not taken: {FULL}" in told(app)
        await press(app, pilot, "enter")
        assert "date = 2027-06-08" in path.read_text("utf-8")
        true_to_disk(app, path)


async def test_a_new_job_refused_at_any_step_is_not_there_and_its_name_still_stands(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    refusals = 0
    async with running(app) as pilot:

        async def ask() -> None:
            app.call_later(app.action_new_job)
            await until(pilot, lambda: isinstance(app.screen, Pick))
            await pilot.press("enter")
            await until(pilot, lambda: isinstance(app.screen, Write))

        async def refused() -> None:
            nonlocal refusals
            if isinstance(app.screen, Write):
                refusals += 1
                assert "knot.toml: can't be written (no space left on device)" in told(app)
                assert typed(app) == "knot.toml"
                assert not (tmp_path / "knot.toml").exists()
                await press(app, pilot, "enter")

        async def after() -> None:
            assert app.job_path == tmp_path / "knot.toml"
            true_to_disk(app, tmp_path / "knot.toml")
            (tmp_path / "knot.toml").unlink()
            await ask()

        await ask()
        await at_every_step(lambda: write(app, pilot, "knot.toml"), refused, after)
    assert refusals >= 3


async def test_an_answer_refused_at_any_step_stays_in_its_form(tmp_path: Path) -> None:
    alone = task("hang", title="Hang the pod", more='after = ["scrape"]')
    lift = task("relaunch", "bottom", 'after = ["coat-2@immerse", "hang"]', title="Lift her in", work=1)
    path = job_file(tmp_path, HEAD + NORMALS + zone("bottom") + COATS + alone + lift)
    app = app_at_noon(path)
    async with running(app) as pilot:
        await pilot.press("v")
        await until(pilot, lambda: isinstance(app.screen, Reader))
        await pilot.press("a")
        await until(pilot, lambda: isinstance(app.screen, Pick))
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, Write))
        for number in range(1, 5):
            with refusing(number, errno.EDQUOT, times=1) as fault:
                await write(app, pilot, "a jack holds it")
            assert fault.came
            assert "your share of the disk is full" in told(app)
            assert typed(app) == "a jack holds it"
            assert read_answers(path) == {}
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, Reader))
        assert list(read_answers(path).values()) == ["a jack holds it"]


async def test_a_price_refused_stays_in_its_form(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(questions, "RUNS", 60)
    monkeypatch.setattr(questions, "LEVER_SECONDS", 4.0)
    path = job_file(tmp_path, SMALL.replace('"Mon-Sun"', '"Mon,Wed,Fri"'))
    app = app_on(path, seconds=0.3)
    async with running(app) as pilot:
        await pilot.press("l")
        await until(pilot, lambda: app.model.trials is not None and not app.model.answers.asking)
        await pilot.press("e")
        for number in range(1, 5):
            with refusing(number, times=1):
                await write(app, pilot, "41.5")
            assert FULL in told(app)
            assert typed(app) == "41.5"
            assert not prices_file(path).exists()
        prices_file(path).write_text("half = ", "utf-8")
        await press(app, pilot, "enter")
        assert "write each as" in told(app)
        assert typed(app) == "41.5"
        prices_file(path).unlink()
        keep_price(path, "by hand meanwhile", 3)
        await press(app, pilot, "enter")
        assert sorted(read_prices(path).values()) == [3, 41.5]


async def test_a_paper_not_kept_is_told_before_the_sheet_comes_back(tmp_path: Path) -> None:
    app = app_at_noon(job_file(tmp_path, SMALL))
    page = tmp_path / "job-2027-06-07.html"
    async with running(app) as pilot:
        await pilot.press("d", "p")
        await until(pilot, lambda: isinstance(app.screen, Reader))
        for number in range(1, 5):
            with refusing(number, times=1):
                await pilot.press("k")
                await until(pilot, lambda: isinstance(app.screen, Say))
            assert f"job-2027-06-07.html: not kept {FULL}" in told(app)
            assert not page.exists()
            await pilot.press("escape")
            await until(pilot, lambda: isinstance(app.screen, Reader))
        await pilot.press("k")
        await until(pilot, page.exists)
        await until(pilot, lambda: any("Kept as" in said for said in noticed(app)))
