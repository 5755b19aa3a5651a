"""Everything of the job edited by keys: cards, links, new tables, copies, deletions, new jobs."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from planned import assert_kept
from textual.pilot import Pilot
from textual.widgets import Input
from tui_support import NARROW, SMALL, WIDE, app_on, job_file, lines_of, running, settled, text_of

from sequencer.errors import JobError
from sequencer.job.layout import KINDS, SINGLE, field_order, name_of
from sequencer.job.writing import apply_change
from sequencer.tui.app import SequencerApp
from sequencer.tui.card_screen import CardScreen
from sequencer.tui.changing import field_change
from sequencer.tui.fields import FIELDS, fields_of
from sequencer.tui.fieldtext import NotReadError, read_value, write_value
from sequencer.tui.fieldwords import value_at
from sequencer.tui.forms import Pick, Write
from sequencer.tui.lookup import table_of, tables_of

ROOT = Path(__file__).resolve().parent.parent
HOSTILE = ["[bold]x[/]", "[/]", "@click=app.exit", "$x", "'\"\\", "café 🛥 é", "x" * 500, "{ a = 1 }", "a; b, c"]


async def press(app: SequencerApp, pilot: Pilot[None], *keys: str) -> None:
    """Press keys, a pause after each, and wait for the plan that follows."""
    for key in keys:
        await pilot.press(key)
        await pilot.pause()
    await pilot.pause(0.05)
    await settled(app, pilot)


async def write(app: SequencerApp, pilot: Pilot[None], text: str) -> None:
    """Put `text` into the form's line, as pasted, and take it."""
    form = app.screen
    assert isinstance(form, Write), form
    form.query_one(Input).value = text
    await press(app, pilot, "enter")


async def pick(app: SequencerApp, pilot: Pilot[None], words: str) -> None:
    """Narrow the list by `words` and take the first."""
    form = app.screen
    assert isinstance(form, Pick), form
    form.query_one(Input).value = words
    await pilot.pause()
    await press(app, pilot, "enter")


async def stand(app: SequencerApp, pilot: Pilot[None], path: str) -> None:
    """Stand on a field of the card."""
    card = app.screen
    assert isinstance(card, CardScreen)
    at = [field.path for field in card.lines.fields].index(path)
    card.action_move(at - card.lines.at)
    await pilot.pause()


def task_of(path: Path, name: str) -> dict[str, Any]:
    """A task of the file on the disk."""
    return table_of(path.read_text("utf-8"), "task", name)


async def open_card(app: SequencerApp, pilot: Pilot[None], name: str) -> None:
    """The card of a task, by keys; Moved may have come up meanwhile."""
    await settled(app, pilot)
    app.open_page("Tasks")
    app.stand_on(name)
    await press(app, pilot, "enter")
    assert isinstance(app.screen, CardScreen)


@pytest.mark.parametrize("size", [NARROW, WIDE])
async def test_a_field_is_edited_where_it_stands(tmp_path: Path, size: tuple[int, int]) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app, size) as pilot:
        await open_card(app, pilot, "scrape")
        await stand(app, pilot, "work")
        await press(app, pilot, "enter")
        await write(app, pilot, "2, 30, 40")
        assert task_of(path, "scrape")["work"] == [2, 30, 40]
        assert "2, 30, 40" in text_of(app)
        await press(app, pilot, "escape")
        assert app.current == "Moved"
        assert "scrape: work" in text_of(app)
        assert "night" in text_of(app)
        plan = app.model.plan
        assert plan is not None
        assert_kept(plan.job, plan, plan.moment(plan.now))
        await press(app, pilot, "u")
        assert path.read_text("utf-8") == SMALL


