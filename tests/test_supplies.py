"""What is needed when: the first hour of need, how late it may come, when to order, what holds the launch."""

from __future__ import annotations

import datetime as dt
import json

import pytest
from markdown_it import MarkdownIt
from planned import assert_kept
from telling_jobs import BAY, HEAD, NORMALS, launch, plan_of, task

from sequencer.errors import UsageError
from sequencer.job import parse_job
from sequencer.paper.lines import cells
from sequencer.paper.supplies_paper import supplies_json, supplies_markdown, supplies_text
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job
from sequencer.supplies import Lead, Supply, lead_of, supplies

FIT = (
    task("base", 'material = "coat"')
    + task("fit", 'delivery = "pod"\nafter = ["base"]', work=2)
    + task("seal", 'material = "paint"\nafter = ["fit"]')
    + launch('"seal@immerse"')
)
"""base Mon 10:00-11:00; the pod is due Thu 8 April 11:00, so fit is Thu 11:00-12:00 and 13:00-14:00, seal 14:00-15:00,
in the water from 17:00: the lift on Friday at nine."""


def planned(tasks: str, weather: str = NORMALS, now: str = "") -> Plan:
    """A plan that keeps every rule."""
    plan = plan_of(tasks, weather, now)
    assert_kept(plan.job, plan, dt.datetime.fromisoformat(now) if now else None)
    return plan


def by_id(plan: Plan, *lead: str, today: dt.date | None = None) -> dict[str, Supply]:
    return {one.id: one for one in supplies(plan, lead_of(lead), today)}


def test_each_thing_is_needed_when_its_first_task_starts() -> None:
    found = by_id(planned(FIT))
    assert list(found) == ["coat", "pod", "paint"]
    assert [f"{one.needed:%a %d %H:%M}" for one in found.values()] == ["Mon 05 10:00", "Thu 08 11:00", "Thu 08 14:00"]
    assert [one.tasks for one in found.values()] == [("base",), ("fit",), ("seal",)]
    assert [one.kind for one in found.values()] == ["material", "part", "material"]
    assert found["pod"].due_said == "Thu 8 Apr 11:00"


def test_a_delivery_on_the_chain_holds_the_launch_and_materials_do_not() -> None:
    found = by_id(planned(FIT))
    assert [name for name, one in found.items() if one.holds] == ["pod"]
    assert found["pod"].why == (
        "fit waits for it, due Thu 8 Apr 11:00, and starts Thu 8 Apr 11:00: that is on the chain that sets the launch",
    )


def test_a_delivery_nobody_waits_for_does_not_hold_the_launch() -> None:
    early = FIT.replace('delivery = "pod"\n', 'delivery = "pod"\nnot_before = 2027-04-12\n')
    found = by_id(planned(early))
    assert not found["pod"].holds
    assert found["pod"].why == ()
    assert found["pod"].needed.date() == dt.date(2027, 4, 12)


@pytest.mark.parametrize("tasks", [FIT, BAY, FIT + task("spare", 'delivery = "pod"\nmaterial = "paint"')])
def test_what_comes_at_the_latest_leaves_the_launch_where_it_is(tasks: str) -> None:
    plan = planned(tasks)
    found = supplies(plan)
    assert found
    for one in found:
        assert one.latest >= one.needed
        moment = f"{one.latest:%Y-%m-%dT%H:%M:%S}"
        text = HEAD + NORMALS + tasks
        if one.kind == "part":
            text = text.replace("due = 2027-04-08T11:00:00", f"due = {moment}")
        else:
            # A material comes with its delivery: everything that uses it waits for that.
            text += f'[[delivery]]\nid = "stuff"\ndue = {moment}\n'
            text = "\n".join(
                f'{line}\ndelivery = "stuff"' if line == f'material = "{one.id}"' and "spare" not in tasks else line
                for line in text.splitlines()
            )
        job = parse_job(text)
        again = plan_job(job, seconds=2.0)
        assert_kept(job, again)
        assert again.launch == plan.launch, one.id


def test_later_than_the_latest_moves_the_launch() -> None:
    plan = planned(FIT)
    after = by_id(plan)["pod"].latest + dt.timedelta(minutes=15)
    job = parse_job((HEAD + NORMALS + FIT).replace("due = 2027-04-08T11:00:00", f"due = {after:%Y-%m-%dT%H:%M:%S}"))
    again = plan_job(job, seconds=2.0)
    assert_kept(job, again)
    assert again.launch > plan.launch


def test_the_last_day_to_order_is_the_day_of_need_less_the_lead() -> None:
    found = by_id(planned(FIT), "pod=10", "3.2")
    assert found["pod"].order_by == dt.date(2027, 3, 29)
    assert found["coat"].lead == 4
    assert found["coat"].order_by == dt.date(2027, 4, 1)
    bare = by_id(planned(FIT))["pod"]
    assert (bare.lead, bare.order_by, bare.order_last, bare.comes) == (None, None, None, None)


