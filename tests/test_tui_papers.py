"""The sheet of a day and the review in the app: read, turned, kept, answered; cautions on the card."""

from __future__ import annotations

from pathlib import Path

from textual.widgets import Input
from tui_support import COATS, HEAD, NORMALS, WIDE, app_on, job_file, running, task, text_of, until, zone

from sequencer.review import read_answers
from sequencer.tui.forms import Pick, Write
from sequencer.tui.reader import Reader

ALONE = HEAD + NORMALS + zone("bottom") + COATS + task("hang", title="Hang the pod", more='after = ["scrape"]')
ALONE += task("relaunch", "bottom", 'after = ["coat-2@immerse", "hang"]', title="Lift her in", work=1)


async def test_the_sheet_is_read_turned_and_kept_as_a_page(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path))
    async with running(app, WIDE) as pilot:
        await pilot.press("d", "p")
        await until(pilot, lambda: isinstance(app.screen, Reader))
        assert "Mon 7 Jun 2027" in text_of(app)
        assert "TO DO" in text_of(app)
        await pilot.press("n")
        await until(pilot, lambda: "Tue 8 Jun 2027" in text_of(app))
        await pilot.press("k")
        await until(pilot, lambda: (tmp_path / "job-2027-06-08.html").is_file())
        page = (tmp_path / "job-2027-06-08.html").read_text("utf-8")
        assert page.lower().startswith("<!doctype html>")
        await until(pilot, lambda: isinstance(app.screen, Reader))
        await pilot.press("f")
        await until(pilot, lambda: isinstance(app.screen, Pick))
        await pilot.press("down", "enter")
        await until(pilot, lambda: isinstance(app.screen, Reader) and "for You" in text_of(app))
        await pilot.press("escape")
        await until(pilot, lambda: not app.screen.is_modal)


async def test_a_finding_is_answered_and_stays_answered(tmp_path: Path) -> None:
    path = job_file(tmp_path, ALONE)
    app = app_on(path)
    async with running(app, WIDE) as pilot:
        await pilot.press("v")
        await until(pilot, lambda: isinstance(app.screen, Reader))
        assert "hang is planned for one pair of hands" in text_of(app)
        await pilot.press("a")
        await until(pilot, lambda: isinstance(app.screen, Pick))
        form = app.screen
        assert isinstance(form, Pick)
        form.query_one(Input).value = "hang is planned"
        await pilot.pause()
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, Write))
        app.screen.query_one(Input).value = "a jack holds it [/]"
        await pilot.press("enter")
        await until(pilot, lambda: isinstance(app.screen, Reader))
        assert "a jack holds it [/]" in read_answers(path).values()
        await pilot.press("end")
        await until(pilot, lambda: "a jack holds it [/]" in " ".join(text_of(app).replace("│", " ").split()))


async def test_cautions_stand_on_the_card(tmp_path: Path) -> None:
    app = app_on(job_file(tmp_path, ALONE))
    async with running(app, (120, 60)) as pilot:
        await pilot.press("t")
        app.stand_on("relaunch")
        await pilot.pause()
        told = " ".join(text_of(app).split())
        assert "mind" in told
        assert "Nobody under her" in told
        assert "have the last word" in told
