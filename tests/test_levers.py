"""Levers: each kind found where it helps and not where it can't, tried for real, accepted and undone."""

from __future__ import annotations

import datetime as dt
import pickle
from functools import cache
from pathlib import Path

import lever_jobs as jobs
import pytest
from lever_jobs import LAUNCH, PAINT, RAIN, job, wet
from planned import assert_kept, crew, gear, local, material, task, zone

from sequencer.job import parse_job
from sequencer.job.jobfile import JobFile
from sequencer.levers import KINDS, Lever, Trials, find_levers, try_levers
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job

CASES = {
    "cover:bay": (jobs.RAIN, "cover", 2),
    "heat:bench": (jobs.COLD, "heat", 1),
    "day:wil:2027-04-12": (jobs.HEAVY, "day", 4),
    "weekends:wil": (jobs.WEEKENDS, "weekends", 14),
    "weekends:owner": (jobs.SUNDAYS, "weekends", 2),
    "longer:owner": (jobs.LONG, "longer", 1),
    "coats:coat-1:coat-2:2027-04-12": (jobs.TWO_COATS, "coats", 1),
    "gear:mould": (jobs.ONE_MOULD, "gear", 1),
    "material:slow:quick": (jobs.HARDENER, "material", 1),
    "delivery:pod": (jobs.POD, "delivery", 2),
    "lift:relaunch:sat": (jobs.LIFT, "lift", 2),
    "indoors:wire:scrape": (jobs.INDOORS, "indoors", 1),
    "indoors:wire:date": (jobs.DATED, "indoors", 2),
}
"""By lever: the job it helps, its kind, and the nights it saves by hand."""


@cache
def planned(text: str) -> Plan:
    """The plan of a job's text, held against the check."""
    found = parse_job(text)
    plan = plan_job(found, seconds=10)
    assert_kept(found, plan)
    return plan


def levers_of(text: str) -> dict[str, Lever]:
    """The levers found for a job, by id."""
    plan = planned(text)
    return {lever.id: lever for lever in find_levers(plan.job, plan)}


def tried(text: str, pairs: bool = False, plan: Plan | None = None) -> Trials:
    """Everything tried on a job; every plan held against the check."""
    before = plan if plan is not None else planned(text)
    found = try_levers(text, None, before.job, before, seconds=60, pairs=pairs)
    assert not found.left
    assert not found.refused
    for one in found.tried:
        assert_kept(one.plan.job, one.plan, before.moment(before.now))
    return found


def test_every_kind_has_its_case() -> None:
    assert {kind for _, kind, _ in CASES.values()} == set(KINDS)


@pytest.mark.parametrize("name", CASES)
def test_each_kind_is_found_tried_and_saves_what_it_does_by_hand(name: str) -> None:
    text, kind, nights = CASES[name]
    found = tried(text)
    one = next(t for t in found.tried if t.id == name)
    assert (one.levers[0].kind, one.nights, one.certain) == (kind, nights, nights)
    assert one.plan.proved
    assert one.saved == 40.0 * nights
    assert one.sooner > 0
    assert one.reason
    assert not one.reason.startswith("nothing")


@pytest.mark.parametrize("name", CASES)
def test_accepting_is_the_change_and_undo_gives_the_same_bytes(name: str, tmp_path: Path) -> None:
    text, _, nights = CASES[name]
    text = f"# the owner's words\n{text}\n# and at the end\n"
    path = tmp_path / "job.toml"
    path.write_bytes(text.encode())
    before = planned(text)
    lever = levers_of(text)[name]
    with JobFile.open(path) as file:
        after = file.apply(lever.change)
        plan = plan_job(after, seconds=10)
        assert_kept(after, plan)
        assert before.nights - plan.nights == nights
        assert file.text.startswith("# the owner's words\n")
        assert file.text.endswith("# and at the end\n")
        assert file.next_undo
        file.undo()
        assert path.read_bytes() == text.encode()


# -- not offered where it can't help -----------------------------------------------------------------------------


