"""What may turn out otherwise but for the weather: hours of work, and when deliveries come."""

from __future__ import annotations

import datetime as dt

import numpy as np
from numpy.typing import NDArray

from sequencer.grid import hours_to_slots
from sequencer.job import Delivery
from sequencer.odds.ground import Ground
from sequencer.planning.problem import work_slots

Reals = NDArray[np.float64]


def pert_shape(low: Reals, likely: Reals, high: Reals) -> tuple[Reals, Reals]:
    """The two numbers of the beta distribution over [low, high] of PERT.

    Its mean is (low + 4 likely + high) / 6 and its deviation (high - low) / 6: Malcolm, Roseboom, Clark and Fazar,
    Operations Research 7, 1959, 646-669. Where low and high are the same, (1, 1).
    """
    span = np.where(high > low, high - low, 1.0)
    mean = np.where(high > low, (4 * (likely - low) + span) / (6 * span), 0.5)
    focus = np.where(high > low, 36 * mean * (1 - mean) - 1, 2.0)
    return mean * focus, (1 - mean) * focus


class Chances:
    """Draws hours and deliveries for the futures of a job."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground
        tasks = ground.job.task
        spans = [(t.work.low, t.work.likely, t.work.high) if t.work else (t.hours,) * 3 for t in tasks]
        self.low, self.likely, self.high = np.array(spans).T
        self.shape = pert_shape(self.low, self.likely, self.high)
        self.likely_work = np.array([work_slots(task) for task in tasks], dtype=np.int64)
        self.most = np.array([self._most(i) for i in range(len(tasks))], dtype=np.int64)
        self.due = {d.id: ground.grid.slot(d.due) for d in ground.job.delivery}

    @property
    def uncertain_hours(self) -> bool:
        """Whether any hours may turn out otherwise."""
        return bool(np.any(self.high > self.low))

    @property
    def uncertain_deliveries(self) -> bool:
        """Whether any delivery may come on another day."""
        return any(d.range is not None for d in self.ground.job.delivery)

    def _most(self, index: int) -> int:
        """The most quarter hours a task can take: one-go work that runs long is done within its people's day."""
        item = self.ground.problem.items[index]
        task = item.task
        if task.wait is not None or not task.one_go:
            return hours_to_slots(float(self.high[index]))
        return max(
            int(self.likely_work[index]),
            min(hours_to_slots(task.work.high if task.work else 0.0), self.ground.longest_go[index]),
        )

    def work(self, rng: np.random.Generator) -> NDArray[np.int64]:
        """Shape (tasks,): quarter hours each task takes in one future."""
        hours = self.low + (self.high - self.low) * rng.beta(*self.shape)
        slots = np.maximum(1, np.ceil(hours * 4 - 1e-9)).astype(np.int64)
        return np.where(self.high > self.low, np.minimum(slots, self.most), self.likely_work)

    def deliveries(self, rng: np.random.Generator) -> dict[str, int]:
        """By id the slot at which each delivery comes in one future."""
        return {delivery.id: self._delivery(delivery, rng) for delivery in self.ground.job.delivery}

    def _delivery(self, delivery: Delivery, rng: np.random.Generator) -> int:
        """Between earliest and latest, most likely when it is due; told as days, it comes on a whole day."""
        if delivery.range is None:
            return self.due[delivery.id]
        grid = self.ground.grid
        low, high = (grid.slot(moment) for moment in delivery.range)
        likely = min(max(self.due[delivery.id], low), high)
        a, b = pert_shape(*(np.array(float(slot)) for slot in (low, likely, high)))
        slot = int(np.ceil(low + (high - low) * rng.beta(float(a), float(b))))
        if any(isinstance(moment, dt.datetime) for moment in delivery.range):
            return slot
        day = grid.day_of(slot)
        return slot if grid.day_start(day) == slot else grid.day_start(day + 1)
