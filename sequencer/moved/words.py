"""What a change did, in words; the same sentences on paper and on screens."""

from __future__ import annotations

import math
from collections.abc import Iterator

from sequencer.moved.comparing import Moved
from sequencer.telling import clock, day_clock, lasting, money, near_clock

TOLD_MOVES = 6
"""Rows told one by one in sentences; the rest are counted."""


def moved_sentences(moved: Moved) -> list[str]:
    """What a change did, as whole sentences: the launch first, then windows, today, rows, and why."""
    said = [_launch(moved)]
    said += cause_sentences(moved)
    said += missed_sentences(moved)
    said += window_sentences(moved)
    said += today_sentences(moved)
    said += _row_sentences(moved)
    return said if len(said) > 1 or not moved.nothing else [f"Nothing moves. {said[0]}"]


def cause_sentences(moved: Moved) -> Iterator[str]:
    """How far the launch is proved, and why it moved."""
    if not moved.after.proved:
        yield f"As found so far. Not ruled out: {day_clock(moved.after.bound)}."
    if moved.why:
        yield f"Why: {moved.why}."


def _launch(moved: Moved) -> str:
    if not moved.by:
        return f"Launch stays {day_clock(moved.after.launch)}{_money(moved, ': ')}."
    verb = "slides" if moved.by > 0 else "comes forward"
    nights = (
        f"{abs(moved.nights)} night{'' if abs(moved.nights) == 1 else 's'} {'more' if moved.nights > 0 else 'less'}"
    )
    apart = nights if moved.nights else f"{lasting(abs(moved.by))} {'later' if moved.by > 0 else 'sooner'}"
    was, now = day_clock(moved.before.launch), day_clock(moved.after.launch)
    return f"Launch {verb} from {was} to {now}: {apart}{_money(moved, ', ')}."


def _money(moved: Moved, lead: str) -> str:
    if not moved.cost:
        return ""
    # Costs round against the owner: more is rounded up, less is rounded down.
    more = moved.cost > 0
    whole = moved.cost if more else math.floor(-moved.cost + 1e-9)
    return f"{lead}{money(whole, moved.after.currency)} {'more' if more else 'less'}"


def missed_sentences(moved: Moved) -> Iterator[str]:
    """The windows missed by the change, and what it takes to key each."""
    near = moved.after.launch
    for miss in moved.missed:
        dusty = ", dusty" if miss.dusty else ""
        what = f"{miss.after} misses {miss.before}'s window"
        yield f"{what}. Key it {near_clock(miss.start, near)}: {lasting(miss.work)}, one hand{dusty}."


def window_sentences(moved: Moved) -> Iterator[str]:
    """What need not be keyed any more, and which windows are tight."""
    near = moved.after.launch
    for key in moved.gone_keyings:
        after, _, before = key.partition("/key/")
        yield f"{before} need not be keyed for {after}."
    for tight in moved.tight:
        by = clock(tight.last) if tight.last.date() == tight.planned.date() else near_clock(tight.last, near)
        yield f"{tight.after} is tight on {tight.before}: {near_clock(tight.planned, near)}, by {by} at the latest."


def today_sentences(moved: Moved) -> Iterator[str]:
    """What to leave today, and what to do instead."""
    near = moved.after.launch
    if moved.off_today:
        left = [f"{t.row}{f' (now {near_clock(t.start, near)})' if t.start else ''}" for t in moved.off_today]
        yield f"Leave today: {', '.join(left)}."
    if moved.onto_today:
        yield f"Do today instead: {', '.join(f'{t.row} {clock(t.start)}' for t in moved.onto_today if t.start)}."


def _row_sentences(moved: Moved) -> Iterator[str]:
    near = moved.after.launch
    for verb, moves in (("slides", moved.slid), ("comes forward", moved.forward)):
        for move in moves[:TOLD_MOVES]:
            end = "ends " if move.what == "end" else ""
            yield f"{move.row} {verb} {lasting(abs(move.by))}: {end}{near_clock(move.after, near)}."
        if len(moves) > TOLD_MOVES:
            yield f"{len(moves) - TOLD_MOVES} more {verb.replace('slides', 'slide').replace('comes', 'come')}."
    yield from row_names(moved)


def row_names(moved: Moved) -> Iterator[str]:
    """The rows that are new or gone."""
    for names, words in ((moved.new_rows, "new"), (moved.gone_rows, "gone")):
        if names:
            yield f"{', '.join(names)} {'is' if len(names) == 1 else 'are'} {words}."
