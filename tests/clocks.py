"""Haul-outs across every clock change of 2025 to 2030 in ten time zones, leap day and year ends, north and south.

.venv/bin/python tests/clocks.py
"""

from __future__ import annotations

import datetime as dt
import json
import sys
from collections.abc import Iterator
from pathlib import Path
from zoneinfo import ZoneInfo

sys.path[:0] = [str(Path(__file__).resolve().parent.parent)]

from random_jobs import random_job  # noqa: E402

from sequencer.checking import check_plan  # noqa: E402
from sequencer.job import parse_job  # noqa: E402
from sequencer.paper.jsonplan import plan_object  # noqa: E402
from sequencer.planning.planner import plan_job  # noqa: E402

ZONES = (
    "Europe/London",
    "Europe/Berlin",
    "America/New_York",
    "America/St_Johns",
    "America/Santiago",
    "Australia/Sydney",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
    "Africa/Casablanca",
    "Asia/Kathmandu",
)
"""North and south, whole and half hours, half an hour of summer time, Ramadan's pauses, and one that never changes."""
YEARS = range(2025, 2031)
EXTRA = (dt.date(2028, 2, 29), *(dt.date(year, 12, 31) for year in YEARS))
TASKS = 9


def changes(zone: ZoneInfo) -> Iterator[dt.date]:
    """The local dates on which the clock changes."""
    day = dt.date(YEARS[0], 1, 1)
    while day.year <= YEARS[-1]:
        noon, next_noon = (dt.datetime.combine(d, dt.time(12), zone) for d in (day, day + dt.timedelta(days=1)))
        if noon.utcoffset() != next_noon.utcoffset():
            yield day + dt.timedelta(days=1)
        day += dt.timedelta(days=1)


def occasions() -> Iterator[tuple[str, dt.date]]:
    """Every zone with every date to plan across."""
    for name in ZONES:
        for date in sorted({*changes(ZoneInfo(name)), *EXTRA}):
            yield name, date


def across(name: str, date: dt.date, seed: int) -> list[str]:
    """Plan a random haul-out that lies across a date; what the check finds wrong."""
    hauled = dt.datetime.combine(date - dt.timedelta(days=1 + seed % 2), dt.time(10))
    job = parse_job(random_job(seed, TASKS, hauled=hauled.isoformat(), timezone=name))
    plan = plan_job(job, seconds=2.0, prove=False)
    told = json.loads(json.dumps(plan_object(plan)))
    return [finding.sentence for finding in check_plan(job, told)]


def main() -> None:
    """All of them."""
    wrong, planned = [], 0
    for seed, (name, date) in enumerate(occasions()):
        found = across(name, date, seed)
        planned += 1
        wrong += [f"{name} {date}, seed {seed}: {found[0]}"] if found else []
    print(f"{planned} haul-outs across clock changes, leap day and year ends in {len(ZONES)} zones; {len(wrong)} wrong")
    print("\n".join(wrong[:20]))
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
