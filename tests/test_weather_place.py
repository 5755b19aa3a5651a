"""The weather file a job names lies in the job's own folder and is a plain file: planner and check refuse all else."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from planned import assert_kept, crew, head, task, written, zone

from sequencer.checking import check_plan
from sequencer.errors import JobError
from sequencer.job import Job, parse_job
from sequencer.job.nearby import MOST_BYTES
from sequencer.planning.planner import plan_job
from sequencer.weather.files import HourlyRow, to_hourly_csv
from sequencer.weather.formats import read_weather

HOURS = "time,temp_c,humidity,rain_mm,wind_kn\n" + "".join(f"2027-04-12T{hour:02}:00,15,60,0,4\n" for hour in range(24))


def job_of(folder: Path, file: str) -> Job:
    """A job in a folder of its own, whose weather is `file`."""
    folder.mkdir(exist_ok=True)
    text = (
        head()
        + f"\n[weather]\nfile = '{file}'\n"
        + crew()
        + zone()
        + task("paint", zone='"bay"', needs="{ dry = true }")
    )
    return parse_job(text + task("launch", "paint"), folder / "job.toml")


def plain(folder: Path) -> str:
    (folder / "air.csv").write_text(HOURS, encoding="utf-8")
    return "air.csv"


def below(folder: Path) -> str:
    (folder / "weather").mkdir()
    (folder / "weather" / "air.csv").write_text(HOURS, encoding="utf-8")
    return "weather/../weather/air.csv"


def linked(folder: Path) -> str:
    plain(folder)
    (folder / "link.csv").symlink_to("air.csv")
    return "link.csv"


@pytest.mark.parametrize("made", [plain, below, linked])
def test_a_file_within_the_folder_is_read(made: Callable[[Path], str], tmp_path: Path) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    job = job_of(folder, made(folder))
    plan = plan_job(job, seconds=1.0)
    assert_kept(job, plan)


def test_the_folder_itself_may_be_reached_by_a_link(tmp_path: Path) -> None:
    folder = tmp_path / "job"
    job_of(folder, plain(tmp_path))
    (folder / "air.csv").write_text(HOURS, encoding="utf-8")
    (tmp_path / "way").symlink_to(folder)
    job = job_of(tmp_path / "way", "air.csv")
    assert_kept(job, plan_job(job, seconds=1.0))


# -- what is refused


def absolute(folder: Path) -> str:
    (folder.parent / "air.csv").write_text(HOURS, encoding="utf-8")
    return str(folder.parent / "air.csv")


def above(folder: Path) -> str:
    absolute(folder)
    return "../air.csv"


def linked_out(folder: Path) -> str:
    absolute(folder)
    (folder / "air.csv").symlink_to("../air.csv")
    return "air.csv"


def folder_linked_out(folder: Path) -> str:
    absolute(folder)
    (folder / "weather").symlink_to("..")
    return "weather/air.csv"


def device(_folder: Path) -> str:
    return "/dev/zero"


def pipe(folder: Path) -> str:
    os.mkfifo(folder / "air.csv")
    return "air.csv"


def directory(folder: Path) -> str:
    (folder / "air.csv").mkdir()
    return "air.csv"


def huge(folder: Path) -> str:
    with (folder / "air.csv").open("wb") as file:
        file.truncate(1 << 30)
    return "air.csv"


def loop(folder: Path) -> str:
    (folder / "air.csv").symlink_to("air.csv")
    return "air.csv"


REFUSED = {
    absolute: "weather, file: lies outside of the job's own folder; put the file beside the job file",
    above: "weather, file: lies outside of the job's own folder",
    linked_out: "weather, file: lies outside of the job's own folder",
    folder_linked_out: "weather, file: lies outside of the job's own folder",
    device: "weather, file: lies outside of the job's own folder",
    pipe: "weather, file: is no plain file but a pipe or a device; name a file",
    directory: "weather, file: is a folder, not a file",
    huge: "weather, file: has 1,073,741,824 bytes, and weather has 20,000,000 at most",
    loop: "weather, file: ",
}


@pytest.mark.parametrize(("made", "said"), REFUSED.items(), ids=lambda value: getattr(value, "__name__", ""))
def test_what_is_elsewhere_or_no_plain_file_is_refused(made: Callable[[Path], str], said: str, tmp_path: Path) -> None:
    folder = tmp_path / "job"
    folder.mkdir()
    sound = job_of(folder, plain(folder))
    plan = plan_job(sound, seconds=1.0)
    assert_kept(sound, plan)
    (folder / "air.csv").unlink()
    job = job_of(folder, made(folder))
    with pytest.raises(JobError) as caught:
        plan_job(job, seconds=1.0)
    assert caught.value.faults[0].sentence().startswith(said)
    with pytest.raises(JobError) as caught:
        check_plan(job, written(plan))
    assert caught.value.faults[0].sentence().startswith(said[:15])


def test_a_file_brought_in_may_lie_anywhere_but_must_be_a_plain_one(tmp_path: Path) -> None:
    assert len(read_weather(Path(absolute(tmp_path / "job"))).rows) == 24
    for made, said in ((pipe, "no plain file"), (directory, "is a folder"), (huge, "1,073,741,824 bytes")):
        folder = tmp_path / made.__name__
        folder.mkdir()
        with pytest.raises(JobError, match=said):
            read_weather(folder / made(folder))


def test_ten_years_of_hours_are_no_file_too_large() -> None:
    row = HourlyRow(dt.datetime(2027, 12, 12, 12, tzinfo=dt.UTC), -10.25, 100.0, None, 12.25, 12.25)
    assert len(to_hourly_csv([row]).splitlines()[1]) * 24 * 366 * 10 < MOST_BYTES
