"""Small jobs and plans in short notation, for the tests of the checker.

All jobs are hauled in April 2027 in London (an hour ahead of UTC); a moment is written ``12 08:30``, a span
``12 08:30-10:00``.
"""

from __future__ import annotations

import copy
import re
from typing import Any

from sequencer.checking import Finding, check_plan
from sequencer.job import Job, parse_job

Plan = dict[str, Any]

HEAD = """
[job]
title = "test"
timezone = "Europe/London"
hauled = 2027-04-12T08:30:00
finish = "relaunch"
"""


CREW = """
[[crew]]
id = "owner"
hours = [
  { days = "Mon-Sat", from = "08:00", to = "12:00" },
  { days = "Mon-Sat", from = "13:00", to = "17:00" },
]

[[crew]]
id = "friend"
hours = [
  { days = "Tue-Wed", from = "08:00", to = "12:00" },
  { days = "Tue-Wed", from = "13:00", to = "17:00" },
]

[[crew]]
id = "mate"
hours = [ { rule = "FREQ=WEEKLY;BYDAY=TU,WE", since = "2027-04-01", from = "08:00", to = "17:00" } ]
away = ["2027-04-14"]
"""

PLACES = """
[[zone]]
id = "bay"
air = "hull"

[[zone]]
id = "keel"
air = "hull"

[[zone]]
id = "deck"

[[zone]]
id = "cabin"
shelter = "inside"

[[gear]]
id = "jack"

[[delivery]]
id = "pod"
due = 2027-04-14
"""

# At 20 °C: set 4 h after the work, recoat 2 h after it and until 8 h after its start, sand 6 h after it.
EPOXY = """
[[material]]
id = "epoxy"
apply = { min_temp = 10, max_humidity = 85, above_dew = 3 }
temps = [10, 20]
set = [8, 4]
recoat = { opens = [4, 2], closes = [16, 8] }
sand = [12, 6]
"""

# At 20 °C it sets 4 h after the work; no limits to the air it is worked in.
GLUE = """
[[material]]
id = "glue"
temps = [20]
set = 4
"""


def even_days(*days: int, **fields: str) -> str:
    """Days of April 2027 at 20 °C by day and night, dew point 10 °C, unless `fields` (TOML values) differ."""
    values = {"low": "20", "high": "20", "dew": "10", "wind": "5"} | fields
    lines = "".join(f"{key} = {value}\n" for key, value in values.items())
    return "".join(f"\n[[weather.day]]\ndate = 2027-04-{day}\n{lines}" for day in days)


def job_of(*parts: str) -> Job:
    """A job of TOML parts."""
    return parse_job("\n".join((HEAD, *parts)))


def at(moment: str) -> str:
    """``12 08:30`` as ISO 8601 with offset."""
    day, clock = moment.split(" ")
    return f"2027-04-{int(day):02}T{clock}:00+01:00"


def row(name: str, *spans: str) -> Plan:
    """A row worked in `spans`."""
    pieces = []
    for span in spans:
        day, first, last = re.split("[ -]", span)
        pieces.append([at(f"{day} {first}"), at(f"{day} {last}")])
    return {"id": name, "start": pieces[0][0], "end": pieces[-1][1], "pieces": pieces}


def wait_row(name: str, start: str, end: str) -> Plan:
    """A row that waits from `start` to `end`."""
    return {"id": name, "start": at(start), "end": at(end), "pieces": []}


def plan_of(*rows: Plan) -> Plan:
    """A plan of `rows` with the launch that follows from them."""
    launch = next((r["start"] for r in rows if r["id"] == "relaunch"), None)
    return {"job": "test", "launch": launch, "tasks": copy.deepcopy(list(rows))}


def with_rows(plan: Plan, *rows: Plan) -> Plan:
    """`plan` with `rows` in place of those of the same id, or added."""
    new = {r["id"]: r for r in rows}
    kept = [new.pop(r["id"], r) for r in plan["tasks"]]
    return plan_of(*kept, *new.values())


def without(plan: Plan, name: str) -> Plan:
    """`plan` without the row `name`."""
    return plan_of(*(r for r in plan["tasks"] if r["id"] != name))


def rules(job: Job, plan: Plan) -> list[tuple[str, str]]:
    """Rule and task of each finding."""
    return [(finding.rule, finding.task) for finding in check_plan(job, plan)]


def only(findings: list[Finding], rule: str, task: str, *words: str) -> None:
    """Assert that there is one finding, of `rule` and `task`, whose sentence has them and `words`."""
    assert [(finding.rule, finding.task) for finding in findings] == [(rule, task)], findings
    for word in (task, f"(rule: {rule})", *words):
        assert word in findings[0].sentence
