"""Cure clocks and courses of work that are worked out only as far as they are asked for.

One future looks at a few days of each table, and there are thousands of futures. What these give is to the slot what
:mod:`sequencer.planning.tables` gives.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from math import ceil
from typing import overload

import numpy as np
from numpy.typing import NDArray

from sequencer.cure import FULL_DOSE
from sequencer.planning.tables import Mask

STRETCH = 4 * 96
"""Slots of a course worked out at a time."""


class Runs:
    """Slots alike in temperature, one after another: where each run begins, and by grid line the run it is in."""

    __slots__ = ("at", "at_list", "length", "of")

    def __init__(self, temp_c: NDArray[np.float64], source: NDArray[np.int8]) -> None:
        new = np.ones(len(temp_c) + 1, dtype=bool)
        new[1:-1] = (temp_c[1:] != temp_c[:-1]) | (source[1:] != source[:-1])
        self.at = np.flatnonzero(new)
        """The first slot of each run, and last the last grid line."""
        self.length = np.diff(self.at)
        self.of = np.minimum(np.cumsum(new) - 1, len(self.at) - 2)
        self.at_list: list[int] = self.at.tolist()
        """The same, where they are looked up one at a time."""


class Doses:
    """Dose toward a stage. rate: shape (runs,), what a slot of each run adds. dose: before each run, last in all."""

    __slots__ = ("_by_line", "dose", "dose_list", "rate", "runs")

    def __init__(self, runs: Runs, rate: NDArray[np.float64]) -> None:
        self.runs = runs
        self.rate = rate
        self.dose = np.concatenate(([0.0], np.cumsum(rate * runs.length)))
        self.dose_list: list[float] = self.dose.tolist()
        self._by_line: NDArray[np.float64] | None = None

    @property
    def by_line(self) -> NDArray[np.float64]:
        """Shape (slots + 1,): the dose up to each grid line."""
        if self._by_line is None:
            runs = self.runs
            since = np.arange(len(runs.of)) - runs.at[runs.of]
            self._by_line = self.dose[runs.of] + since * self.rate[runs.of]
        return self._by_line


class LazyCurve(Sequence[int]):
    """When a stage is reached, by the grid line its count begins at; as :meth:`Tables.curve`.

    doses: of this stage, or of one whose hours are in the same proportion at all temperatures. full: the dose of it at
    which this stage is reached.
    """

    __slots__ = ("doses", "full", "size")

    def __init__(self, doses: Doses, full: float = FULL_DOSE) -> None:
        self.doses = doses
        self.full = full
        self.size = doses.runs.at_list[-1] + 1

    def __len__(self) -> int:
        return self.size

    @overload
    def __getitem__(self, at: int) -> int: ...

    @overload
    def __getitem__(self, at: slice) -> Sequence[int]: ...

    def __getitem__(self, at: int | slice) -> int | Sequence[int]:
        if isinstance(at, slice):
            found: list[int] = self.many(np.arange(self.size)[at]).tolist()
            return found
        if at >= self.size:
            raise IndexError(at)
        doses = self.doses
        begins, dose, rate = doses.runs.at_list, doses.dose_list, doses.rate.item
        run = doses.runs.of.item(at)
        full = dose[run] + (at - begins[run]) * rate(run) + self.full
        over = bisect_left(dose, full)
        if over == len(dose):
            return self.size
        run = over - 1
        steps: int = ceil((full - dose[run]) / rate(run))
        return begins[run] + steps

    def many(self, at: NDArray[np.int64]) -> NDArray[np.int64]:
        """As one by one, for an array of grid lines."""
        runs, dose, rate = self.doses.runs, self.doses.dose, self.doses.rate
        run = runs.of[at]
        full = dose[run] + (at - runs.at[run]) * rate[run] + self.full
        over = dose.searchsorted(full)
        run = np.minimum(over, len(dose) - 1) - 1
        with np.errstate(divide="ignore", invalid="ignore"):
            steps = np.ceil((full - dose[run]) / rate[run])
        found: NDArray[np.int64] = np.where(over == len(dose), self.size, runs.at[run] + steps).astype(np.int64)
        return found


class Wet:
    """What a fresh coat must not meet. curve: by end of work when it can no longer be spoiled (None: at the end)."""

    __slots__ = ("curve", "until")

    def __init__(self, until: NDArray[np.int64], curve: LazyCurve | None) -> None:
        """until: shape (slots + 1,), the first slot that would spoil it from each grid line on, or the last line."""
        self.until, self.curve = until, curve

    def spared(self, starts: NDArray[np.int64], ends: NDArray[np.int64]) -> Mask:
        """Which of the works between starts and ends meet nothing, and are past it on the grid."""
        until = self.until[starts]
        if self.curve is None:
            return ends <= until
        dose = self.curve.doses.by_line
        found: Mask = dose[until] >= dose[ends] + self.curve.full
        return found


def next_spoilt(mask: Mask) -> NDArray[np.int64]:
    """Shape (slots + 1,): from each grid line on the first slot of `mask`, or the last grid line."""
    size = len(mask)
    at = np.full(size + 1, size)
    at[:-1][mask] = np.flatnonzero(mask)
    return np.minimum.accumulate(at[::-1])[::-1]


class Worked:
    """The slots in which work of one kind can go on: as an array of slots and as a bit set."""

    __slots__ = ("at", "bits")

    def __init__(self, mask: Mask) -> None:
        self.at = np.flatnonzero(mask)
        self.bits = int.from_bytes(np.packbits(mask, bitorder="little").tobytes(), "little")


class LazyCourse:
    """As :class:`sequencer.planning.tables.Course`, known from the first start asked for on, as far as needed.

    starts, ends, workable: as there; of the starts only those from `cover` on. day: shape (slots + 1,), the local day
    of each grid line; given for one-go work, with unfit: shape (slots + 1,), how many slots before each grid line the
    air is unfit (None: nowhere). wet: what would spoil it (None: nothing). allowed: starts that lift slots allow.
    """

    __slots__ = (
        "allowed",
        "day",
        "ends",
        "first",
        "length",
        "starts",
        "unfit",
        "upto",
        "wet",
        "work",
        "workable",
        "worked",
    )

    def __init__(
        self,
        work: int,
        worked: Worked,
        length: int,
        day: NDArray[np.int32] | None = None,
        unfit: NDArray[np.int64] | None = None,
        wet: Wet | None = None,
        allowed: Mask | None = None,
    ) -> None:
        self.work, self.worked, self.workable, self.length = work, worked, worked.bits, length
        self.day, self.unfit, self.wet, self.allowed = day, unfit, wet, allowed
        self.starts: list[int] = []
        self.ends: list[int] = []
        self.first = self.upto = length

    def cover(self, ready: int) -> None:
        """Make sure that starts from `ready` on are known, for a stretch at least."""
        if ready < self.first:
            starts, ends = self._between(ready, min(self.first, ready + STRETCH))
            if ready + STRETCH < self.first:
                self.starts, self.ends, self.upto = starts, ends, ready + STRETCH
            else:
                self.starts[:0], self.ends[:0] = starts, ends
            self.first = ready
        elif ready >= self.upto:
            self.extend(ready + STRETCH)

    def extend(self, upto: int) -> bool:
        """Go on up to a slot; false where all is known already."""
        if self.upto >= self.length:
            return False
        upto = min(upto, self.length)
        starts, ends = self._between(self.upto, upto)
        self.starts += starts
        self.ends += ends
        self.upto = upto
        return True

    def _between(self, begin: int, end: int) -> tuple[list[int], list[int]]:
        """Feasible starts in [begin, end), and their ends."""
        at = self.worked.at
        last = max(0, len(at) - self.work + 1)
        i, j = at.searchsorted((begin, end)).tolist()
        j = min(last, j)
        if i >= j:
            return [], []
        starts = at[i:j]
        ends = at[i + self.work - 1 : j + self.work - 1] + 1
        keep: Mask | None = None
        if self.day is not None:
            keep = self.day[starts] == self.day[ends]
            if self.unfit is not None:
                keep &= self.unfit[starts] == self.unfit[ends]
        if self.wet is not None:
            dry = self.wet.spared(starts, ends)
            keep = dry if keep is None else keep & dry
        if self.allowed is not None:
            keep = self.allowed[starts] if keep is None else keep & self.allowed[starts]
        if keep is not None:
            starts, ends = starts[keep], ends[keep]
        return starts.tolist(), ends.tolist()
