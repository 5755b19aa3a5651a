"""The plan put into words: what holds the launch, why a task starts when it does, by when a coat must be on.

Paper and screens say the same things because they ask here. Sentences name tasks by their ids, as the job
file does.
"""

from sequencer.telling.causes import cause_name, split_of, stage_words, waits_for, why_row
from sequencer.telling.figures import (
    clock,
    column_clock,
    count_hands,
    day_clock,
    day_name,
    duration,
    hours_text,
    lasting,
    money,
    near_clock,
    span_clock,
)
from sequencer.telling.ledger import LedgerLine, ledger, ledger_head, ledger_total
from sequencer.telling.sentences import Sentence, break_text, headline, launch_sentences
from sequencer.telling.waits import called, due_text, hours_of
from sequencer.telling.weather import weather_reason
from sequencer.telling.windows import Window, best_window, next_last_start, window_words, windows

__all__ = [
    "LedgerLine",
    "Sentence",
    "Window",
    "best_window",
    "break_text",
    "called",
    "cause_name",
    "clock",
    "column_clock",
    "count_hands",
    "day_clock",
    "day_name",
    "due_text",
    "duration",
    "headline",
    "hours_of",
    "hours_text",
    "lasting",
    "launch_sentences",
    "ledger",
    "ledger_head",
    "ledger_total",
    "money",
    "near_clock",
    "next_last_start",
    "span_clock",
    "split_of",
    "stage_words",
    "waits_for",
    "weather_reason",
    "why_row",
    "window_words",
    "windows",
]
