"""Texts of a job that look like paths and addresses are texts: nothing is opened or asked for by them."""

from __future__ import annotations

import json
from pathlib import Path

from reach_support import codes_of, watched
from test_reach_files import MARKED, QUICK, SMALL, assert_left_alone, linked, place

TEMPTING = (
    "{secret}",
    "../secret.csv",
    "file://{secret}",
    "http://127.0.0.1:9/x.ics",
    "/dev/zero",
    "~/.netrc",
    "link.csv",
)
IN_RULES = (
    ('timezone = "UTC"', "timezone = TEXT"),
    ('days = "Mon-Sun", from = "13:00"', 'rule = TEXT, since = "2027-06-06", from = "13:00"'),
    ('id = "primer"', "id = TEXT"),
    ('id = "bottom"', "id = TEXT"),
    ('finish = "relaunch"', "finish = TEXT"),
    ('after = ["scrape"]', "after = [TEXT]"),
    ('makes = "dust"', "makes = TEXT"),
)


def test_no_text_of_a_job_is_taken_for_a_path_or_an_address(tmp_path: Path) -> None:
    folder, steps = place(tmp_path), []
    linked(folder)
    for number, text in enumerate(TEMPTING):
        word = json.dumps(text.format(secret=tmp_path / "secret.csv"))
        words = f"title = {word}\nnote = {word}"
        job = SMALL.replace('title = "Two coats"\nboat = "Tern, 7 m sloop"', f"{words}\nboat = {word}")
        job = job.replace('currency = "GBP"', f"{words}\ncurrency = {word}").replace('title = "You"', words)
        job = job.replace('id = "primer"', f'id = "primer"\n{words}').replace("title = 'Bottom'", words)
        job = job.replace('id = "scrape"\n', f'id = "scrape"\npart = {word}\n{words}\n')
        (folder / f"{number}.toml").write_text(job, "utf-8")
        steps += [(f"{command} {number}", command, f"{number}.toml", *QUICK) for command in SHOWN]
        for at, (old, new) in enumerate(IN_RULES):
            assert SMALL.count(old) >= 1
            tried = SMALL.replace(old, new.replace("TEXT", word), 1)
            (folder / f"{number}-{at}.toml").write_text(tried, "utf-8")
            steps.append((f"refused {number}-{at}", "plan", f"{number}-{at}.toml", *QUICK))
    reach = watched(folder, MARKED, json.dumps(steps), aside=tmp_path / "aside")
    codes = codes_of(reach)
    for step, code in codes.items():
        assert code == (2 if step.startswith("refused") else 1 if step.startswith("review") else 0), step
    assert_left_alone(reach, folder)


SHOWN = ("plan", "sheet", "review", "calendar", "table", "supplies")


def test_a_rule_can_name_no_file_of_time_zones(tmp_path: Path) -> None:
    """dateutil reads ``DTSTART;TZID=/a/path`` as a file of a time zone."""
    folder = place(tmp_path)
    rules = (
        f"DTSTART;TZID={tmp_path / 'secret.csv'}:20270606T080000\nRRULE:FREQ=DAILY",
        f"RDATE;TZID={tmp_path / 'secret.csv'}:20270606T080000",
        f"FREQ=DAILY;UNTIL=20270630;TZID={tmp_path / 'secret.csv'}",
    )
    old, steps = 'days = "Mon-Sun", from = "13:00"', []
    for number, rule in enumerate(rules):
        new = f'rule = {json.dumps(rule)}, since = "2027-06-06", from = "13:00"'
        (folder / f"{number}.toml").write_text(SMALL.replace(old, new), "utf-8")
        steps.append((str(number), "plan", f"{number}.toml", *QUICK))
    reach = watched(folder, MARKED, json.dumps(steps), aside=tmp_path / "aside")
    assert set(codes_of(reach).values()) == {2}
    assert_left_alone(reach, folder)
