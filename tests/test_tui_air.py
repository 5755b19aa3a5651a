"""The Air page: the hours of every material, the days, a day edited, a forecast looked at before it is taken."""

from __future__ import annotations

import datetime as dt
import threading
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from planned import assert_kept
from rich.cells import cell_len
from telling_jobs import HEAD as TELLING_HEAD
from telling_jobs import NORMALS as STEADY
from telling_jobs import SOFT, day, launch, plan_of, task
from textual.pilot import Pilot
from textual.widgets import Input
from tui_support import HEAD, NARROW, RELAUNCH, SMALL, WIDE, app_on, job_file, lines_of, running, settled, text_of, zone
from tui_support import task as small_task

from sequencer.errors import Fault, NoPlanError
from sequencer.job import parse_job
from sequencer.job.writing import apply_change
from sequencer.planning import planner
from sequencer.planning.plan import Plan
from sequencer.tui.air import AirPage
from sequencer.tui.air_drawing import AirDrawing
from sequencer.tui.air_view import AirView
from sequencer.tui.app import SequencerApp
from sequencer.tui.day_form import ENTRIES, DayForm, begin_values, day_change, read_number, read_rain
from sequencer.tui.drawing import Line
from sequencer.tui.fieldtext import code, is_coded
from sequencer.tui.forecast_form import FilePick, ForecastForm
from sequencer.tui.model import Model

SIZES = [(80, 19), (120, 35), (60, 15)]
NOW = "2027-04-05T10:00:00"
COLD = day("2027-04-05", 4, 14, 3) + day("2027-04-06", 4, 14, 3, "14:00/16:00") + STEADY
PAINT = (
    task("paint-deck", 'material = "paint"', zone="deck") + task("coat-1", 'material = "coat"') + launch('"paint-deck"')
)
HOSTILE = ["[bold]", "[/]", "@click=app.exit", "$x", "\x1b[2J\x07", "\u202e‮", "🛥 é", "x" * 500, "'\"\\", "{ a = 1 }"]


def model_of(tasks: str = PAINT, weather: str = COLD, now: str = NOW, **more: object) -> Model:
    plan = plan_of(tasks, weather, now=now)
    assert_kept(plan.job, plan, plan.moment(plan.now))
    return replace(Model(plan.job, plan, now=plan.moment(plan.now)), **more)  # type: ignore[arg-type]


def draw(view: AirView, width: int = 80, height: int = 19) -> list[str]:
    return [made.plain.rstrip() for made in AirDrawing(view, width, height).lines()]


def with_label(lines: list[str], label: str) -> str:
    return next(text for text in lines if text[1:].startswith(label))


# -- the hours ------------------------------------------------------------------------------------------------


def test_the_hours_of_a_day_by_hand() -> None:
    # 4 °C at 05:00, 14 °C at 15:00, half a cosine between; the paint wants 8 °C, which comes between 09 and 10
    # and goes between 21 and 22 (contract §5, worked by hand: 9 °C at 10:00, 7.4 at 09:00; 8.2 at 22:00 is the 23rd
    # hour's 6.2).
    drawn = with_label(draw(AirView(model_of())), "paint")
    label = len("may go on? ")
    assert drawn[label : label + 24] == "**********=============*"


def test_rain_and_rain_ahead_are_drawn_as_rain() -> None:
    drawn = with_label(draw(AirView(model_of())), "paint")
    tuesday = drawn[11 + 25 : 11 + 49]
    assert tuesday[:10] == "*" * 10
    assert tuesday[14:16] == "¦¦"
    assert tuesday[13] == "¦"
    assert tuesday[16] == "="


def test_hands_stand_under_their_hours() -> None:
    drawn = with_label(draw(AirView(model_of())), "hands")
    assert drawn[11:].startswith(" " * 8 + "1111 11111")


def test_a_cell_says_yes_only_if_all_of_it_does() -> None:
    view = AirView(model_of())
    view.zoom(-1)
    drawn = with_label(draw(view), "paint")
    assert drawn[11 : 11 + 12] == "*****======*"
    view.zoom(-1)
    assert with_label(draw(view), "paint")[11 : 11 + 6] == "***==*"


