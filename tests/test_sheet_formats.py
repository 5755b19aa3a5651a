"""The sheet as text, Markdown and HTML: nothing lost, nothing wider than the page, the owner's words never marks."""

from __future__ import annotations

import datetime as dt
from html.parser import HTMLParser
from pathlib import Path

import pytest
from markdown_it import MarkdownIt
from planned import assert_kept, crew, head, material, normals, planned, task, zone
from test_sheet import FIRST, sheet_plan

from sequencer.job import read_job
from sequencer.paper.lines import cells, folded
from sequencer.paper.sheet import Sheet, day_sheet
from sequencer.paper.sheet_html import sheet_html
from sequencer.paper.sheet_markdown import escaped, sheet_markdown
from sequencer.paper.sheet_text import sheet_text
from sequencer.planning.plan import Plan
from sequencer.planning.planner import plan_job

JOBS = Path(__file__).parent.parent / "jobs"
ODD = "<b>&amp; *bold* [x](y) `c` 日本語 # | \\\\ --- $x @click 1. e\u0301"
HOSTILE = f'"{ODD}\\u001b[31m\\u202e</style><script>alert(1)</script>"'


@pytest.fixture(scope="module")
def monday() -> Sheet:
    """The first day of the small job."""
    return day_sheet(sheet_plan(), FIRST)


@pytest.fixture(scope="module")
def plover() -> Plan:
    """The big demo job, planned."""
    job = read_job(JOBS / "plover-catamaran.toml")
    plan = plan_job(job, seconds=0.5, prove=False)
    assert_kept(job, plan)
    return plan


@pytest.fixture(scope="module")
def hostile() -> Sheet:
    """A sheet whose every word of the owner's is out to break the page."""
    made = planned(
        head().replace('title = "test"', f"title = {HOSTILE}\nboat = {HOSTILE}"),
        crew() + f"title = {HOSTILE}\n",
        zone(more=f"title = {HOSTILE}"),
        material([20], f"title = {HOSTILE}\nnote = {HOSTILE}\nset = 2"),
        normals(),
        task("lay", zone='"bay"', material='"coat"', title=HOSTILE, note=HOSTILE),
        task("launch", "lay"),
    )
    return day_sheet(made, FIRST)


