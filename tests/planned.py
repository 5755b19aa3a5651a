"""Jobs in short notation, planned and held against the independent check: what the tests of plans share."""

from __future__ import annotations

import datetime as dt
import json
import time
from collections.abc import Iterable, Sequence
from typing import Any

from sequencer.checking import check_plan
from sequencer.job import Job, parse_job
from sequencer.paper.jsonplan import plan_object
from sequencer.planning.plan import Plan
from sequencer.planning.planner import Planner, never_stop, plan_job, prepare

ROUND_THE_CLOCK = '{ days = "Mon-Sun", from = "00:00", to = "24:00" }'


MORNINGS_LINE = '{ days = "Mon-Fri", from = "08:00", to = "12:00" }'
"""Four hours a day."""


def planner_of(job: Job) -> Planner:
    """A planner that has its first plan and all the time it wants."""
    placer, search = prepare(job)
    return Planner(placer, search, time.monotonic() + 3600, never_stop, None)


def head(hauled: str = "2027-04-12T08:00:00", timezone: str = "UTC", now: str = "", finish: str = "launch") -> str:
    """The ``[job]`` table; planned from `now`, or else from the haul-out."""
    return (
        f'[job]\ntitle = "test"\ntimezone = "{timezone}"\nhauled = {hauled}\nnow = {now or hauled}\n'
        f'finish = "{finish}"\n'
    )


def crew(*lines: str, name: str = "owner", away: Sequence[str] = ()) -> str:
    """Somebody with these lines of hours (round the clock if there are none)."""
    gone = f"away = {json.dumps(list(away))}\n" if away else ""
    return f'\n[[crew]]\nid = "{name}"\nhours = [ {", ".join(lines or (ROUND_THE_CLOCK,))} ]\n{gone}'


def zone(name: str = "bay", shelter: str = "open", more: str = "") -> str:
    """A place."""
    return f'\n[[zone]]\nid = "{name}"\nshelter = "{shelter}"\n{more}\n'


def gear(name: str, count: int = 1) -> str:
    """Gear of which there are `count`."""
    return f'\n[[gear]]\nid = "{name}"\ncount = {count}\n'


def material(temps: Iterable[float], more: str, name: str = "coat") -> str:
    """A material with these columns; `more`: its stages and limits."""
    return f'\n[[material]]\nid = "{name}"\ntemps = {list(temps)}\n{more}\n'


def task(name: str, after: str = "", **fields: object) -> str:
    """A task. after: links with spaces between; fields as TOML values, text of its own in quotes."""
    links = f"after = {json.dumps(after.split())}\n" if after else ""
    values = {"work": 1} if not {"work", "wait"} & fields.keys() else {}
    lines = "".join(f"{key} = {_toml(value)}\n" for key, value in (values | fields).items())
    return f'\n[[task]]\nid = "{name}"\n{links}{lines}'


def _toml(value: object) -> str:
    return {True: "true", False: "false"}[value] if isinstance(value, bool) else str(value)


def day(date: dt.date | str, temp: float = 20, dew: float | None = None, more: str = "") -> str:
    """A day by hand at one temperature all round, 10 °C above its dew point unless `dew` is given."""
    at = dew if dew is not None else temp - 10
    return f"\n[[weather.day]]\ndate = {date}\nlow = {temp}\nhigh = {temp}\ndew = {at}\nwind = 5\n{more}\n"


def days(first: str, temps: Iterable[float], more: str = "") -> str:
    """Days by hand from `first` on, each at one temperature."""
    begin = dt.date.fromisoformat(first)
    return "".join(day(begin + dt.timedelta(days=k), temp, more=more) for k, temp in enumerate(temps))


def normals(temp: float = 20, dew: float | None = None) -> str:
    """Every month alike, at one temperature by day and night."""
    at = dew if dew is not None else temp - 10
    return "".join(
        f"\n[[weather.normal]]\nmonth = {month}\nlow = {temp}\nhigh = {temp}\ndew = {at}\n" for month in range(1, 13)
    )


def planned(*parts: str, seconds: float = 10.0, now: dt.datetime | None = None) -> Plan:
    """The plan of a job of these parts; it must keep every rule by the independent check."""
    job = parse_job("\n".join(parts))
    plan = plan_job(job, now=now, seconds=seconds)
    assert_kept(job, plan, now)
    return plan


def assert_kept(job: Job, plan: Plan, now: dt.datetime | None = None) -> None:
    """Assert that the plan, written as JSON and read again, keeps every rule."""
    findings = check_plan(job, written(plan), now)
    assert not findings, [finding.sentence for finding in findings[:5]]


def written(plan: Plan) -> dict[str, Any]:
    """The plan's object as it comes back from its JSON."""
    found: dict[str, Any] = json.loads(json.dumps(plan_object(plan)))
    return found


def hour(plan: Plan, slot: int) -> float:
    """A slot in true hours since the haul-out."""
    return (slot - plan.hauled) / 4


def starts(plan: Plan) -> dict[str, float]:
    """By row the true hours from the haul-out to its start."""
    return {name: hour(plan, row.start) for name, row in plan.rows.items()}


def local(plan: Plan, slot: int) -> str:
    """A slot by the yard's clock, such as ``2027-04-12 08:00``."""
    return f"{plan.moment(slot):%Y-%m-%d %H:%M}"
