"""The card of a task: what the job file says and what the plan makes of it."""

from __future__ import annotations

from telling_jobs import BAY, HEAD, MISSED, NORMALS, SOFT
from test_tui_tasks import model_of, right, words

from sequencer.errors import Fault, NoPlanError
from sequencer.job import parse_job
from sequencer.tui.model import Model
from sequencer.tui.tasks_view import TasksView


def test_the_card_by_hand() -> None:
    said = words(right(TasksView(model_of(marked="fit")), 120, 36))
    for part in (
        "where Bench hands 2, You and Wil",
        "work 2:00 material none",
        "after coat-1@recoat delivery none",
        "weather any gear none",
        "planned Wed 7 09:00-11:00",
        "held by hands short: Wil is next here Wed 7 09:00",
        "happened nothing yet",
    ):
        assert part in said


def test_the_card_of_a_coat_tells_its_stages() -> None:
    said = words(right(TasksView(model_of(SOFT, marked="coat-1")), 120, 36))
    assert "work 1:00, in one go material coat" in said
    assert "its coat set Mon 5 15:00, soft Mon 5 15:00, recoat Mon 5 16:00, hard Mon 5 19:00" in said


def test_the_card_of_what_has_happened() -> None:
    said = words(right(TasksView(model_of(MISSED, "2027-04-05T18:00:00", marked="coat-1")), 120, 36))
    assert "happened started Mon 5 10:00, finished Mon 5 11:00" in said
    assert "was Mon 5 10:00-11:00" in said


def test_a_long_note_scrolls() -> None:
    note = "every word of it counts " * 30
    view = TasksView(model_of(BAY.replace("hands = 2", f'hands = 2\nnote = "{note}"'), marked="fit"))
    assert "more lines: page down" in right(view)
    view.card_top = 999
    assert "page up for the rest" in right(view)
    assert view.card_top < 99


def test_a_job_without_a_plan_still_has_its_cards() -> None:
    job = parse_job(HEAD + NORMALS + BAY)
    trouble = NoPlanError([Fault("task fit", "it needs 3 hands", "")])
    said = words(right(TasksView(Model(job, trouble=trouble, marked="fit")), 120, 36))
    assert "planned not yet" in said
    assert "[ fit ]" in said
