"""Windows in words: the last start, what missing one costs, coats held back for the next."""

from __future__ import annotations

from dataclasses import replace

from telling_jobs import BAY, HELD, MISSED, SOFT, plan_of

from sequencer.planning.plan import Held
from sequencer.telling import best_window, launch_sentences, next_last_start, why_row, window_words, windows


def test_the_last_start_is_when_the_work_still_fits_the_shift() -> None:
    plan = plan_of(SOFT)
    window = best_window(plan, "coat-1")
    assert window is not None
    # Laid 10:00-11:00: open from 15:00 to 17:00; you leave at 17:30 and the work takes 45 minutes.
    assert str(plan.moment(window.opens))[:16] == "2027-04-05 15:00"
    assert str(plan.moment(window.last))[:16] == "2027-04-05 16:45"
    assert str(plan.moment(window.closes))[:16] == "2027-04-05 17:00"
    said = window_words(plan, window)
    assert said[0] == "coat-1 takes coat-2 while still soft: Mon 5 15:00 to 17:00, 45 min of work."
    assert said[1] == "You leave at 17:30, so start by 16:45."
    assert said[2].startswith("Missed: key it from Tue 6 08:00, 2 h, one hand, dusty. coat-2 slides 19 h, ")


def test_the_window_that_shuts_next() -> None:
    plan = plan_of(SOFT)
    window = next_last_start(plan, plan.now)
    assert window is not None
    assert (window.before, window.after) == ("coat-1", "coat-2")
    assert next_last_start(plan, window.last + 1) is None


def test_a_missed_window_says_by_how_much_and_what_keying_takes() -> None:
    plan = plan_of(MISSED, now="2027-04-05T18:00:00")
    window = best_window(plan, "coat-1")
    assert window is not None
    assert window.keyed == "coat-2/key/coat-1"
    assert not window.met
    assert window_words(plan, window) == [
        "coat-2 misses coat-1's window, shut Mon 5 17:00, by 17 h. Keying coat-1 Tue 6 08:00: 2 h, one hand, dusty."
    ]
    assert "coat-2 comes after keying coat-1, whose window was missed: done Tue 6 10:00" in [
        s.text for s in launch_sentences(plan)
    ]


def test_a_coat_that_is_covered_says_so() -> None:
    tasks = MISSED.replace("not_before = 2027-04-06", "started = 2027-04-05T16:00:00\nfinished = 2027-04-05T16:30:00")
    plan = plan_of(tasks, now="2027-04-05T18:00:00")
    window = best_window(plan, "coat-1")
    assert window is not None
    assert window.begun
    assert window_words(plan, window) == ["coat-1 is covered: coat-2 went on Mon 5 16:00."]


def test_a_coat_held_back_says_for_whom() -> None:
    plan = plan_of(HELD)
    assert not plan.missed
    told = " ".join(s.text for s in launch_sentences(plan))
    assert "coat-1 is held back on purpose so that coat-2 meets its window" in told


def test_a_keying_planned_later_than_it_could_be_is_not_said_to_meet_a_window() -> None:
    plan = plan_of(MISSED, now="2027-04-05T18:00:00")
    keying = plan.rows["coat-2/key/coat-1"]
    late = replace(keying, explain=lambda: Held("cure", "coat-1", "done", keying.start - 4, (("cure", 4),)))
    assert why_row(plan, late).endswith(": it could go sooner, and is planned for Tue 6 08:00")


def test_every_window_is_told_without_a_gap() -> None:
    for tasks in (BAY, SOFT, MISSED):
        plan = plan_of(tasks)
        for window in windows(plan):
            assert all(text.endswith(".") for text in window_words(plan, window))
