"""Planning again from a plan that stands: what it was made of may have changed since."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from planned import assert_kept, crew, head, planned, task, zone

from sequencer.job import parse_job
from sequencer.planning.planner import plan_job

YARD = crew('{ days = "Mon-Sun", from = "08:00", to = "17:00" }')


def test_a_weather_file_changed_since_the_last_plan_is_read_anew(tmp_path: Path) -> None:
    # Rain all of the first two days, or none: the job is done on the third, or on the first.
    def write(rain: float) -> None:
        hours = [dt.datetime(2027, 4, 12) + dt.timedelta(hours=k) for k in range(24 * 8)]
        lines = [f"{h:%Y-%m-%dT%H:%M},15,8,{rain if h.day < 14 else 0},5" for h in hours]
        (tmp_path / "april.csv").write_text("time,temp_c,dew_c,rain_mm,wind_kn\n" + "\n".join(lines) + "\n", "utf-8")

    parts = (
        head(),
        '\n[weather]\nfile = "april.csv"\n',
        YARD,
        zone(),
        task("job", zone='"bay"', needs="{ dry = true }"),
        task("launch", "job"),
    )
    job = parse_job("\n".join(parts), tmp_path / "job.toml")
    write(rain=2)
    wet = plan_job(job, seconds=1.0)
    write(rain=0)
    dry = plan_job(job, seconds=1.0, like=wet)
    write(rain=2)
    again = plan_job(job, seconds=1.0, like=dry)
    assert [f"{plan.launched:%d %H:%M}" for plan in (wet, dry, again)] == ["14 09:00", "12 09:00", "14 09:00"]
    assert_kept(job, again)


def test_a_clock_years_ahead_and_set_right_again() -> None:
    text = "\n".join((head(), YARD, task("job"), task("launch", "job"))).replace("now = 2027-04-12T08:00:00\n", "")
    job = parse_job(text)
    here = dt.datetime(2027, 4, 12, 8, tzinfo=dt.UTC)
    ahead = plan_job(job, seconds=1.0, clock=here + dt.timedelta(days=3 * 365))
    assert ahead.grid.days > 2 * 368
    back = plan_job(job, seconds=1.0, clock=here, like=ahead)
    assert back.launched == here + dt.timedelta(hours=1)
    assert_kept(job, back, here)
    assert back.launch == planned(head(), YARD, task("job"), task("launch", "job")).launch