async def test_what_a_card_does_is_told_as_one(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        before = app.model.plan
        await open_card(app, pilot, "scrape")
        await stand(app, pilot, "work")
        await press(app, pilot, "enter")
        await write(app, pilot, "9")
        await stand(app, pilot, "title")
        await press(app, pilot, "enter")
        await write(app, pilot, "Scrape her")
        await press(app, pilot, "escape")
        assert app.model.turn.before is before
        assert "scrape: work 9" in app.model.turn.words
        assert "title Scrape her" in app.model.turn.words


async def test_a_wrong_value_is_told_and_stays_to_be_mended(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "scrape")
        await stand(app, pilot, "work")
        await press(app, pilot, "enter")
        await write(app, pilot, "-3")
        assert isinstance(app.screen, Write)
        assert app.screen.query_one(Input).value == "-3"
        assert "work must be hours from 0" in text_of(app)
        await write(app, pilot, "3")
        assert isinstance(app.screen, CardScreen)
        assert path.read_text("utf-8") == SMALL


async def test_a_link_is_picked_with_a_stage_its_material_has(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "relaunch")
        await stand(app, pilot, "after")
        await press(app, pilot, "enter")
        await pick(app, pilot, "coat-1 add")
        assert isinstance(app.screen, Pick)
        offered = [option.key for option in app.screen.list.options]
        assert offered == ["done", "set", "recoat", "sand", "immerse"]
        await pick(app, pilot, "sand")
        assert task_of(path, "relaunch")["after"] == ["coat-2@immerse", "coat-1@sand"]
        await pick(app, pilot, "take out coat-1")
        assert task_of(path, "relaunch")["after"] == ["coat-2@immerse"]


async def test_a_link_that_closes_a_loop_is_refused_with_the_loop(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await open_card(app, pilot, "scrape")
        await stand(app, pilot, "after")
        await press(app, pilot, "enter")
        await pick(app, pilot, "coat-2 loop")
        await pick(app, pilot, "work is done")
        told = " ".join(text_of(app).replace("│", " ").split())
        assert "Not done" in told
        assert "scrape → coat-1" in told
        assert path.read_text("utf-8") == SMALL


async def test_a_new_task_is_waited_for_and_undone(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await press(app, pilot, "t", "n")
        await pick(app, pilot, "task something")
        await write(app, pilot, "Fit the pod, bed it")
        await pick(app, pilot, "bottom")
        await pick(app, pilot, "yes")
        await write(app, pilot, "3, 4, 6")
        assert isinstance(app.screen, CardScreen)
        assert task_of(path, "fit-the-pod-bed-it") == {
            "id": "fit-the-pod-bed-it",
            "title": "Fit the pod, bed it",
            "zone": "bottom",
            "work": [3, 4, 6],
        }
        assert task_of(path, "relaunch")["after"] == ["coat-2@immerse", "fit-the-pod-bed-it"]
        await press(app, pilot, "escape", "u")
        assert path.read_text("utf-8") == SMALL


async def test_copy_rename_and_take_out(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await press(app, pilot, "t")
        app.stand_on("coat-2")
        await press(app, pilot, "y")
        await write(app, pilot, "coat-3")
        assert task_of(path, "coat-3")["after"] == ["coat-1@recoat"]
        await stand(app, pilot, "id")
        await press(app, pilot, "enter")
        await write(app, pilot, "Not A Name")
        assert "short name" in text_of(app)
        await press(app, pilot, "escape", "escape")
        await open_card(app, pilot, "coat-1")
        await stand(app, pilot, "id")
        await press(app, pilot, "enter")
        await write(app, pilot, "first-coat")
        assert task_of(path, "coat-3")["after"] == ["first-coat@recoat"]
        await press(app, pilot, "delete")
        told = " ".join(text_of(app).replace("│", " ").split())
        assert "coat-2, coat-3 name it" in told
        await press(app, pilot, "enter")
        assert task_of(path, "first-coat")
        await press(app, pilot, "delete", "down", "enter")
        assert not task_of(path, "first-coat")
        assert "after" not in task_of(path, "coat-2")
        for _ in range(3):
            await press(app, pilot, "u")
        assert path.read_text("utf-8") == SMALL


async def test_the_book_has_every_kind_and_a_generic_material(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        await press(app, pilot, "t", "b")
        assert isinstance(app.screen, Pick)
        assert {option.key for option in app.screen.list.options} == set(KINDS)
        await pick(app, pilot, "yard")
        await stand(app, pilot, "night")
        await press(app, pilot, "enter")
        await write(app, pilot, "41.5")
        await press(app, pilot, "escape")
        assert tomllib.loads(path.read_text("utf-8"))["yard"]["night"] == 41.5
        await press(app, pilot, "t", "b")
        await pick(app, pilot, "material")
        await pick(app, pilot, "new")
        assert isinstance(app.screen, Pick)
        first = app.screen.list.options[0].key
        await press(app, pilot, "enter")
        assert isinstance(app.screen, CardScreen)
        assert table_of(path.read_text("utf-8"), "material", first)
        await press(app, pilot, "escape")
        await press(app, pilot, "t", "b")
        await pick(app, pilot, "person")
        await pick(app, pilot, "new")
        await write(app, pilot, "Wil")
        await write(app, pilot, "Wed 09:00-16:00; FREQ=WEEKLY;INTERVAL=2;BYDAY=SA since 2027-06-12 09:00-16:00")
        hours = table_of(path.read_text("utf-8"), "crew", "wil")["hours"]
        assert hours[1]["rule"] == "FREQ=WEEKLY;INTERVAL=2;BYDAY=SA"


async def test_a_new_job_and_another_job(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        app.action_new_job()
        await pilot.pause()
        await pick(app, pilot, "from antifouling")
        await write(app, pilot, "job")
        assert "is there already" in text_of(app)
        await write(app, pilot, "next-year")
        assert app.job_path == tmp_path / "next-year.toml"
        assert app.model.job is not None
        assert app.model.plan is not None or app.model.trouble is not None
        app.action_open_job()
        await pilot.pause()
        await pick(app, pilot, str(tmp_path))
        assert app.job_path == path
        app.action_add_block()
        await pilot.pause()
        await pick(app, pilot, "through-hull")
        assert "through-hull" in app.model.turn.words, text_of(app)
        assert len(tomllib.loads(path.read_text("utf-8"))["task"]) > 4


async def test_hostile_text_is_kept_and_shown_letter_for_letter(tmp_path: Path) -> None:
    path = job_file(tmp_path)
    app = app_on(path)
    async with running(app) as pilot:
        for text in HOSTILE:
            await open_card(app, pilot, "scrape")
            await stand(app, pilot, "title")
            await press(app, pilot, "enter")
            await write(app, pilot, text)
            assert task_of(path, "scrape")["title"] == text
            assert text[:40] in text_of(app)
            await press(app, pilot, "escape")
            for title in ("Day", "Tasks"):
                app.open_page(title)
                await pilot.pause()
                assert len(lines_of(app)) == NARROW[1]


@pytest.mark.parametrize("text", [*HOSTILE, "a\nb", "\x1b[31m", "\u202e", "-1", "1e999", "nan", "# x"])
@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in ("weather", "weather.day")])
def test_whatever_is_typed_is_kept_or_refused_in_a_sentence(kind: str, text: str) -> None:
    job = SMALL + '[[gear]]\nid = "g"\n\n[[delivery]]\nid = "d"\ndue = 2027-06-07\n'
    table = tables_of(job, kind)[0]
    name = "" if kind in SINGLE else name_of(kind, table)
    for field in fields_of(kind, table, table_of(job, "material", "primer") if kind == "task" else None):
        if field.shape not in ("text", "value", "list", "hours", "known"):
            continue
        try:
            value = read_value(field.shape, text)
            saved = apply_change(job, field_change(kind, name, table, field.path, value))
        except (NotReadError, JobError) as error:
            told = str(error)
        else:
            told = ""
            found = value_at(tables_of(saved.text, kind)[0], field.path)
            assert found == (text if field.shape in ("text", "known") else value), field.path
        assert not told or told.endswith((".", "?")), told
        assert not told or field.path not in ("title", "note", "boat"), told


def test_every_field_of_the_file_is_on_a_card() -> None:
    for kind in KINDS:
        if kind == "material":
            continue
        paths = {field.path.partition(".")[0] for field in FIELDS[kind]}
        assert set(field_order(kind)) - paths <= {"reached", "day", "normal"}, kind


@pytest.mark.parametrize("name", ["dunlin-pod", "plover-catamaran", "knot-bottom-job", "osprey-small"])
def test_every_value_of_the_jobs_comes_back_as_it_was(name: str) -> None:
    data = tomllib.loads((ROOT / "jobs" / f"{name}.toml").read_text("utf-8"))
    materials = {table["id"]: table for table in data["material"]}
    seen = 0
    for kind in ("crew", "zone", "gear", "delivery", "material", "task"):
        for table in data.get(kind, []):
            for field in fields_of(kind, table, materials.get(table.get("material"))):
                value = value_at(table, field.path)
                if value is None or field.shape in ("gear", "links", "many", "stage-name"):
                    continue
                seen += 1
                text = write_value(value, field.shape)
                back: Any = read_value(field.shape, text) if field.shape not in ("one", "choice") else text
                if isinstance(value, list) and len(value) == 1 and field.shape == "value":
                    back = [back]
                if field.shape == "hours":
                    back = [{key: str(part) for key, part in line.items()} for line in back]
                    value = [{key: str(part) for key, part in line.items()} for line in value]
                assert back == value, (kind, table["id"], field.path)
    assert seen > 50


def test_what_cannot_be_read_is_said() -> None:
    for shape, text in (("hours", "Mon-Fri"), ("hours", "FREQ=DAILY 08:00-09:00"), ("flag", "perhaps")):
        with pytest.raises(NotReadError, match=r"^[A-Z].*\.$"):
            read_value(shape, text)
