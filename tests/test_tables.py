"""The plan as CSV and Markdown, read back: numbers stay numbers, and no text runs or breaks a table."""

from __future__ import annotations

import csv
import datetime as dt
import io

import pytest
from markdown_it import MarkdownIt
from markdown_it.token import Token
from planned import assert_kept
from telling_jobs import BAY, HEAD, MISSED, NORMALS

from sequencer.job import parse_job
from sequencer.paper.tables import COLUMNS, plan_csv, plan_markdown
from sequencer.planning.plan import Plan, hours
from sequencer.planning.planner import plan_job


def planned(tasks: str = BAY, now: str = "", front: str = HEAD) -> Plan:
    """A plan that keeps every rule."""
    moment = dt.datetime.fromisoformat(now) if now else None
    job = parse_job(front + NORMALS + tasks)
    plan = plan_job(job, now=moment, seconds=2.0)
    assert_kept(job, plan, moment)
    return plan


def records(plan: Plan) -> dict[str, dict[str, str]]:
    """The CSV's lines by id, as another program reads them."""
    return {one["id"]: one for one in csv.DictReader(io.StringIO(plan_csv(plan), newline=""), strict=True)}


def test_the_csv_has_each_row_of_the_plan_at_its_moments() -> None:
    plan = planned()
    found = records(plan)
    assert list(found) == list(plan.rows)
    for name, row in plan.rows.items():
        one = found[name]
        assert dt.datetime.strptime(one["start"], "%Y-%m-%d %H:%M") == plan.moment(row.start).replace(tzinfo=None)
        assert dt.datetime.strptime(one["end"], "%Y-%m-%d %H:%M") == plan.moment(row.end).replace(tzinfo=None)
        assert float(one["work_hours"]) == hours(row.worked)
        assert float(one["slack_hours"]) == hours(row.slack)
        assert int(one["hands"]) == row.hands
        assert one["on_path"] == ("yes" if row.on_path else "no")
    assert found["fit"]["who"] == "You, Wil"
    assert found["fit"]["after"] == "coat-1@recoat"
    assert {one["state"] for one in found.values()} == {"planned"}


def test_a_keying_and_a_logged_task_are_told_as_what_they_are() -> None:
    found = records(planned(MISSED, "2027-04-05T18:00"))
    assert found["coat-2/key/coat-1"]["title"] == "Key coat-1 for coat-2"
    assert found["coat-2/key/coat-1"]["material"] == ""
    assert (found["coat-1"]["state"], found["coat-1"]["held_by"]) == ("done", "")


def test_the_csv_is_as_the_standard_says() -> None:
    # RFC 4180: records end in CRLF, all have as many fields, a quote within quotes is doubled.
    text = plan_csv(planned(BAY.replace('id = "fit"', 'id = "fit"\ntitle = \'5" pod, "big"\'')))
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert '"5"" pod, ""big"""' in text
    assert {len(line) for line in csv.reader(io.StringIO(text, newline=""))} == {len(COLUMNS)}


@pytest.mark.parametrize(
    "title",
    ["=1+1", "+1", "-1", "@SUM(A1)", " =1", "=cmd|' /C calc'!A0", "＝1+1", "-", "+44 20"],
)
def test_no_spreadsheet_runs_what_the_owner_typed(title: str) -> None:
    plan = planned(BAY.replace('id = "fit"', f'id = "fit"\ntitle = "{title}"\npart = "{title}"'))
    one = records(plan)["fit"]
    assert one["title"] == one["part"] == f"'{title}"


def test_plain_text_and_numbers_have_no_apostrophe() -> None:
    found = records(planned(BAY.replace('id = "fit"', 'id = "fit"\ntitle = "1-2 = 3 + 4 @ noon"')))
    assert found["fit"]["title"] == "1-2 = 3 + 4 @ noon"
    assert not any(cell.startswith("'") for one in found.values() for cell in one.values())


# -- Markdown


def tokens(text: str) -> list[Token]:
    return MarkdownIt("commonmark").enable("table").parse(text)


def shown(token: Token) -> str:
    """The text of a line as it is read, its marks gone."""
    return "".join(child.content for child in token.children or ())


def tables(text: str) -> list[list[list[str]]]:
    """The tables of a document as another reader has them, the headings first."""
    found: list[list[list[str]]] = []
    for token in tokens(text):
        if token.type == "table_open":
            found.append([])
        elif token.type == "tr_open":
            found[-1].append([])
        elif token.type == "inline" and token.level >= 4 and found:
            found[-1][-1].append(shown(token))
    return found


def test_the_markdown_has_a_line_for_each_row_and_window_and_delivery() -> None:
    plan = planned()
    work, windows, deliveries = tables(plan_markdown(plan))
    assert [line[1] for line in work[1:]] == [row.title for row in plan.rows.values()]
    assert work[1][0] == "Mon 5 Apr 10:00-11:00"
    assert [line[1:3] for line in windows[1:]] == [["fit", "coat-1"]]
    assert deliveries[1] == ["Thu 8 Apr 11:00", "The pod", ""]
    assert all(len(line) == len(table[0]) for table in (work, windows, deliveries) for line in table)
    headings = [t for t in tokens(plan_markdown(plan)) if t.type == "heading_open"]
    assert [h.tag for h in headings] == ["h1", "h2", "h2", "h2"]


@pytest.mark.parametrize(
    "title",
    ["a | b", "<script>x</script>", "**bold** _it_ `code`", "[x](http://x.invalid)", "# no heading", "1. one", "\\|"],
)
def test_what_the_owner_typed_is_shown_letter_for_letter(title: str) -> None:
    plan = planned(BAY.replace('id = "fit"', f"id = \"fit\"\ntitle = '{title}'"), front=HEAD.replace("Tern", "T|<b>n"))
    text = plan_markdown(plan)
    assert title in [line[1] for line in tables(text)[0]]
    assert shown(tokens(text)[1]) == "Two coats, T|<b>n"
    kinds = {child.type for token in tokens(text) for child in token.children or ()}
    assert not kinds & {"html_inline", "link_open", "code_inline"}
    assert not any(token.type == "html_block" for token in tokens(text))


def test_control_codes_are_spelled_out_on_paper() -> None:
    plan = planned(BAY.replace('id = "fit"', 'id = "fit"\ntitle = "a\\u001b[31mb\\u202e"'))
    for text in (plan_csv(plan), plan_markdown(plan)):
        assert "\x1b" not in text
        assert "\u202e" not in text
    assert records(plan)["fit"]["title"] == r"a\x1b[31mb\u202e"
