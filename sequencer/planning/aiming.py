"""Launches aimed at: is there any plan that launches by this slot, or none? Two such questions side by side.

Asked for any plan by a given day, the solver soon finds one that it would not come to by bettering the best plan step
by step; and that there is none by an early day is sooner shown than for all days up to the best (destructive bounds:
Klein and Scholl, European Journal of Operational Research 112, 1999, 322-346). One thread of the solver a question.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from sequencer.planning import proof
from sequencer.planning.placing import Placer

SHARES = (1 / 2, 0.0, 3 / 4, 1 / 4, 7 / 8, 1 / 8, 1.0, 3 / 8)
"""How far up the runs of possible launches the questions aim, two at a time."""


@dataclass
class Aim:
    """One question, whether a launch at slot `last` or before is possible, and its answer.

    starts, keys: a plan that does (start slots by item, of keyings by later item and coat). none: there is none.
    moot: another answer has settled it.
    """

    last: int
    seed: int
    starts: list[int] | None = None
    keys: dict[tuple[int, int], int] | None = None
    none: bool = False
    moot: bool = False


def runs_of(starts: Sequence[int]) -> list[int]:
    """The last of each run of neighbouring slots."""
    return [slot for k, slot in enumerate(starts) if k + 1 == len(starts) or starts[k + 1] != slot + 1]


def questions(launches: Sequence[int], turn: int) -> list[Aim]:
    """What to ask in this turn. launches: the slots at which she could launch and that are not ruled out, rising.

    By the last hours of days, or within the one day there is.
    """
    lasts = runs_of(launches)
    if len(lasts) == 1:
        lasts = list(launches)
    top = len(lasts) - 1
    shares = SHARES[2 * turn % len(SHARES) :][:2]
    first, second = (min(top, int(share * len(lasts))) for share in shares)
    if first == second:
        second = 0 if first else top
    return [Aim(lasts[first], 2 * turn + 1), Aim(lasts[second], 2 * turn + 2)]


def ask(
    placer: Placer, earliest: Sequence[int], bound: int, aims: list[Aim], seconds: float, stop: Callable[[], bool]
) -> None:
    """Answer the questions as far as the seconds go, each in a thread of its own.

    earliest: earliest starts by item. bound: no plan launches before this slot.
    """

    def answer(aim: Aim) -> None:
        proof.reach(placer, earliest, bound, aim, seconds, lambda: aim.moot or stop())
        for other in aims:
            found = aim.starts is not None and aim.starts[placer.problem.finish] <= other.last
            other.moot |= found or (aim.none and other.last <= aim.last)

    threads = [threading.Thread(target=answer, args=[aim], daemon=True) for aim in aims]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