def test_no_tent_where_no_rain_nor_dew_can_hold_anything_up() -> None:
    assert "cover:bay" in levers_of(RAIN)
    assert "cover:bay" not in levers_of(RAIN.replace('shelter = "open"', 'shelter = "covered"'))
    assert "cover:bay" not in levers_of(RAIN.replace('rain = ["00:00/24:00"]', ""))
    dull = task("coat", zone='"bay"', work=2) + task(LAUNCH, "coat")
    assert "cover:bay" not in levers_of(job(zone("bay"), dull, weather=wet("2027-04-12")))
    done = "started = 2027-04-12T08:00:00\nfinished = 2027-04-12T10:00:00\n"
    logged = job(
        zone("bay"),
        PAINT,
        task("coat", zone='"bay"', material='"coat"', work=2) + done,
        task(LAUNCH, "coat@immerse"),
        now="2027-04-12T10:00:00",
        weather=wet("2027-04-13"),
    )
    assert "cover:bay" not in levers_of(logged)


def test_no_heat_where_it_is_warm_nor_above_what_the_pot_takes() -> None:
    assert "heat:bench" not in levers_of(
        jobs.COLD.replace("low = 10\nhigh = 10\ndew = 0", "low = 20\nhigh = 20\ndew = 9")
    )
    assert "heat:bench" not in levers_of(jobs.COLD.replace('shelter = "inside"', 'shelter = "inside"\nheat_to = 21'))
    capped = levers_of(jobs.COLD.replace("immerse = [40, 20]", "immerse = [40, 20]\napply = { max_temp = 17.5 }"))
    assert "17 °C" in capped["heat:bench"].name
    bare = job(zone("bench", "inside"), task("sweep", zone='"bench"'), task(LAUNCH, "sweep"))
    assert "heat:bench" not in levers_of(bare)


def test_an_open_place_is_tented_for_the_heat() -> None:
    found = tried(jobs.COLD_OUTSIDE)
    heat = next(t for t in found.tried if t.id == "heat:bench")
    assert heat.name == "tent and heat to 15 °C, bench"
    bench = heat.plan.job.zones["bench"]
    assert (bench.shelter, bench.heat_to) == ("covered", 15)
    # 40 h at 10 and 20 h at 20 °C: 40 / sqrt(2) = 28.3 h at 15 °C, from Mon 10:00 to Tue 14:30.
    assert local(heat.plan, heat.plan.launch) == "2027-04-13 14:30"


LAID = jobs.COLD.replace(
    task(LAUNCH, "coat@immerse"),
    "started = 2027-04-12T08:00:00\nfinished = 2027-04-12T10:00:00\n"
    + task("coat-2", "coat@recoat", zone='"bench"', material='"coat"', work=2)
    + task(LAUNCH, "coat-2@immerse"),
).replace("now = 2027-04-12T08:00:00", "now = 2027-04-12T10:00:00")
"""The first coat lies in the cold already: 8 h to the next, Mon 18:00, so on Tue 08:00."""


def test_heat_never_warms_what_was_laid_in_the_cold() -> None:
    before = planned(LAID)
    lever = levers_of(LAID)["heat:bench"]
    found = try_levers(LAID, None, before.job, before, [lever], pairs=False).tried[0]
    assert_kept(found.plan.job, found.plan)
    assert found.plan.job.tasks["coat"].zone == "bench"
    assert found.plan.job.tasks["coat-2"].zone == "bench-heated"
    assert found.plan.job.zones["bench-heated"].air_id == "bench"
    assert found.plan.rows["coat"].stages == before.rows["coat"].stages
    assert found.nights == 1
    assert found.mind


def test_rain_that_is_past_counts_no_more_under_a_new_tent() -> None:
    begun = RAIN.replace(task(LAUNCH, "coat@set"), "started = 2027-04-12T08:00:00\n" + task(LAUNCH, "coat@set"))
    begun = begun.replace('material = "coat"\n', "needs = { dry = true }\n").replace("coat@set", "coat")
    begun = begun.replace("now = 2027-04-12T08:00:00", "now = 2027-04-12T12:00:00")
    before = planned(begun)
    assert before.rows["coat"].worked == 8
    found = try_levers(begun, None, before.job, before, [levers_of(begun)["cover:bay"]], pairs=False).tried[0]
    # Two hours are left: without work_left the four dry hours of the morning that never were would have done it.
    assert found.plan.rows["coat"].worked == 8
    assert local(found.plan, found.plan.launch) == "2027-04-12 14:00"