def test_finer_hours_and_back() -> None:
    view = AirView(model_of())
    view.zoom(1)
    assert with_label(draw(view), "paint")[11 : 11 + 48] == "*" * 20 + "=" * 26 + "**"
    for _ in range(9):
        view.zoom(1)
    assert view.fine == 0
    for _ in range(9):
        view.zoom(-1)
    assert with_label(draw(view), "paint")[11 : 11 + 6] == "***==*"


def test_the_sentence_of_the_cell_one_stands_on() -> None:
    view = AirView(model_of())
    view.stand_on_row("paint-deck")
    view.go(5 * 4)
    said = " ".join(" ".join(draw(view)).split())
    assert "paint in Deck, Mon 5 05:00: no. 4 °C, wants 8; 1 °C over dew, wants 3. Yes at 10:00." in said
    view.go(22 * 4 - 4)
    said = " ".join(" ".join(draw(view)).split())
    assert "Mon 5 21:00: yes, till 23:00." in said
    assert "Nobody is there before Tue 6 08:00." in said
    view.go(11 * 4)
    assert "You are there. Next for paint-deck: planned Mon 5 10:00" in " ".join(" ".join(draw(view)).split())


def test_work_that_would_be_caught_is_told() -> None:
    tasks = task("paint-deck", 'material = "paint"\nnot_before = 2027-04-06', 3, "deck") + launch('"paint-deck"')
    view = AirView(model_of(tasks))
    view.go(96 + 10 * 4 + 2)
    view.stand_on_row("paint-deck")
    said = " ".join(" ".join(draw(view, 120, 35)).split())
    assert "All of it could not begin here: rain 14:00 would reach it wet." in said


def test_each_material_in_the_air_of_its_next_place_or_of_one_chosen() -> None:
    view = AirView(model_of())
    assert view.applying(view.materials[0]).use.zone.id == "bench"
    assert view.applying(view.materials[1]).use.zone.id == "deck"
    view.turn_place()
    lines = draw(view)
    assert lines[1].startswith(" Bench")
    assert set(with_label(lines, "paint")[11:35]) == {"="}
    view.turn_place()
    assert draw(view)[1].startswith(" Deck")
    view.turn_place()
    assert view.place == ""


def test_a_night_of_23_hours_is_drawn_with_23() -> None:
    weather = day("2027-03-28", 12, 16, 4) + STEADY
    text = TELLING_HEAD.replace("2027-04-05T10", "2027-03-28T10") + weather + PAINT
    view = AirView(Model(parse_job(text)))
    lines = draw(view, 120, 35)
    assert lines[0].index("Mon 29") - lines[0].index("Sun 28") == 24


# -- the days -------------------------------------------------------------------------------------------------


def test_the_days_say_what_they_are_and_from_where(tmp_path: Path) -> None:
    rows = "".join(f"2027-04-07T{hour:02}:00,9,70,0,7\n" for hour in range(24))
    (tmp_path / "week.csv").write_text("time,temp_c,humidity,rain_mm,wind_kn\n" + rows, "utf-8")
    text = TELLING_HEAD + '[weather]\nfile = "week.csv"\n\n' + COLD + PAINT
    view = AirView(Model(parse_job(text, tmp_path / "job.toml")))
    lines = draw(view, 80, 24)
    monday = next(text for text in lines if "Mon 5 Apr" in text)
    assert monday.replace("▲", "").split()[-6:] == ["14.0", "3.0", "-", "5", "by", "hand"]
    tuesday = next(text for text in lines if "Tue 6 Apr" in text)
    assert tuesday.split()[3:] == ["4.0", "14.0", "3.0", "14:00-16:00", "5", "by", "hand"]
    wednesday = next(text for text in lines if "Wed 7 Apr" in text)
    assert wednesday.split()[3:] == ["9.0", "9.0", "3.9", "-", "7", "week.csv"]
    thursday = next(text for text in lines if "Thu 8 Apr" in text)
    assert thursday.split()[3:] == ["12.0", "16.0", "4.0", "-", "0", "usual", "for", "April"]


