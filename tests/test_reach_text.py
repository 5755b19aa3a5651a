"""A stranger's words in every text of a job, on every page, dialog and paper: letters are shown, nothing is obeyed."""

from __future__ import annotations

import csv
import datetime as dt
import io
import itertools
import json
import re
from collections import Counter
from collections.abc import Iterator
from functools import lru_cache
from html.parser import HTMLParser
from pathlib import Path

import pytest
from icalendar import Calendar
from markdown_it import MarkdownIt
from planned import normals
from test_hostile_text import FORM, harmless, toml

from sequencer.checking import check_plan
from sequencer.cli import run
from sequencer.job import parse_job
from sequencer.paper.calendar import plan_calendar
from sequencer.paper.jsonplan import plan_object
from sequencer.paper.review_text import review_text
from sequencer.paper.sheet import Sheet, day_sheet
from sequencer.paper.sheet_html import sheet_html
from sequencer.paper.sheet_markdown import sheet_markdown
from sequencer.paper.sheet_text import sheet_text
from sequencer.paper.supplies_paper import supplies_markdown, supplies_text
from sequencer.paper.tables import RUNS, plan_csv, plan_markdown
from sequencer.paper.textplan import text_plan
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job
from sequencer.review import review
from sequencer.supplies import lead_of, supplies

WORDS = {
    "colour": "\x1b[31mred\x1b[0m",
    "away with the screen": "\x1b[2J\x1b[H\x1bc",
    "a link": "\x1b]8;;http://127.0.0.1/\x07here\x1b]8;;\x07",
    "the clipboard": "\x1b]52;c;cm0gLXJmIC8=\x07",
    "the window's title": "\x1b]0;owned\x07\x1b]2;owned\x1b\\",
    "an answer": "\x1b[6n\x1b[c\x1bP$q q\x1b\\",
    "one-byte codes": "\x9b31mred\x9d0;owned\x9c \x84\x8d",
    "bell, backspace, delete": "\a\b\b\x7f",
    "other direction": "\u202egnp.exe\u202c \u2066x\u2069 \u200f",
    "no width": "a\u200bb\u2060c\u00add\ufeff",
    "markup": "[bold]b[/] [/red] [@click=app.quit]leave[/] [link=http://x]l[/link] $name {x}",
    "lines": "one\ntwo\r\nthree\rfour\vfive\ffive\u2028six\u2029seven\x85eight\ttab",
    "no text": "a\0b",
    "a formula": "=cmd|' /C calc'!A0",
    "another formula": '@SUM(1+1)*"1,2\n=3"',
    "a page": '<script>alert(1)</script><img src=x onerror=alert(1)>"\'><a href="javascript:x">',
    "a letter": "**b** _i_ `c` [l](http://x) ![p](http://y) <b>h</b> # | --- ~~~ http://z.example",
    "an appointment": "x\r\nEND:VEVENT\r\nBEGIN:VALARM\r\nACTION:PROCEDURE\r\nATTACH:file:///bin/sh",
}
WORDS["a long word"] = "Wasserlinienfarbe" * 600
"""What terminals (ECMA-48, xterm's control sequences), Textual's markup, spreadsheets (OWASP, "CSV Injection"), HTML,
Markdown and RFC 5545 would take for something else than text. From memory where no source is named."""
SHORT = "\x1b[31m\x9b2J\u202e[@click=app.quit]leave[/]\n\x07$x"
"""Something of everything, in the first letters, which stay where a text is cut."""
IN_TURN = tuple(WORDS.values())
CASES = {"short": (SHORT,), "in turn": IN_TURN, "in turn back": IN_TURN[::-1], "all by itself": (WORDS["a long word"],)}
CASES |= {
    name: (WORDS[name],) for name in ("lines", "a formula", "another formula", "a page", "a letter", "an appointment")
}
EVERY = pytest.mark.parametrize("texts", CASES.values(), ids=CASES.keys())
"""One text in every place, or all of them in turn."""


