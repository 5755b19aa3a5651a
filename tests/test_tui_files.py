"""What others do to the files while the app is open: gone, broken, changed, half written, back again."""

from __future__ import annotations

import os
import re
import shutil
from pathlib import Path

import pytest
from surroundings import (
    PLAIN,
    app_at_noon,
    noticed,
    open_field,
    press,
    tick,
    told,
    true_to_disk,
    typed,
    write_refused,
)
from tui_support import (
    COATS,
    HEAD,
    NORMALS,
    RELAUNCH,
    app_on,
    job_file,
    lines_of,
    running,
    settled,
    until,
    zone,
)

from sequencer.job.journal import journal_path
from sequencer.job.writing import SetField
from sequencer.tui.asking import Choose, Say
from sequencer.tui.forms import Write
from sequencer.tui.reader import Reader


async def test_a_job_file_that_is_gone_is_told_once_and_gone_on_with_when_it_is_back(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    async with running(app) as pilot:
        path.rename(tmp_path / "elsewhere")
        await tick(app, pilot)
        assert isinstance(app.screen, Choose)
        assert "job.toml is gone: moved, renamed or deleted" in told(app)
        await press(app, pilot, "down", "enter")
        for _ in range(3):
            await tick(app, pilot)
            assert not app.screen.is_modal
        assert "the file is gone" in lines_of(app)[1]
        assert "proved" in lines_of(app)[0]
        for page in app.pages:
            await press(app, pilot, page[0].lower())
            assert app.is_running
        assert not path.exists()
        (tmp_path / "elsewhere").rename(path)
        await tick(app, pilot)
        assert "gone" not in lines_of(app)[1]
        assert "job.toml is back as it is shown here." in noticed(app)
        await press(app, pilot, "j", "s")
        true_to_disk(app, path)
        assert "started" in path.read_text("utf-8")


async def test_a_change_over_a_file_that_is_gone_asks_first_and_is_not_lost(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    async with running(app) as pilot:
        await press(app, pilot, "j", "s")
        await open_field(app, pilot, "scrape", "note")
        jotted = path.read_text("utf-8")
        path.unlink()
        await write_refused(app, pilot, "typed in vain?")
        assert "is gone" in told(app)
        assert not path.exists()
        await press(app, pilot, "enter")
        assert path.read_text("utf-8") == jotted
        assert "job.toml is written again." in noticed(app)
        assert isinstance(app.screen, Write)
        assert "the job file is gone; say first what to do about that, then do it again. What you typed" in told(app)
        assert "still stands here." in told(app)
        assert typed(app) == "typed in vain?"
        await press(app, pilot, "enter", "escape")
        assert 'note = "typed in vain?"' in path.read_text("utf-8")
        await press(app, pilot, "u", "u")
        assert path.read_text("utf-8") == PLAIN


async def test_a_folder_that_is_gone_and_comes_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "boat"
    folder.mkdir()
    job_file(folder, PLAIN)
    # From the folder itself, as one does: names that begin there lead nowhere once it is gone.
    monkeypatch.chdir(folder)
    app = app_at_noon(Path("job.toml"))
    async with running(app) as pilot:
        await press(app, pilot, "j", "s")
        jotted = (folder / "job.toml").read_text("utf-8")
        shutil.copytree(folder, tmp_path / "kept")
        shutil.rmtree(folder)
        await tick(app, pilot)
        assert isinstance(app.screen, Say)
        assert "the file is gone, and its folder with it; put the folder back" in told(app)
        await press(app, pilot, "escape")
        await press(app, pilot, "u")
        assert "Not done; the job is as it was. can't be changed, the file is gone" in told(app)
        await press(app, pilot, "escape", "j", "f")
        assert "Not jotted: can't be changed, the file is gone, and its folder with it" in told(app)
        await press(app, pilot, "escape", "space", "escape")
        assert not folder.exists()
        assert app.job_text == jotted
        shutil.copytree(tmp_path / "kept", folder)
        await tick(app, pilot)
        assert "gone" not in lines_of(app)[1]
        await press(app, pilot, "u")
        assert (folder / "job.toml").read_text("utf-8") == PLAIN
        true_to_disk(app, folder / "job.toml")


async def test_a_folder_in_the_place_of_the_job_file(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    async with running(app) as pilot:
        path.unlink()
        path.mkdir()
        await tick(app, pilot)
        assert "there is a folder in its place; take that away" in told(app)
        await press(app, pilot, "escape", "j", "s")
        assert "Not jotted: can't be read, there is a folder in its place" in told(app)
        assert list(path.iterdir()) == []
        path.rmdir()
        job_file(tmp_path, PLAIN)
        await press(app, pilot, "s")
        true_to_disk(app, path)
        assert "started" in path.read_text("utf-8")


BROKEN = (
    b"[job\n",
    b"",
    PLAIN.encode()[: len(PLAIN) // 2],
    b"\xff\xfe\x00",
    PLAIN.replace('after = ["scrape"]', 'after = ["none"]').encode(),
)
"""No TOML, empty, truncated, no text, faults."""


async def test_a_broken_file_is_never_taken_nor_overwritten_unasked(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    async with running(app) as pilot:
        before = app.model.plan
        assert before is not None
        for broken in BROKEN:
            path.write_bytes(broken)
            await tick(app, pilot)
            assert app.screen.is_modal
            if isinstance(app.screen, Choose):
                await press(app, pilot, "enter")
                assert "The job file has faults" in told(app)
            await press(app, pilot, "escape")
            await tick(app, pilot)
            assert not app.screen.is_modal
            assert re.search("another program|job file", lines_of(app)[1])
            await press(app, pilot, "u", "escape", "j", "s", "escape", "escape")
            assert path.read_bytes() == broken
            app.action_again()
            await settled(app, pilot)
            await press(app, pilot, "escape")
            assert not app.screen.is_modal
            assert app.model.plan is not None
            assert app.model.plan.launch == before.launch
            job_file(tmp_path, PLAIN)
            await tick(app, pilot)
            assert app.model.trouble is None
            assert not re.search("another program|job file", lines_of(app)[1])
        await press(app, pilot, "j", "s")
        true_to_disk(app, path)
        assert "started" in path.read_text("utf-8")


async def test_a_job_with_faults_or_none_is_opened_as_soon_as_it_is_mended(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    app = app_at_noon(path)
    async with running(app) as pilot:
        assert "there is no such file" in told(app)
        path.write_text("[job", "utf-8")
        await tick(app, pilot)
        assert "the table's name is not closed" in told(app)
        job_file(tmp_path, PLAIN)
        await tick(app, pilot)
        await until(pilot, lambda: app.model.plan is not None)
        await press(app, pilot, "j", "s")
        true_to_disk(app, path)


async def test_a_journal_taken_away_or_spoilt_costs_no_change(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    async with running(app) as pilot:
        await press(app, pilot, "j", "s")
        journal_path(path).unlink()
        await press(app, pilot, "j", "f")
        true_to_disk(app, path)
        assert "finished" in path.read_text("utf-8")
        journal_path(path).write_bytes(b"spoilt")
        await press(app, pilot, "u")
        true_to_disk(app, path)
        assert "started" in path.read_text("utf-8")
        assert "finished" not in path.read_text("utf-8")


# -- weather, answers ------------------------------------------------------------------------------------------------

WEATHER = HEAD + '[weather]\nfile = "june.csv"\n\n' + NORMALS + zone("bottom", "Bottom") + COATS + RELAUNCH


def hours(wet: tuple[int, ...] = ()) -> str:
    """Four days of June by the hour; some may be wet."""
    lines = [
        f"2027-06-{day:02}T{hour:02}:00,15,8,{2 if day in wet else 0},5" for day in range(6, 10) for hour in range(24)
    ]
    return "time,temp_c,dew_c,rain_mm,wind_kn\n" + "\n".join(lines) + "\n"


async def test_weather_changed_half_written_gone_and_back(tmp_path: Path) -> None:
    path, file = job_file(tmp_path, WEATHER), tmp_path / "june.csv"
    file.write_text(hours(), "utf-8")
    app = app_on(path, seconds=0.3)
    async with running(app) as pilot:
        dry = app.model.plan
        assert dry is not None
        file.write_text(hours(wet=(7, 8)), "utf-8")
        await tick(app, pilot)
        wet = app.model.plan
        assert wet is not None
        assert wet.launch > dry.launch
        assert "june.csv has changed: looking anew. m tells what moved." in noticed(app)
        assert app.current == "Stay"
        true_to_disk(app, path)
        for broken, words in ((hours()[:70], "line 3"), (None, "there is no such file"), ("", "line 1")):
            file.unlink(missing_ok=True)
            if broken is not None:
                file.write_text(broken, "utf-8")
            await tick(app, pilot)
            assert "old plan" in lines_of(app)[0]
            assert "trouble with june.csv" in lines_of(app)[0]
            assert app.model.plan is wet
            app.open_page("Moved")
            await pilot.pause(0)
            assert words in told(app)
            await press(app, pilot, "a", "enter", "escape", "s")
            assert app.is_running
        # The job itself can be changed all the same.
        app.change(SetField("task", "scrape", "note", "mind the log"))
        await settled(app, pilot)
        assert 'note = "mind the log"' in path.read_text("utf-8")
        assert "june.csv is gone: looking anew. m tells what moved." in noticed(app)
        file.write_text(hours(), "utf-8")
        await tick(app, pilot)
        assert app.model.trouble is None
        assert app.model.plan is not None
        assert app.model.plan.launch == dry.launch
        true_to_disk(app, path)
        at = file.stat()
        os.utime(file, ns=(at.st_atime_ns, at.st_mtime_ns))
        count = len(noticed(app))
        await tick(app, pilot)
        assert len(noticed(app)) == count


async def test_answers_broken_by_hand_are_said_and_taken_up_once_mended(tmp_path: Path) -> None:
    path = job_file(tmp_path, HEAD + NORMALS + zone("bottom") + COATS + RELAUNCH)
    answers = tmp_path / "job.answers.toml"
    app = app_at_noon(path)
    async with running(app) as pilot:
        for broken in ("half = ", "[", "a = 1\n"):
            answers.write_text(broken, "utf-8")
            await pilot.press("v")
            await until(pilot, lambda: isinstance(app.screen, Say))
            assert 'as "finding" = "reason"' in told(app)
            assert answers.read_text("utf-8") == broken
            await press(app, pilot, "escape")
        answers.unlink()
        await pilot.press("v")
        await until(pilot, lambda: isinstance(app.screen, Reader))
        await press(app, pilot, "escape")
