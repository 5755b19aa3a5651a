"""Building blocks: generic materials, chains of tasks of the trade, new jobs from them, copies of jobs.

Text in, text out: everything here is TOML for the owner to adjust, and every number in it names its source.
"""

from sequencer.blocks.copying import changed_head, copy_of
from sequencer.blocks.fitting import (
    Fitted,
    Taken,
    block_about,
    block_names,
    block_text,
    fit_block,
    material_names,
    material_text,
)
from sequencer.blocks.newjob import new_job_text

__all__ = [
    "Fitted",
    "Taken",
    "block_about",
    "block_names",
    "block_text",
    "changed_head",
    "copy_of",
    "fit_block",
    "material_names",
    "material_text",
    "new_job_text",
]