def test_standing_on_a_day_tells_when_each_may_go_on_with_hands_there() -> None:
    view = AirView(model_of())
    view.cross()
    said = " ".join(" ".join(draw(view)).split())
    assert "coat 08:00-12:00, 13:00-17:30" in said
    assert "paint 10:00-12:00, 13:00-17:30" in said
    view.turn(6)
    assert "Nobody is there on Sun 11." in " ".join(draw(view))


def test_moves_down_the_materials_then_the_days_and_back() -> None:
    view = AirView(model_of())
    view.spot = 0
    view.move(0, 1)
    assert view.material is not None
    view.move(0, 1)
    assert view.in_days
    begin = view.slot
    view.move(0, 2)
    assert view.slot == begin + 2 * 96
    view.move(0, -99)
    assert view.material is not None
    view.turn(9999)
    assert view.day == view.last_day
    view.turn(-9999)
    assert view.day == 0


def test_the_moment_stood_at_is_always_in_sight() -> None:
    for size in SIZES:
        view = AirView(model_of())
        for fine in range(4):
            view.fine = fine
            for _ in range(40):
                view.move(7, 0)
                found = view.cells(size[0] - 11)
                assert found[0].begin <= view.slot < found[-1].end
            for _ in range(60):
                view.move(-5, 0)
                found = view.cells(size[0] - 11)
                assert found[0].begin <= view.slot < found[-1].end


def test_a_new_model_keeps_one_where_one_stood() -> None:
    model = model_of()
    view = AirView(model)
    view.spot, view.place = 1, "deck"
    view.move(30, 0)
    later = AirView(replace(model, looking=True))
    later.follow(view)
    assert (later.slot, later.spot, later.place, later.first) == (view.slot, 1, "deck", view.first)
    other = AirView(replace(model, marked="coat-1"))
    other.follow(view)
    assert other.material is not None
    assert other.material.id == "coat"


# -- jobs that lack something ---------------------------------------------------------------------------------


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("ascii_only", [False, True])
def test_any_job_fits_its_size(size: tuple[int, int], ascii_only: bool) -> None:
    for model in (model_of(), model_of(SOFT), Model(), Model(parse_job(bare())), many_materials()):
        view = AirView(replace(model, ascii=ascii_only))
        for _ in range(3):
            made: list[Line] = AirDrawing(view, *size).lines()
            assert len(made) <= size[1]
            assert all(line.width <= size[0] for line in made)
            if ascii_only:
                assert "\n".join(line.plain for line in made).isascii()
            view.move(9, 3)


def bare() -> str:
    """No materials, no places, no crew, no weather; one task, for every job has one that ends it."""
    head = '[job]\ntimezone = "UTC"\nhauled = 2027-06-06T10:00:00\nfinish = "relaunch"\n'
    return head + '[[task]]\nid = "relaunch"\nwork = 1\n'


def many_materials() -> Model:
    more = "".join(f'[[material]]\nid = "paint-of-a-long-name-{n}"\ntemps = [20]\nset = 1\n\n' for n in range(40))
    return Model(parse_job(TELLING_HEAD + more + COLD + PAINT))


def test_forty_materials_keep_the_mark_in_view() -> None:
    view = AirView(many_materials())
    for _ in view.materials:
        material = view.material
        assert material is not None
        lines = draw(view)
        assert any(text.startswith(f">{material.id[:10]}") for text in lines)
        assert any("the days" in text for text in lines)
        view.move(0, 1)


def test_a_job_without_weather_says_what_to_type() -> None:
    view = AirView(Model(parse_job(TELLING_HEAD + PAINT)))
    said = " ".join(" ".join(draw(view)).split())
    assert "no weather is known" in said
    assert "Enter types in the day; f brings in a forecast from a file" in said
    assert "nothing known: enter types it in" in said
    assert set(with_label(draw(view), "paint")[11:].strip()) == set()


def test_a_job_without_materials_says_what_to_type() -> None:
    said = " ".join(draw(AirView(Model(parse_job(bare())))))
    assert "No material yet: Tasks (t), then n, makes one." in said


