"""Small jobs whose plans can be worked out by hand: a steady 20 °C on the bench, weather by the day outside."""

from __future__ import annotations

import datetime as dt

from sequencer.job import parse_job
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job

HEAD = """\
[job]
title = "Two coats"
boat = "Tern"
timezone = "Europe/London"
hauled = 2027-04-05T10:00:00
finish = "relaunch"

[yard]
currency = "GBP"
night = 38.0
free_nights = 2
fixed = 420.0

[[crew]]
id = "owner"
title = "You"
hours = [ { days = "Mon-Sat", from = "08:00", to = "12:00" }, { days = "Mon-Sat", from = "13:00", to = "17:30" } ]

[[crew]]
id = "wil"
title = "Wil"
hours = [ { days = "Wed", from = "09:00", to = "16:00" } ]

[[zone]]
id = "bench"
title = "Bench"
shelter = "inside"
heat_to = 20

[[zone]]
id = "deck"
title = "Deck"

[[gear]]
id = "mould"
title = "The mould"

[[delivery]]
id = "pod"
title = "The pod"
due = 2027-04-08T11:00:00

[[material]]
id = "coat"
temps = [20]
set = 4
recoat = { opens = 5, closes = 100, if_missed = { work = 1.5, dust = true } }
soft = { opens = 4, closes = 7, if_missed = { work = 2, dust = true } }
night = { opens = 10, closes = 16, if_missed = { work = 20, dust = true } }
hard = 8
sand = 12
immerse = 20

[[material]]
id = "paint"
apply = { min_temp = 8, above_dew = 3 }
temps = [20]
set = 1
immerse = 2

"""
"""People, places and stuff. Monday 5 April 10:00 she is hauled; Wil comes on Wednesdays."""


def day(date: str, low: float = 12, high: float = 16, dew: float = 4, rain: str = "") -> str:
    """A day of weather by hand; rain: ``10:00/14:00``."""
    wet = f'rain = ["{rain}"]\n' if rain else ""
    return f"[[weather.day]]\ndate = {date}\nlow = {low}\nhigh = {high}\ndew = {dew}\nwind = 5\n{wet}\n"


NORMALS = "".join(f"[[weather.normal]]\nmonth = {month}\nlow = 12\nhigh = 16\ndew = 4\n\n" for month in range(1, 13))


def task(name: str, more: str = "", work: float = 1, zone: str = "bench", title: str = "") -> str:
    """A task's table; `more` is further lines."""
    said = f"title = '{title}'\n" if title else ""
    where = f'zone = "{zone}"\n' if zone else ""
    return f'[[task]]\nid = "{name}"\n{said}{where}work = {work}\n{more}\n\n'


def launch(after: str, more: str = "") -> str:
    """The launch: the lift works on weekdays from nine to three."""
    return task("relaunch", f"after = [{after}]\n{LIFT}{more}")


LIFT = 'slots = [ { days = "Mon-Fri", from = "09:00", to = "15:00" } ]\n'

BAY = (
    task("coat-1", 'material = "coat"')
    + task("fit", 'hands = 2\nwho = ["owner", "wil"]\nafter = ["coat-1@recoat"]', work=2)
    + task("coat-2", 'material = "coat"\nafter = ["fit"]')
    + launch('"coat-2@immerse"')
)
"""coat-1 Mon 10:00-11:00, ready Mon 16:00; Wil on Wed 09:00, fit till 11:00; coat-2 till 12:00, in the water from
Thu 8 08:00; the lift at 09:00."""

SOFT = (
    task("coat-1", 'material = "coat"')
    + task("coat-2", 'material = "coat"\nafter = ["coat-1@soft"]', work=0.75)
    + launch('"coat-2@immerse"')
)
"""coat-1 takes coat-2 from 4 h after its end to 7 h after its start: a window inside one working day."""

HELD = SOFT.replace("@soft", "@night")
"""From 10 h after its end to 16 h after its start: laid in the morning, the window shuts in the night."""

MISSED = (
    task("coat-1", 'material = "coat"\nstarted = 2027-04-05T10:00:00\nfinished = 2027-04-05T11:00:00')
    + task("coat-2", 'material = "coat"\nafter = ["coat-1@soft"]\nnot_before = 2027-04-06', work=0.75)
    + launch('"coat-2@immerse"')
)
"""The window shut on Monday at 17:00 and coat-2 may not start before Tuesday."""


def plan_of(tasks: str, weather: str = NORMALS, now: str = "") -> Plan:
    """The plan of a job of these tasks, from `now` (local time) or else from the haul-out."""
    job = parse_job(HEAD + weather + tasks)
    return plan_job(job, now=dt.datetime.fromisoformat(now) if now else None, seconds=2.0)
