"""The walk: what a task comes after, the task, what follows it; along the links by keys."""

from __future__ import annotations

from telling_jobs import BAY, HEAD, MISSED, NORMALS, task
from test_tui_tasks import model_of, plain, right, words

from sequencer.job import parse_job
from sequencer.tui.tasks_view import TasksView
from sequencer.tui.walk import Graph


def test_the_walk_shows_stages_deliveries_and_arrows() -> None:
    tasks = BAY.replace('after = ["coat-1@recoat"]', 'after = ["coat-1@recoat"]\ndelivery = "pod"')
    drawn = right(TasksView(model_of(tasks, marked="fit"))).splitlines()
    assert words(drawn[0]) == "comes after here what follows"
    assert words(drawn[1]) == "coat-1@recoat ──► [ fit ] ──► coat-2"
    assert words(drawn[2]) == "+ pod"


def test_the_first_has_nothing_before_it_and_the_last_nothing_after() -> None:
    first = right(TasksView(model_of(marked="coat-1"))).splitlines()[1]
    assert words(first) == "nothing [ coat-1 ] ──► fit, at recoat"
    last = right(TasksView(model_of(marked="relaunch"))).splitlines()[1]
    assert words(last) == "coat-2@immerse ──► [ relaunch ] nothing"


def test_walking_along_the_links() -> None:
    view = TasksView(model_of(marked="fit"))
    assert not view.step(-1)
    assert view.walk.chosen == "coat-1"
    assert view.name == "fit"
    assert view.go()
    assert view.name == "coat-1"
    view.step(1)
    assert view.step(1)
    assert (view.name, view.walk.side) == ("fit", 1)
    view.step(1)
    view.step(1)
    assert (view.name, view.walk.side) == ("relaunch", 0)
    view.step(1)
    assert view.walk.side == 0
    view.step(-1)
    view.step(1)
    assert (view.name, view.walk.side) == ("relaunch", 0)


def test_up_and_down_choose_among_neighbours() -> None:
    tasks = BAY.replace('after = ["fit"]', 'after = ["fit", "coat-1@recoat"]')
    view = TasksView(model_of(tasks, marked="coat-2"))
    view.step(-1)
    assert view.walk.chosen == "fit"
    assert not view.move(1)
    assert view.walk.chosen == "coat-1"
    view.move(5)
    assert view.walk.chosen == "coat-1"
    assert view.name == "coat-2"


def test_many_neighbours_are_counted_and_the_picked_one_is_in_view() -> None:
    tasks = "".join(task(f"part-{n:02}", work=0.25) for n in range(14))
    tasks += task("relaunch", f"after = [{', '.join(f'{chr(34)}part-{n:02}{chr(34)}' for n in range(14))}]")
    view = TasksView(model_of(tasks, marked="relaunch"))
    assert "more" in right(view)
    view.step(-1)
    for n in range(14):
        assert view.walk.chosen == f"part-{n:02}"
        drawn = view.draw(80, 20)
        lit = [text for made in drawn for text, role in made.runs if "reverse" in role and "part" in text]
        assert lit == [f"part-{n:02}"]
        view.move(1)


def test_a_delivery_is_no_task_to_go_to() -> None:
    view = TasksView(model_of(BAY.replace("work = 2", 'work = 2\ndelivery = "pod"'), marked="fit"))
    view.step(-1)
    view.move(1)
    assert view.walk.chosen == ""
    assert not view.go()
    assert view.name == "fit"


def test_all_the_way_lights_up_both_ways() -> None:
    view = TasksView(model_of(marked="fit"))
    view.lit = True
    listed = [made.plain.split("│")[0] for made in view.draw(80, 20)]
    assert any("◄ coat-1" in text for text in listed)
    assert any("► coat-2" in text for text in listed)
    assert any("► relaunch" in text for text in listed)
    assert listed[-1].split() == ["◄", "1", "►", "2"]


def test_a_graph_reaches_everything() -> None:
    graph = Graph(parse_job(HEAD + NORMALS + BAY), None)
    assert graph.all_before("relaunch") == {"coat-1", "fit", "coat-2"}
    assert graph.all_after("coat-1") == {"fit", "coat-2", "relaunch"}


def test_a_keying_stands_in_the_list_and_on_the_walk() -> None:
    view = TasksView(model_of(MISSED, "2027-04-05T18:00:00", marked="coat-2/key/coat-1"))
    text = plain(view.draw(80, 20))
    assert "keying coat-1" in text
    assert "misses coat-1's window" in words(right(view))
    assert words(right(view).splitlines()[1]).startswith("coat-1 ──► [ keying coat-1 ] ──► coat-2")
