"""New job files: copies without the log, and the command that writes them and never overwrites."""

from __future__ import annotations

import datetime as dt
import re
import shutil
from pathlib import Path

import pytest
from planned import assert_kept

from sequencer.blocks import block_names, copy_of
from sequencer.cli import FAULT, OK, run
from sequencer.errors import JobError
from sequencer.job import Job, parse_job, read_job
from sequencer.job.writing import apply_change
from sequencer.network import ancestors, graph_of
from sequencer.planning.planner import plan_job
from sequencer.starting import block_change

JOBS = sorted((Path(__file__).resolve().parent.parent / "jobs").glob("*.toml"))


# -- copies -----------------------------------------------------------------------------------------------------


def comments(text: str) -> list[str]:
    return [line for line in text.splitlines() if line.startswith("#")]


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_a_copy_has_all_but_the_log(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    copied = copy_of(text)
    job, copy = parse_job(text, path), parse_job(copied, path)
    assert copy.job.now is None
    gone = {"started": None, "finished": None, "work_left": None, "reached": {}}
    assert copy.task == tuple(task.model_copy(update=gone) for task in job.task)
    assert copy.model_copy(update={"task": job.task, "job": job.job}) == job.model_copy()
    assert comments(copied) == comments(text)
    kept = [line for line in text.splitlines() if not re.match(r"(started|finished|work_left|reached|now)\b", line)]
    assert copied.splitlines() == kept
    assert copy_of(copied) == copied


def test_a_copy_drops_a_log_written_in_a_table_of_its_own() -> None:
    text = (
        '[job]\nnow = 2027-01-01\n[[task]]\nid = "a"\nfinished = 2027-01-02 # done\n[task.reached]\nsand = 2027-01-03\n'
    )
    assert copy_of(text) == '[job]\n[[task]]\nid = "a"\n'


def test_what_is_no_toml_cannot_be_copied() -> None:
    with pytest.raises(JobError, match="not sound TOML"):
        copy_of("[job\n")


# -- a block added to a job that is there ------------------------------------------------------------------------


@pytest.mark.parametrize("name", block_names())
def test_a_block_is_one_change_and_the_launch_waits_for_it(name: str) -> None:
    path = JOBS[0].with_name("osprey-small.toml")
    text = path.read_text(encoding="utf-8")
    job = read_job(path)
    added = apply_change(text, block_change(job, name, dt.date(2027, 11, 12)))
    assert set(text.splitlines()) - set(added.text.splitlines()) <= {'after = ["af-2@immerse", "bearing-in@immerse"]'}
    assert added.words.startswith(f"block {name} added, ")
    graph = graph_of(added.job)
    before = ancestors(graph, job.job.finish)
    fresh = [task.id for task in added.job.task if task.id not in job.tasks]
    assert name == "lift" or set(fresh) <= before
    if name != "pod":
        # To hang the pod takes two for three hours, and in this job the second pair of hands never stays so long.
        assert_kept(added.job, plan_job(added.job, seconds=1))


# -- the command ------------------------------------------------------------------------------------------------


def new(*words: str) -> int:
    return run(["new", *words])


def test_new_writes_a_job_and_says_what_next(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "tern.toml"
    words = ["--title", "Pads", "--boat", "Tern", "--timezone", "Europe/London", "--hauled", "2027-05-03"]
    assert new(str(path), *words, "--block", "fairing", "antifouling", "--block", "pod") == OK
    out, err = capsys.readouterr()
    assert out == ""
    assert "Written: " in err
    assert "sequencer plan " in err
    job = read_job(path)
    assert (job.job.title, job.job.boat, job.job.hauled) == ("Pads", "Tern", dt.datetime(2027, 5, 3, 10))
    assert {"fair-1", "af-2", "pod-hang"} <= set(job.tasks)
    assert str(job.job.timezone) == "Europe/London"


def test_new_without_words_begins_today_where_the_computer_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TZ", "Europe/Lisbon")
    assert new(str(tmp_path / "a.toml")) == OK
    job = read_job(tmp_path / "a.toml")
    assert str(job.job.timezone) == "Europe/Lisbon"
    assert "Europe/Lisbon" in capsys.readouterr().err
    monkeypatch.setenv("TZ", ":weird")
    assert new(str(tmp_path / "b.toml")) == OK
    assert str(read_job(tmp_path / "b.toml").job.timezone) == "UTC"


def test_new_overwrites_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "kept.toml"
    path.write_text("mine")
    (tmp_path / "nowhere.toml").symlink_to(tmp_path / "gone")
    for name in ("kept.toml", "nowhere.toml", "."):
        assert new(str(tmp_path / name)) == FAULT
        assert "is there already, and nothing is overwritten" in capsys.readouterr().err
    assert new(str(path), "--from", str(JOBS[0])) == FAULT
    assert path.read_text() == "mine"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "there is no file to write"),
        (["x.toml", "--block", "barier"], "no block barier; the nearest is barrier-coats; there are remove-fitting"),
        (["x.toml", "--timezone", "Mars/X"], "IANA time zone"),
        (["x.toml", "--hauled", "soon"], "is no moment"),
        (["x.toml", "--from", "none.toml"], "there is no such file"),
        (["x.toml", "--from", "a.toml", "--block", "lift"], "--block and --from don't go together"),
        (["no/such/folder/x.toml"], "can't be written (no such file or directory)"),
        (["x\0.toml"], "can't be written"),
    ],
)
def test_new_says_what_is_wrong_and_writes_nothing(
    words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert new(*words) == FAULT
    out, err = capsys.readouterr()
    assert said in err
    assert out == ""
    assert not list(tmp_path.iterdir())


def test_new_from_a_job_in_another_folder_brings_its_weather(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    dunlin = next(path for path in JOBS if path.stem == "dunlin-pod")
    path = tmp_path / "again.toml"
    assert new(str(path), "--from", str(dunlin), "--title", "Again", "--hauled", "2027-04-06T09:00") == OK
    assert "days away" in capsys.readouterr().err
    job = read_job(path)
    assert (job.job.title, job.job.hauled) == ("Again", dt.datetime(2027, 4, 6, 9))
    assert job.weather.file == "dunlin-april.csv"
    assert (tmp_path / "dunlin-april.csv").read_bytes() == (dunlin.parent / "dunlin-april.csv").read_bytes()
    assert comments(path.read_text("utf-8")) == comments(dunlin.read_text("utf-8"))
    assert_plans(job)


def test_new_from_a_job_in_another_folder_brings_the_past_years_too(tmp_path: Path) -> None:
    folder, other = tmp_path / "first", tmp_path / "second"
    folder.mkdir()
    other.mkdir()
    dunlin = next(path for path in JOBS if path.stem == "dunlin-pod")
    shutil.copy(dunlin.parent / "dunlin-april.csv", folder)
    (folder / "years.csv").write_text("whatever it says\n", "utf-8")
    text = dunlin.read_text("utf-8").replace(
        'file = "dunlin-april.csv"', 'file = "dunlin-april.csv"\npast = "years.csv"'
    )
    (folder / "job.toml").write_text(text, "utf-8")
    assert new(str(other / "again.toml"), "--from", str(folder / "job.toml")) == OK
    assert read_job(other / "again.toml").weather.past == "years.csv"
    assert (other / "years.csv").read_text("utf-8") == "whatever it says\n"
    assert (other / "dunlin-april.csv").exists()


def assert_plans(job: Job) -> None:
    assert_kept(job, plan_job(job, seconds=1))


def test_new_lists_its_blocks(capsys: pytest.CaptureFixture[str]) -> None:
    assert new("--blocks") == OK
    out, err = capsys.readouterr()
    assert [line.split()[0] for line in out.splitlines()] == list(block_names())
    assert err == ""


def test_a_copy_of_a_job_never_writes_over_other_weather(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    dunlin = next(path for path in JOBS if path.stem == "dunlin-pod")
    (tmp_path / "dunlin-april.csv").write_text("mine\n", encoding="utf-8")
    assert new(str(tmp_path / "again.toml"), "--from", str(dunlin)) == FAULT
    assert "is there already, and nothing is overwritten" in capsys.readouterr().err
    assert (tmp_path / "dunlin-april.csv").read_text(encoding="utf-8") == "mine\n"
    assert not (tmp_path / "again.toml").exists()
