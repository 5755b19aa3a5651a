"""Levers two at a time, ranked and priced, honest where the launch is not proved; and what is printed of them."""

from __future__ import annotations

import datetime as dt
import json
import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import lever_jobs as jobs
import pytest
from lever_jobs import LAUNCH, PAINT, job, wet
from planned import assert_kept, crew, task, zone
from random_jobs import random_job

from sequencer.job import Job, parse_job, read_job
from sequencer.job.writing import AddItem, SetField, apply_change
from sequencer.levers import KINDS, Lever, Trials, Tried, eight_in_ten, find_levers, try_levers
from sequencer.levers.changes import MoreHours, Unlinked
from sequencer.levers.trying import Bench
from sequencer.paper.levers_text import levers_json, levers_text
from sequencer.paper.lines import cells
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job

DEMO = Path(__file__).parent.parent / "jobs" / "dunlin-pod.toml"

BOTH = job(
    zone("bay"),
    PAINT,
    crew('{ days = "Fri", from = "08:00", to = "16:00" }', name="wil"),
    task("coat", zone='"bay"', material='"coat"', work=2),
    task("fit", "coat@set", work=2, hands=2),
    task(LAUNCH, "fit"),
    weather=wet("2027-04-12") + wet("2027-04-13") + wet("2027-04-14") + wet("2027-04-15"),
)
"""It rains till Thursday, and Wil comes on Fridays: launch Fri 16 13:00. Under a tent the coat goes on Monday, and fit
waits for Wil: three hours sooner. With Wil on Monday it rains. Both: Mon 12, four nights."""


@cache
def planned(text: str) -> Plan:
    """The plan of a job's text, held against the check."""
    plan = plan_job(parse_job(text), seconds=10)
    assert_kept(plan.job, plan)
    return plan


def tried(text: str, **more: object) -> Trials:
    """Everything tried on a job; every plan held against the check."""
    before = planned(text)
    found = try_levers(text, None, before.job, before, seconds=60, **more)  # type: ignore[arg-type]
    for one in found.tried:
        assert_kept(one.plan.job, one.plan, before.moment(before.now))
    return found


# -- pairs -------------------------------------------------------------------------------------------------------


def test_two_that_save_nothing_alone_save_four_nights_together() -> None:
    found = tried(BOTH)
    by_id = {t.id: t for t in found.tried}
    assert by_id["cover:bay"].nights == 0
    assert by_id["day:wil:2027-04-12"].nights == 0
    best = found.tried[0]
    assert {lever.kind for lever in best.levers} == {"cover", "day"}
    assert best.nights == best.certain == 4
    assert set(best.name.split(", and ")) == {"tent over the bay", "Wil on Mon 12"}
    assert found.paired >= 1
    after = apply_change(BOTH, best.change).job
    again = plan_job(after, seconds=10)
    assert_kept(after, again)
    assert again.launched == best.launch


def test_a_pair_that_does_no_better_than_one_alone_is_not_told() -> None:
    found = tried(jobs.WEEKENDS)
    alone = {t.id: t.nights for t in found.tried if len(t.levers) == 1}
    for one in found.tried:
        if len(one.levers) > 1:
            assert one.nights > max(alone[lever.id] for lever in one.levers)


def test_hours_of_one_person_add_up() -> None:
    first = MoreHours("crew", "owner", ({"days": "Sun", "from": "08:00", "to": "12:00"},), "a")
    second = MoreHours("crew", "owner", ({"days": "Sat", "from": "16:00", "to": "18:00"},), "b")
    text = jobs.LONG.replace("hours = [", "hours = [  # mine\n")
    once = apply_change(text, first).text
    both = apply_change(once, second)
    assert len(both.job.people["owner"].hours) == 3
    assert "# mine" in both.text
    assert apply_change(both.text, first).text == both.text


def test_a_link_taken_out_leaves_the_launch_waiting_for_both() -> None:
    text = jobs.INDOORS
    found = apply_change(text, Unlinked("wire", "scrape", LAUNCH)).job
    assert [str(link) for link in found.tasks["wire"].after] == []
    assert [str(link) for link in found.tasks[LAUNCH].after] == ["wire", "scrape"]
    linked = text.replace('after = ["wire"]', 'after = ["wire", "scrape"]')
    found = apply_change(linked, Unlinked("wire", "scrape", LAUNCH)).job
    assert [str(link) for link in found.tasks[LAUNCH].after] == ["wire", "scrape"]


