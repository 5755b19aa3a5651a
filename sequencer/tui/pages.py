"""The pages there are, in the order of the rail."""

from __future__ import annotations

from sequencer.tui.air import AirPage
from sequencer.tui.cures import CuresPage
from sequencer.tui.day import DayPage
from sequencer.tui.holds import HoldsPage
from sequencer.tui.levers import LeversPage
from sequencer.tui.moved import MovedPage
from sequencer.tui.odds import OddsPage
from sequencer.tui.page import Page
from sequencer.tui.stay import StayPage
from sequencer.tui.tasks import TasksPage


def page_types() -> tuple[type[Page], ...]:
    """Every page's class; a new page is added here and in the keys, nowhere else."""
    return (StayPage, DayPage, CuresPage, HoldsPage, TasksPage, AirPage, OddsPage, LeversPage, MovedPage)
