"""Job files and helpers for the tests of the screens: jobs by text, a frozen clock, the screen as text."""

from __future__ import annotations

import datetime as dt
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from textual.pilot import Pilot

from sequencer.tui.app import SequencerApp

FROZEN = dt.datetime(2027, 6, 7, 7, 40, tzinfo=dt.UTC)
"""The tests' clock: Monday morning, on the day after the haul-out."""
NARROW, WIDE = (80, 24), (120, 40)

HEAD = """\
[job]
title = "Two coats"
boat = "Tern, 7 m sloop"
timezone = "UTC"
hauled = 2027-06-06T10:00:00
finish = "relaunch"

[yard]
currency = "GBP"
night = 30.0
fixed = 300.0

[[crew]]
id = "owner"
title = "You"
hours = [ { days = "Mon-Sun", from = "08:00", to = "12:00" }, { days = "Mon-Sun", from = "13:00", to = "17:00" } ]

[[material]]
id = "primer"
apply = { min_temp = 5, above_dew = 3, max_humidity = 85 }
temps = [10, 20]
set = [4, 2]
recoat = { opens = [4, 2], closes = [12, 8], if_missed = { work = 1, dust = true } }
sand = [20, 12]
immerse = [40, 24]
"""

NORMALS = "".join(
    f"[[weather.normal]]\nmonth = {month}\nlow = 9.0\nhigh = 19.0\ndew = 6.0\nwet_days = 5\nrain_hours = 3\n\n"
    for month in range(1, 13)
)


def zone(name: str, title: str = "", shelter: str = "open") -> str:
    """A zone's table; the title is written as a literal string, so it must hold no single quotes."""
    said = f"title = '{title}'\n" if title else ""
    return f'[[zone]]\nid = "{name}"\n{said}shelter = "{shelter}"\n\n'


def task(name: str, where: str = "bottom", more: str = "", title: str = "", work: float = 2) -> str:
    """A task's table; `more` is further lines."""
    said = f"title = '{title}'\n" if title else ""
    place = f'zone = "{where}"\n' if where else ""
    return f'[[task]]\nid = "{name}"\n{said}{place}work = {work}\n{more}\n\n'


RELAUNCH = task("relaunch", "bottom", 'after = ["coat-2@immerse"]', work=1)
COATS = (
    task("scrape", more='makes = "dust"', work=3)
    + task("coat-1", more='material = "primer"\nafter = ["scrape"]')
    + task("coat-2", more='material = "primer"\nafter = ["coat-1@recoat"]')
)
SMALL = HEAD + NORMALS + zone("bottom", "Bottom") + COATS + RELAUNCH
"""One zone, two coats with a window between them, planned from the frozen clock."""


def job_file(folder: Path, text: str = SMALL) -> Path:
    """`text` as a job file."""
    path = folder / "job.toml"
    path.write_text(text, encoding="utf-8")
    return path


def app_on(path: Path | None, **more: object) -> SequencerApp:
    """The app on a job file under the frozen clock."""
    settings: dict[str, object] = {"clock": lambda: FROZEN, "seconds": 1.0, "ascii": False, **more}
    return SequencerApp(path, **settings)  # type: ignore[arg-type]


@asynccontextmanager
async def running(app: SequencerApp, size: tuple[int, int] = NARROW) -> AsyncIterator[Pilot[None]]:
    """The app on a screen of `size`, its first search over."""
    async with app.run_test(size=size) as pilot:
        await settled(app, pilot)
        yield pilot


async def until(pilot: Pilot[None], wanted: Callable[[], bool]) -> None:
    """Wait until something shows; fails where it never does."""
    for _ in range(400):
        if wanted():
            return
        await pilot.pause(0.02)
    raise AssertionError("it never came")


async def settled(app: SequencerApp, pilot: Pilot[None]) -> None:
    """Wait until no search is on and the messages are handled."""
    for _ in range(400):
        await pilot.pause(0.01)
        if not app.model.looking and (app.model.plan is not None or app.model.trouble is not None):
            break
    await pilot.pause()


def lines_of(app: SequencerApp) -> list[str]:
    """The screen as text, a string a line."""
    strips = app.screen._compositor.render_strips()
    return ["".join(segment.text for segment in strip).rstrip() for strip in strips]


def text_of(app: SequencerApp) -> str:
    """The screen as one text."""
    return "\n".join(lines_of(app))


def line_with(app: SequencerApp, words: str) -> str:
    """The first line of the screen that holds `words`."""
    return next(line for line in lines_of(app) if words in line)
