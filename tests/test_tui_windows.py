"""Two windows on one job, and other programs at it: each other's changes are shown, none is lost, none typed is."""

from __future__ import annotations

from pathlib import Path

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
    write,
    write_refused,
)
from tui_support import (
    job_file,
    lines_of,
    running,
    until,
)

from sequencer.job.jobfile import JobFile
from sequencer.tui.asking import Choose
from sequencer.tui.card_screen import CardScreen
from sequencer.tui.forms import Write
from sequencer.tui.jot import Jotting


async def test_two_windows_on_one_job_show_each_others_changes_and_lose_none(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    one, two = app_at_noon(path), app_at_noon(path)
    async with running(one) as first, running(two) as second:
        assert "open in another window" in told(two)
        await press(two, second, "escape")
        await press(one, first, "j", "s")
        await tick(two, second)
        assert two.job_text == one.job_text
        assert "The other window: scrape started Mon 7 Jun 12:00." in noticed(two)
        assert "open in another window" in lines_of(two)[1]
        true_to_disk(two, path)
        # Typed in the window that may not write: it stays, and is saved once the other is closed.
        await open_field(two, second, "scrape", "note")
        await write(two, second, "from the second")
        assert "the job is open in another window; close it there, then do it again" in told(two)
        await press(one, first, "u")
        assert path.read_text("utf-8") == PLAIN
        # What is told waits until the form is left.
        await tick(two, second)
        assert typed(two) == "from the second"
        await press(one, first, "j", "f")
        one.call_later(one._drop_file)
        await first.pause(0)
        await press(two, second, "enter")
        # The other has written meanwhile: asked, in front of the form.
        assert isinstance(two.screen, Choose)
        await press(two, second, "enter")
        assert typed(two) == "from the second"
        await press(two, second, "enter", "escape")
        saved = path.read_text("utf-8")
        assert 'note = "from the second"' in saved
        assert "finished" in saved
        true_to_disk(two, path)
        # One undo a change, whichever window made it.
        await press(two, second, "u", "u")
        assert path.read_text("utf-8") == PLAIN
        await press(two, second, "r")
        assert "finished" in path.read_text("utf-8")


async def test_a_window_closed_midway_leaves_what_it_accepted_to_the_other(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    two = app_at_noon(path)
    with JobFile.open(path) as held:
        async with running(two) as second:
            await press(two, second, "escape")
            one = app_at_noon(path)
            held.close()
            async with running(one) as first:
                await press(one, first, "j", "s")
                await open_field(one, first, "scrape", "note")
                assert one.screen.is_modal
            await tick(two, second)
            true_to_disk(two, path)
            assert "started" in two.job_text
            assert "another window" not in lines_of(two)[1]
            await press(two, second, "u")
            assert path.read_text("utf-8") == PLAIN


async def test_a_conflicting_edit_is_told_and_what_was_typed_is_kept(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    theirs = PLAIN.replace("work = 3", "work = 5\nhands = 1")
    app = app_at_noon(path)
    async with running(app) as pilot:
        await open_field(app, pilot, "scrape", "work")
        path.write_text(theirs, "utf-8")
        await tick(app, pilot)
        assert isinstance(app.screen, Write)
        await write_refused(app, pilot, "4")
        assert path.read_text("utf-8") == theirs
        await press(app, pilot, "escape")
        assert typed(app) == "4"
        assert path.read_text("utf-8") == theirs
        await press(app, pilot, "enter", "enter", "enter")
        assert path.read_text("utf-8") == theirs.replace("work = 5", "work = 4")
        await press(app, pilot, "escape", "u")
        assert path.read_text("utf-8") == theirs
        await press(app, pilot, "u")
        assert path.read_text("utf-8") == PLAIN
        true_to_disk(app, path)


async def test_a_table_taken_out_by_another_while_its_form_is_open(tmp_path: Path) -> None:
    text = PLAIN + '[[gear]]\nid = "grinder"\n'
    path = job_file(tmp_path, text)
    app = app_at_noon(path)
    async with running(app) as pilot:
        app.edit_card("gear", "grinder")
        await until(pilot, lambda: isinstance(app.screen, CardScreen))
        await press(app, pilot, "down", "enter")
        path.write_text(PLAIN, "utf-8")
        await write_refused(app, pilot, "the big one")
        await press(app, pilot, "enter", "enter")
        assert "there is no" in told(app)
        assert typed(app) == "the big one"
        await press(app, pilot, "escape", "enter", "escape", "escape", "escape")
        assert not app.screen.is_modal
        true_to_disk(app, path)
        assert path.read_text("utf-8") == PLAIN


async def test_a_jot_box_over_a_changed_file_keeps_the_time_typed(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    theirs = PLAIN.replace("work = 3", "work = 5")
    app = app_at_noon(path)
    async with running(app) as pilot:
        await press(app, pilot, "j", "9")
        path.write_text(theirs, "utf-8")
        await press(app, pilot, "s")
        assert isinstance(app.screen, Choose)
        await press(app, pilot, "enter")
        assert isinstance(app.screen, Jotting)
        assert "typed: 9_" in told(app)
        await press(app, pilot, "s")
        assert "started = 2027-06-07T09:00:00" in path.read_text("utf-8")
        assert "work = 5" in path.read_text("utf-8")
        true_to_disk(app, path)
