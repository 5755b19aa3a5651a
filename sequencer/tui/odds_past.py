"""The file of past years that the odds draw days from: which there are, and whether one will do."""

from __future__ import annotations

import datetime as dt

from sequencer.errors import SequencerError, one_line
from sequencer.job import Job
from sequencer.odds.batches import climate_of
from sequencer.planning.plan import Plan
from sequencer.tui.clocktext import day_month
from sequencer.tui.forms import Option
from sequencer.weather.climate_years import PastYears
from sequencer.weather.forecast import weather_files

NORMALS = ""
"""The key of the option that names no file."""

MOST_FAULTS = 6
"""Faults of a file told at once."""

NO_FILES = (
    "No file of weather lies beside the job. Put one of past years or of a typical year there: an EPW file, or a "
    "table of hours (CSV)."
)


def past_options(job: Job) -> list[Option]:
    """The weather files beside a job, and none of them where one is named."""
    found = [Option(path.name, path.name) for path in weather_files(job.folder)]
    usual = "the usual months of the job" if job.weather.normal else "no days are drawn at all"
    none = [Option(NORMALS, "none", usual)] if job.weather.past is not None else []
    return [*found, *none]


def past_fault(job: Job, plan: Plan | None, name: str) -> str:
    """Why a file beside a job can't be what its odds draw days from, in plain words; empty where it can."""
    weather = job.weather.model_copy(update={"past": name})
    shown = one_line(name, 60)
    try:
        climate = climate_of(job.model_copy(update={"weather": weather}))
    except SequencerError as error:
        return "\n".join(f"{shown}: {fault.sentence()}" for fault in error.faults[:MOST_FAULTS])
    assert isinstance(climate, PastYears)
    if not climate.dates:
        return f"{shown} has no whole day. Name a file of past years, with an hour a line."
    date = _unknown(climate, plan)
    if date is None:
        return ""
    when = f"{shown} has no days of the time around {day_month(date)}, which the stay reaches into."
    return f"{when} Name a file of whole years, or of that season."


def _unknown(climate: PastYears, plan: Plan | None) -> dt.date | None:
    """The first date from now to the launch that the record has nothing near."""
    if plan is None:
        return None
    first, last = plan.moment(plan.now).date(), plan.launched.date()
    dates = (first + dt.timedelta(days=k) for k in range((last - first).days + 1))
    return next((date for date in dates if not climate.knows(date)), None)