def test_a_weather_file_with_faults_is_told(tmp_path: Path) -> None:
    (tmp_path / "week.csv").write_text("a,b\n", "utf-8")
    text = TELLING_HEAD + '[weather]\nfile = "week.csv"\n\n' + COLD + PAINT
    said = " ".join(draw(AirView(Model(parse_job(text, tmp_path / "job.toml")))))
    assert "column time" in said


# -- what is typed --------------------------------------------------------------------------------------------


def test_numbers_and_rain_as_people_type_them() -> None:
    typed = ("7", " 7,5 ", "-2.25", ".5", "", "x", "1e9")
    assert [read_number(text) for text in typed] == [7.0, 7.5, -2.25, 0.5, None, "x", "1e9"]
    assert read_rain("11:00-17:00") == ["11:00/17:00"]
    assert read_rain("9-11, 20:15-22:00;23-24") == ["09:00/11:00", "20:15/22:00", "23:00/24:00"]
    assert read_rain("13:00/18:00") == ["13:00/18:00"]
    assert [read_rain(text) for text in ("", " - ", "Dry", "none")] == [None] * 4
    assert read_rain("All day") == ["00:00/24:00"]
    assert read_rain("afternoon") == ["afternoon"]


def day_in(text: str, date: str) -> dict[str, object]:
    return next(t for t in tomllib.loads(text)["weather"]["day"] if str(t["date"]) == date)


def test_of_a_day_by_hand_only_what_differs_is_written() -> None:
    text = TELLING_HEAD + COLD.replace("dew = 3\n", "humidity = 80\nnote = 'mine'\n", 1) + PAINT
    job = parse_job(text)
    monday = dt.date(2027, 4, 5)
    before = begin_values(job, monday)
    assert (before["low"], before["high"], before["wind"], before["rain"]) == ("4", "14", "5", "")
    rained = day_change(job, monday, before, {**before, "rain": "9-11"})
    made = day_in(apply_change(text, rained).text, "2027-04-05")
    assert (made["humidity"], made["rain"], made["note"]) == (80, ["09:00/11:00"], "mine")
    damp = day_change(job, monday, before, {**before, "dew": "6"})
    made = day_in(apply_change(text, damp).text, "2027-04-05")
    assert "humidity" not in made
    assert made["dew"] == 6
    assert not day_change(job, monday, before, before).values


def test_a_forecast_mended_by_hand_is_no_forecast_any_more() -> None:
    text = TELLING_HEAD + COLD.replace("wind = 5\n", 'wind = 5\ntitle = "forecast, read 2027-04-04"\n', 1) + PAINT
    job = parse_job(text)
    monday = dt.date(2027, 4, 5)
    assert "forecast, read 2027-04-04" in " ".join(draw(AirView(Model(job)), 120, 35))
    before = begin_values(job, monday)
    made = apply_change(text, day_change(job, monday, before, {**before, "low": "3"})).text
    assert "title" not in day_in(made, "2027-04-05")


# -- on the screen --------------------------------------------------------------------------------------------


def air_of(app: SequencerApp) -> AirPage:
    page = app.pages["Air"]
    assert isinstance(page, AirPage)
    return page


async def press(app: SequencerApp, pilot: Pilot[None], *keys: str) -> None:
    """Press keys, a pause after each, and wait for the plan that may follow."""
    for key in keys:
        await pilot.press(key)
        await pilot.pause()
    await settled(app, pilot)


async def take(app: SequencerApp, pilot: Pilot[None]) -> None:
    """Enter, and a while for the change to reach the app before its plan is waited for."""
    await pilot.press("enter")
    await pilot.pause(0.05)
    await settled(app, pilot)


async def fill(app: SequencerApp, pilot: Pilot[None], **values: str) -> None:
    """Put values into the day's form, as pasted, and take it."""
    assert isinstance(app.screen, DayForm)
    for name, value in values.items():
        app.screen.query_one(f"#day-{name}", Input).value = value
    await take(app, pilot)


def box_of(app: SequencerApp) -> str:
    """The words of the form on top, on one line."""
    box = app.screen.query_one("#form").region
    lines = lines_of(app)[box.y : box.bottom]
    return " ".join(" ".join(text[box.x : box.right] for text in lines).replace("│", " ").split())


