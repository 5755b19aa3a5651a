"""Dusty work that needs nobody: it goes on by night, and the proof knows that it keeps clear of wet coats."""

from __future__ import annotations

import pytest
from enumerating import Enumeration
from planned import assert_kept, crew, day, head, normals, task, zone

from sequencer.job import parse_job
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job

SHIFT = '{ days = "Mon-Sun", from = "08:00", to = "09:30" }'
COAT = '\n[[material]]\nid = "coat"\ntemps = [20]\nset = 20\n'


def dust(**fields: object) -> str:
    """Dusty work that needs nobody."""
    return task("dust", "", hands=0, makes='"dust"', zone='"bay"', **fields)


def planned(*tasks: str, days: str = "", begun: bool = False) -> Plan:
    """A plan, checked, that launches as early as trying everything does (which knows of no begun work)."""
    places = zone("bay", "open", 'air = "hull"') + zone("keel", "open", 'air = "hull"')
    job = parse_job("\n".join([head(), days, normals(), crew(SHIFT), places, COAT, *tasks]))
    plan = plan_job(job, seconds=10)
    assert_kept(job, plan)
    if begun:
        return plan
    found = Enumeration(job, plan.launch + 1).run()
    assert found is not None
    assert found.launch == plan.launch
    return plan


@pytest.mark.parametrize("hours", [8, 14, 23])
def test_a_night_of_dust_and_a_wet_coat_one_after_the_other_are_proved(hours: float) -> None:
    sander = dust(work=hours, one_go="false")
    coat = task("coat", work=0.5, zone='"keel"', material='"coat"')
    plan = planned(sander, coat, task("launch", "dust coat@set", work=0.25))
    assert plan.proved
    wet = plan.rows["coat"]
    assert not any(a < wet.stages["set"] and b > wet.start for a, b in plan.rows["dust"].pieces)


def test_dust_broken_up_by_rain_is_proved() -> None:
    rain = day("2027-04-12", 20, more='rain = ["12:00/20:00"]') + day("2027-04-13", 20, more='rain = ["13:00/15:00"]')
    sander = dust(work=9, needs="{ dry = true }")
    coat = task("coat", work=0.5, zone='"bay"', material='"coat"')
    plan = planned(sander, coat, task("launch", "dust coat@set", work=0.25), days=rain)
    assert plan.proved
    assert len(plan.rows["dust"].pieces) > 1


def test_dust_begun_before_now_holds_a_coat_back_and_is_proved() -> None:
    sander = dust(work=30, started="2027-04-12T07:00:00")
    coat = task("coat", work=0.5, zone='"bay"', material='"coat"')
    assert planned(sander, coat, task("launch", "coat@set", work=0.25), begun=True).proved
