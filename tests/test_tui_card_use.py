"""Cards in use: the mouse on every line and word, swaps that keep a job sound, stages, plain terminals, many tasks."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from planned import assert_kept
from test_tui_editing import open_card, pick, press, stand, task_of, write
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input
from tui_support import (
    COATS,
    HEAD,
    NARROW,
    NORMALS,
    RELAUNCH,
    SMALL,
    WIDE,
    app_on,
    job_file,
    lines_of,
    running,
    settled,
    task,
    text_of,
    zone,
)

from sequencer.job.writing import apply_change
from sequencer.tui.app import SequencerApp
from sequencer.tui.asking import Choose, Say
from sequencer.tui.card_screen import CardScreen
from sequencer.tui.changing import field_change, new_stage_change, stage_name_change
from sequencer.tui.fields import FIELDS
from sequencer.tui.fieldtext import NotReadError, code, decode, read_value, write_value
from sequencer.tui.forms import Options, Pick, Write
from sequencer.tui.lookup import table_of
from sequencer.tui.reader import Reader


async def click(app: SequencerApp, pilot: Pilot[None], words: str, times: int = 1) -> None:
    """Click on the first of `words` on the screen, from below."""
    lines = lines_of(app)
    y = next(y for y in range(len(lines) - 1, -1, -1) if words in lines[y])
    for _ in range(times):
        await pilot.click(offset=(lines[y].index(words), y))
    await pilot.pause(0.05)
    await settled(app, pilot)


def card_of(app: SequencerApp) -> CardScreen:
    """The card on the screen."""
    assert isinstance(app.screen, CardScreen)
    return app.screen


# -- the mouse ------------------------------------------------------------------------------------------------


async def test_a_click_stands_on_a_line_and_the_next_one_edits(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await open_card(app, pilot, "coat-1")
        card = card_of(app)
        x, y = card.lines.region.x + 5, card.lines.region.y
        for row in (5, 0, 3, 17):
            await pilot.click(offset=(x, y + row))
            assert card.lines.at == row
        assert app.screen is card
        shapes = {field.shape: at for at, field in enumerate(card.lines.fields)}
        for at in shapes.values():
            card.action_move(at - card.lines.at)
            await pilot.pause()
            await pilot.click(offset=(x, y + at - card.lines.top))
            await pilot.pause(0.02)
            assert isinstance(app.screen, Pick | Write), card.lines.field
            await pilot.press("escape")
        assert app.screen is card


@pytest.mark.parametrize("size", [(60, 20), (120, 55)])
async def test_a_card_fits_its_screen_with_its_words_in_view(tmp_path: Path, size: tuple[int, int]) -> None:
    stages = "".join(f"stage-{n} = {{ opens = [5, 3], closes = [9, 8] }}\n" for n in range(12))
    app = app_on(job_file(tmp_path, SMALL.replace("immerse", stages + "immerse", 1)))
    async with running(app, size) as pilot:
        app.edit_card("material", "primer")
        await pilot.pause(0.05)
        for key in ("home", "end"):
            await press(app, pilot, key)
            assert "delete take out" in lines_of(app)[card_of(app).lines.region.bottom - 1]
            assert f"> {card_of(app).lines.field.words}" in text_of(app)


async def test_the_words_of_a_card_and_its_forms_are_buttons(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "scrape")
        await stand(app, pilot, "work")
        await click(app, pilot, "enter edit")
        assert isinstance(app.screen, Write)
        app.screen.query_one(Input).value = "2"
        await click(app, pilot, "enter takes it")
        assert task_of(path, "scrape")["work"] == 2
        await stand(app, pilot, "zone")
        await click(app, pilot, "enter edit")
        await click(app, pilot, "escape leaves it")
        await click(app, pilot, "y copy")
        assert isinstance(app.screen, Write)
        await click(app, pilot, "escape leaves it")
        await click(app, pilot, "delete take out")
        assert isinstance(app.screen, Choose)
        await click(app, pilot, "take out: take out scrape")
        assert not task_of(path, "scrape")
        assert not app.screen.is_modal


async def test_an_option_is_taken_by_a_click_and_beside_it_nothing(tmp_path: Path) -> None:
    path = job_file(tmp_path, SMALL.replace("[[task]]", zone("bench") + "[[task]]", 1))
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "scrape")
        await stand(app, pilot, "zone")
        await press(app, pilot, "enter")
        await pilot.click(offset=(0, 0))
        await pilot.pause()
        assert isinstance(app.screen, CardScreen)
        await press(app, pilot, "enter")
        await click(app, pilot, "bench")
        assert task_of(path, "scrape")["zone"] == "bench"
        await pilot.click(offset=(0, 0))
        await settled(app, pilot)
        assert not app.screen.is_modal


async def test_the_words_of_the_page_are_buttons(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, WIDE) as pilot:
        await press(app, pilot, "t")
        for words, screen in (("n new", Pick), ("b book", Pick), ("y copy", Write), ("enter edit", CardScreen)):
            await click(app, pilot, words)
            assert isinstance(app.screen, screen), words
            await press(app, pilot, "escape")
            assert not app.screen.is_modal
        await click(app, pilot, "w all the way")
        assert "► 3" in text_of(app)
        await click(app, pilot, "weather")
        assert isinstance(app.screen, CardScreen)


async def test_keys_that_come_faster_than_dialogs_open_one_at_a_time(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await press(app, pilot, "t")
        app.action_new()
        app.action_book()
        app.action_edit()
        await pilot.pause(0.05)
        assert len(app.screen_stack) == 2
        await press(app, pilot, "escape")
        assert len(app.screen_stack) == 1
        await open_card(app, pilot, "scrape")
        card = card_of(app)
        card.action_edit()
        card.action_delete()
        card.action_edit()
        await pilot.pause(0.05)
        assert len(app.screen_stack) == 3
        await press(app, pilot, "escape", "escape")
        assert len(app.screen_stack) == 1
        assert path.read_text("utf-8") == SMALL


@pytest.mark.parametrize("kind", FIELDS)
def test_every_field_says_what_it_is(kind: str) -> None:
    assert [field.path for field in FIELDS[kind] if not field.about] == []


async def test_a_question_mark_in_a_card_tells_what_its_fields_mean(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, (120, 60)) as pilot:
        await open_card(app, pilot, "scrape")
        await press(app, pilot, "question_mark")
        assert isinstance(app.screen, Reader)
        said = text_of(app)
        assert "the card of a task" in said
        assert "makes: dust, that settles on wet coats in the same air; left out: no dust." in said
        for field in FIELDS["task"]:
            assert f"{field.words}: " in said
        await press(app, pilot, "escape")
        assert isinstance(app.screen, CardScreen)
        assert "? fields" in text_of(app)
        await press(app, pilot, "escape")
        app.push_screen(CardScreen(app.editor, "material", "primer"))
        await press(app, pilot, "question_mark")
        said = text_of(app)
        assert "keep dry until: the stage up to which rain would spoil it; left out: set." in said
        assert ": ." not in said


async def test_letters_stay_letters_and_no_key_of_the_app_fires(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        await open_card(app, pilot, "scrape")
        for key in ("s", "d", "m", "j", "u", "r", "n", "b", "space", "full_stop"):
            await pilot.press(key)
        assert isinstance(app.screen, CardScreen)
        assert app.current == "Tasks"
        await stand(app, pilot, "title")
        await pilot.press("enter", *"sdmjurnby", "space", "x", "left", "backspace")
        assert app.screen.query_one(Input).value == "sdmjurnbyx"
        await press(app, pilot, "enter")
        assert task_of(tmp_path / "job.toml", "scrape")["title"] == "sdmjurnbyx"


# -- where one stands -----------------------------------------------------------------------------------------


async def test_copy_works_on_the_task_the_page_opens_at(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await press(app, pilot, "t", "y")
        await press(app, pilot, "enter")
        assert task_of(path, "scrape-2")["work"] == 3
        assert card_of(app).table_name == "scrape-2"


async def test_one_stands_on_the_new_name_and_after_a_deletion_on_the_next(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "coat-1")
        await stand(app, pilot, "id")
        await press(app, pilot, "enter")
        await write(app, pilot, "first")
        await press(app, pilot, "escape")
        assert app.model.marked == "first"
        await open_card(app, pilot, "first")
        await press(app, pilot, "delete", "down", "enter")
        assert app.model.marked == "coat-2"
        await press(app, pilot, "t")
        assert "[ coat-2 ]" in text_of(app)
        plan = app.model.plan
        assert plan is not None
        assert_kept(plan.job, plan, plan.moment(plan.now))


async def test_without_a_job_or_a_task_it_says_so(tmp_path: Path) -> None:
    app = app_on(None)
    async with running(app) as pilot:
        for action in (app.action_new, app.action_book, app.action_edit, app.action_copy, app.action_add_block):
            action()
            await pilot.pause(0.05)
            assert isinstance(app.screen, Say)
            assert "There is no job to change yet" in text_of(app)
            await press(app, pilot, "escape")
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        app.action_edit()
        await pilot.pause(0.05)
        assert "No task is marked" in text_of(app)


# -- what goes along with a field -----------------------------------------------------------------------------


def test_work_takes_the_place_of_wait_and_humidity_that_of_dew() -> None:
    table = table_of(SMALL, "task", "scrape")
    waits = apply_change(SMALL, field_change("task", "scrape", table, "wait", 12)).text
    assert table_of(waits, "task", "scrape") == {"id": "scrape", "zone": "bottom", "wait": 12, "makes": "dust"}
    works = apply_change(waits, field_change("task", "scrape", table_of(waits, "task", "scrape"), "work", 3)).text
    assert table_of(works, "task", "scrape") == table
    month = table_of(SMALL, "weather.normal", "6")
    damp = apply_change(SMALL, field_change("weather.normal", "6", month, "humidity", 80)).text
    assert "dew" not in table_of(damp, "weather.normal", "6")


async def test_two_people_named_make_two_hands(tmp_path: Path) -> None:
    wil = '[[crew]]\nid = "wil"\nhours = [ { days = "Mon", from = "08:00", to = "12:00" } ]\n\n[[material]]'
    path = job_file(tmp_path, SMALL.replace("[[material]]", wil, 1))
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "scrape")
        await stand(app, pilot, "who")
        await press(app, pilot, "enter")
        await pick(app, pilot, "owner")
        await pick(app, pilot, "wil")
        assert isinstance(app.screen, Pick)
        await press(app, pilot, "enter")
        assert isinstance(app.screen, CardScreen)
        assert task_of(path, "scrape")["who"] == ["owner", "wil"]
        assert task_of(path, "scrape")["hands"] == 2


async def test_a_link_is_changed_to_another_stage(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "coat-2")
        await stand(app, pilot, "after")
        await press(app, pilot, "enter", "enter")
        assert isinstance(app.screen, CardScreen)
        assert path.read_text("utf-8") == SMALL
        await press(app, pilot, "enter")
        await pick(app, pilot, "change coat-1")
        await pick(app, pilot, "sand")
        assert task_of(path, "coat-2")["after"] == ["coat-1@sand"]


# -- stages ---------------------------------------------------------------------------------------------------


def test_columns_more_and_fewer_reckon_the_hours_anew() -> None:
    """By the contract, §4: between columns straight in ln τ, outside each 10 °C halves or doubles."""
    primer = table_of(SMALL, "material", "primer")
    more = apply_change(SMALL, field_change("material", "primer", primer, "temps", [10, 15, 20, 30])).text
    found = table_of(more, "material", "primer")
    assert found["temps"] == [10, 15, 20, 30]
    assert found["set"] == [4, 2.83, 2, 1]  # √(4·2) = 2.828, up
    assert found["recoat"]["opens"] == [4, 2.83, 2, 1]
    assert found["recoat"]["closes"] == [12, 9.79, 8, 4]  # √(12·8) = 9.798, down
    one = apply_change(SMALL, field_change("material", "primer", primer, "temps", 20)).text
    assert table_of(one, "material", "primer")["immerse"] == [24]
    same = apply_change(SMALL, field_change("material", "primer", primer, "temps", [12, 20])).text
    assert table_of(same, "material", "primer")["set"] == [4, 2]


def test_a_stage_is_added_called_otherwise_and_taken_out() -> None:
    primer = table_of(SMALL, "material", "primer")
    text = apply_change(SMALL, new_stage_change("primer", primer, "overpaint 30, 15")).text
    assert table_of(text, "material", "primer")["overpaint"] == [30, 15]
    text = apply_change(text, stage_name_change("primer", "recoat", "topcoat")).text
    assert table_of(text, "task", "coat-2")["after"] == ["coat-1@topcoat"]
    text = apply_change(text, stage_name_change("primer", "sand", "")).text
    assert "sand" not in table_of(text, "material", "primer")
    for typed in ("", "overpaint", "temps 3, 4", "set 3, 4", "a.b 3, 4"):
        with pytest.raises(NotReadError, match=r"\.$"):
            new_stage_change("primer", primer, typed)


async def test_a_plain_stage_gets_a_window_and_a_stage_that_is_named_stays(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        app.edit_card("material", "primer")
        await pilot.pause(0.05)
        await stand(app, pilot, "sand.closes")
        await press(app, pilot, "enter")
        await write(app, pilot, "90, 50")
        assert table_of(path.read_text("utf-8"), "material", "primer")["sand"] == {
            "opens": [20, 12],
            "closes": [90, 50],
        }
        await stand(app, pilot, "sand.if_missed.work")
        await press(app, pilot, "enter")
        await write(app, pilot, "2.5")
        before = path.read_text("utf-8")
        await stand(app, pilot, "immerse")
        await press(app, pilot, "enter")
        await write(app, pilot, "")
        assert "immerse" in text_of(app)
        assert isinstance(app.screen, Write)
        assert path.read_text("utf-8") == before


# -- picked, not typed ----------------------------------------------------------------------------------------


async def test_places_parts_time_zones_and_files_are_picked(tmp_path: Path) -> None:
    (tmp_path / "air.csv").write_text("time,temp_c,humidity,rain_mm,wind_kn\n2027-06-06T00:00,12,70,0,5\n", "utf-8")
    path = job_file(tmp_path, SMALL.replace("[[task]]", zone("bench") + "[[task]]", 1))
    app = app_on(path)
    async with running(app) as pilot:
        app.edit_card("zone", "bench")
        await pilot.pause(0.05)
        await stand(app, pilot, "air")
        await press(app, pilot, "enter")
        await pick(app, pilot, "with bottom")
        await press(app, pilot, "enter")
        await pick(app, pilot, "another")
        await write(app, pilot, "shed")
        assert table_of(path.read_text("utf-8"), "zone", "bench")["air"] == "shed"
        await press(app, pilot, "escape")
        app.edit_card("job")
        await pilot.pause(0.05)
        await stand(app, pilot, "timezone")
        await press(app, pilot, "enter")
        await pick(app, pilot, "europe/lisb")
        await press(app, pilot, "escape")
        app.edit_card("weather")
        await pilot.pause(0.05)
        await press(app, pilot, "enter")
        await pick(app, pilot, "air.csv")
        data = tomllib.loads(path.read_text("utf-8"))
        assert data["job"]["timezone"] == "Europe/Lisbon"
        assert data["weather"]["file"] == "air.csv"


# -- text that can't be drawn, plain terminals, many tasks -----------------------------------------------------

ODD = SMALL.replace('id = "scrape"\n', 'id = "scrape"\ntitle = "a\\nb\\u001b[31mc\\\\n"\n', 1)


async def test_codes_are_never_painted_and_stay_as_they_are(tmp_path: Path) -> None:
    path = job_file(tmp_path, ODD)
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "scrape")
        await stand(app, pilot, "title")
        await press(app, pilot, "enter")
        form = app.screen.query_one(Input)
        assert form.value == "a\\nb\\x1b[31mc\\\\n"
        assert "\x1b" not in text_of(app)
        assert len(lines_of(app)) == NARROW[1]
        await press(app, pilot, "enter")
        assert path.read_text("utf-8") == ODD
        await press(app, pilot, "enter", "x")
        await press(app, pilot, "enter")
        assert task_of(path, "scrape")["title"] == "a\nb\x1b[31mc\\nx"


async def test_what_is_pasted_comes_in_whole(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "scrape")
        await stand(app, pilot, "note")
        await press(app, pilot, "enter")
        app.screen.query_one(Input).post_message(events.Paste("mask on\nsleeves\x1b[2J"))
        await pilot.pause()
        await press(app, pilot, "enter")
        assert task_of(path, "scrape")["note"] == "mask on sleeves\\x1b[2J"


@pytest.mark.parametrize("text", ["", "a\nb", "\\n", "C:\\new\n", "\u202e\t\r\x00", "🛥\u200d🛥\n", "\\x41\n\\U0001f6e5"])
def test_codes_come_back_as_they_were(text: str) -> None:
    assert decode(code(text)) == text
    assert all(letter.isprintable() or letter == "\u200d" for letter in code(text))


def test_numbers_and_moments_come_back_as_they_were() -> None:
    value: object
    for value in (12345.67, 1234567.5, 0.05, 38.0, 3, 1e-7, -4.5):
        assert read_value("value", write_value(value)) == value
    for typed in ("2027-04-14 08:30", "2027-04-14T08:30:15", "2027-04-14 8:30+01:00", "2027-04-14"):
        value = read_value("value", typed)
        assert read_value("value", write_value(value)) == value
        assert not isinstance(value, str)
    lines = read_value("hours", "Mon-Sat 8:00-12:00;Sun 09:00-10:00, FREQ=WEEKLY;BYDAY=SA since 2027-06-12 09:00-16:00")
    assert isinstance(lines, list)
    assert len(lines) == 3


async def test_a_plain_terminal_gets_plain_marks(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path), ascii=True)
    async with running(app) as pilot:
        await open_card(app, pilot, "scrape")
        await press(app, pilot, "delete")
        assert text_of(app).isascii(), text_of(app)
        await press(app, pilot, "escape")
        for path in ("needs.min_temp", "title", "after"):
            await stand(app, pilot, path)
            assert text_of(app).isascii(), text_of(app)
            await press(app, pilot, "enter")
            assert text_of(app).isascii(), text_of(app)
            await press(app, pilot, "escape")


def many(count: int) -> str:
    """A chain of tasks before the coats."""
    chain = task("task-000", work=0.25)
    for n in range(1, count):
        chain += task(f"task-{n:03}", more=f'after = ["task-{n - 1:03}"]', work=0.25)
    return HEAD + NORMALS + zone("bottom") + chain + COATS + RELAUNCH


async def test_two_hundred_tasks_narrow_to_the_one(tmp_path: Path) -> None:
    path = job_file(tmp_path, many(200))
    app = app_on(path, seconds=0.2)
    async with running(app) as pilot:
        await open_card(app, pilot, "coat-1")
        await stand(app, pilot, "after")
        await press(app, pilot, "enter")
        form = app.screen
        assert isinstance(form, Pick)
        listed = form.query_one(Options)
        for key in ("pagedown", "pagedown", "down", "pageup"):
            await pilot.press(key)
            await pilot.pause()
            assert f">{' '}{listed.shown[listed.at].words}"[:12] in text_of(app)
        await pick(app, pilot, "task-150")
        assert task_of(path, "coat-1")["after"] == ["scrape", "task-150"]


async def test_another_programs_change_is_not_written_over(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "scrape")
        await stand(app, pilot, "work")
        await press(app, pilot, "enter")
        theirs = SMALL.replace("Two coats", "Three coats")
        path.write_text(theirs, "utf-8")
        await write(app, pilot, "9")
        assert "Another program has changed job.toml" in " ".join(text_of(app).split())
        await press(app, pilot, "escape")
        assert isinstance(app.screen, Write)
        assert app.screen.query_one(Input).value == "9"
        assert "another program has changed" in " ".join(text_of(app).split())
        assert path.read_text("utf-8") == theirs


async def test_a_new_task_and_its_card_are_told_as_one(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app) as pilot:
        before = app.model.plan
        await open_card(app, pilot, "coat-2")
        await press(app, pilot, "escape", "y", "enter")
        await stand(app, pilot, "work")
        await press(app, pilot, "enter")
        await write(app, pilot, "5")
        await press(app, pilot, "escape")
        assert app.model.turn.before is before
        assert "coat-3 is new" in app.model.turn.words
        assert "coat-3: work 5" in app.model.turn.words


async def test_gear_is_held_until_a_stage_and_in_units(tmp_path: Path) -> None:
    path = job_file(tmp_path, SMALL.replace("[[task]]", '[[gear]]\nid = "pads"\ncount = 4\n\n[[task]]', 1))
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "coat-1")
        await stand(app, pilot, "gear")
        await press(app, pilot, "enter")
        await pick(app, pilot, "pads add")
        await pick(app, pilot, "until its stage sand")
        await pick(app, pilot, "2 of 4")
        assert task_of(path, "coat-1")["gear"] == [{"id": "pads", "until": "sand", "units": 2}]
        await press(app, pilot, "escape")
        assert "2 pads until sand" in text_of(app)
        await press(app, pilot, "enter")
        await pick(app, pilot, "take out")
        assert "gear" not in task_of(path, "coat-1")


async def test_a_day_of_weather_is_new_moved_and_taken_out(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        app.action_new()
        await pilot.pause(0.05)
        await pick(app, pilot, "day of weather")
        await write(app, pilot, "2027-06-09, 6")
        assert "Write four values" in text_of(app)
        await write(app, pilot, "2027-06-09, 6, 13.5, 5")
        assert "day of weather 2027-06-09" in text_of(app)
        assert "y copy" not in text_of(app)
        await press(app, pilot, "enter")
        await write(app, pilot, "2027-06-10")
        assert "day of weather 2027-06-10" in text_of(app)
        await stand(app, pilot, "humidity")
        await press(app, pilot, "enter")
        await write(app, pilot, "80")
        found = tomllib.loads(path.read_text("utf-8"))["weather"]["day"]
        assert [{key: str(part) for key, part in day.items()} for day in found] == [
            {"date": "2027-06-10", "low": "6", "high": "13.5", "humidity": "80"}
        ]
        await press(app, pilot, "delete", "down", "enter")
        assert "day" not in tomllib.loads(path.read_text("utf-8"))["weather"]
        assert "weather day 2027-06-10 deleted" in app.model.turn.words


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_what_comes_up_over_a_page_stands_in_the_middle_of_it(tmp_path: Path, size: tuple[int, int]) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, size) as pilot:
        for keys in (
            ("question_mark",),
            ("space",),
            ("j",),
            ("p",),
            ("v",),
            ("t", "enter"),
            ("t", "enter", "question_mark"),
        ):
            await press(app, pilot, *keys)
            assert app.screen.is_modal, keys
            box = app.screen.children[0].region
            assert abs(box.x - (size[0] - box.right)) <= 1, keys
            assert abs(box.y - (size[1] - box.bottom)) <= 1, keys
            await press(app, pilot, *["escape"] * (len(app.screen_stack) - 1))