def job_text(*texts: str) -> str:
    """The job of all tables with these texts in turn in every title, note and other text."""
    turn = itertools.cycle(texts)
    day = "\n[[weather.day]]\ndate = 2027-04-13\nlow = 8\nhigh = 16\ndew = 5\ntitle = TEXT\nnote = TEXT\n"
    form = f"{FORM}{day}{normals()}"
    return re.sub("TEXT", lambda _: toml(next(turn)), form)


@lru_cache
def plan_of(*texts: str) -> Plan:
    """Its plan, held against the independent check."""
    job = parse_job(job_text(*texts))
    plan = plan_job(job, seconds=1)
    assert check_plan(job, json.loads(json.dumps(plan_object(plan)))) == []
    return plan


def sheets(plan: Plan) -> Iterator[Sheet]:
    """The sheet of every day, for everybody and for each alone."""
    first, last = plan.moment(plan.hauled).date(), plan.launched.date()
    for day in range((last - first).days + 1):
        for person in (None, *plan.job.people):
            yield day_sheet(plan, first + dt.timedelta(days=day), person)


@EVERY
def test_no_paper_holds_what_a_terminal_would_obey(texts: tuple[str, ...]) -> None:
    plan = plan_of(*texts)
    found = supplies(plan, lead_of(["3"]))
    papers = [text_plan(plan), plan_markdown(plan), supplies_text(found), supplies_markdown(found)]
    papers += [review_text(review(plan.job, plan, {})), plan_csv(plan), plan_calendar(plan, orders=found)]
    for sheet in sheets(plan):
        papers += [sheet_text(sheet, 60), sheet_markdown(sheet), sheet_html(sheet)]
    for paper in papers:
        assert harmless(paper.replace("\r\n", "\n")), ascii(paper)


COMMANDS = (
    ("plan",),
    ("plan", "--json"),
    ("odds", "--runs", "3", "--cores", "1"),
    ("odds", "--runs", "3", "--cores", "1", "--json"),
    ("levers", "--no-odds", "--seconds", "0.2"),
    ("levers", "--no-odds", "--seconds", "0.2", "--json"),
    ("sheet", "2027-04-12"),
    ("sheet", "2027-04-12", "--json"),
    ("sheet", "2027-04-12", "--html"),
    ("sheet", "2027-04-12", "--for", "nobody\x1b[31m"),
    ("review",),
    ("review", "--json"),
    ("review", "--answer", "\x1b[31m", "\x1b]0;x\x07"),
    ("calendar", "--lead", "3"),
    ("calendar", "--lead", "\x1b[31m=\x1b[0m"),
    ("table", "--csv"),
    ("supplies", "--lead", "3", "--json"),
    ("new",),
)


