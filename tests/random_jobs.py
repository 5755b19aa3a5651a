"""Random haul-outs of any size, for property tests and benchmarks: the same seed gives the same job.

The shape is that of real ones: coats with windows, dusty work in shared air, one mould, one grinder, a helper on
some days, a lift on working days. Weather comes from a file beside the job or from days by hand.
"""

from __future__ import annotations

import datetime as dt
import math
import random

MATERIALS = """
[[material]]
id = "lay-up-epoxy"
apply = { min_temp = 10, max_temp = 32, max_humidity = 85, above_dew = 3 }
no_cure_below = 5
temps = [10, 20, 30]
set = [10, 5, 2.5]
recoat = { opens = [8, 4, 2], closes = [60, 36, 20], if_missed = { work = 1.5 } }
sand = [36, 18, 9]
cure = [168, 84, 42]

[[material]]
id = "fast-epoxy"
apply = { min_temp = 5, max_temp = 25, max_humidity = 85, above_dew = 3 }
no_cure_below = 2
temps = [5, 15, 25]
set = [8, 4, 2]
recoat = { opens = [6, 3, 1.5], closes = [30, 16, 8], if_missed = { work = 2 } }
sand = [24, 12, 6]
cure = [120, 72, 36]

[[material]]
id = "barrier-coat"
apply = { min_temp = 8, max_temp = 35, max_humidity = 85, above_dew = 3 }
no_cure_below = 5
temps = [10, 20]
set = [7, 4]
recoat = { opens = [9, 5], closes = [120, 72], if_missed = { work = 3 } }
sand = [30, 16]
cure = [240, 168]

[[material]]
id = "antifouling"
apply = { min_temp = 5, max_temp = 35, max_humidity = 85, above_dew = 3 }
no_cure_below = 0
temps = [20]
set = 2
recoat = { opens = 4, closes = 720 }
immerse = { opens = 12, closes = 1440, if_missed = { work = 2 } }

[[material]]
id = "sealant"
apply = { min_temp = 5, max_temp = 40 }
temps = [23]
set = 6
cure = 72
"""
"""Made-up products of the usual classes; the numbers are of the order of the classes' data sheets."""

LISTS = {
    "lay-up-epoxy": ("set", "recoat", "recoat", "sand", "cure"),
    "fast-epoxy": ("set", "recoat", "recoat", "sand", "cure"),
    "barrier-coat": ("recoat", "recoat", "sand"),
    "antifouling": ("set", "recoat", "immerse"),
    "sealant": ("set", "cure"),
}
LAST = {"antifouling": "immerse", "sealant": "cure", "barrier-coat": "sand"}
ZONES = ("drive-bay", "bottom", "topsides", "engine-room")


WANTED = {"": 42, 'who = ["owner"]': 35, 'who = ["wright"]': 10, "hands = 2": 10, 'hands = 2\nwho = ["owner"]': 3}
"""Whom tasks want where work is by name, and how often of a hundred."""


def hand_days(rng: random.Random, first: dt.date, count: int, mild: float = 12.0) -> str:
    """`count` days by hand from `first`: low, high, dew, some with rain."""
    lines = []
    wave = 0.0
    for k in range(count):
        wave = 0.7 * wave + rng.gauss(0, 1.5)
        low = round(mild - 5 + wave, 1)
        high = round(mild + 4 + wave + rng.uniform(0, 2), 1)
        dew = round(low - rng.uniform(-0.5, 4), 1)
        rain = ""
        if rng.random() < 0.3:
            begin = rng.randrange(0, 20)
            rain = f'rain = ["{begin:02d}:00/{min(24, begin + rng.randrange(2, 9)):02d}:00"], '.replace(", ", "\n", 1)
        lines.append(
            f"[[weather.day]]\ndate = {first + dt.timedelta(days=k)}\nlow = {low}\nhigh = {max(low, high)}\n"
            f"dew = {dew}\n{rain}wind = {rng.randrange(2, 18)}\n"
        )
    return "\n".join(lines)