def test_a_material_that_comes_too_late_is_told_with_its_days() -> None:
    found = by_id(planned(FIT), "paint=4", today=dt.date(2027, 4, 5))
    paint = found["paint"]
    assert paint.comes == dt.date(2027, 4, 9)
    assert paint.late
    assert paint.why == (
        "ordered Mon 5 Apr it comes Fri 9 Apr, 1 day after it is first needed, and the launch may have to wait for it",
    )
    assert not by_id(planned(FIT), "paint=3", today=dt.date(2027, 4, 5))["paint"].late


def test_the_due_date_of_a_part_stands_whatever_its_lead() -> None:
    pod = by_id(planned(FIT), "pod=30")["pod"]
    assert not pod.late
    assert pod.why[-1].startswith("if it is not ordered yet, ordered Mon 5 Apr it comes Wed 5 May, 27 days after")


def test_what_is_done_needs_nothing_more_and_what_is_begun_has_its_stuff() -> None:
    logged = FIT.replace(
        'material = "coat"', 'material = "coat"\nstarted = 2027-04-05T10:00:00\nfinished = 2027-04-05T11:00:00'
    )
    assert list(by_id(planned(logged, now="2027-04-05T12:00"))) == ["pod", "paint"]
    more = logged.replace("[[task]]", task("again", 'material = "coat"') + "[[task]]", 1)
    coat = by_id(planned(more, now="2027-04-05T12:00"), "coat=30")["coat"]
    assert coat.in_use
    assert coat.tasks == ("again",)
    assert not coat.late
    assert "in use already" in supplies_text([coat])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["pod=soon"], "'pod=soon' is no lead time"),
        (["=4"], "'=4' is no lead time"),
        (["-1"], "'-1' is no lead time"),
        (["pod=nan"], "'pod=nan' is no lead time"),
        (["pod=1e9", "x"], "'x' is no lead time"),
    ],
)
def test_what_is_no_lead_time_is_refused(words: list[str], said: str) -> None:
    with pytest.raises(UsageError) as caught:
        lead_of(words)
    assert said in caught.value.text()
    assert len(caught.value.faults) == len(words)


def test_a_lead_for_something_unknown_names_the_nearest() -> None:
    with pytest.raises(UsageError, match="no delivery or material pood; did you mean pod"):
        supplies(planned(FIT), Lead({"pood": 3}))


# -- on paper


def test_the_text_keeps_its_width_and_tells_what_holds() -> None:
    text = supplies_text(supplies(planned(FIT), lead_of(["pod=5"])), 60)
    assert max(cells(line) for line in text.splitlines()) <= 60
    assert "* Thu 8 Apr 11:00 pod, The pod" in text
    assert text.count("HOLDS THE LAUNCH") == 1
    assert "order by Sat 3 Apr 2027" in text
    assert supplies_text([]).startswith("Nothing more is needed")
    assert text.startswith("What is first needed when")
    assert text.split("\n")[0].endswith("* holds the launch, or may") == ("\n* " in text)


def test_the_markdown_is_one_table_with_a_line_for_each() -> None:
    hostile = HEAD.replace('title = "The pod"', 'title = "<b>|pod|*\\u001b[31m"') + NORMALS + FIT
    job = parse_job(hostile)
    plan = plan_job(job, seconds=2.0)
    assert_kept(job, plan)
    found = supplies(plan, lead_of(["2"]))
    tokens = MarkdownIt("commonmark").enable("table").parse(supplies_markdown(found))
    assert [t.tag for t in tokens if t.type == "heading_open"] == ["h1"]
    assert sum(t.type == "table_open" for t in tokens) == 1
    assert sum(t.type == "tr_open" for t in tokens) == len(found) + 1
    assert sum(t.type == "td_open" for t in tokens) == len(found) * 8
    texts = ["".join(c.content for c in t.children or ()) for t in tokens if t.type == "inline" and "pod" in t.content]
    assert "pod: <b>|pod|*\\x1b[31m" in texts
    assert not any(c.type == "html_inline" for t in tokens for c in t.children or ())


def test_the_json_comes_back_whole() -> None:
    plan = planned(FIT)
    found = supplies(plan, lead_of(["pod=5"]))
    read = json.loads(json.dumps(supplies_json(found)))
    assert [one["id"] for one in read] == [one.id for one in found]
    pod = read[1]
    assert dt.datetime.fromisoformat(pod["needed"]) == found[1].needed
    assert pod["order_by"] == "2027-04-03"
    assert pod["holds_launch"] is True
    assert pod["play_hours"] == (found[1].latest - found[1].needed).total_seconds() / 3600