class Reader(HTMLParser):
    """The words and the tags of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.fetched: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.fetched += [name for name, _ in attrs if name in ("src", "href") or name.startswith("on")]
        if tag not in ("meta", "br", "!doctype"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.words.append(data)


def words_of(sheet: Sheet) -> list[str]:
    """Everything a format must tell of a sheet."""
    told = [sheet.day, sheet.boat, sheet.title, sheet.headline, sheet.sky, *sheet.here, sheet.closing]
    for one in sheet.tasks:
        told += [one.title, one.place, one.who, one.hours, one.by, one.note, *one.gear, *one.checks]
        told += [one.mix.name, one.mix.limits, one.mix.note] if one.mix is not None else []
    told += [event.said for event in sheet.windows] + [one.said for one in sheet.cautions]
    return [part for part in (*told, *sheet.dry, *sheet.leave, *sheet.keep_off, *sheet.tomorrow) if part]


def flat(text: str) -> str:
    """Text without any blanks, for where lines are broken must not matter."""
    return "".join(text.split())


@pytest.mark.parametrize("width", [24, 40, 60, 100])
def test_text_keeps_to_its_width_and_loses_no_word(plover: Plan, width: int) -> None:
    for date in (dt.date(2027, 5, 13), dt.date(2027, 5, 15)):
        for person in (None, "jikke"):
            sheet = day_sheet(plover, date, person)
            text = sheet_text(sheet, width)
            assert max(cells(line) for line in text.splitlines()) <= width
            seen = flat(text.replace("\n- ", "\n"))
            assert [part for part in words_of(sheet) if flat(part) not in seen] == []


def test_text_is_sixty_columns_unless_asked(plover: Plan) -> None:
    lines = sheet_text(day_sheet(plover, dt.date(2027, 5, 15))).splitlines()
    assert max(cells(line) for line in lines) <= 60
    assert all(line == line.rstrip() for line in lines)


def test_text_of_the_small_day_reads_from_the_top(monday: Sheet) -> None:
    lines = sheet_text(monday).splitlines()
    assert lines[0] == "Mon 12 Apr 2027"
    at = lines.index(" 2  09:00-10:00: lay-1")
    assert lines[at + 1] == "    Drive bay; owner; 1:00 h"
    assert lines[at + 2] == "    mix: Laminating epoxy: 5 to 35 °C, humidity at most"
    assert "    [ ] humidity at most 85 % (53 seen)" in lines
    assert "    ! on by 16:00, or lay-1 must be keyed: 1 h" in lines
    heads = [line for line in lines if line.isupper() and not line.startswith(" ")]
    assert heads == ["TO DO", "TODAY", "KEEP DRY", "TOMORROW", "MIND"]


def test_hostile_words_never_reach_the_terminal_as_codes(hostile: Sheet) -> None:
    text = sheet_text(hostile)
    assert all(line.isprintable() for line in text.splitlines())
    assert "\\x1b[31m" in text
    assert max(cells(line) for line in text.splitlines()) <= 60


def test_markdown_shows_every_word_as_typed(hostile: Sheet, monday: Sheet) -> None:
    """Judged by markdown-it-py, a CommonMark parser."""
    for sheet in (hostile, monday):
        page = Reader(MarkdownIt("commonmark").enable("table").render(sheet_markdown(sheet)))
        assert set(page.tags) <= {"h1", "h2", "h3", "p", "ul", "li", "strong", "em"}
        seen = flat("".join(page.words))
        assert [part for part in words_of(sheet) if flat(part) not in seen] == []


@pytest.mark.parametrize(
    "text", ["- no list", "1. no number", "2) nor this", "+ no", "=== no", "# no", "> no", "www.x.y"]
)
def test_markdown_escapes_what_begins_a_line(text: str) -> None:
    page = Reader(MarkdownIt("commonmark").render(escaped(text)))
    assert page.tags == ["p"]
    assert "".join(page.words).strip() == text


def test_html_stands_alone_and_shows_every_word_as_typed(hostile: Sheet, monday: Sheet) -> None:
    for sheet in (hostile, monday):
        text = sheet_html(sheet)
        page = Reader(text)
        assert page.open == []
        assert page.fetched == []
        assert not {"script", "b", "img", "link", "iframe", "a"} & set(page.tags)
        assert page.tags.count("style") == 1
        assert "@import" not in text
        assert "url(" not in text
        seen = flat("".join(page.words))
        assert [part for part in words_of(sheet) if flat(part) not in seen] == []


def points(sheet: Sheet) -> float:
    """The size of a page's letters."""
    return float(sheet_html(sheet).partition("font: ")[2].partition("pt")[0])


def test_a_fuller_day_prints_smaller_so_that_it_stays_on_one_page(plover: Plan, monday: Sheet) -> None:
    """That it fits was seen in a browser's print for every day of every demo job; here the sizes that it took."""
    assert "@page { size: A4;" in sheet_html(monday)
    busy = day_sheet(plover, dt.date(2027, 5, 15))
    assert len(busy.tasks) >= 5
    assert 6.5 <= points(busy) <= 8.0
    assert points(day_sheet(plover, dt.date(2027, 5, 23))) == 11.0
    assert points(busy) < points(day_sheet(plover, dt.date(2027, 5, 15), "jikke"))


def test_lines_by_the_cell() -> None:
    assert cells("日本e\u0301") == 5
    assert folded("one two three", 7) == ["one two", "three"]
    assert folded("one two three", 9, "- ", "  ") == ["- one two", "  three"]
    assert folded("abcdefghij k", 4) == ["abcd", "efgh", "ij k"]
    assert folded("日本語日本語", 5) == ["日本", "語日", "本語"]
    assert folded("humid 85 % at 3 °C", 9) == ["humid", "85 % at", "3 °C"]
    assert folded("", 10) == [""]
