"""What helps cost: read as people write it, kept beside the job, and counted against what they save."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import lever_jobs as jobs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sequencer.cli import run
from sequencer.errors import JobError
from sequencer.job import read_job
from sequencer.levers import (
    Trials,
    asked_of,
    keep_price,
    parse_price,
    prices_file,
    read_prices,
    try_levers,
    with_prices,
)
from sequencer.planning.planner import plan_job


def tried(folder: Path, text: str) -> Trials:
    path = folder / "job.toml"
    path.write_text(text, "utf-8")
    job = read_job(path)
    return try_levers(text, path, job, plan_job(job, seconds=5), seconds=30, pairs=False)


@pytest.mark.parametrize(
    ("typed", "price"),
    [("300", 300.0), (" £ 1,250.50 ", 1250.5), ("EUR 12.001", 12.01), ("0", 0.0), ("", None), ("1,000,000", 1e6)],
)
def test_an_amount_is_read_as_people_write_it_and_rounded_up(typed: str, price: float | None) -> None:
    assert parse_price(typed) == price


@pytest.mark.parametrize("typed", ["much", "12,50", "1.2.3", "-4", "2000000", "nan", "1,00", "٣٠٠", "£"])
def test_what_is_no_amount_is_said_plainly(typed: str) -> None:
    with pytest.raises(ValueError, match=r"no amount|between 0 and"):
        parse_price(typed)


@settings(max_examples=20)
@given(st.floats(0, 1e6, allow_nan=False), st.sampled_from(["cover:bay", "a-day:wil", 'odd "name"', "a.b"]))
def test_a_price_kept_is_read_again(tmp_path_factory: pytest.TempPathFactory, price: float, key: str) -> None:
    job = tmp_path_factory.mktemp("kept") / "job.toml"
    assert keep_price(job, "other", 5) == {"other": 5}
    assert keep_price(job, key, price)[key] == price
    assert read_prices(job) == {"other": 5, key: price}
    assert keep_price(job, key, None) == {"other": 5}


def test_the_owners_lines_stay_and_a_file_of_something_else_is_a_plain_fault(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    assert read_prices(job) == {}
    prices_file(job).write_text('# asked Tom\n"cover:bay" = 300   # with poles\n', "utf-8")
    keep_price(job, "gear:grinder", 40)
    kept = prices_file(job).read_text("utf-8")
    assert kept.startswith('# asked Tom\n"cover:bay" = 300   # with poles\n')
    assert read_prices(job) == {"cover:bay": 300, "gear:grinder": 40}
    for wrong in ('"cover:bay" = "dear"', '"cover:bay" = -1', '"cover:bay" = nan', '"cover:bay" = true', "cover ="):
        prices_file(job).write_text(wrong, "utf-8")
        with pytest.raises(JobError, match="is no"):
            read_prices(job)
        with pytest.raises(JobError):
            keep_price(job, "x", 1)
        assert prices_file(job).read_text("utf-8") == wrong


def test_a_cover_at_its_price_and_one_too_dear(tmp_path: Path) -> None:
    """Two nights at 40 saved by the tent (see the job): 30 leaves 50, 100 loses 20, and ranks below what is kept."""
    found = tried(tmp_path, jobs.RAIN)
    tent = next(t for t in found.tried if t.id == "cover:bay")
    assert [asked.key for asked in asked_of(tent, found.before.job)] == ["cover:bay"]
    for price, kept in ((30, 50.0), (100, -20.0)):
        tent = next(t for t in with_prices(found, {"cover:bay": price}).tried if t.id == "cover:bay")
        assert (tent.saved, tent.price, tent.kept) == (80.0, price, kept)
    taken_back = with_prices(with_prices(found, {"cover:bay": 30}), {})
    assert taken_back.tried == found.tried


def test_a_helper_costs_each_day_he_comes_until_the_launch(tmp_path: Path) -> None:
    """Wil every weekend: Sat 17 and Sun 18, launch Thu 22; later weekends are not paid. A named day is one day."""
    found = with_prices(tried(tmp_path, jobs.WEEKENDS), {"a-day:wil": 60})
    weekends = next(t for t in found.tried if t.id == "weekends:wil")
    assert weekends.launch.date() == dt.date(2027, 4, 22)
    assert weekends.price == 120
    assert [asked.key for asked in asked_of(weekends, found.before.job)] == ["a-day:wil"]
    days = [t for t in found.tried if t.levers[0].kind == "day" and {p for p, _ in t.levers[0].days} == {"wil"}]
    assert days
    assert {t.price for t in days if next(iter(t.levers[0].days))[1] <= t.launch.date()} == {60}
    whole = next(t for t in with_prices(found, {"a-day:wil": 60, "weekends:wil": 100}).tried if t.id == "weekends:wil")
    assert whole.price == 100


def test_the_ranking_follows_the_prices(tmp_path: Path) -> None:
    found = tried(tmp_path, jobs.HEAVY)
    best = found.tried[0]
    dear = with_prices(found, {"a-day:wil": 1000})
    assert best.kept is not None
    assert best.kept > 0
    assert all(t.kept is None or t.kept < 0 for t in dear.gains)
    kept = [t.kept for t in dear.gains if t.kept is not None]
    assert kept == sorted(kept, reverse=True)


def test_prices_beside_the_job_count_on_the_command_line_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "job.toml"
    path.write_text(jobs.RAIN, "utf-8")
    keep_price(path, "cover:bay", 30)
    assert run(["levers", str(path), "--no-odds", "--no-pairs"]) == 0
    row = next(line for line in capsys.readouterr().out.split("\n") if "tent over" in line)
    assert row.split()[-3:] == ["£80", "£30", "£50"]
    prices_file(path).write_text("tent = dear", "utf-8")
    assert run(["levers", str(path)]) == 2
    assert "job.prices.toml" in capsys.readouterr().err
