"""What the owner wrote: the job file as models, read with all its faults at once."""

from sequencer.job.crosscheck import job_faults
from sequencer.job.links import Link, parse_link
from sequencer.job.logbook import log_faults
from sequencer.job.models import (
    Apply,
    Crew,
    Day,
    Delivery,
    Gear,
    GearUse,
    Head,
    Hours,
    IfMissed,
    Job,
    Material,
    Moment,
    Needs,
    Normal,
    Shelter,
    Stage,
    Task,
    Weather,
    Work,
    Yard,
    Zone,
)
from sequencer.job.reading import parse_job, read_job

__all__ = [
    "Apply",
    "Crew",
    "Day",
    "Delivery",
    "Gear",
    "GearUse",
    "Head",
    "Hours",
    "IfMissed",
    "Job",
    "Link",
    "Material",
    "Moment",
    "Needs",
    "Normal",
    "Shelter",
    "Stage",
    "Task",
    "Weather",
    "Work",
    "Yard",
    "Zone",
    "job_faults",
    "log_faults",
    "parse_job",
    "parse_link",
    "read_job",
]