def test_nobody_is_asked_for_a_day_he_is_there_or_has_refused_or_after_the_launch() -> None:
    named = {i.rpartition(":")[2] for i in levers_of(jobs.HEAVY) if i.startswith("day:wil")}
    assert named == {"2027-04-12", "2027-04-13", "2027-04-14", "2027-04-15"}
    gone = job(
        crew('{ days = "Fri", from = "08:00", to = "16:00" }', name="wil", away=["2027-04-12/2027-04-14"]),
        task("lift-in", work=2, hands=2),
        task(LAUNCH, "lift-in"),
    )
    named = {i.rpartition(":")[2] for i in levers_of(gone) if i.startswith("day:wil")}
    assert named == {"2027-04-15"}


def test_of_today_only_the_hours_left_are_asked_for() -> None:
    text = jobs.HEAVY.replace("now = 2027-04-12T08:00:00", "now = 2027-04-12T11:00:00")
    lever = levers_of(text)["day:wil:2027-04-12"]
    before = planned(text)
    plan = try_levers(text, None, before.job, before, [lever], pairs=False).tried[0].plan
    line = plan.job.people["wil"].hours[-1]
    assert (line.start, line.end, line.since) == (11 * 60, 16 * 60, dt.date(2027, 4, 12))
    assert "day:wil:2027-04-12" not in levers_of(text.replace("T11:00:00", "T16:00:00"))


def test_a_day_for_both_where_nobody_is_there() -> None:
    text = job(
        crew('{ days = "Wed", from = "08:00", to = "16:00" }', name="wil"),
        task("lift-in", work=2, hands=2, not_before="2027-04-17T12:00:00"),
        task(LAUNCH, "lift-in"),
    )
    found = {t.id: t for t in tried(text).tried}
    assert found["day:owner+wil:2027-04-18"].nights == 3
    assert found["day:wil:2027-04-17"].nights == 4
    assert "day:owner:2027-04-18" in found
    single = text.replace("hands = 2", "hands = 1")
    assert not [i for i in levers_of(single) if "+" in i]


def test_hours_that_are_past_stay_as_they_were() -> None:
    for name in ("weekends:owner", "longer:owner"):
        text = CASES[name][0]
        plan = planned(text)
        lever = levers_of(text)[name]
        new = next(t for t in try_levers(text, None, plan.job, plan, [lever], pairs=False).tried).plan
        there = [p.problem.tables.shifts["owner"][: 2 * 96 - 32].tolist() for p in (plan, new)]
        assert there[0] == there[1]


def test_no_second_of_gear_that_is_never_wanted_twice() -> None:
    one_user = jobs.ONE_MOULD.replace('\ngear = [{ id = "mould", until = "immerse" }]', "", 1)
    assert "gear:mould" not in levers_of(one_user)
    in_turn = job(
        gear("jack"),
        task("up", work=1, gear='["jack"]'),
        task("down", "up", work=1, gear='["jack"]'),
        task(LAUNCH, "down"),
    )
    assert "gear:jack" not in levers_of(in_turn)
    assert "gear:jack" in levers_of(in_turn.replace('after = ["up"]\n', "").replace('["down"]', '["down", "up"]'))
    assert "gear:jack" not in levers_of(in_turn.replace("count = 1", "count = 2"))


def test_only_a_quicker_material_with_the_same_stages_stands_in() -> None:
    found = levers_of(jobs.HARDENER)
    assert [i for i in found if i.startswith("material")] == ["material:slow:quick"]
    assert "only where quick may be used as slow is" in found["material:slow:quick"].mind
    laid = jobs.HARDENER.replace(
        task(LAUNCH, "coat@immerse"), "started = 2027-04-12T08:00:00\n" + task(LAUNCH, "coat@immerse")
    ).replace("now = 2027-04-12T08:00:00", "now = 2027-04-12T09:00:00")
    assert not [i for i in levers_of(laid) if i.startswith("material")]
    winter = material([10, 20], "set = [2, 1]\nimmerse = [80, 40]\nno_cure_below = 0", name="winter")
    cold = jobs.HARDENER.replace('id = "slow"\n', 'id = "slow"\nno_cure_below = 5\n') + winter
    assert "material:slow:winter" in levers_of(cold)


