"""Small jobs in which one help buys a night, worked out by hand: 12 April 2027 is a Monday, clocks are UTC."""

from __future__ import annotations

from planned import crew, day, days, gear, head, material, normals, task, zone

OWNER = crew('{ days = "Mon-Sat", from = "08:00", to = "16:00" }')
YARD = '\n[yard]\ncurrency = "GBP"\nnight = 40.0\nfree_nights = 0\nfixed = 100.0\n'
PAINT = material([10, 20], "set = [2, 1]\nrecoat = [8, 4]\nsand = [20, 10]\nimmerse = [40, 20]")
LAUNCH = "relaunch"


def job(*parts: str, now: str = "", owner: str = OWNER, weather: str = "") -> str:
    """A job hauled Monday 12 April 08:00, in steady dry air of 20 °C unless told otherwise."""
    return "\n".join((head(now=now, finish=LAUNCH), YARD, owner, weather + normals(20), *parts))


def wet(date: str) -> str:
    """A day of rain at 20 °C."""
    return day(date, 20, more='rain = ["00:00/24:00"]')


RAIN = job(
    zone("bay"),
    PAINT,
    task("coat", zone='"bay"', material='"coat"', work=2),
    task(LAUNCH, "coat@set"),
    weather=wet("2027-04-12") + wet("2027-04-13"),
)
"""It rains Monday and Tuesday: the coat goes on Wednesday. Under a tent it goes on Monday: two nights."""

COLD = job(
    zone("bench", "inside"),
    PAINT,
    task("coat", zone='"bench"', material='"coat"', work=2),
    task(LAUNCH, "coat@immerse"),
    weather=days("2027-04-12", [10] * 10),
)
"""10 °C on the bench: laid Mon 10:00, in the water 40 h later, Wed 02:00, so Wed 08:00. At 20 °C 20 h: Tue 08:00."""

COLD_OUTSIDE = COLD.replace('shelter = "inside"', 'shelter = "open"')

HEAVY = job(
    crew('{ days = "Fri", from = "08:00", to = "16:00" }', name="wil"),
    task("lift-in", work=2, hands=2),
    task("wire", "lift-in", work=2),
    task(LAUNCH, "wire"),
)
"""Two pairs of hands, and Wil comes on Fridays: launch Fri 16. With him on Monday: Mon 12, four nights."""

WEEKENDS = job(
    crew('{ days = "Wed", from = "08:00", to = "16:00" }', name="wil"),
    task("haul-1", work=8, hands=2, one_go=True),
    task("haul-2", "haul-1", work=8, hands=2, one_go=True),
    task("haul-3", "haul-2", work=8, hands=2, one_go=True),
    task("haul-4", "haul-3", work=8, hands=2, one_go=True),
    task(LAUNCH, "haul-4"),
    owner=crew('{ days = "Mon-Sun", from = "08:00", to = "16:00" }'),
)
"""Four days for two, on Wed 14, 21, 28 and 5 May. With Wil every weekend: Wed 14, Sat 17, Sun 18, Wed 21."""

SUNDAYS = job(task("grind", work=96), task(LAUNCH, "grind"))
"""Twelve days of eight hours: Sat 24 16:00 is the end, launch Mon 26 08:00. With Sunday 18 and 25 worked: Sat 24."""

LONG = job(task("grind", work=37), task(LAUNCH, "grind"))
"""37 hours: Mon-Thu 32 and Friday five: launch Fri 16 13:00. Ten hours a day from Tuesday on: Thu 15 17:00."""

TWO_COATS = job(
    zone("bay", "inside"),
    PAINT,
    task("coat-1", zone='"bay"', material='"coat"', work=6),
    task("coat-2", "coat-1@recoat", zone='"bay"', material='"coat"', work=1),
    task(LAUNCH, "coat-2@immerse"),
)
"""coat-1 till 14:00 takes the next from 18:00, and he leaves at 16:00: Tue 09:00, launch Wed 08:00 (20 h: 05:00).
Till 19:00 on Monday: launch Tue 15:00."""

ONE_MOULD = job(
    zone("bench", "inside"),
    PAINT,
    gear("mould"),
    task("pad", zone='"bench"', material='"coat"', work=2, gear='[{ id = "mould", until = "immerse" }]'),
    task("plate", zone='"bench"', material='"coat"', work=2, gear='[{ id = "mould", until = "immerse" }]'),
    task(LAUNCH, "pad@immerse plate@immerse"),
)
"""The mould is free again Tue 06:00, the plate is on Tue 10:00: launch Wed 08:00. With two moulds Tue 08:00."""

SLOW = material([10, 20], "set = [2, 1]\nimmerse = [80, 40]", name="slow")
QUICK = material([10, 20], "set = [2, 1]\nimmerse = [40, 20]", name="quick")
HARDENER = job(
    zone("bench", "inside"),
    SLOW,
    QUICK,
    material([10, 20], "set = [1, 0.5]\nimmerse = [4, 2]\nsand = [2, 1]", name="filler"),
    task("coat", zone='"bench"', material='"slow"', work=2),
    task(LAUNCH, "coat@immerse"),
)
"""On Mon 10:00, 40 h, Wed 08:00; with the quick one 20 h, Tue 08:00. The filler has another stage: no stand-in."""

POD = job(
    '\n[[delivery]]\nid = "pod"\ndue = 2027-04-16\nrange = ["2027-04-14", "2027-04-20"]\n',
    task("fit", work=2, delivery='"pod"'),
    task(LAUNCH, "fit"),
)
"""The pod comes Fri 16: launch that day. On Wed 14: two nights."""

LIFT = job(
    task("paint", work=36),
    task(LAUNCH, "paint", slots='[{ days = "Mon-Fri", from = "09:00", to = "10:00" }]'),
)
"""Done Fri 16 12:00, and the lift works at nine on weekdays: Mon 19. With a Saturday lift: Sat 17, two nights."""

INDOORS = job(
    zone("cabin", "inside"),
    zone("bay", "covered"),
    crew('{ days = "Mon-Sat", from = "08:00", to = "16:00" }', name="mate"),
    task("scrape", zone='"bay"', work=6, who='["owner"]'),
    task("wire", "scrape", zone='"cabin"', work=6, who='["mate"]'),
    task(LAUNCH, "wire"),
)
"""The mate wires when the owner has scraped: from Mon 14:00, till Tue 12:00. Without waiting: both till Mon 14:00."""

DATED = job(
    zone("cabin", "inside"),
    task("wire", zone='"cabin"', work=2, not_before="2027-04-14"),
    task(LAUNCH, "wire"),
)
"""Not before Wed 14, as written: two nights."""