@pytest.mark.parametrize("command", COMMANDS, ids=" ".join)
def test_no_command_prints_what_a_terminal_would_obey(
    command: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "job\x1b[31m.toml"
    path.write_text(job_text(SHORT), "utf-8", newline="")
    name, *more = command
    words = [str(tmp_path / "copy\x1b]0;x\x07.toml"), "--from", str(path)] if name == "new" else [str(path), *more]
    quick = [] if name in ("new", "levers") else ["--seconds", "0.2"]
    assert run([name, *words, *quick]) in (0, 1, 2)
    told = capsys.readouterr()
    assert told.out or told.err
    assert harmless(told.out.replace("\r\n", "\n")), ascii(told.out)
    assert harmless(told.err), ascii(told.err)


def test_what_json_spells_is_what_stands_in_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "job.toml"
    for text in (*WORDS.values(), "\U000e0041\U0001f6e5 é\u00a0"):
        path.write_text(job_text(text), "utf-8", newline="")
        assert run(["plan", str(path), "--json", "--seconds", "0"]) == 0
        assert json.loads(capsys.readouterr().out)["job"] == text


# -- formats that other programs read


@EVERY
def test_no_cell_begins_like_a_formula_and_no_text_makes_a_cell(texts: tuple[str, ...]) -> None:
    """OWASP, "CSV Injection": = + - @, tab and line ends at the beginning of a cell, quotes and commas inside it."""
    plan = plan_of(*(lead + text for text in texts for lead in ("", " ", "\u00a0", "\ufeff")))
    rows = list(csv.reader(io.StringIO(plan_csv(plan), newline="")))
    assert {len(row) for row in rows} == {16}
    assert len(rows) == 1 + len(plan.rows)
    for cell in itertools.chain.from_iterable(rows[1:]):
        assert cell.lstrip()[:1] not in tuple(RUNS) or re.fullmatch(r"-?\d+(\.\d+)?", cell), cell


@EVERY
def test_no_text_makes_an_event_or_a_property_of_a_calendar(texts: tuple[str, ...]) -> None:
    """RFC 5545: lines of at most 75 octets that end in CRLF (3.1), texts escaped (3.3.11)."""
    wanted = [sorted(event.keys()) for event in Calendar.from_ical(plan_calendar(plan_of("x"))).walk()]
    told = plan_calendar(plan_of(*texts))
    assert all(len(line.encode()) <= 75 for line in told.split("\r\n"))
    assert [sorted(event.keys()) for event in Calendar.from_ical(told).walk()] == wanted
    assert not re.search(r"^(ATTACH|ACTION:(?!DISPLAY))", told, re.MULTILINE)


class _Tags(HTMLParser):
    """Counts the tags of a page, and what they carry."""

    def __init__(self) -> None:
        super().__init__()
        self.seen: Counter[str] = Counter()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.update([tag, *(f"{tag} {name}" for name, _ in attrs)])


def tags(page: str) -> Counter[str]:
    """How often each tag and each attribute of one stands in a page."""
    parser = _Tags()
    parser.feed(page)
    return parser.seen


def pages(plan: Plan) -> Iterator[Counter[str]]:
    """The tags of every page, and of every Markdown document as CommonMark reads it."""
    read = MarkdownIt("commonmark").enable("table")
    for sheet in sheets(plan):
        yield tags(sheet_html(sheet))
        yield tags(read.render(sheet_markdown(sheet)))
    yield tags(read.render(plan_markdown(plan)))


@EVERY
def test_no_text_makes_a_tag_of_a_page_or_a_link_of_a_letter(texts: tuple[str, ...]) -> None:
    """As many tags of each kind as with a plain word, line ends within a moment's words and lists of cautions aside."""
    for found, wanted in zip(pages(plan_of(*texts)), pages(plan_of("x")), strict=True):
        for loose in ("li", "ul", "br", "p", "section", "h2", "div", "p class", "ul class"):
            del found[loose], wanted[loose]
        assert found == wanted


def test_what_an_earlier_calendar_says_is_carried_on_only_as_text() -> None:
    """Events of ours hold no control codes; one that does was put in by somebody else, and is not carried on."""
    plan = plan_of("x")
    ours = plan_calendar(plan)
    event = "BEGIN:VEVENT\r\nUID:{0}\r\nDTSTART{1}:20270412T100000\r\nSUMMARY:{0}\r\nEND:VEVENT\r\n"
    ends = "END:VCALENDAR\r\n"
    put_in = [event.format(text, "") for text in WORDS.values() if "\n" not in text and "\0" not in text]
    put_in += [event.format(text, ";TZID=\x1b[31m") for text in ("one", "two")]
    put_in += [event.format("gone", ""), event.format("gone too", ";TZID=/dev/zero")]
    told = plan_calendar(plan, before=ours.replace(ends, "".join(put_in) + ends))
    assert harmless(told.replace("\r\n", "\n"))
    cancelled = {str(e["uid"]) for e in Calendar.from_ical(told).events if e.get("status") == "CANCELLED"}
    assert {"gone", "gone too"} <= cancelled
    assert not any(code in uid for uid in cancelled for code in ("\x1b", "\x9b", "\u202e", "\x7f"))


def test_answers_of_a_stranger_are_printed_as_letters() -> None:
    plan = plan_of("x")
    found = review(plan.job, plan, {})
    assert found
    for text in (SHORT, *IN_TURN):
        assert harmless(review_text(review(plan.job, plan, {finding.id: text for finding in found})))
