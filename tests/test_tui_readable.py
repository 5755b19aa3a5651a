"""What a stranger reads: forms that lose nothing, columns with heads, units with their numbers, pages that say why."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from planned import assert_kept
from textual.widgets import Input
from tui_support import (
    COATS,
    FROZEN,
    HEAD,
    NARROW,
    NORMALS,
    RELAUNCH,
    SMALL,
    WIDE,
    app_on,
    job_file,
    line_with,
    running,
    settled,
    task,
    text_of,
    until,
    zone,
)

from sequencer.errors import Fault, JobError, NoPlanError
from sequencer.grid import PER_HOUR
from sequencer.job import parse_job
from sequencer.odds import RISKS
from sequencer.paper.odds_text import RISK_WORDS, tries_words
from sequencer.planning.planner import plan_job
from sequencer.telling import windows
from sequencer.telling.windows import window_words
from sequencer.tui import questions
from sequencer.tui.ask import answers
from sequencer.tui.day_form import DayForm
from sequencer.tui.explain import explain_lines
from sequencer.tui.fields import FIELDS
from sequencer.tui.fieldtext import read_value
from sequencer.tui.forms import Option, Options
from sequencer.tui.headline import headline
from sequencer.tui.marks import Signs
from sequencer.tui.moved_view import MovedView, _apart, _both
from sequencer.tui.notice import title_of, trouble_lines
from sequencer.tui.scrolling import more_words
from sequencer.tui.text import wrap

PLAIN = Signs(False)
LAID = "started = 2027-06-06T22:30:00\nfinished = 2027-06-06T23:00:00"
"""A coat laid late the evening before: the next goes on in the morning, and only then."""


def checked(app: object) -> None:
    """The plan on the screen keeps every rule."""
    plan = app.model.plan  # type: ignore[attr-defined]
    assert plan is not None
    assert_kept(plan.job, plan, plan.moment(plan.now))


# -- nothing is changed that was not changed ---------------------------------------------------------------------


@pytest.mark.parametrize("weather", ["", "file"])
async def test_a_day_left_as_it_was_shown_stays_what_it_was(tmp_path: Path, weather: str) -> None:
    """By hand it would lose the hours of its file, and coats could go on at other times."""
    text = SMALL
    if weather:
        rows = "".join(f"2027-06-{day:02}T{hour:02}:00,12,60,0,7\n" for day in range(6, 13) for hour in range(24))
        (tmp_path / "june.csv").write_text("time,temp_c,humidity,rain_mm,wind_kn\n" + rows, "utf-8")
        text = SMALL.replace("[[weather.normal]]", '[weather]\nfile = "june.csv"\n\n[[weather.normal]]', 1)
    path = job_file(tmp_path, text)
    app = app_on(path)
    async with running(app) as pilot:
        checked(app)
        await pilot.press("a", "enter")
        await settled(app, pilot)
        assert isinstance(app.screen, DayForm)
        await pilot.press("enter")
        await settled(app, pilot)
        assert not app.screen.is_modal
        assert path.read_text("utf-8") == text
        assert "by hand" not in text_of(app)
        await pilot.press("a", "enter", "end", "backspace", "1", "enter")
        await settled(app, pilot)
        assert "[[weather.day]]" in path.read_text("utf-8")
        checked(app)


# -- what moved --------------------------------------------------------------------------------------------------


async def test_what_moved_has_heads_and_the_rain_is_the_reason(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, WIDE) as pilot:
        await pilot.press("j", "+", "r")
        await settled(app, pilot)
        assert app.current == "Moved"
        checked(app)
        heads = line_with(app, "by h:min")
        first = next(line for line in text_of(app).split("\n") if line.startswith((" slid", ">slid")))
        assert heads.index("was") == first.index("Tue 8")
        assert heads.index("now") == first.index("Wed 9")
        assert len(heads.rstrip()) == len(first.rstrip())
        assert "Why: coat-1: weather, rain till Wed 9 00:00" in text_of(app)
        # The heads stand with the line above them: walking down never stops there.
        view, rows = MovedView(app.model), []
        view.draw(120, 35)
        while view.move(1):
            rows.append(view.row)
        assert rows[-2:] == ["coat-1", "coat-2"]


async def test_a_missed_window_comes_first_and_with_its_mark(tmp_path: Path) -> None:
    gone = SMALL.replace('"primer"\nafter = ["scrape"]', f'"primer"\nafter = ["scrape"]\n{LAID}')
    app = app_on(job_file(tmp_path, gone))
    async with running(app, WIDE) as pilot:
        checked(app)
        await pilot.press("j", "r")
        await settled(app, pilot)
        checked(app)
        said = text_of(app).split("\n")
        launch = next(n for n, line in enumerate(said) if line.startswith(" launch"))
        assert said[launch + 2].startswith(">x coat-2 misses coat-1's window. Key it ")


def test_moments_beside_each_other_are_told_in_one_form() -> None:
    near = dt.date(2027, 5, 10)
    april, may = dt.datetime(2027, 4, 28, 9), dt.datetime(2027, 5, 8, 9)
    assert _both(april, may, near) == ("28 Apr 09:00", "8 May 09:00")
    assert _both(may, may, near) == ("Sat 8 09:00", "Sat 8 09:00")
    assert _both(april, april, near) == ("28 Apr 09:00", "28 Apr 09:00")


@pytest.mark.parametrize(
    ("slots", "said"),
    [
        (106, "26:30"),
        (-3, "-0:45"),
        (71 * PER_HOUR + 3, "71:45"),
        (72 * PER_HOUR, "3 d"),
        (118 * PER_HOUR + 3, "4 d 23 h"),
        (-(118 * PER_HOUR + 3), "-4 d 22 h"),
        (240 * PER_HOUR, "10 d"),
    ],
)
def test_long_moves_are_told_in_days_rounded_against_the_owner(slots: int, said: str) -> None:
    assert _apart(slots) == said


# -- forms and lists ---------------------------------------------------------------------------------------------


async def test_what_is_said_of_options_stands_in_one_column(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("t", "n")
        await pilot.pause()
        options = app.screen.query_one(Options)
        drawn = [made.plain for made in options.drawing(72, 14)][: len(options.shown)]
        at = drawn[0].index("something to do")
        assert [line[at - 2 : at] for line in drawn] == ["  "] * len(drawn)
        assert all(line[at] != " " for line in drawn)
        app.screen.query_one(Options).narrow("no such thing")
        assert "rub letters out, or escape" in app.screen.query_one(Options).drawing(72, 14)[0].plain


async def test_what_has_no_room_in_the_list_is_told_whole_below_it(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        app.action_add_block()
        await until(pilot, lambda: app.screen.is_modal)
        options = app.screen.query_one(Options)
        for option in options.options:
            drawn = [made.plain for made in options.drawing(options.size.width, options.size.height)]
            assert option.about in " ".join(" ".join(drawn[-2:]).split())
            assert len(drawn) == options.size.height
            await pilot.press("down")


def test_a_long_name_goes_past_the_column_and_pushes_nothing() -> None:
    options = Options([Option("a", "one", "first"), Option("b", "x" * 40, "second")])
    assert options._column(60) == 3


async def test_nothing_asked_for_is_cut_at_80_columns(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await pilot.press("space")
        options = app.screen.query_one(Options)
        drawn = [line.plain for line in options.drawing(options.size.width, len(options.shown))]
        assert len(drawn) == sum(answer.at_once for answer in answers(app))
        assert [line for line in drawn if Signs(False).more in line] == []


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_why_a_jot_is_not_possible_is_told_whole(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, size) as pilot:
        await pilot.press("j")
        await pilot.pause()
        assert "c  seen to have cured: not now; scrape is no coat: pick one with the  " in text_of(app)
        assert line_with(app, " arrows ").partition("│")[2].startswith(" " * 6 + "arrows")


# -- pages ---------------------------------------------------------------------------------------------------------


async def test_how_many_tasks_there_are_is_never_cut(tmp_path: Path) -> None:
    text = HEAD + NORMALS + zone("bottom") + task("dig") + task("relaunch", more='after = ["dig"]')
    app = app_on(job_file(tmp_path, text))
    async with running(app) as pilot:
        await pilot.press("t")
        await pilot.pause()
        checked(app)
        assert "2 of 2 to do" in text_of(app)


async def test_a_place_is_called_alike_all_day(tmp_path: Path) -> None:
    text = HEAD + NORMALS + zone("bottom", "Bottom") + zone("cabin", "Cabin, helm and lazarette") + COATS
    text += task("wire", "cabin", work=1) + RELAUNCH.replace('"coat-2@immerse"', '"coat-2@immerse", "wire"')
    app = app_on(job_file(tmp_path, text))
    async with running(app, WIDE) as pilot:
        await pilot.pause()
        checked(app)
        today = text_of(app).partition("TODAY")[2]
        assert "scrape" in today
        assert "Bottom" not in today.partition("WHAT HOLDS")[0].partition("scrape")[2].partition("\n")[0]
        await pilot.press("d")
        await pilot.pause()
        assert "Bottom" not in line_with(app, "08:00  ").partition("scrape")[2]


async def test_a_key_without_hours_says_so(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        told = []
        app.notify = lambda message, **_: told.append(message)  # type: ignore[method-assign]
        for key in ("z", "x", "full_stop"):
            await pilot.press("t", key)
        await pilot.press("d", "z", "x", "full_stop")
        assert told == ["Tasks has no hours: Stay, Day, Cures and Air do."] * 3


async def test_a_job_without_prices_says_where_to_put_them(tmp_path: Path) -> None:
    text = SMALL.replace(SMALL[SMALL.index("[yard]") : SMALL.index("[[crew]]")], "")
    app = app_on(job_file(tmp_path, text))
    async with running(app) as pilot:
        checked(app)
        await pilot.press("l")
        for _ in range(400):
            await pilot.pause(0.02)
            if app.model.trials is not None:
                break
        await pilot.pause()
        assert "What a night costs is not told yet: space, then book, then yard." in text_of(app)


# -- a job that is not there ---------------------------------------------------------------------------------------


async def test_a_job_that_is_not_there_is_no_job_with_faults(tmp_path: Path) -> None:
    app = app_on(tmp_path / "mine.toml")
    async with running(app) as pilot:
        await pilot.pause()
        said = " ".join(text_of(app).split())
        assert "there is no such job file" in said
        assert "faults" not in said
        assert "Begin one: space, then new job." in said


def test_other_troubles_keep_their_titles() -> None:
    faulty = JobError([Fault("job", "timezone is missing", "add it")], "a.toml")
    weather = JobError([Fault("weather, file", "there is no such file", "check the name")], "april.csv")
    assert title_of(faulty) == "The job file has faults"
    assert title_of(weather) == "Trouble with april.csv"
    assert title_of(NoPlanError([Fault("", "no launch", "")])) == "No launch"
    assert "Mend the file" in " ".join(made.plain for made in trouble_lines(faulty, 70, PLAIN))


# -- words ---------------------------------------------------------------------------------------------------------


def test_a_number_keeps_its_unit() -> None:
    assert wrap("it waits 76.25 h in all", 14, 9) == ["it waits", "76.25 h in all"]
    assert wrap("at 8 °C, wants 5", 7, 9) == ["at", "8 °C,", "wants 5"]
    assert wrap("a h b", 3, 9) == ["a h", "b"]


def test_every_risk_has_its_words() -> None:
    assert set(RISK_WORDS) == set(RISKS)


def test_the_help_hangs_what_is_too_long_for_a_line() -> None:
    lines = [made.plain for made in explain_lines("Stay", "Lanes.", (), 60, PLAIN)]
    assert all(len(text) <= 60 for text in lines)
    key = next(n for n, text in enumerate(lines) if text.startswith(" o   "))
    assert lines[key + 1].startswith(" " * 16)


# -- what is typed -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("shape", "text", "value"),
    [
        ("hours", "Mon-Fri 8-12", [{"days": "Mon-Fri", "from": "08:00", "to": "12:00"}]),
        (
            "hours",
            "Mon-Fri 8-12; Sat 9:30-16",
            [
                {"days": "Mon-Fri", "from": "08:00", "to": "12:00"},
                {"days": "Sat", "from": "09:30", "to": "16:00"},
            ],
        ),
        (
            "hours",
            "FREQ=WEEKLY;INTERVAL=2;BYDAY=SA since 2027-04-10 9-16",
            [{"rule": "FREQ=WEEKLY;INTERVAL=2;BYDAY=SA", "since": "2027-04-10", "from": "09:00", "to": "16:00"}],
        ),
        ("list", "2027-04-20 to 2027-04-22; 2027-05-01", ["2027-04-20/2027-04-22", "2027-05-01"]),
        ("list", "9:00-11:30, 13:00/18:00", ["09:00/11:30", "13:00/18:00"]),
        ("list", "next week", ["next week"]),
    ],
)
def test_hours_and_spans_are_read_as_people_write_them(shape: str, text: str, value: object) -> None:
    assert read_value(shape, text) == value


def test_an_example_is_told_to_be_one() -> None:
    """A date or a number alone beside a field would be taken for what stands in it."""
    told = [field.about for fields in FIELDS.values() for field in fields if field.about]
    dated = [about for about in told if "2027" in about or "38.5" in about]
    assert len(dated) >= 8
    assert [about for about in dated if "such as" not in about] == []


async def test_a_block_that_waits_for_nothing_says_so(tmp_path: Path) -> None:
    """It would begin at once, before what it belongs on is there."""
    app = app_on(job_file(tmp_path))
    async with running(app, WIDE) as pilot:
        await app.run_action("add_block")
        await pilot.pause()
        await pilot.press(*"fairing", "enter")
        await settled(app, pilot)
        checked(app)
        assert "fair-1 comes after nothing: if there is something to wait for, put it on its card." in text_of(app)


async def test_a_job_without_a_launch_says_how_to_mend_it_here(tmp_path: Path) -> None:
    text = SMALL.replace('id = "scrape"', 'id = "scrape"\nhands = 3')
    app = app_on(job_file(tmp_path, text))
    async with running(app) as pilot:
        said = " ".join(text_of(app).split())
        assert "Change it here: t, then enter on the task, or b for people, weather and dates." in said
        await pilot.press("t", "b")
        await pilot.pause()
        assert "what to edit?" in text_of(app)


def test_what_a_missed_window_costs_is_no_claim_where_it_was_not_planned_anew() -> None:
    """The play of each task is its own: planned anew, other work may come first and the launch stay."""
    plan = plan_job(parse_job(SMALL), now=FROZEN)
    assert_kept(plan.job, plan, FROZEN)
    (window,) = windows(plan)
    told = "coat-2 slides 20 h, more than the play of what follows: the launch may move."
    assert window_words(plan, window)[-1].endswith(told)


def test_lines_out_of_view_are_counted() -> None:
    assert more_words(0, 6, 10) == "  4 more below"
    assert more_words(4, 6, 10) == "  4 more above"
    assert more_words(0, 10, 10) == more_words(0, 0, 0) == ""


async def test_the_chance_stands_in_the_strip_however_narrow_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(questions, "RUNS", 40)
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        checked(app)
        await pilot.press("o")
        await until(pilot, lambda: app.model.answers.odds_over)
        wide, narrow = (headline(app.model, width)[0].plain for width in (120, 60))
        assert " by then " in wide
        assert " in 100" in narrow
        assert "by then" not in narrow
        assert len(narrow) <= 60
        # A day in another month than the launch planned is told with its month.
        odds = app.model.odds
        assert odds is not None
        assert "Jun" not in tries_words(odds, "GBP")
        assert " Jun" in tries_words(replace(odds, planned=odds.planned - dt.timedelta(days=40)), "GBP")


async def test_a_number_on_a_card_has_its_unit_and_the_form_has_not(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, WIDE) as pilot:
        await app.run_action("book")
        await pilot.pause()
        await pilot.press(*"material", "enter")
        await pilot.pause()
        await pilot.press("enter")
        await pilot.pause()
        said = " ".join(text_of(app).split())
        for told in ("air at least 5 °C", "humidity at most 85 %", "set after 4, 2 h", "window shuts 12, 8 h"):
            assert told in said
        await pilot.press("down", "down", "enter")
        await pilot.pause()
        assert app.screen.query_one(Input).value == "5"
