"""The sheet as one HTML page that prints on one A4 side: no script, nothing fetched, the owner's words escaped."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape

from sequencer.paper.lines import cells
from sequencer.paper.sheet import Sheet, SheetTask

SIZES = (
    (40, 11.0),
    (44, 10.5),
    (48, 10.0),
    (53, 9.5),
    (59, 9.0),
    (66, 8.5),
    (75, 8.0),
    (87, 7.5),
    (104, 7.0),
    (120, 6.5),
)
"""Up to so many lines, as reckoned at 11 pt, print in so many points; more than the last in the smallest size."""
SMALLEST = 6.0
"""Below this nobody reads; a day with more than some nine tasks goes on to a second page."""
LETTERS = 40, 46
"""Letters a line holds at 11 pt: of a task's two columns, of the lower part's."""

STYLE = """\
@page { size: A4; margin: 10mm 12mm }
* { box-sizing: border-box }
body { font: %(size)spt/1.28 system-ui, "DejaVu Sans", Arial, sans-serif; color: #101a22; background: #fff;
  margin: 0 auto; max-width: 186mm }
header { display: flex; justify-content: space-between; align-items: baseline; border-bottom: 1.5pt solid #101a22 }
h1 { font-size: 1.5em; margin: 0 } h2 { font-size: 1em; margin: .6em 0 .15em; text-transform: uppercase;
  letter-spacing: .06em; break-after: avoid }
p { margin: .15em 0 } ul { margin: 0; padding: 0 0 0 1.1em } li { margin: .08em 0 }
ol { list-style: none; margin: 0; padding: 0 }
ol > li { border-top: .5pt solid #999; padding: .25em 0; break-inside: avoid; display: grid;
  grid-template-columns: 7.6em 1fr 1fr; gap: 0 .8em }
.when { font-variant-numeric: tabular-nums; font-weight: bold } .done { color: #505c6a }
.checks { list-style: none; padding: 0 } .checks li::before { content: "\\2610\\00a0" }
.by { font-weight: bold } .note, .small { color: #3a4652 }
.two { columns: 2; column-gap: 8mm } .two li { break-inside: avoid }
footer { border-top: .5pt solid #101a22; margin-top: .6em; padding-top: .2em; font-size: .9em }
@media screen { body { padding: 12px; font-size: 16px } }
@media screen and (max-width: 640px) { ol > li { display: block } .two { columns: 1 } }
"""


def sheet_html(sheet: Sheet) -> str:
    """The sheet as one HTML document, sized so that it prints on one A4 page."""
    size = next((points for most, points in SIZES if _reckoned(sheet) <= most), SMALLEST)
    who = f", for {escape(sheet.person)}" if sheet.person else ""
    title = f"{sheet.day}{', ' + sheet.boat if sheet.boat else ''}"
    parts = [
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(title)}</title>\n<style>\n{STYLE % {'size': size}}</style>\n</head>\n<body>",
        f"<header><h1>{escape(sheet.day)}{who}</h1><div>{escape(sheet.boat)}</div></header>",
        f"<p><strong>{escape(sheet.headline)}</strong> {escape(sheet.title)}</p>",
        f"<p>Air {escape(sheet.sky)}<br>Here {escape('; '.join(sheet.here) or 'nobody')}</p>",
        f"<h2>{'To do' if sheet.tasks else 'To do: nothing'}</h2>",
        "<ol>",
        *(_task(task) for task in sheet.tasks),
        '</ol>\n<div class="two">',
        *(_section(heading, told) for heading, told in _blocks(sheet)),
        f"</div>\n<footer>{escape(sheet.closing)}</footer>\n</body>\n</html>",
    ]
    return "\n".join(part for part in parts if part) + "\n"


def _task(task: SheetTask) -> str:
    done = ' class="done"' if task.done else ""
    title = f"<strong>{task.number}. {escape(task.title)}</strong>{' (done)' if task.done else ''}"
    times = escape(task.times).replace(", ", "<br>")
    left, right = "".join(_facts(task)), "".join(_checks(task))
    return f'<li{done}><div class="when">{times}</div><div>{title}{left}</div><div>{right}</div></li>'


def _facts(task: SheetTask) -> Iterator[str]:
    if task.done:
        return
    facts = (task.place, task.who, f"{task.hours} h", task.goes_on)
    yield f"<p>{escape('; '.join(part for part in facts if part))}</p>"
    if task.gear:
        yield f"<p>Gear: {escape(', '.join(task.gear))}</p>"
    if task.mix is not None:
        limits = f": {escape(task.mix.limits)}" if task.mix.limits else ""
        yield f"<p>Mix <strong>{escape(task.mix.name)}</strong>{limits}</p>"
        if task.mix.note:
            yield f'<p class="note">{escape(task.mix.note)}</p>'
    if task.note:
        yield f'<p class="note">{escape(task.note)}</p>'


def _checks(task: SheetTask) -> Iterator[str]:
    if task.checks:
        yield f'<ul class="checks">{"".join(f"<li>{escape(check)}</li>" for check in task.checks)}</ul>'
    if task.by:
        yield f'<p class="by">{"! " if task.shuts else ""}{escape(task.by)}</p>'


def _section(heading: str, told: Iterable[str]) -> str:
    listed = "".join(f"<li>{escape(one)}</li>" for one in told)
    return f"<section><h2>{heading}</h2><ul>{listed}</ul></section>" if listed else ""


def _blocks(sheet: Sheet) -> Iterator[tuple[str, list[str]]]:
    yield "Keep off", list(sheet.keep_off)
    yield "Opens and shuts today", [f"{event.clock} {event.said}" for event in sheet.windows]
    yield "Keep dry", list(sheet.dry)
    yield "Leave", list(sheet.leave)
    yield "Tomorrow", list(sheet.tomorrow)
    yield "Mind", [one.said for one in sheet.cautions]


def _reckoned(sheet: Sheet) -> float:
    """About how many lines of a page the sheet takes at 11 pt."""
    total = 8.0
    for task in sheet.tasks:
        left = [task.title, f"{task.place}; {task.who}; {task.hours} {task.goes_on}", task.note, ", ".join(task.gear)]
        left += [f"Mix {task.mix.name}: {task.mix.limits}", task.mix.note] if task.mix is not None else []
        right = [*task.checks, task.by]
        total += 0.6 + (1 if task.done else max(_lines(left, LETTERS[0]), _lines(right, LETTERS[0])))
    lower = sum(_lines(told, LETTERS[1]) + 1.8 for _, told in _blocks(sheet) if told)
    return total + lower / 2


def _lines(texts: Iterable[str], room: int) -> int:
    return sum(-(-cells(text) // room) for text in texts if text)
