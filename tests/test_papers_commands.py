"""The commands that hand the plan to other programs and take weather in."""

from __future__ import annotations

import argparse
import csv
import io
import json
from pathlib import Path

import pytest
import vobject
from planned import assert_kept
from telling_jobs import BAY, HEAD, NORMALS
from weather_files import saved

from sequencer.commands import papers
from sequencer.commands.shared import OK
from sequencer.errors import JobError, UsageError
from sequencer.job import read_job
from sequencer.planning.planner import plan_job
from sequencer.weather.files import read_hourly

NOW = ("--now", "2027-04-05T10:00")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = saved(tmp_path, HEAD + NORMALS + BAY, "job.toml")
    assert_kept(read_job(path), plan_job(read_job(path), seconds=2.0))
    return path


def run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[str, str]:
    """What a command prints as data, and what it says."""
    parser = argparse.ArgumentParser()
    papers.add(parser.add_subparsers())
    args = parser.parse_args([str(word) for word in words])
    assert args.run(args) == OK
    return capsys.readouterr()


def test_the_calendar_is_printed_and_takes_the_one_before(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first, said = run(capsys, "calendar", job, *NOW, "--lead", "pod=3", "coat=9")
    assert said == ""
    summaries = {event.summary.value for event in vobject.readOne(first).vevent_list}
    assert {"Lift: relaunch", "Order by today: coat"} <= summaries
    old = job.parent / "old.ics"
    old.write_text(first, encoding="utf-8", newline="")
    second, _ = run(capsys, "calendar", job, *NOW, "--before", old)
    gone = [event for event in vobject.readOne(second).vevent_list if hasattr(event, "status")]
    assert [event.summary.value for event in gone] == ["Order by today: coat"]


def test_the_table_is_markdown_or_csv(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(capsys, "table", job, *NOW)[0].startswith("# Two coats, Tern\n")
    lines = list(csv.DictReader(io.StringIO(run(capsys, "table", job, "--csv", *NOW)[0], newline="")))
    assert [line["id"] for line in lines] == ["coat-1", "fit", "coat-2", "relaunch"]


def test_supplies_are_text_markdown_or_json(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "Mon 5 Apr 10:00 coat" in run(capsys, "supplies", job, *NOW)[0]
    assert "| coat |" in run(capsys, "supplies", job, "--markdown", *NOW)[0]
    (coat,) = json.loads(run(capsys, "supplies", job, "--json", "--lead", "4", *NOW)[0])
    assert (coat["id"], coat["order_by"]) == ("coat", "2027-04-01")


def test_weather_is_written_to_a_new_file_or_printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source = saved(tmp_path, "wann;Luft;feucht;regen;wind\n2027-04-12 10:00;50;70;0;5\n", "in.csv")
    words = ["--column", "time=wann", "--column", "temp=Luft", "--column", "humidity=feucht", "--column", "rain=regen"]
    units = ["--unit", "temp=F", "--unit", "rain=mm", "--unit", "wind=kn"]
    out, said = run(capsys, "weather", source, tmp_path / "out.csv", *words, *units)
    assert out == ""
    assert "table: 1 hour, 2027-04-12 to 2027-04-12.\n" in said
    assert "temp from Luft in °F" in said
    assert read_hourly(tmp_path / "out.csv")[0].temp_c == 10.0
    assert run(capsys, "weather", source, *words, *units)[0] == (tmp_path / "out.csv").read_text(encoding="utf-8")
    with pytest.raises(UsageError, match="is there already"):
        run(capsys, "weather", source, tmp_path / "out.csv", *words, *units)
    with pytest.raises(JobError, match="no column is known to tell time"):
        run(capsys, "weather", source)
