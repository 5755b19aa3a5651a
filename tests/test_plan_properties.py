"""Laws that hold for the plan of any job, tried on random haul-outs of 5 to 25 tasks.

Where a law compares two launches, both are proved: of plans that are only the best found so far it says nothing.
"""

from __future__ import annotations

import datetime as dt
import random
import re
from collections.abc import Iterable
from functools import cache

import pytest
from planned import assert_kept, written
from random_jobs import random_job

from sequencer.job import parse_job
from sequencer.planning import proof
from sequencer.planning.plan import CAUSES, Plan
from sequencer.planning.planner import plan_job, prepare
from sequencer.planning.rows import build_plan

ANYBODY = [(seed, 5 + 20 * seed // 7) for seed in range(8)]
NAMED = [(seed, 7 + 6 * (seed - 20)) for seed in range(20, 23)]
"""(seed, tasks); of the second the work wants people by name, some of it two."""


def each_of(jobs: list[tuple[int, int]]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize(("seed", "tasks"), jobs, ids=[f"{seed} of {tasks}" for seed, tasks in jobs])


cases = each_of(ANYBODY + NAMED)
SECONDS = 60.0
"""For each plan; most launches are proved in some hundredths of a second."""


@cache
def text_of(seed: int, tasks: int) -> str:
    return random_job(seed, tasks, named=(seed, tasks) in NAMED)


@cache
def plan_of(seed: int, tasks: int) -> Plan:
    """The plan of a random job, made once."""
    return plan_job(parse_job(text_of(seed, tasks)), seconds=SECONDS)


def proved_plan(seed: int, tasks: int) -> Plan:
    """As above, its launch proved: the laws of launches hold for nothing less."""
    plan = plan_of(seed, tasks)
    assert plan.proved
    return plan


def replanned(text: str) -> Plan:
    """The plan of a changed text, which keeps every rule."""
    job = parse_job(text)
    plan = plan_job(job, seconds=SECONDS)
    assert_kept(job, plan)
    return plan


def swapped(text: str, old: str, new: str) -> str:
    """`text` with `old`, which stands there once, changed to `new`."""
    assert text.count(old) == 1
    return text.replace(old, new)


def with_lines(text: str, name: str, lines: str) -> str:
    """`text` with more lines in one task's table."""
    return swapped(text, f'[[task]]\nid = "{name}"\n', f'[[task]]\nid = "{name}"\n{lines}')


def toml(moment: dt.datetime) -> str:
    """A moment as TOML has it, with its offset."""
    return moment.isoformat()


# -- one plan


@cases
def test_a_plan_keeps_every_rule_by_the_independent_check(seed: int, tasks: int) -> None:
    assert_kept(parse_job(text_of(seed, tasks)), plan_of(seed, tasks))


@cases
def test_the_first_plan_keeps_every_rule_too(seed: int, tasks: int) -> None:
    job = parse_job(text_of(seed, tasks))
    placer, search = prepare(job)
    for found in (search.best, search.first()):
        assert found is not None
        assert search.earliest is not None
        bound = search.earliest[0][placer.problem.finish]
        first = build_plan(placer, found.schedule, bound, 0.0, False)
        assert_kept(job, first)
        assert first.bound <= plan_of(seed, tasks).launch <= first.launch


@cases
def test_every_plan_on_the_way_keeps_every_rule_and_none_launches_later_than_the_one_before(
    seed: int, tasks: int
) -> None:
    job = parse_job(text_of(seed, tasks))
    shown: list[Plan] = []
    final = plan_job(job, seconds=2, progress=shown.append)
    launches = [plan.launch for plan in (*shown, final)]
    assert shown
    assert launches == sorted(launches, reverse=True)
    for plan in shown:
        assert_kept(job, plan)


@cases
def test_a_search_stopped_at_once_still_gives_a_plan_that_keeps_every_rule(seed: int, tasks: int) -> None:
    job = parse_job(text_of(seed, tasks))
    for plan in (plan_job(job, seconds=0), plan_job(job, stop=lambda: True)):
        assert_kept(job, plan)
        assert plan.bound <= plan_of(seed, tasks).launch <= plan.launch
        assert plan.proved or plan.stopped


@cases
def test_the_stay_is_split_without_a_gap_and_adds_up_exactly(seed: int, tasks: int) -> None:
    plan = plan_of(seed, tasks)
    at = plan.hauled
    for step in plan.steps:
        assert step.begin == at < step.end
        assert step.cause in CAUSES
        assert step.row in plan.rows
        at = step.end
    assert at == plan.launch
    assert sum(plan.stay.values()) == plan.launch - plan.hauled
    told = written(plan)["stay"]
    assert sum(entry["hours"] for entry in told) * 4 == plan.launch - plan.hauled


@cases
def test_what_stopped_a_row_fills_the_time_from_ready_to_its_start(seed: int, tasks: int) -> None:
    for row in plan_of(seed, tasks).rows.values():
        if row.held.spans:
            assert row.held.ready + sum(slots for _, slots in row.held.spans) == row.start
            assert row.held.cause == row.held.spans[-1][0]
        elif row.held.task:
            assert row.held.ready == row.start


@cases
def test_a_proved_launch_is_its_bound_and_no_launch_is_before_it(seed: int, tasks: int) -> None:
    plan = plan_of(seed, tasks)
    assert plan.bound <= plan.launch
    assert plan.proved == (plan.bound == plan.launch)
    assert plan.launch == plan.rows["relaunch"].start


# -- the same again


@cases
def test_the_same_job_and_seed_give_the_same_plan(seed: int, tasks: int) -> None:
    plan = proved_plan(seed, tasks)
    again = plan_job(parse_job(text_of(seed, tasks)), seconds=SECONDS)
    assert written(again) == written(plan)


@cases
def test_another_seed_proves_the_same_launch(seed: int, tasks: int) -> None:
    plan = proved_plan(seed, tasks)
    again = plan_job(parse_job(text_of(seed, tasks)), seconds=SECONDS, seed=7)
    assert_kept(plan.job, again)
    assert again.launch == plan.launch or not again.proved
    assert again.bound <= plan.launch <= again.launch


@cases
def test_the_order_of_the_tables_in_the_file_does_not_matter_to_the_launch(seed: int, tasks: int) -> None:
    plan = proved_plan(seed, tasks)
    lead, *tables = re.split(r"(?m)^(?=\[\[task\]\])", text_of(seed, tasks))
    random.Random(seed).shuffle(tables)
    again = replanned(lead + "\n".join(tables))
    assert again.launch == plan.launch or not again.proved


@cases
def test_a_plan_made_after_the_like_of_another_has_the_same_launch(seed: int, tasks: int) -> None:
    plan = proved_plan(seed, tasks)
    job = parse_job(text_of(seed, tasks))
    again = plan_job(job, seconds=SECONDS, like=plan)
    assert_kept(job, again)
    assert again.launch == plan.launch
    assert again.proved


# -- looser and stricter jobs


def assert_no_later(text: str, plan: Plan) -> None:
    """A job that only asks less than that of `plan` launches no later."""
    eased = replanned(text)
    assert eased.launch <= plan.launch or not eased.proved
    assert eased.bound <= plan.launch


@cases
def test_a_later_now_never_launches_earlier(seed: int, tasks: int) -> None:
    plan = proved_plan(seed, tasks)
    job = parse_job(text_of(seed, tasks))
    for hours in (5, 60):
        now = plan.moment(plan.hauled) + dt.timedelta(hours=hours)
        later = plan_job(job, now=now, seconds=SECONDS)
        assert_kept(job, later, now)
        assert later.launch >= plan.launch


@each_of(ANYBODY)
def test_one_more_pair_of_hands_never_launches_later(seed: int, tasks: int) -> None:
    """Somebody more with the owner's hours: in these jobs no task asks for two, so nothing is worked at other times
    than before, and all that could be done can still be done."""
    plan = proved_plan(seed, tasks)
    text = text_of(seed, tasks)
    owner = re.search(r'\[\[crew\]\]\nid = "owner"\n.*\n', text)
    assert owner is not None
    assert_no_later(swapped(text, owner[0], owner[0] + "\n" + owner[0].replace('"owner"', '"third"')), plan)


@cases
def test_an_earlier_delivery_never_launches_later(seed: int, tasks: int) -> None:
    plan = proved_plan(seed, tasks)
    assert_no_later(re.sub(r"(?m)^due = .*$", "due = 2027-04-12", text_of(seed, tasks)), plan)


@cases
def test_a_lift_at_any_time_never_launches_later(seed: int, tasks: int) -> None:
    plan = proved_plan(seed, tasks)
    assert_no_later(re.sub(r"(?m)^slots = .*\n", "", text_of(seed, tasks)), plan)


@cases
def test_a_second_mould_and_grinder_never_launch_later(seed: int, tasks: int) -> None:
    plan = proved_plan(seed, tasks)
    assert_no_later(text_of(seed, tasks).replace("count = 1", "count = 2"), plan)


@cases
def test_without_one_of_its_links_a_job_never_launches_later(seed: int, tasks: int) -> None:
    plan = proved_plan(seed, tasks)
    text = text_of(seed, tasks)
    links = list(re.finditer(r'(?m)^after = \["[^",]*"\]\n', text))
    assert links or tasks < 8
    for link in random.Random(seed).sample(links, min(1, len(links))):
        assert_no_later(text[: link.start()] + text[link.end() :], plan)


# -- slack


@cases
def test_a_task_may_start_later_by_its_slack_and_by_less_and_the_launch_stays(seed: int, tasks: int) -> None:
    """Contract of slack: a delay up to it leaves the launch where it is. So the job with that task not before its
    start and a delay can still be planned to launch as early."""
    plan = proved_plan(seed, tasks)
    rng = random.Random(seed)
    loose = [row for row in plan.rows.values() if row.slack and not row.keys and row.id != "relaunch"]
    for row in rng.sample(loose, min(2, len(loose))):
        for delay in {1, rng.randint(1, row.slack), row.slack}:
            moment = toml(plan.moment(row.start + delay))
            later = replanned(with_lines(text_of(seed, tasks), row.id, f"not_before = {moment}\n"))
            assert later.launch == plan.launch or not later.proved, (row.id, delay)
            assert later.bound <= plan.launch, (row.id, delay)


@cases
def test_what_sets_the_launch_has_no_more_slack_than_the_launch_leaves_it(seed: int, tasks: int) -> None:
    """Whatever its slack, no task may start so late that it alone would push the launch: past its slack by a whole
    stay there is no plan as early."""
    plan = proved_plan(seed, tasks)
    rng = random.Random(seed)
    row = rng.choice([row for row in plan.rows.values() if not row.keys and row.id != "relaunch"])
    moment = toml(plan.moment(plan.launch))
    later = replanned(with_lines(text_of(seed, tasks), row.id, f"not_before = {moment}\n"))
    assert later.launch > plan.launch
    assert row.start + row.slack < plan.launch


# -- living through a plan


def logged(plan: Plan, text: str, now: int, told_left: bool) -> str | None:
    """The job with all that the plan has done by `now` in its log; None where a keying is under way, which no log
    can tell."""
    rows = plan.rows.values()
    if any(row.keys and row.start < now <= plan.rows[row.task.id].start for row in rows):
        return None
    for row in rows:
        if row.keys or row.start >= now:
            continue
        lines = f"started = {toml(plan.moment(row.start))}\n"
        if row.end <= now:
            lines += f"finished = {toml(plan.moment(row.end))}\n"
        elif told_left:
            lines += f"work_left = {left_of(row.pieces or [(row.start, row.end)], now) / 4}\n"
        text = with_lines(text, row.id, lines)
    return re.sub(r"(?m)^now = .*$", f"now = {toml(plan.moment(now))}", text)


def left_of(pieces: Iterable[tuple[int, int]], now: int) -> int:
    """Slots of work left at `now`."""
    return sum(max(0, end - max(now, begin)) for begin, end in pieces)


@cases
def test_a_plan_lived_by_to_the_letter_keeps_its_launch(seed: int, tasks: int) -> None:
    """With all logged as planned up to some moment, the rest of the plan is still a plan, and nothing better has
    become possible: replanned, the launch is the same."""
    plan = proved_plan(seed, tasks)
    rng = random.Random(seed)
    for share in (0.2, 0.5, 0.8):
        now = plan.hauled + round(share * (plan.launch - plan.hauled)) + rng.randrange(8)
        text = logged(plan, text_of(seed, tasks), now, rng.random() < 0.5)
        if text is not None and now < plan.launch:
            again = replanned(text)
            assert again.launch == plan.launch or not again.proved
            assert again.bound <= plan.launch <= again.launch


# -- without the solver


@cases
def test_without_the_solver_there_is_a_plan_and_no_claim_that_is_not_so(
    seed: int, tasks: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    best = proved_plan(seed, tasks)
    monkeypatch.setattr(proof, "available", lambda: False)
    job = parse_job(text_of(seed, tasks))
    plan = plan_job(job, seconds=0.5)
    assert_kept(job, plan)
    assert plan.bound <= best.launch <= plan.launch
    assert not plan.proved or plan.launch == best.launch


@cases
def test_the_bound_never_passes_the_true_launch_whenever_the_search_ends(seed: int, tasks: int) -> None:
    best = proved_plan(seed, tasks)
    for seconds in (0.02, 0.1):
        plan = plan_job(parse_job(text_of(seed, tasks)), seconds=seconds)
        assert plan.bound <= best.launch <= plan.launch