# -- ranked and priced -------------------------------------------------------------------------------------------


def test_ranked_by_what_is_kept_then_by_nights() -> None:
    found = tried(BOTH, pairs=True).tried
    kept = [t.kept for t in found if t.nights > 0 and t.kept is not None and t.kept > 0]
    assert kept == sorted(kept, reverse=True)
    groups = [0 if t.nights > 0 else 1 for t in found]
    assert groups == sorted(groups)


def test_a_price_given_counts_against_the_saving() -> None:
    found = tried(jobs.RAIN)
    tent = next(t for t in found.tried if t.id == "cover:bay")
    assert (tent.saved, tent.price, tent.kept) == (80.0, None, None)
    for price, kept in ((30.0, 50.0), (100.0, -20.0)):
        priced = found.priced({"cover:bay": price})
        tent = next(t for t in priced.tried if t.id == "cover:bay")
        assert (tent.price, tent.kept) == (price, kept)
    dear = levers_text(found.priced({"cover:bay": 100.5}))
    assert "£101  -£21" in dear


def test_nights_that_are_free_save_no_money() -> None:
    found = tried(jobs.RAIN.replace("free_nights = 0", "free_nights = 9"))
    tent = next(t for t in found.tried if t.id == "cover:bay")
    assert (tent.nights, tent.saved) == (2, 0.0)
    nameless = tried(jobs.RAIN.replace(jobs.YARD, ""))
    assert all((t.saved, t.kept) == (None, None) for t in nameless.tried)
    assert "saved" in levers_text(nameless)


# -- honest ------------------------------------------------------------------------------------------------------


NULL = Lever("null", "gear", "a word in a note", SetField("job", "", "note", "x"), "words", frozenset())


@pytest.mark.parametrize("seed", range(4))
def test_what_changes_nothing_is_credited_with_nothing(seed: int) -> None:
    text = random_job(seed, 20)
    before = plan_job(parse_job(text), seconds=0, prove=False)
    found = try_levers(text, None, before.job, before, [NULL], seconds=60, pairs=False)
    assert [t.nights for t in found.tried] == [0]
    assert found.before.launch <= before.launch


@pytest.mark.parametrize("seed", range(2))
def test_what_a_lever_finds_by_luck_is_given_to_the_job_as_it_is(seed: int) -> None:
    text = random_job(seed, 20)
    before = replace(plan_job(parse_job(text), seconds=0, prove=False), proved=False)
    some = find_levers(before.job, before)[:4]
    found = try_levers(text, None, before.job, before, [NULL, *some], seconds=60, pairs=False)
    assert next(t for t in found.tried if t.id == "null").nights == 0
    best = plan_job(parse_job(text), seconds=10)
    for one in found.tried:
        assert_kept(one.plan.job, one.plan, before.moment(before.now))
        assert one.before is found.before
        assert one.before.bound <= best.launch <= one.before.launch
        assert one.certain <= max(0, best.nights - one.plan.nights)


def test_a_plan_found_with_a_lever_betters_the_job_as_it_is_where_it_needs_no_lever() -> None:
    text = random_job(6, 12)
    poor = plan_job(parse_job(text), seconds=0, prove=False)
    best = plan_job(parse_job(text), seconds=10)
    assert best.launch < poor.launch
    bench = Bench(text, None, poor, math.inf, lambda: False)
    bench.learn(best)
    assert bench.before.launch == best.launch
    assert_kept(bench.before.job, bench.before)
    follower = bench.follow(NULL.change)
    assert follower is not None
    assert follower.launch == best.launch
    bench.learn(poor)
    assert bench.before.launch == best.launch


