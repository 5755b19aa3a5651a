"""Jobs for tests of the odds: networks of hours without weather, and small haul-outs with it."""

from __future__ import annotations

from collections.abc import Mapping

from sequencer.job import Job, parse_job
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job

START = "2027-04-12T00:00:00"

Spans = Mapping[str, tuple[tuple[float, float, float], str]]
"""By task: low, likely and high hours, and the tasks before it."""


def network(tasks: Spans, unit: float = 1.0) -> Job:
    """A network of work that needs no hands and goes on day and night; `unit` hours stand for one of the source."""
    followed = {before for _, after in tasks.values() for before in after.split()}
    lines = [f'[job]\ntimezone = "Etc/UTC"\nhauled = {START}\nnow = {START}\nfinish = "end"\n']
    for name, (span, after) in tasks.items():
        listed = ", ".join(f'"{before}"' for before in after.split())
        hours = ", ".join(f"{unit * hours:g}" for hours in span)
        lines.append(f'[[task]]\nid = "{name}"\nhands = 0\nwork = [{hours}]\nafter = [{listed}]\n')
    ends = ", ".join(f'"{name}"' for name in tasks if name not in followed)
    lines.append(f'[[task]]\nid = "end"\nhands = 0\nwork = 1\nafter = [{ends}]\n')
    return parse_job("\n".join(lines))


HAUL_OUT = """
[job]
timezone = "Europe/London"
hauled = 2027-04-12T08:00:00
now = 2027-04-12T08:00:00
finish = "relaunch"

[yard]
currency = "GBP"
night = 40.0
free_nights = 2
fixed = 400.0

{weather}

[[crew]]
id = "owner"
hours = [ {{ days = "Mon-Sat", from = "08:00", to = "17:00" }} ]

[[zone]]
id = "bottom"

[[delivery]]
id = "pod"
due = 2027-04-15
{range}

[[material]]
id = "epoxy"
apply = {{ min_temp = 5, max_humidity = 88, above_dew = 2 }}
no_cure_below = 2
temps = [5, 15, 25]
set = [8, 4, 2]
recoat = {{ opens = [8, 5, 3], closes = [60, 40, 24], if_missed = {{ work = 2 }} }}
sand = [30, 16, 9]

[[task]]
id = "grind"
zone = "bottom"
work = {grind}
makes = "dust"
needs = {{ dry = true }}

[[task]]
id = "coat1"
zone = "bottom"
work = 3
material = "epoxy"
after = ["grind"]

[[task]]
id = "coat2"
zone = "bottom"
work = 3
material = "epoxy"
after = ["coat1@recoat"]

[[task]]
id = "fit-pod"
work = 5
delivery = "pod"

[[task]]
id = "relaunch"
work = 1
after = ["coat2@sand", "fit-pod"]
slots = [ {{ days = "Mon-Fri", from = "09:00", to = "15:00" }} ]
"""

APRIL_AND_MAY = "".join(
    f"""
[[weather.normal]]
month = {month}
low = {low}
high = {high}
dew = {dew}
wet_days = 11
rain_hours = 5
wet_after_wet = 0.55
"""
    for month, low, high, dew in ((4, 5.0, 12.5, 4.0), (5, 8.0, 16.0, 7.0), (6, 11.0, 19.0, 9.0), (7, 13.0, 21.0, 11.0))
)


def haul_out(weather: str = APRIL_AND_MAY, grind: str = "[5, 7, 14]", late: bool = True) -> Job:
    """A small haul-out. weather: TOML of its weather; grind: its uncertain hours; late: whether the pod may be."""
    known = 'range = ["2027-04-14", "2027-04-28"]' if late else ""
    return parse_job(HAUL_OUT.format(weather=weather, grind=grind, range=known))


def planned(job: Job) -> Plan:
    """Its plan."""
    return plan_job(job, seconds=5, prove=False)
