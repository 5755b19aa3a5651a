"""What lies beside a stranger's job by the names we use: read and written only as a plain file of the folder."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from test_reach_files import SECRET, SMALL, job_with
from tui_support import WIDE, app_on, job_file, running, text_of, until

from sequencer.errors import SaveError, SequencerError, UsageError
from sequencer.job.jobfile import JobFile
from sequencer.job.journal import journal_path
from sequencer.job.sidefiles import MOST_JOURNAL
from sequencer.job.writing import SetField
from sequencer.levers import keep_price, prices_file, read_prices
from sequencer.review import answer_finding, answers_file, read_answers
from sequencer.starting import copy_job
from sequencer.tui.asking import Say
from sequencer.tui.other_jobs import OtherJobs
from sequencer.tui.reader import Reader
from sequencer.weather.forecast import weather_files


def elsewhere(path: Path) -> None:
    path.symlink_to(path.parent.parent / "precious")


def nowhere(path: Path) -> None:
    path.symlink_to(path.parent.parent / "not-there-yet")


def waiting(path: Path) -> None:
    os.mkfifo(path)


def device(path: Path) -> None:
    path.symlink_to("/dev/zero")


def round_and_round(path: Path) -> None:
    path.symlink_to(path.name)


TRAPS = pytest.mark.parametrize("trap", [elsewhere, nowhere, waiting, device, round_and_round])
PRECIOUS = "cover = 1\n"
"""What prices may say, so that nothing but its place is wrong with it."""


def trapped(tmp_path: Path) -> Path:
    """A job in a folder, beside that a file that no trap may change."""
    (tmp_path / "precious").write_text(PRECIOUS, "utf-8")
    (tmp_path / "job").mkdir()
    return job_file(tmp_path / "job", SMALL)


def assert_unharmed(job: Path) -> None:
    above = job.parent.parent
    assert (above / "precious").read_text("utf-8") == PRECIOUS
    assert not (above / "not-there-yet").exists()


@TRAPS
def test_prices_and_answers_are_neither_read_nor_written_through_a_link(
    trap: Callable[[Path], None], tmp_path: Path
) -> None:
    job = trapped(tmp_path)
    trap(prices_file(job))
    trap(answers_file(job))
    for act in (
        lambda: read_prices(job),
        lambda: keep_price(job, "cover:bay", 30),
        lambda: read_answers(job),
        lambda: answer_finding(job, "alone:hang", "two of us"),
    ):
        with pytest.raises(SaveError) as caught:
            act()
        assert "\n" not in caught.value.text()
        assert str(job.parent) in caught.value.text()
    assert_unharmed(job)


@TRAPS
def test_the_journal_is_no_link_and_no_pipe(trap: Callable[[Path], None], tmp_path: Path) -> None:
    """A link from there would have had its file cut to nothing: what is no journal is taken for a damaged one."""
    job = trapped(tmp_path)
    trap(journal_path(job))
    with JobFile.open(job) as file:
        assert file.trouble is not None
        assert "take it away" in file.trouble.text()
        assert file.history() == []
        with pytest.raises(SaveError):
            file.apply(SetField("task", "scrape", "title", "Scrape her"))
    assert job.read_text("utf-8") == SMALL
    assert_unharmed(job)
    journal_path(job).unlink()
    with JobFile.open(job) as file:
        file.apply(SetField("task", "scrape", "title", "Scrape her"))
    assert "Scrape her" in job.read_text("utf-8")


def test_a_journal_of_no_sensible_size_is_not_read(tmp_path: Path) -> None:
    job = trapped(tmp_path)
    with journal_path(job).open("wb") as file:
        file.truncate(MOST_JOURNAL + 1)
    with JobFile.open(job) as opened:
        assert opened.trouble is not None
        assert "200,000,001 bytes" in opened.trouble.text()
        assert opened.history() == []


@TRAPS
def test_what_is_written_aside_and_before_a_save_goes_through_no_link(
    trap: Callable[[Path], None], tmp_path: Path
) -> None:
    job = trapped(tmp_path)
    journal_path(job).write_bytes(b"this is no journal\n")
    trap(job.with_name(".job.toml.journal.damaged"))
    trap(job.with_name(".job.toml.saving"))
    with JobFile.open(job) as file:
        file.apply(SetField("task", "scrape", "title", "Scrape her"))
    assert "Scrape her" in job.read_text("utf-8")
    assert job.with_name(".job.toml.journal.damaged").read_bytes() == b"this is no journal\n"
    assert not job.is_symlink()
    assert_unharmed(job)


@pytest.mark.parametrize("trap", [elsewhere, nowhere])
async def test_a_page_is_kept_through_no_link(trap: Callable[[Path], None], tmp_path: Path) -> None:
    job = trapped(tmp_path)
    trap(job.with_name("job-2027-06-07.html"))
    app = app_on(job)
    async with running(app, WIDE) as pilot:
        await pilot.press("d", "p")
        await until(pilot, lambda: isinstance(app.screen, Reader))
        await pilot.press("k")
        await until(pilot, lambda: "leads out of" in " ".join(text_of(app).split()))
        await until(pilot, lambda: any(isinstance(screen, Say) for screen in app.screen_stack))
    assert_unharmed(job)


async def test_files_offered_beside_the_job_lie_there_and_can_be_read(tmp_path: Path) -> None:
    job = trapped(tmp_path)
    (job.parent / "air.csv").write_text(SECRET, "utf-8")
    (job.parent / "same.csv").symlink_to("air.csv")
    elsewhere(job.with_name("out.csv"))
    waiting(job.with_name("pipe.csv"))
    waiting(job.with_name("pipe.toml"))
    assert {path.name for path in weather_files(job.parent)} == {"air.csv", "same.csv"}
    offered = OtherJobs(app_on(job)).jobs()
    assert [path.name for path in offered if path.parent == job.parent] == ["job.toml"]


def test_weather_copied_with_a_job_goes_through_no_trap_in_the_new_folder(tmp_path: Path) -> None:
    source = tmp_path / "source.toml"
    source.write_text(job_with('file = "air.csv"'), "utf-8")
    (tmp_path / "air.csv").write_text(SECRET, "utf-8")
    (tmp_path / "precious").write_text(PRECIOUS, "utf-8")
    for trap in (elsewhere, nowhere, waiting, device, round_and_round):
        folder = tmp_path / trap.__name__
        folder.mkdir()
        trap(folder / "air.csv")
        with pytest.raises(UsageError, match="is there already"):
            copy_job(folder / "copy.toml", source)
        assert [path.name for path in folder.iterdir()] == ["air.csv"]
    assert (tmp_path / "precious").read_text("utf-8") == PRECIOUS


# -- what stands in files beside the job


@pytest.mark.parametrize(
    "text",
    [
        "a = " + "[" * 5000,
        "a = " + "{a=" * 2000,
        "a = 1" + "0" * 5000,
        "a." * 20_000 + "a = 1",
        "\0",
        '"\\u001b[31m" = [1]',
        "\x1b[2J = 1",
        "#" * 2_000_001,
    ],
    ids=["lists", "tables", "digits", "dots", "no text", "a code", "a bare code", "too large"],
)
def test_prices_and_answers_that_are_none_are_told_of_in_a_sentence(text: str, tmp_path: Path) -> None:
    job = trapped(tmp_path)
    prices_file(job).write_text(text, "utf-8")
    answers_file(job).write_text(text, "utf-8")
    for act in (
        lambda: read_prices(job),
        lambda: keep_price(job, "cover:bay", 30),
        lambda: read_answers(job),
        lambda: answer_finding(job, "alone:hang", "two of us"),
    ):
        with pytest.raises(SequencerError) as caught:
            act()
        assert caught.value.text().isprintable()
        assert str(job.parent) in caught.value.text()
    assert prices_file(job).read_text("utf-8") == answers_file(job).read_text("utf-8") == text