def random_job(
    seed: int,
    tasks: int,
    weather: str = "",
    hauled: str = "2027-04-12T10:00:00",
    timezone: str = "America/New_York",
    named: bool = False,
) -> str:
    """A job file of `tasks` tasks. weather: the TOML of its weather (left out: days by hand and normals).

    named: the same job where much of the work wants somebody by name, the owner or a wright who comes on some days,
    and some of it two people.
    """
    rng = random.Random(f"job {seed} {tasks}")
    start = dt.datetime.fromisoformat(hauled)
    if not weather:
        weather = hand_days(rng, start.date() - dt.timedelta(days=1), 40 + tasks // 2)
        weather += "".join(
            f"\n[[weather.normal]]\nmonth = {m}\nlow = {9 + 6 * warm:.1f}\nhigh = {17 + 7 * warm:.1f}\n"
            f"dew = {6 + 6 * warm:.1f}\n"
            for m in range(1, 13)
            for warm in [math.cos((m - 7) * math.pi / 6)]
        )
    parts = [
        f'[job]\ntitle = "random {seed}"\nboat = "test boat"\ntimezone = "{timezone}"\nhauled = {hauled}\n'
        f'now = {hauled}\nfinish = "relaunch"\n',
        weather if weather.lstrip().startswith("[") else f"[weather]\n{weather}",
        _crew(rng) + (_wright(seed) if named else ""),
        _places(rng),
        '[[gear]]\nid = "mould"\ncount = 1\n\n[[gear]]\nid = "big-grinder"\ncount = 1\n',
        f'[[delivery]]\nid = "pod"\ndue = {start.date() + dt.timedelta(days=rng.choice((3, 8, 20)))}\n',
        MATERIALS,
        _tasks(rng, tasks, random.Random(f"people {seed} {tasks}") if named else None),
    ]
    return "\n".join(parts)


def _crew(rng: random.Random) -> str:
    text = (
        '[[crew]]\nid = "owner"\nhours = [ { days = "Mon-Sat", from = "08:00", to = "12:00" }, '
        '{ days = "Mon-Sat", from = "13:00", to = "17:30" } ]\n'
    )
    days = rng.choice(("", "Tue Thu", "Sat-Sun", "Mon-Fri"))
    if days:
        text += f'\n[[crew]]\nid = "friend"\nhours = [ {{ days = "{days}", from = "09:00", to = "16:00" }} ]\n'
    return text


def _wright(seed: int) -> str:
    days = ("Tue Fri", "Wed", "Mon Thu")[seed % 3]
    return f'\n[[crew]]\nid = "wright"\nhours = [ {{ days = "{days}", from = "08:00", to = "16:00" }} ]\n'


def _wanted(people: random.Random) -> str:
    """Whom one task wants."""
    return people.choices(list(WANTED), list(WANTED.values()))[0]


def _places(rng: random.Random) -> str:
    shelter = rng.choice(("open", "open", "covered"))
    shared = rng.choice(("under-hull", "alongside"))
    heat = rng.choice(("", "heat_to = 16\n"))
    return (
        f'[[zone]]\nid = "drive-bay"\nair = "under-hull"\nshelter = "{shelter}"\n\n'
        '[[zone]]\nid = "bottom"\nair = "under-hull"\n\n'
        f'[[zone]]\nid = "topsides"\nair = "{shared}"\n\n'
        f'[[zone]]\nid = "engine-room"\nshelter = "inside"\n{heat}'
    )


def _tasks(rng: random.Random, count: int, people: random.Random | None) -> str:
    made: list[tuple[str, str]] = []
    followed: set[str] = set()
    out = []
    for k in range(count - 1):
        name = f"t{k}"
        lines = [f'[[task]]\nid = "{name}"']
        kind = rng.choices(("coat", "dust", "plain", "heavy", "wait"), (9, 4, 4, 2, 1))[0]
        zone = rng.choice(ZONES)
        material = ""
        if kind == "wait":
            lines.append(f"wait = {rng.choice((6, 30, 48))}")
        else:
            lines.append(f'zone = "{zone}"')
        if kind == "coat":
            material = rng.choice(tuple(LISTS))
            lines += [f"work = {rng.choice((1, 1.5, 2, 3, 4))}", f'material = "{material}"']
            if rng.random() < 0.2:
                lines.append('gear = [ { id = "mould", until = "set" } ]')
        elif kind == "dust":
            lines += [f"work = {rng.choice((2, 3, 5, 7))}", 'makes = "dust"']
            if rng.random() < 0.6:
                lines.append('gear = ["big-grinder"]')
            if rng.random() < 0.5:
                lines.append("needs = { dry = true }")
        elif kind in ("plain", "heavy"):
            lines.append(f"work = {rng.choice((1, 2, 4, 6, 9))}")
            if rng.random() < 0.2:
                lines.append('delivery = "pod"')
            if kind == "heavy":
                lines.append("needs = { max_wind = 12 }")
        if people is not None and kind != "wait":
            lines.append(_wanted(people))
        after = []
        for before, coat in rng.sample(made[-12:], min(len(made[-12:]), rng.choice((0, 1, 1, 1, 2, 2)))):
            stage = rng.choice((*LISTS[coat], "")) if coat else ""
            after.append(f'"{before}@{stage}"' if stage else f'"{before}"')
            followed.add(before)
        if after:
            lines.append(f"after = [{', '.join(after)}]")
        made.append((name, material))
        out.append("\n".join(lines) + "\n")
    ends = []
    for name, coat in made:
        if name not in followed:
            stage = LAST.get(coat, rng.choice(("sand", "cure"))) if coat else ""
            ends.append(f'"{name}@{stage}"' if stage else f'"{name}"')
    slots = 'slots = [ { days = "Mon-Fri", from = "09:00", to = "15:00" } ]\n' if rng.random() < 0.7 else ""
    out.append(f'[[task]]\nid = "relaunch"\nwork = 1\nafter = [{", ".join(ends)}]\n{slots}')
    return "\n".join(out)