async def forecast_shown(app: SequencerApp, pilot: Pilot[None]) -> ForecastForm:
    """Wait until the trial has told what moves."""
    form = app.screen
    assert isinstance(form, ForecastForm)
    for _ in range(400):
        outcome = form.lines.view.outcome
        if outcome is not None and outcome.done:
            break
        await pilot.pause(0.01)
    await pilot.pause()
    return form


@pytest.mark.parametrize("size", [NARROW, WIDE, (60, 20)])
async def test_the_page_on_a_screen(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, size) as pilot:
        await press(app, pilot, "a")
        assert app.current == "Air"
        lines = lines_of(app)
        assert len(lines) == size[1]
        assert all(cell_len(line) <= size[0] for line in lines)
        assert any("may go on?" in line for line in lines)
        assert any("primer" in line and "=" in line for line in lines)
        await press(app, pilot, "right", "z", "x", "x", "w", "tab", "pagedown", "end", "home", "full_stop", "up")
        assert app.current == "Air"


async def test_a_day_is_edited_and_what_moved_comes_up(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await press(app, pilot, "a", "pagedown", "enter")
        assert "weather of Tue 8 Jun" in text_of(app)
        await fill(app, pilot, rain="all day", low="1,5", high="3", dew="1")
        assert day_in(path.read_text("utf-8"), "2027-06-08") == {
            "date": dt.date(2027, 6, 8),
            "low": 1.5,
            "high": 3.0,
            "dew": 1.0,
            "rain": ["00:00/24:00"],
            "wind": 0.0,
        }
        assert app.current == "Moved"
        plan = app.model.plan
        assert plan is not None
        assert_kept(plan.job, plan, plan.moment(plan.now))
        await press(app, pilot, "u")
        assert path.read_text("utf-8") == SMALL


async def test_a_fault_is_said_in_the_form_and_nothing_typed_is_lost(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await press(app, pilot, "a", "enter")
        await fill(app, pilot, low="30", high="12", rain="afternoon", wind="a breeze")
        form = app.screen
        assert isinstance(form, DayForm)
        told = box_of(app)
        assert "wind must be a number" in told
        assert 'hours of a day, the first before the second, not "afternoon"' in told
        assert [form.query_one(f"#day-{e.name}", Input).value for e in ENTRIES] == [
            "30",
            "12",
            "6",
            "afternoon",
            "a breeze",
        ]
        await fill(app, pilot, rain="", wind="4")
        assert "high is 12 and low is 30" in box_of(app)
        await press(app, pilot, "escape")
        assert app.current == "Air"
        assert path.read_text("utf-8") == SMALL


@pytest.mark.parametrize(("size", "texts"), [(NARROW, HOSTILE), (WIDE, HOSTILE[::4])])
async def test_hostile_text_in_every_field_is_only_text(
    tmp_path: Path, size: tuple[int, int], texts: list[str]
) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app, size) as pilot:
        await press(app, pilot, "a", "enter")
        for text in texts:
            kept = code(text) if is_coded(text) else text
            await fill(app, pilot, **{entry.name: text for entry in ENTRIES})
            assert isinstance(app.screen, DayForm)
            assert app.screen.query_one("#day-rain", Input).value == kept
            told = box_of(app)
            assert "low must be a number" in told
            assert "escape leaves it" in told
            assert all(line.isprintable() for line in lines_of(app))
        await press(app, pilot, "escape", "f")
        for text in texts:
            kept = code(text) if is_coded(text) else text
            app.screen.query_one(Input).value = text
            await press(app, pilot, "enter")
            assert isinstance(app.screen, FilePick)
            assert app.screen.query_one(Input).value == kept
            assert "escape leaves it" in box_of(app)
            assert all(line.isprintable() for line in lines_of(app))
        await press(app, pilot, "escape")
        assert path.read_text("utf-8") == SMALL


async def test_tab_and_arrows_walk_the_fields_and_clicks_take(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await press(app, pilot, "a", "enter")
        form = app.screen
        assert form.focused is form.query_one("#day-low")
        await press(app, pilot, "tab", "down")
        assert form.focused is form.query_one("#day-dew")
        await press(app, pilot, "up", "shift+tab")
        assert form.focused is form.query_one("#day-low")
        await press(app, pilot, "end", "backspace", "8")
        await pilot.click(".form-words", offset=(2, 0))
        await settled(app, pilot)
        assert day_in(path.read_text("utf-8"), "2027-06-07")["low"] == 8
        await press(app, pilot, "a", "enter")
        await pilot.click(".form-words", offset=(30, 0))
        await pilot.pause()
        assert not app.screen.is_modal


async def test_clicks_stand_on_cells_and_days_and_open_them(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await press(app, pilot, "a")
        view = air_of(app).view
        y = next(n for n, text in enumerate(lines_of(app)) if text[1:].startswith("primer"))
        await pilot.click(offset=(11 + 14, y))
        await pilot.pause()
        assert view.grid.moment(view.slot).hour == 14
        y = next(n for n, text in enumerate(lines_of(app)) if "Wed 9 Jun" in text)
        await pilot.click(offset=(5, y))
        await pilot.pause()
        assert view.in_days
        assert view.grid.date(view.day) == dt.date(2027, 6, 9)
        y = next(n for n, text in enumerate(lines_of(app)) if "Wed 9 Jun" in text)
        await pilot.click(offset=(5, y))
        await pilot.pause()
        assert isinstance(app.screen, DayForm)


# -- a forecast -----------------------------------------------------------------------------------------------


def wet_week(folder: Path, days: int = 5) -> Path:
    rows = "".join(
        f"2027-06-{7 + n:02}T{hour:02}:00,11,80,{1 if n < 3 else 0},9\n" for n in range(days) for hour in range(24)
    )
    path = folder / "week.csv"
    path.write_text("time,temp_c,humidity,rain_mm,wind_kn\n" + rows, "utf-8")
    return path


async def test_a_forecast_shows_what_moves_and_is_taken_by_enter(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    wet_week(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        before = app.model.plan
        assert before is not None
        await press(app, pilot, "a", "f")
        assert isinstance(app.screen, FilePick)
        assert "week.csv" in text_of(app)
        await press(app, pilot, "enter")
        await forecast_shown(app, pilot)
        told = box_of(app)
        assert "Launch slides from" in told
        assert "5 days of weather would be different" in told
        assert path.read_text("utf-8") == SMALL
        await take(app, pilot)
        assert app.current == "Moved"
        plan = app.model.plan
        assert plan is not None
        assert plan.launched > before.launched
        assert_kept(plan.job, plan, plan.moment(plan.now))
        assert day_in(path.read_text("utf-8"), "2027-06-07")["title"] == "forecast, read 2027-06-07"
        assert "forecast week.csv taken in: 5 days" in text_of(app)
        await press(app, pilot, "u")
        assert path.read_text("utf-8") == SMALL


async def test_a_forecast_is_dropped_by_escape(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    wet_week(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await press(app, pilot, "a", "f")
        app.screen.query_one(Input).value = str(tmp_path / "week.csv")
        await press(app, pilot, "enter")
        form = await forecast_shown(app, pilot)
        await press(app, pilot, "down", "pagedown", "up", "escape")
        assert form._leaving.is_set()
        assert app.current == "Air"
        assert path.read_text("utf-8") == SMALL


async def test_keys_answer_while_a_forecast_is_planned(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = job_file(tmp_path)
    wet_week(tmp_path)
    app = app_on(path)
    ended = threading.Event()

    def endless(*_: object, stop: Callable[[], bool], **__: object) -> Plan:
        while not stop():
            ended.wait(0.005)
        ended.set()
        raise NoPlanError([Fault("", "stopped")])

    async with running(app) as pilot:
        monkeypatch.setattr(planner, "plan_job", endless)
        await press(app, pilot, "a", "f", "enter", "down", "up", "enter")
        assert isinstance(app.screen, ForecastForm)
        assert "Looking what would move" in box_of(app)
        await press(app, pilot, "escape")
        assert app.current == "Air"
        assert not app.screen.is_modal
    assert ended.wait(10)
    assert path.read_text("utf-8") == SMALL


async def test_a_forecast_without_a_launch_says_so_and_may_be_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = job_file(tmp_path)
    wet_week(tmp_path)
    app = app_on(path)

    def none(*_: object, **__: object) -> Plan:
        raise NoPlanError([Fault("task [red]coat[/]", "no launch within a year", "wait for spring")])

    async with running(app) as pilot:
        monkeypatch.setattr(planner, "plan_job", none)
        await press(app, pilot, "a", "f", "enter")
        await forecast_shown(app, pilot)
        assert "With it there is no plan. It may be taken all the same:" in box_of(app)
        assert "task [red]coat[/]: no launch within a year; wait for spring." in box_of(app)
        await take(app, pilot)
        assert "forecast, read 2027-06-07" in path.read_text("utf-8")


async def test_a_file_with_faults_keeps_the_form_and_what_was_typed(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    (tmp_path / "bad.csv").write_text("time,temp_c,humidity,rain_mm,wind_kn\n2027-06-07T00:00,99,70,0,7\n", "utf-8")
    async with running(app) as pilot:
        await press(app, pilot, "a", "f")
        app.screen.query_one(Input).value = "bad.csv"
        await press(app, pilot, "enter")
        assert isinstance(app.screen, FilePick)
        assert "line 2: temp_c is 99" in box_of(app)
        assert app.screen.query_one(Input).value == "bad.csv"
        app.screen.query_one(Input).value = "none.csv"
        await press(app, pilot, "enter")
        assert "there is no such file" in box_of(app)


async def test_with_no_plan_a_forecast_still_tells_the_launch(tmp_path: Path) -> None:
    rows = (
        HEAD
        + zone("bottom")
        + small_task("coat-1", more='material = "primer"', work=1)
        + RELAUNCH.replace("coat-2", "coat-1")
    )
    path = job_file(tmp_path, rows)
    (tmp_path / "week.csv").write_text(
        "time,temp_c,humidity,rain_mm,wind_kn\n"
        + "".join(f"2027-06-{7 + n:02}T{hour:02}:00,18,50,0,9\n" for n in range(9) for hour in range(24)),
        "utf-8",
    )
    app = app_on(path)
    async with running(app) as pilot:
        assert app.model.plan is None
        await press(app, pilot, "a")
        assert "no weather" in text_of(app)
        await press(app, pilot, "f", "enter")
        await forecast_shown(app, pilot)
        assert "With it there is a launch:" in box_of(app)
        await take(app, pilot)
        plan = app.model.plan
        assert plan is not None
        assert_kept(plan.job, plan, plan.moment(plan.now))


KEYS_OF_AIR = ("up", "down", "left", "right", "pageup", "pagedown", "home", "end", "tab", "w", "z", "x", "full_stop")


@pytest.mark.parametrize("text", [None, SMALL.replace("work = 3", "work = -1"), bare()])
async def test_every_key_answers_whatever_the_job(tmp_path: Path, text: str | None) -> None:
    app = app_on(None if text is None else job_file(tmp_path, text))
    async with running(app) as pilot:
        await pilot.press("a", *KEYS_OF_AIR)
        await pilot.pause()
        for key in ("enter", "f"):
            await press(app, pilot, key)
            assert app.screen.is_modal
            await press(app, pilot, "escape")
        await pilot.click(offset=(20, 6))
        await pilot.click(offset=(20, 14))
        await pilot.pause()
        assert app.is_running
        assert app.current == "Air"


def test_the_owners_text_is_shown_letter_for_letter() -> None:
    titles = "[bold]x[/] @click \\u001b[2J \\u202e $x 🛥"
    weather = COLD.replace("wind = 5\n", f'wind = 5\ntitle = "{titles}"\n', 1)
    head = TELLING_HEAD.replace('title = "Deck"', f'title = "{titles}"')
    view = AirView(Model(parse_job(head + weather + PAINT)))
    view.spot = 1
    lines = draw(view, 120, 35)
    assert any("[bold]x[/] @click" in text for text in lines if "Mon 5 Apr" in text)
    assert any("paint in [bold]x[/] @click" in text for text in lines)
    assert all(text.isprintable() and cell_len(text) <= 120 for text in lines)
