"""What the disk does to the app: full at every step of a save, read-only. It is told, and the same key works again.

The codes a system answers with are POSIX's (IEEE Std 1003.1, errno.h): ENOSPC, EDQUOT, EROFS, EACCES.
"""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from surroundings import (
    FULL,
    PLAIN,
    Refusing,
    app_at_noon,
    at_every_step,
    open_field,
    press,
    refusing,
    tick,
    told,
    true_to_disk,
    typed,
    write,
)
from textual import events
from tui_support import (
    job_file,
    lines_of,
    running,
)

from sequencer.job.jobfile import JobFile
from sequencer.tui.asking import Say
from sequencer.tui.forms import Write
from sequencer.tui.jot import Jotting


async def test_a_jot_refused_at_any_step_stands_as_typed_and_the_same_key_saves_it(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    told_of = []
    async with running(app) as pilot:
        await press(app, pilot, "t")
        await press(app, pilot, "j", "9")

        async def refused() -> None:
            if isinstance(app.screen, Jotting):
                told_of.append(told(app))
                assert f"Not jotted: {FULL}" in told(app)
                assert "typed: 9_" in told(app)
                assert path.read_text("utf-8") == app.job_text == PLAIN
                assert app.model.job == app.file.job  # type: ignore[union-attr]
                await press(app, pilot, "s")

        async def after() -> None:
            assert "started = 2027-06-07T09:00:00" in path.read_text("utf-8")
            true_to_disk(app, path)
            await press(app, pilot, "u", "t", "j", "9")
            assert path.read_text("utf-8") == PLAIN

        assert await at_every_step(lambda: press(app, pilot, "s"), refused, after) > len(told_of)
    assert len(told_of) >= 5


async def test_undo_and_redo_refused_at_any_step_are_told_and_work_once_there_is_room(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    refusals = 0
    async with running(app) as pilot:
        await press(app, pilot, "j", "s")
        jotted = path.read_text("utf-8")
        for key, before, then, stride in (("u", jotted, PLAIN, 2), ("r", PLAIN, jotted, 3)):
            back = "r" if key == "u" else "u"

            async def refused(key: str = key, before: str = before) -> None:
                nonlocal refusals
                if isinstance(app.screen, Say):
                    refusals += 1
                    assert f"Not done; the job is as it was. {FULL}" in told(app)
                    assert path.read_text("utf-8") == app.job_text == before
                    await press(app, pilot, "escape", key)

            async def after(then: str = then, back: str = back) -> None:
                assert path.read_text("utf-8") == then
                true_to_disk(app, path)
                await press(app, pilot, back)

            await at_every_step(lambda key=key: press(app, pilot, key), refused, after, stride)  # type: ignore[misc]
            assert path.read_text("utf-8") == then
    assert refusals >= 4


async def test_a_field_refused_stays_in_its_form_with_every_letter(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    refusals = 0
    async with running(app) as pilot:
        await open_field(app, pilot, "scrape", "note")

        async def refused() -> None:
            nonlocal refusals
            if isinstance(app.screen, Write):
                refusals += 1
                assert FULL in told(app)
                assert typed(app) == "mind the [keel]"
                assert path.read_text("utf-8") == PLAIN
                await press(app, pilot, "enter")

        async def after() -> None:
            assert 'note = "mind the [keel]"' in path.read_text("utf-8")
            await press(app, pilot, "enter")
            await write(app, pilot, "")
            assert path.read_text("utf-8") == PLAIN
            await press(app, pilot, "enter")

        await at_every_step(lambda: write(app, pilot, "mind the [keel]"), refused, after, stride=3)
    assert refusals >= 2


async def test_a_full_disk_stays_full_and_every_key_says_so(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    async with running(app) as pilot:
        with refusing():
            for _ in range(2):
                await press(app, pilot, "j", "s")
                assert FULL in told(app)
                await press(app, pilot, "escape")
                await tick(app, pilot)
                assert not app.screen.is_modal
            assert app.model.trouble is None
        await press(app, pilot, "j", "s")
        assert [noted.words for noted in app.model.turn.done] == ["scrape started Mon 7 Jun 12:00"]
        true_to_disk(app, path)
    with JobFile.open(path) as again:
        again.undo()
        assert path.read_text("utf-8") == PLAIN


async def test_of_keys_that_come_at_once_the_first_is_jotted(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    async with running(app) as pilot:
        await press(app, pilot, "j")
        box = app.screen
        for key in "sfs":
            box.post_message(events.Key(key, key))
        await press(app, pilot, "m")
        assert [noted.words for noted in app.model.turn.done] == ["scrape started Mon 7 Jun 12:00"]
        assert not app.screen.is_modal
        true_to_disk(app, path)


# -- read-only -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "words"),
    [
        (errno.EACCES, "can't be changed, the file or its folder is read-only"),
        (errno.EROFS, "can't be changed, the disk is read-only"),
        (errno.ENOSPC, "can't be changed, the disk is full"),
    ],
)
async def test_a_folder_that_takes_no_journal_is_for_looking(tmp_path: Path, code: int, words: str) -> None:
    path = job_file(tmp_path, PLAIN)
    app = app_at_noon(path)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(os, "open", Refusing(1, code, times=1_000_000).over(os.open))
        async with running(app) as pilot:
            assert words in told(app)
            assert "You can look, but nothing can be changed until then." in told(app)
            await press(app, pilot, "escape")
            assert app.model.plan is not None
            await tick(app, pilot)
            assert words in lines_of(app)[1]
            assert not app.screen.is_modal
            await press(app, pilot, "j", "s")
            assert f"Not jotted: {words}" in told(app)
            patched.undo()
            await press(app, pilot, "s")
            await tick(app, pilot)
            assert "can't" not in lines_of(app)[1]
            true_to_disk(app, path)
            assert "started" in path.read_text("utf-8")


async def test_a_read_only_file_is_planned_and_not_replaced(tmp_path: Path) -> None:
    path = job_file(tmp_path, PLAIN)
    path.chmod(0o444)
    app = app_at_noon(path)
    async with running(app) as pilot:
        await press(app, pilot, "j", "9", "s")
        assert "the file or its folder is read-only; change that, or copy the job to another place" in told(app)
        assert path.read_text("utf-8") == PLAIN
        path.chmod(0o644)
        await press(app, pilot, "s")
        assert "started = 2027-06-07T09:00:00" in path.read_text("utf-8")
