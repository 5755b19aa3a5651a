"""The checker on what a plan says of itself: stages, nights, cost, ledger, bound, path; on broken JSON."""

from __future__ import annotations

import ast
import copy
import json
import random
from pathlib import Path
from typing import Any

import pytest
from checking_plans import CREW, EPOXY, PLACES, Plan, at, even_days, job_of, only, plan_of, row

import sequencer.checking
from sequencer.checking import check_plan

TASKS = """
[yard]
currency = "GBP"
night = 38.0
free_nights = 2
fixed = 420.0

[[task]]
id = "coat"
zone = "bay"
work = 1
material = "epoxy"

[[task]]
id = "tidy"
work = 1

[[task]]
id = "relaunch"
work = 1
after = ["coat@sand"]
"""

JOB = job_of(CREW, PLACES, EPOXY, TASKS, even_days(12, 13, 14, 15))


def full_plan() -> Plan:
    """A plan with all that a plan may tell.

    coat ends 10:00 on the 12th: at 20 °C recoat 12:00 (until 8 h after 09:00, 17:00), set 14:00, sand 16:00.
    The launch is 09:00 on the 15th: three midnights, one of them paid, 72.5 h after 08:30 on the 12th.
    """
    plan = plan_of(row("coat", "12 09:00-10:00"), row("tidy", "12 10:00-11:00"), row("relaunch", "15 09:00-10:00"))
    coat, tidy, relaunch = plan["tasks"]
    coat |= {"slack_hours": 60.0, "on_path": True, "held_by": {"cause": "start"}}
    coat["stages"] = {
        "set": at("12 14:00"),
        "recoat": at("12 12:00"),
        "recoat_closes": at("12 17:00"),
        "sand": at("12 16:00"),
    }
    tidy |= {"stages": {}, "slack_hours": None, "on_path": False, "held_by": None}
    relaunch |= {"stages": {}, "slack_hours": 0, "on_path": True}
    relaunch["held_by"] = {"cause": "cure", "task": "coat", "stage": "sand"}
    return plan | {
        "nights": 3,
        "proved": False,
        "no_earlier_than": at("12 16:00"),
        "cost": {"currency": "GBP", "total": 458.0},
        "stay": [
            {"cause": "start", "hours": 0.5},
            {"cause": "work", "hours": 1},
            {"cause": "cure", "hours": 6.0},
            {"cause": "off-shift", "hours": 65.0},
        ],
    }


def changed(path: str, value: Any) -> Plan:
    """The full plan with `value` at `path`, steps apart by slashes."""
    plan = full_plan()
    *steps, last = (int(step) if step.isdigit() else step for step in path.split("/"))
    place: Any = plan
    for step in steps:
        place = place[step]
    place[last] = value
    return plan


def test_a_full_plan_is_valid() -> None:
    assert check_plan(JOB, full_plan()) == []


def test_a_proved_plan_is_valid_at_its_bound() -> None:
    assert check_plan(JOB, changed("no_earlier_than", at("15 09:00")) | {"proved": True}) == []


BROKEN = [
    ("tasks/0/stages/set", at("12 14:15"), "stages", "coat", "it is Mon 12 Apr 2027 14:00"),
    ("tasks/0/stages/recoat_closes", at("12 18:00"), "stages", "coat", "it is Mon 12 Apr 2027 17:00"),
    ("tasks/0/stages/cure", at("12 18:00"), "stages", "coat", "lists cure"),
    ("tasks/0/stages/sand", None, "stages", "coat", "leaves out sand, reached Mon 12 Apr 2027 16:00"),
    ("nights", 4, "nights", "", "there are 3"),
    ("cost/total", 496.0, "cost", "", "3 nights cost 458.00"),
    ("cost/currency", "EUR", "cost", "", "the yard asks 'GBP'"),
    ("stay/3/hours", 64.75, "stay", "", "accounts for 72.25 h", "72.5 h"),
    ("stay/3/cause", "tea", "stay", "", "'tea'"),
    ("no_earlier_than", at("15 09:15"), "bound", "", "launches Thu 15 Apr 2027 09:00"),
    ("proved", True, "bound", "", "is called proved"),
    ("tasks/2/on_path", False, "path", "relaunch", "Thu 15 Apr 2027 09:00"),
    ("tasks/0/on_path", False, "path", "coat", "Mon 12 Apr 2027 09:00"),
    ("tasks/2/held_by/task", "gale", "path", "relaunch", "'gale'"),
    ("tasks/2/held_by/stage", "cure", "path", "relaunch", "'cure'"),
    ("tasks/1/held_by", {"cause": "tea"}, "path", "tidy", "'tea'"),
    ("tasks/0/held_by", {"cause": "work", "task": "relaunch"}, "path", "relaunch", "by itself"),
    ("tasks/1/slack_hours", -0.25, "slack", "tidy", "-0.25 hours"),
    ("launch", "soon", "shape", "", "'soon'"),
    ("tasks", {}, "shape", "", "no list of tasks"),
]


@pytest.mark.parametrize(("path", "value", "rule", "task", "words"), [(*b[:4], b[4:]) for b in BROKEN])
def test_a_wrong_statement_is_found(path: str, value: Any, rule: str, task: str, words: tuple[str, ...]) -> None:
    found = [finding for finding in check_plan(JOB, changed(path, value)) if finding.rule != "tasks"]
    only(found, rule, task, *words)


def _spoil(node: Any, chance: random.Random) -> Any:
    """`node` with a random place in it replaced by something that does not belong there."""
    odd: list[Any] = [
        None,
        True,
        -1,
        10**400,
        "",
        "x/key/y",
        "0001-01-01T00:00:00+14:00",
        [],
        {},
        [["a"]],
        {"id": []},
        "\x1b[31m",
    ]
    if isinstance(node, dict | list) and node and chance.random() < 0.85:
        key: Any = chance.choice(list(node)) if isinstance(node, dict) else chance.randrange(len(node))
        node[key] = _spoil(node[key], chance)
        return node
    return copy.deepcopy(chance.choice(odd))


def test_no_json_makes_it_fall_over() -> None:
    chance = random.Random(7)
    for _ in range(400):
        plan = _spoil(full_plan(), chance)
        for finding in check_plan(JOB, plan):
            assert finding.sentence.isprintable()
            json.dumps(finding.sentence)


def test_it_shares_no_code_with_the_planner() -> None:
    folder = Path(sequencer.checking.__file__).parent
    allowed = ("sequencer.checking", "sequencer.job", "sequencer.errors")
    for file in folder.glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            names += [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            for name in names:
                assert not name.startswith("sequencer") or name.startswith(allowed), f"{file.name}: {name}"
