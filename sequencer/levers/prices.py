"""What helps cost, as the owner has said: ``NAME.prices.toml`` beside the job, a help and its price a line.

They are a file of their own because every field of the job file is agreed, and none of them is such a price. A help
goes by its id, ``cover:drive-bay``; somebody's days by ``a-day:wil``, the price of each day he comes.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from sequencer.errors import Fault, JobError, one_line
from sequencer.job import Job
from sequencer.job.sidetable import SideTable
from sequencer.levers.lever import Lever, Trials, Tried, rank_key
from sequencer.levers.people import called, is_regular

SUFFIX = ".prices.toml"
HEAD = "# What helps cost, in the yard's currency: a help by its id; a-day:NAME is for each day somebody comes.\n\n"
A_DAY = "a-day:"
MOST = 1_000_000.0
"""More is a slip of the finger."""

HINT = 'write each as "cover:drive-bay" = 300'

Prices = Mapping[str, float]
"""By help, or by ``a-day:NAME``, in the yard's currency."""


@dataclass(frozen=True)
class Asked:
    """A price that may be told. key: what it is kept by; words: what it is of, for a question."""

    key: str
    words: str


def prices_file(job: Path) -> Path:
    """Where the prices of a job file lie."""
    return job.with_name(f"{job.stem}{SUFFIX}")


def asked_of(tried: Tried, job: Job) -> list[Asked]:
    """The prices that may be told of what was tried: of each help, or a day of each helper in it."""
    found: dict[str, str] = {}
    for lever in tried.levers:
        people = _paid(lever, job)
        if people:
            found |= {f"{A_DAY}{name}": f"{words}, for each day" for name, words in people.items()}
        else:
            found[lever.id] = lever.name
    return [Asked(key, words) for key, words in found.items()]


def _paid(lever: Lever, job: Job) -> dict[str, str]:
    """Whose days a help is about: of several only those who are not always there."""
    crew = {person.id: person for person in job.crew}
    people = [crew[name] for name in sorted({name for name, _ in lever.days}) if name in crew]
    helpers = [person for person in people if not is_regular(person)]
    return {person.id: called(person) for person in (helpers or people)}


def price_of(lever: Lever, prices: Prices, until: dt.date) -> float | None:
    """What a help costs: as told, somebody by the days he comes until the launch, else as the help itself says."""
    if lever.id in prices:
        return prices[lever.id]
    days = [prices[f"{A_DAY}{name}"] for name, date in lever.days if date <= until and f"{A_DAY}{name}" in prices]
    told = any(f"{A_DAY}{name}" in prices for name, _ in lever.days)
    return sum(days) if told else lever.price


def with_prices(trials: Trials, prices: Prices) -> Trials:
    """What was tried at these prices and no others told before, ranked anew."""
    trials = trials.unpriced or trials
    tried = [
        replace(t, levers=tuple(replace(v, price=price_of(v, prices, t.launch.date())) for v in t.levers))
        for t in trials.tried
    ]
    return replace(trials, tried=tuple(sorted(tried, key=rank_key)), unpriced=trials)


def read_prices(job: Path) -> dict[str, float]:
    """The prices beside a job file; none where there is no such file.

    Raises JobError where the file is no table of prices, SaveError where it can't be read.
    """
    table = _table(job)
    return _prices(table, table.text())


def _table(job: Path) -> SideTable:
    return SideTable(prices_file(job), HEAD, "prices", HINT)


def _prices(table: SideTable, text: str | None) -> dict[str, float]:
    values = table.values(text)
    faults = [Fault(one_line(key, 80), "is no price", HINT) for key, value in values.items() if not _is_price(value)]
    if faults:
        raise JobError(faults, str(table.path))
    return {key: float(value) for key, value in values.items()}


def _is_price(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= MOST


def parse_price(text: str) -> float | None:
    """An amount as people write it: ``300``, ``1,250.50``, with or without a currency; None for an empty line.

    Raises ValueError, a plain sentence, for anything else.
    """
    bare = "".join(letter for letter in text if letter in "0123456789.,-")
    if not text.strip():
        return None
    wrong = "That is no amount: write it like 300 or 1250.50, or nothing to take it back."
    try:
        value = float(bare.replace(",", ""))
    except ValueError:
        raise ValueError(wrong) from None
    digits = sum(letter.isdecimal() for letter in text)
    if digits != sum(letter in "0123456789" for letter in bare) or ("," in bare and not _thousands(bare)):
        raise ValueError(wrong)
    if value < 0 or value > MOST:
        raise ValueError(f"A price is between 0 and {MOST:,.0f}.")
    return math.ceil(value * 100 - 1e-6) / 100


def _thousands(bare: str) -> bool:
    """Whether commas part thousands and nothing else: 1,250 and not 12,50."""
    whole = bare.lstrip("-").partition(".")[0].split(",")
    return 0 < len(whole[0]) <= 3 and all(len(part) == 3 for part in whole[1:])


def keep_price(job: Path, key: str, price: float | None) -> dict[str, float]:
    """Keep a price beside a job file; None takes it away. What else stands there stays. Returns all prices.

    Raises SaveError, JobError, and then the file is as it was.
    """
    table = _table(job)
    before = table.text()
    _prices(table, before)
    written = int(price) if price is not None and price == int(price) else price
    return _prices(table, table.keep(before, key, written))