def test_a_saving_is_certain_only_as_far_as_the_old_launch_is_proved() -> None:
    plan = planned(jobs.RAIN)
    found = try_levers(jobs.RAIN, None, plan.job, plan, pairs=False)
    tent = next(t for t in found.tried if t.id == "cover:bay")
    assert (tent.nights, tent.certain, tent.most) == (2, 2, 2)
    day = 96
    unproved = replace(plan, bound=plan.launch - day, proved=False)
    loose = Tried(tent.levers, unproved, tent.plan)
    assert (loose.nights, loose.certain) == (2, 1)
    open_ = Tried(tent.levers, replace(plan, bound=plan.launch - 3 * day, proved=False), tent.plan)
    assert (open_.nights, open_.certain) == (2, 0)
    early = Tried(tent.levers, plan, replace(tent.plan, bound=tent.plan.launch - 2, proved=False))
    assert (early.certain, early.most) == (2, 2)
    told = levers_text(Trials(unproved, (loose,)))
    assert " 2? " in told
    assert "not proved" in told


def test_the_same_twice_gives_the_same() -> None:
    text = DEMO.read_text(encoding="utf-8")
    plan = plan_job(read_job(DEMO), seconds=20)
    chosen = [v for v in find_levers(plan.job, plan) if v.kind in ("cover", "lift")]
    runs = [try_levers(text, DEMO, plan.job, plan, chosen, seconds=60) for _ in range(2)]
    assert levers_json(runs[0]) == levers_json(runs[1])
    assert runs[0].gains
    for one in runs[0].tried:
        assert_kept(one.plan.job, one.plan)
        assert one.certain == one.nights
        again = apply_change(text, one.change, DEMO).job
        assert again == one.plan.job


def test_the_demo_job_has_levers_of_most_kinds() -> None:
    plan = plan_job(read_job(DEMO), seconds=20)
    found = find_levers(plan.job, plan)
    assert {v.kind for v in found} >= set(KINDS) - {"material", "indoors"}
    assert len({v.id for v in found}) == len(found)
    for lever in found:
        apply_change(DEMO.read_text(encoding="utf-8"), lever.change, DEMO)


# -- cut short, refused, odds ------------------------------------------------------------------------------------


def test_stopped_at_once_everything_is_left_and_told() -> None:
    plan = planned(jobs.RAIN)
    found = try_levers(jobs.RAIN, None, plan.job, plan, stop=lambda: True)
    assert found.tried == ()
    assert [v.id for v in found.left] == [v.id for v in find_levers(plan.job, plan)]
    assert "Not tried, the time was up: tent over the bay" in levers_text(found)
    assert levers_json(found)["not_tried"] == [v.id for v in found.left]


def test_no_seconds_leave_everything() -> None:
    plan = planned(jobs.RAIN)
    assert len(try_levers(jobs.RAIN, None, plan.job, plan, seconds=0).left) == len(find_levers(plan.job, plan))


def test_what_gives_no_plan_is_told_and_the_rest_goes_on() -> None:
    plan = planned(jobs.RAIN)
    faulty = replace(NULL, id="bad", name="nonsense", change=SetField("task", "coat", "zone", "moon"))
    barred = replace(NULL, id="never", name="nobody", change=SetField("crew", "owner", "hours", []))
    found = try_levers(jobs.RAIN, None, plan.job, plan, [faulty, barred, NULL], pairs=False)
    assert [lever.id for lever, _ in found.refused] == ["bad", "never"]
    assert [t.id for t in found.tried] == ["null"]
    assert "Gives no plan: nonsense." in levers_text(found)


def test_progress_gets_each_one() -> None:
    seen: list[tuple[str, int, int]] = []
    plan = planned(jobs.RAIN)
    found = try_levers(
        jobs.RAIN, None, plan.job, plan, pairs=False, progress=lambda t, done, of: seen.append((t.id, done, of))
    )
    assert {name for name, _, _ in seen} == {t.id for t in found.tried}
    assert [done for _, done, _ in seen] == list(range(1, len(seen) + 1))
    assert {of for _, _, of in seen} == {len(seen)}


def test_nights_saved_at_eight_in_ten_are_asked_of_what_saves_nights() -> None:
    asked: list[int] = []

    def odds_of(_: Job, plan: Plan) -> dt.datetime | None:
        asked.append(plan.launch)
        return plan.launched + dt.timedelta(days=1 + len(asked))

    found = tried(jobs.RAIN, odds_of=odds_of, pairs=False)
    tent = next(t for t in found.tried if t.id == "cover:bay")
    assert tent.late_nights == 1
    assert asked == [found.before.launch, *(t.plan.launch for t in found.gains)]
    assert "8 in 10" in levers_text(found)
    assert levers_json(found)["levers"][0]["nights_saved_8_in_10"] == 1


