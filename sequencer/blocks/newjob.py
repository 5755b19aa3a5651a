"""A new job's text: it parses, it plans, and its comments teach the format."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace

from sequencer.blocks.fitting import FIRST, HEADING, LIFT, NAMES, Fitted, Taken, block_about, fit_block, tables_text
from sequencer.blocks.pieces import quoted

STUFF = "# Kinds of stuff, not products: your own data sheet wins.\n\n"

DAYS_TO_DELIVERY = 7
"""Deliveries of a new job are due a week after the haul-out, until the owner knows better."""

SOUTHERN = ("Australia/", "Antarctica/", "Pacific/Auckland", "Africa/Johannesburg", "America/Argentina", "America/Sao")
"""Zones whose months are turned round; there are others, and the comment says to put one's own normals."""

NORMALS = (
    (2, 7, 1, 15),
    (2, 8, 1, 12),
    (3, 10, 2, 12),
    (5, 13, 4, 10),
    (8, 16, 7, 9),
    (11, 19, 10, 8),
    (13, 21, 12, 8),
    (13, 21, 12, 9),
    (11, 18, 10, 10),
    (8, 14, 7, 13),
    (5, 10, 4, 14),
    (3, 8, 2, 15),
)
"""By month low, high, dew (°C) and wet days of some mild northern coast: from memory, to be replaced."""

HEAD = """\
# One file is one stay on the stands. Times without an offset are the yard's clock; plans move in quarter hours.
# {heading}
# No engineering approval: the yard's rules, local codes and licensed trades have the last word.

[job]
title = {title}
boat = {boat}
timezone = {timezone}
hauled = {hauled}
finish = "relaunch"               # the task whose start ends the stay

# What the stay costs; take the # away and put the yard's prices.
#
# [yard]
# currency = "GBP"
# night = 38.0                    # a night on the stands
# free_nights = 2
# fixed = 420.0                   # haul, wash-off, launch

# ---------------------------------------------------------------------------------------------- weather

# The days ahead, off the forecast, a table each; or name an hourly file: [weather] with file = "april.csv".
#
# [[weather.day]]
# date = {date}
# low = 6.0
# high = 13.0
# dew = 5.0                       # or humidity = 80
# rain = ["13:00/18:00"]          # local hours; ["00:00/24:00"] is a washed-out day
# wind = 12                       # knots

# What a day of each month is like past the forecast: put your own. These are of some mild coast, from memory.
# A plan takes such a day dry; wet_days (in the month) and rain_hours (on such a day) count for the odds.

{normals}# ----------------------------------------------------------------------------------------------- people

[[crew]]
id = "owner"
title = "You"
hours = [ {{ days = "Mon-Sat", from = "08:00", to = "12:00" }}, {{ days = "Mon-Sat", from = "13:00", to = "17:30" }} ]
# away = ["{date}/{date}"] # from, to: both days included

[[crew]]
id = "friend"
title = "A friend"
note = "For what takes two: put who really comes, and when."
hours = [ {{ days = "Sat", from = "09:00", to = "16:00" }} ]

"""


def new_job_text(
    title: str = "Haul-out",
    boat: str = "",
    timezone: str = "UTC",
    hauled: dt.datetime | dt.date | None = None,
    blocks: Sequence[str] = (),
) -> str:
    """The text of a new job of `blocks`, or of one small task; it ends with the lift.

    timezone: an IANA name. hauled: the yard's time, else today at ten. Blocks are put in the order of a stay and
    joined: the first antifouling goes onto the last barrier coat. Raises UsageError for a block there is none of.
    """
    moment = hauled if hauled is not None else dt.datetime.combine(dt.date.today(), dt.time(10))
    date = moment.date() if isinstance(moment, dt.datetime) else moment
    fitted = _fit_all(blocks, date + dt.timedelta(days=DAYS_TO_DELIVERY))
    pieces = [piece for part in fitted for piece in part.pieces]
    places = [piece for piece in pieces if piece.kind not in ("task", "material")]
    materials = [piece for piece in pieces if piece.kind == "material"]
    stamp = moment.isoformat(timespec="seconds") if isinstance(moment, dt.datetime) else moment.isoformat()
    head = HEAD.format(
        heading=HEADING,
        title=quoted(title),
        boat=quoted(boat),
        timezone=quoted(timezone),
        hauled=stamp,
        date=date,
        normals=_normals(timezone),
    )
    parts = [head, _rule("places, gear, deliveries"), tables_text(places)]
    if materials:
        parts += [_rule("materials"), STUFF, tables_text(materials)]
    parts.append(_rule("tasks"))
    for part in fitted:
        parts.append(part.heading + "\n\n" + tables_text(piece for piece in part.pieces if piece.kind == "task"))
    return "".join(parts).rstrip("\n") + "\n"


def _rule(words: str) -> str:
    return f"# {'-' * (103 - len(words))} {words}\n\n"


def _normals(timezone: str) -> str:
    turned = 6 if timezone.startswith(SOUTHERN) else 0
    months = [(month, NORMALS[(month - 1 + turned) % 12]) for month in range(1, 13)]
    return "".join(
        f"[[weather.normal]]\nmonth = {month}\nlow = {low}\nhigh = {high}\ndew = {dew}\n"
        f"wet_days = {wet}\nrain_hours = 4\n\n"
        for month, (low, high, dew, wet) in months
    )


def _fit_all(names: Sequence[str], due: dt.date) -> list[Fitted]:
    """The blocks fitted one after another and joined, the lift last."""
    for name in names:
        block_about(name)
    taken, fitted = Taken(), list[Fitted]()
    for name in sorted((name for name in names if name != LIFT), key=NAMES.index) or [FIRST]:
        fitted.append(fit_block(name, taken, due))
        taken = taken.and_those(fitted[-1].pieces)
    fitted = _with_late_joins(fitted)
    covered = {end for part in fitted for end in part.covered}
    before = {link for part in fitted for piece in part.pieces for link in piece.data.get("after", ())}
    # What another block goes on from need not be named again at the launch.
    ends = [end for part in fitted for end in part.ends if end not in covered | before]
    lift = fit_block(LIFT, taken, due)
    return [*fitted, replace(lift, pieces=tuple(p.after(ends) if p.kind == "task" else p for p in lift.pieces))]


def _with_late_joins(fitted: list[Fitted]) -> list[Fitted]:
    """Tasks that come after what a later block brought."""
    late: dict[str, list[str]] = {}
    for part in fitted:
        for task, links in part.joins.items():
            late.setdefault(task, []).extend(links)
    return [
        replace(part, pieces=tuple(p.after(late.get(p.id, ())) if p.kind == "task" else p for p in part.pieces))
        for part in fitted
    ]
