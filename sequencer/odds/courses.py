"""Cure clocks and courses of work that are worked out only as far as they are asked for.

One future looks at a few days of each table, and there are thousands of futures. What these give is to the slot what
:mod:`sequencer.planning.tables` gives.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import overload

import numpy as np
from numpy.typing import NDArray

from sequencer.cure import FULL_DOSE
from sequencer.planning.tables import Mask

STRETCH = 8 * 96
"""Slots of a course worked out at a time."""


class Runs:
    """Slots alike in temperature, one after another: where each run begins, and by grid line the run it is in."""

    __slots__ = ("at", "of")

    def __init__(self, temp_c: NDArray[np.float64], source: NDArray[np.int8]) -> None:
        new = np.ones(len(temp_c) + 1, dtype=bool)
        new[1:-1] = (temp_c[1:] != temp_c[:-1]) | (source[1:] != source[:-1])
        self.at = np.flatnonzero(new)
        """The first slot of each run, and last the last grid line."""
        self.of = np.minimum(np.cumsum(new) - 1, len(self.at) - 2)


class LazyCurve(Sequence[int]):
    """When a stage is reached, by the grid line its count begins at; as :meth:`Tables.curve`.

    rate: shape (runs,), what each slot of a run adds to the dose.
    """

    __slots__ = ("dose", "rate", "runs", "size")

    def __init__(self, runs: Runs, rate: NDArray[np.float64]) -> None:
        self.runs = runs
        self.rate = rate
        self.dose = np.concatenate(([0.0], np.cumsum(rate * np.diff(runs.at))))
        self.size = int(runs.at[-1]) + 1

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
        runs, dose, rate = self.runs, self.dose, self.rate
        run = runs.of[at]
        full = dose[run] + (at - runs.at[run]) * rate[run] + FULL_DOSE
        over = dose.searchsorted(full)
        if over == len(dose):
            return self.size
        run = over - 1
        return int(runs.at[run] + ceil((full - dose[run]) / rate[run]))

    def many(self, at: NDArray[np.int64]) -> NDArray[np.int64]:
        """As one by one, for an array of grid lines."""
        runs, dose, rate = self.runs, self.dose, self.rate
        run = runs.of[at]
        full = dose[run] + (at - runs.at[run]) * rate[run] + FULL_DOSE
        over = dose.searchsorted(full)
        run = np.minimum(over, len(dose) - 1) - 1
        with np.errstate(divide="ignore", invalid="ignore"):
            steps = np.ceil((full - dose[run]) / rate[run])
        found: NDArray[np.int64] = np.where(over == len(dose), self.size, runs.at[run] + steps).astype(np.int64)
        return found


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
    air is unfit (None: nowhere). wet: how many slots before each grid line would spoil it, and by the end of work
    when they no longer can (None: at the end). allowed: starts that lift slots allow.
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
        wet: tuple[NDArray[np.int64], LazyCurve | None] | None = None,
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
        i, j = at.searchsorted(begin), min(last, int(at.searchsorted(end)))
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
            spoils, until = self.wet
            stop = ends if until is None else until.many(ends)
            dry = (stop <= self.length) & (spoils[starts] == spoils[np.minimum(stop, self.length)])
            keep = dry if keep is None else keep & dry
        if self.allowed is not None:
            keep = self.allowed[starts] if keep is None else keep & self.allowed[starts]
        if keep is not None:
            starts, ends = starts[keep], ends[keep]
        return starts.tolist(), ends.tolist()