def test_the_same_futures_are_asked_of_each() -> None:
    plan = planned(jobs.RAIN)
    asked = eight_in_ten(runs=20)
    assert asked(plan.job, plan) == asked(plan.job, plan)
    assert eight_in_ten(runs=20, stop=lambda: True)(plan.job, plan) is None


# -- printed -----------------------------------------------------------------------------------------------------


DRY_ELSEWHERE = (
    BOTH.replace('after = ["coat@set"]\n', "")
    .replace('["fit"]', '["fit", "coat@set"]')
    .replace(wet("2027-04-13") + wet("2027-04-14") + wet("2027-04-15"), "")
)
"""Rain on Monday alone holds nothing up: fit waits for Wil till Friday all the same."""


def test_reasons_say_what_it_does_or_what_holds_her() -> None:
    both = {t.id: t for t in tried(BOTH).tried}
    sooner = "coat starts Mon 12 08:00, not Fri 16 08:00 (it waited for fit weather)"
    assert both["cover:bay"].reason == f"no night, only 3 h sooner: {sooner}"
    idle = {t.id: t for t in tried(DRY_ELSEWHERE).tried}
    assert idle["cover:bay"].reason == "nothing: fit waits for two pairs of hands, not for rain or dew"
    assert idle["day:wil:2027-04-13"].reason.startswith("fit starts Tue 13 ")
    named = DRY_ELSEWHERE.replace("hands = 2", 'hands = 2\nwho = ["owner", "wil"]')
    by_name = {t.id: t for t in tried(named).tried}
    assert by_name["cover:bay"].reason == "nothing: fit waits for wil, not for rain or dew"


def test_a_lever_that_costs_nights_says_so() -> None:
    plan = planned(jobs.RAIN)
    late = replace(NULL, id="late", change=SetField("task", "coat", "not_before", dt.date(2027, 4, 16)))
    one = try_levers(jobs.RAIN, None, plan.job, plan, [late], pairs=False).tried[0]
    assert_kept(one.plan.job, one.plan)
    assert (one.nights, one.certain, one.saved) == (-2, -2, -80.0)
    assert one.reason.startswith("it costs time: coat")


HOSTILE = "[bold]Ω漢字 \x1b[31mred[/] '$x' " + "w" * 60


def test_hostile_names_are_shown_and_no_line_is_too_long() -> None:
    added = AddItem("gear", {"id": "jack", "title": HOSTILE})
    text = apply_change(BOTH, added).text
    text = apply_change(text, SetField("zone", "bay", "title", HOSTILE)).text
    text = apply_change(text, SetField("crew", "wil", "title", HOSTILE)).text
    text = apply_change(text, SetField("job", "", "title", HOSTILE)).text
    printed = levers_text(tried(text))
    assert "\x1b" not in printed
    assert max(cells(line) for line in printed.splitlines()) <= 80
    assert "[bold]" in printed


def test_the_table_has_a_line_for_the_plan_and_a_numbered_one_for_each_gain() -> None:
    found = tried(BOTH)
    lines = levers_text(found).splitlines()
    assert lines[0].split() == ["tried", "for", "real,", "from", "now", "launch", "nights", "saved", "price", "kept"]
    assert lines[1].split() == ["as", "planned", "Fri", "16", "13:00"]
    assert lines[2].startswith(" 1 ")
    assert "SAVES NO NIGHT" in lines
    assert all(len(line) <= 80 for line in lines)
    none = levers_text(Trials(found.before, ()))
    assert "nothing that was tried saves a night" in none


def test_json_is_plain_and_whole() -> None:
    found = tried(BOTH)
    told = json.loads(json.dumps(levers_json(found)))
    assert told["currency"] == "GBP"
    assert len(told["levers"]) == len(found.tried)
    best = told["levers"][0]
    assert (best["nights_saved"], best["nights_certain"], best["saved"]) == (4, 4, 160.0)
    assert best["price"] is None
    assert dt.datetime.fromisoformat(best["launch"]).tzinfo is not None