def test_a_delivery_comes_no_sooner_than_its_range_nor_tomorrow() -> None:
    early = levers_of(jobs.POD)["delivery:pod"]
    assert early.name == "pod here by Wed 14 Apr"
    assert early.mind
    free = levers_of(jobs.POD.replace('range = ["2027-04-14", "2027-04-20"]', ""))["delivery:pod"]
    assert (free.name, free.mind) == ("pod here by Tue 13 Apr", "")
    assert "delivery:pod" not in levers_of(jobs.POD.replace('"2027-04-14"', '"2027-04-16"'))
    assert "delivery:pod" not in levers_of(jobs.POD.replace('delivery = "pod"', ""))
    assert levers_of(jobs.POD.replace('"2027-04-14"', '"2027-04-14T12:00:00"'))["delivery:pod"].name.endswith(
        "Thu 15 Apr"
    )


def test_only_days_the_lift_does_not_work_are_asked_for() -> None:
    lifts = [i for i in levers_of(jobs.LIFT) if i.startswith("lift")]
    assert lifts == ["lift:relaunch:sat", "lift:relaunch:sun"]
    assert not [i for i in levers_of(jobs.LIFT.replace("Mon-Fri", "Mon-Sun")) if i.startswith("lift")]
    no_slots = job(task("paint", work=36), task(LAUNCH, "paint"))
    assert not [i for i in levers_of(no_slots) if i.startswith("lift")]


def test_indoor_work_is_never_put_before_a_coat_or_its_own_place() -> None:
    assert "indoors:wire:scrape" in levers_of(jobs.INDOORS)
    outdoors = jobs.INDOORS.replace('shelter = "inside"', 'shelter = "covered"')
    assert not [i for i in levers_of(outdoors) if i.startswith("indoors")]
    same_place = jobs.INDOORS.replace('zone = "bay"', 'zone = "cabin"')
    assert not [i for i in levers_of(same_place) if i.startswith("indoors")]
    coat = jobs.INDOORS.replace("work = 6\n", 'work = 6\nmaterial = "coat"\n') + PAINT
    assert not [i for i in levers_of(coat) if i.startswith("indoors")]


def test_the_launch_still_waits_for_what_indoor_work_is_put_before() -> None:
    plan = planned(jobs.INDOORS)
    lever = levers_of(jobs.INDOORS)["indoors:wire:scrape"]
    after = try_levers(jobs.INDOORS, None, plan.job, plan, [lever], pairs=False).tried[0].plan
    assert [str(link) for link in after.job.tasks[LAUNCH].after] == ["wire", "scrape"]
    assert after.launch >= after.rows["scrape"].end


def test_two_coats_need_somebody_there_that_day_and_no_night_work() -> None:
    assert [i for i in levers_of(jobs.TWO_COATS) if i.startswith("coats")] == ["coats:coat-1:coat-2:2027-04-12"]
    slower = jobs.TWO_COATS.replace("recoat = [8, 4]", "recoat = [15, 7.25]")
    assert not [i for i in levers_of(slower) if i.startswith("coats")]
    soon = jobs.TWO_COATS.replace("recoat = [8, 4]", "recoat = [1, 0.5]")
    assert not [i for i in levers_of(soon) if i.startswith("coats")]


def test_once_she_is_in_the_slings_there_is_nothing_to_pull() -> None:
    text = job(task(LAUNCH, work=2) + "started = 2027-04-12T08:00:00\n", now="2027-04-12T09:00:00")
    plan = plan_job(parse_job(text), seconds=5)
    assert find_levers(plan.job, plan) == ()


def test_owner_alone_in_a_job_without_helpers_places_or_things() -> None:
    text = job(task("grind", work=2), task(LAUNCH, "grind"))
    assert levers_of(text) == {}
    assert tried(text, pairs=True).tried == ()


def test_dew_alone_is_reason_for_a_tent() -> None:
    text = job(zone("bay"), PAINT, task("coat", zone='"bay"', material='"coat"'), task(LAUNCH, "coat@set"))
    assert "cover:bay" not in levers_of(text)
    assert "cover:bay" in levers_of(text.replace("low = 20\nhigh = 20\ndew = 10", "low = 12\nhigh = 20\ndew = 12"))


def test_what_is_kept_of_a_try_tells_all_and_weighs_little() -> None:
    """A tent makes air of its own: tables of a year that nobody asks for again once the try is told."""
    told = next(t for t in tried(jobs.RAIN).tried if t.id == "cover:bay")
    kept = told.bare()
    for name in ("launch", "nights", "certain", "most", "nights_words", "sooner", "saved", "price", "mind"):
        assert getattr(kept, name) == getattr(told, name)
    whole, light = (len(pickle.dumps(t.plan.problem)) for t in (told, kept))
    assert light < whole / 10
