"""Recurrences of RFC 5545 as somebody's hours: the days on shift are the dates the RFC prints.

Section 3.8.5.3, every example that repeats by whole days, letter for letter; each begins at 09:00 in New York on
its first date. Where the RFC ends a list with dots, the dates up to there are compared.
"""

from __future__ import annotations

import datetime as dt
import re
from zoneinfo import ZoneInfo

import pytest
from planned import crew, head, local, normals, planned, task

from sequencer.checking.clock import Clock
from sequencer.checking.people import Shifts
from sequencer.errors import JobError
from sequencer.grid import Grid
from sequencer.job import Crew, parse_job
from sequencer.shifts import allowed_starts, on_shift

NEW_YORK = ZoneInfo("America/New_York")


def dates(printed: str) -> list[dt.date]:
    """Dates as the RFC prints them, such as ``1997 Sep 2,9; Oct 7``; ``Sep 2-30`` for a run of days."""
    found: list[dt.date] = []
    year = month = 0
    for word in re.findall(r"[A-Z][a-z]+|\d+-\d+|\d+", printed):
        if word[0].isalpha():
            month = dt.datetime.strptime(word[:3], "%b").month
        elif len(word) == 4 and word.isdigit():
            year = int(word)
        else:
            first, _, last = word.partition("-")
            found += [dt.date(year, month, d) for d in range(int(first), int(last or first) + 1)]
    return found


# Rule, first day, the dates printed, and whether they are all there are.
EXAMPLES = [
    ("FREQ=DAILY;COUNT=10", "1997-09-02", "1997 Sep 2-11", True),
    ("FREQ=DAILY;UNTIL=19971224T000000Z", "1997-09-02", "1997 Sep 2-30; Oct 1-31; Nov 1-30; Dec 1-23", True),
    (
        "FREQ=DAILY;INTERVAL=2",
        "1997-09-02",
        "1997 Sep 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30; Oct 2,4,6,8,10,12,14,16,18,20,22,24,26,28,30; "
        "Nov 1,3,5,7,9,11,13,15,17,19,21,23,25,27,29; Dec 1,3",
        False,
    ),
    ("FREQ=DAILY;INTERVAL=10;COUNT=5", "1997-09-02", "1997 Sep 2,12,22; Oct 2,12", True),
    (
        "FREQ=YEARLY;UNTIL=20000131T140000Z;BYMONTH=1;BYDAY=SU,MO,TU,WE,TH,FR,SA",
        "1998-01-01",
        "1998 Jan 1-31; 1999 Jan 1-31; 2000 Jan 1-31",
        True,
    ),
    (
        "FREQ=DAILY;UNTIL=20000131T140000Z;BYMONTH=1",
        "1998-01-01",
        "1998 Jan 1-31; 1999 Jan 1-31; 2000 Jan 1-31",
        True,
    ),
    ("FREQ=WEEKLY;COUNT=10", "1997-09-02", "1997 Sep 2,9,16,23,30; Oct 7,14,21,28; Nov 4", True),
    (
        "FREQ=WEEKLY;UNTIL=19971224T000000Z",
        "1997-09-02",
        "1997 Sep 2,9,16,23,30; Oct 7,14,21,28; Nov 4,11,18,25; Dec 2,9,16,23",
        True,
    ),
    (
        "FREQ=WEEKLY;INTERVAL=2;WKST=SU",
        "1997-09-02",
        "1997 Sep 2,16,30; Oct 14,28; Nov 11,25; Dec 9,23; 1998 Jan 6,20; Feb 3,17",
        False,
    ),
    (
        "FREQ=WEEKLY;UNTIL=19971007T000000Z;WKST=SU;BYDAY=TU,TH",
        "1997-09-02",
        "1997 Sep 2,4,9,11,16,18,23,25,30; Oct 2",
        True,
    ),
    ("FREQ=WEEKLY;COUNT=10;WKST=SU;BYDAY=TU,TH", "1997-09-02", "1997 Sep 2,4,9,11,16,18,23,25,30; Oct 2", True),
    (
        "FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;BYDAY=MO,WE,FR",
        "1997-09-01",
        "1997 Sep 1,3,5,15,17,19,29; Oct 1,3,13,15,17,27,29,31; Nov 10,12,14,24,26,28; Dec 8,10,12,22",
        True,
    ),
    (
        "FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH",
        "1997-09-02",
        "1997 Sep 2,4,16,18,30; Oct 2,14,16",
        True,
    ),
    (
        "FREQ=MONTHLY;COUNT=10;BYDAY=1FR",
        "1997-09-05",
        "1997 Sep 5; Oct 3; Nov 7; Dec 5; 1998 Jan 2; Feb 6; Mar 6; Apr 3; May 1; Jun 5",
        True,
    ),
    ("FREQ=MONTHLY;UNTIL=19971224T000000Z;BYDAY=1FR", "1997-09-05", "1997 Sep 5; Oct 3; Nov 7; Dec 5", True),
    (
        "FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU",
        "1997-09-07",
        "1997 Sep 7,28; Nov 2,30; 1998 Jan 4,25; Mar 1,29; May 3,31",
        True,
    ),
    (
        "FREQ=MONTHLY;COUNT=6;BYDAY=-2MO",
        "1997-09-22",
        "1997 Sep 22; Oct 20; Nov 17; Dec 22; 1998 Jan 19; Feb 16",
        True,
    ),
    (
        "FREQ=MONTHLY;BYMONTHDAY=-3",
        "1997-09-28",
        "1997 Sep 28; Oct 29; Nov 28; Dec 29; 1998 Jan 29; Feb 26",
        False,
    ),
    (
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=2,15",
        "1997-09-02",
        "1997 Sep 2,15; Oct 2,15; Nov 2,15; Dec 2,15; 1998 Jan 2,15",
        True,
    ),
    (
        "FREQ=MONTHLY;COUNT=10;BYMONTHDAY=1,-1",
        "1997-09-30",
        "1997 Sep 30; Oct 1,31; Nov 1,30; Dec 1,31; 1998 Jan 1,31; Feb 1",
        True,
    ),
    (
        "FREQ=MONTHLY;INTERVAL=18;COUNT=10;BYMONTHDAY=10,11,12,13,14,15",
        "1997-09-10",
        "1997 Sep 10,11,12,13,14,15; 1999 Mar 10,11,12,13",
        True,
    ),
    (
        "FREQ=MONTHLY;INTERVAL=2;BYDAY=TU",
        "1997-09-02",
        "1997 Sep 2,9,16,23,30; Nov 4,11,18,25; 1998 Jan 6,13,20,27; Mar 3,10,17,24,31",
        False,
    ),
    (
        "FREQ=YEARLY;COUNT=10;BYMONTH=6,7",
        "1997-06-10",
        "1997 Jun 10; Jul 10; 1998 Jun 10; Jul 10; 1999 Jun 10; Jul 10; 2000 Jun 10; Jul 10; 2001 Jun 10; Jul 10",
        True,
    ),
    (
        "FREQ=YEARLY;INTERVAL=2;COUNT=10;BYMONTH=1,2,3",
        "1997-03-10",
        "1997 Mar 10; 1999 Jan 10; Feb 10; Mar 10; 2001 Jan 10; Feb 10; Mar 10; 2003 Jan 10; Feb 10; Mar 10",
        True,
    ),
    (
        "FREQ=YEARLY;INTERVAL=3;COUNT=10;BYYEARDAY=1,100,200",
        "1997-01-01",
        "1997 Jan 1; Apr 10; Jul 19; 2000 Jan 1; Apr 9; Jul 18; 2003 Jan 1; Apr 10; Jul 19; 2006 Jan 1",
        True,
    ),
    ("FREQ=YEARLY;BYDAY=20MO", "1997-05-19", "1997 May 19; 1998 May 18; 1999 May 17", False),
    ("FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO", "1997-05-12", "1997 May 12; 1998 May 11; 1999 May 17", False),
    (
        "FREQ=YEARLY;BYMONTH=3;BYDAY=TH",
        "1997-03-13",
        "1997 Mar 13,20,27; 1998 Mar 5,12,19,26; 1999 Mar 4,11,18,25",
        False,
    ),
    (
        "FREQ=YEARLY;BYDAY=TH;BYMONTH=6,7,8",
        "1997-06-05",
        "1997 Jun 5,12,19,26; Jul 3,10,17,24,31; Aug 7,14,21,28; 1998 Jun 4,11,18,25; Jul 2,9,16,23,30; "
        "Aug 6,13,20,27; 1999 Jun 3,10,17,24; Jul 1,8,15,22,29; Aug 5,12,19,26",
        False,
    ),
    # The RFC takes the first date itself out with an EXDATE; here the rule alone says the days.
    (
        "FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13",
        "1997-09-02",
        "1998 Feb 13; Mar 13; Nov 13; 1999 Aug 13; 2000 Oct 13",
        False,
    ),
    (
        "FREQ=MONTHLY;BYDAY=SA;BYMONTHDAY=7,8,9,10,11,12,13",
        "1997-09-13",
        "1997 Sep 13; Oct 11; Nov 8; Dec 13; 1998 Jan 10; Feb 7; Mar 7; Apr 11; May 9; Jun 13",
        False,
    ),
    (
        "FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
        "1996-11-05",
        "1996 Nov 5; 2000 Nov 7; 2004 Nov 2",
        False,
    ),
    ("FREQ=MONTHLY;COUNT=3;BYDAY=TU,WE,TH;BYSETPOS=3", "1997-09-04", "1997 Sep 4; Oct 7; Nov 6", True),
    (
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2",
        "1997-09-29",
        "1997 Sep 29; Oct 30; Nov 27; Dec 30; 1998 Jan 29; Feb 26; Mar 30",
        False,
    ),
    ("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=MO", "1997-08-05", "1997 Aug 5,10,19,24", True),
    ("FREQ=WEEKLY;INTERVAL=2;COUNT=4;BYDAY=TU,SU;WKST=SU", "1997-08-05", "1997 Aug 5,17,19,31", True),
    ("FREQ=MONTHLY;BYMONTHDAY=15,30;COUNT=5", "2007-01-15", "2007 Jan 15,30; Feb 15; Mar 15,30", True),
]


def person(*hours: dict[str, str], away: tuple[str, ...] = ()) -> Crew:
    return Crew.model_validate({"id": "crew", "hours": list(hours), "away": list(away)})


def days_there(somebody: Crew, first: dt.date, last: dt.date, zone: ZoneInfo = NEW_YORK) -> list[dt.date]:
    """The days from `first` to `last` with a quarter hour on shift."""
    grid = Grid(zone, first, (last - first).days + 1)
    there = on_shift(somebody, grid)
    return [grid.date(day) for day in sorted(set(grid.day_index[there].tolist()))]


@pytest.mark.parametrize(
    ("rule", "since", "printed", "ends"), EXAMPLES, ids=[f"{rule} from {since}" for rule, since, _, _ in EXAMPLES]
)
def test_the_days_on_shift_are_those_the_rfc_prints(rule: str, since: str, printed: str, ends: bool) -> None:
    somebody = person({"rule": rule, "since": since, "from": "09:00", "to": "10:00"})
    wanted = dates(printed)
    first = dt.date.fromisoformat(since)
    # Where the RFC's list is whole, nothing comes in the two years after it.
    last = wanted[-1] + dt.timedelta(days=800 if ends else 0)
    assert days_there(somebody, first - dt.timedelta(days=1), last) == wanted


@pytest.mark.parametrize("example", [e for e in EXAMPLES if "UNTIL" in e[0]], ids=lambda e: e[0])
def test_the_independent_check_reads_the_same_days(example: tuple[str, str, str, bool]) -> None:
    rule, since, printed, _ = example
    text = head(f"{since}T00:00:00", "America/New_York") + crew(
        f'{{ rule = "{rule}", since = "{since}", from = "09:00", to = "10:00" }}'
    )
    job = parse_job(text + task("launch"))
    clock = Clock(NEW_YORK, job.job.hauled)
    wanted = dates(printed)
    last = clock.wall(wanted[-1] + dt.timedelta(days=40), 0)
    shifts = Shifts(job, clock, 0, last)
    assert sorted({clock.date(slot) for slot in range(last) if shifts.there(slot)}) == wanted


def test_until_without_a_time_takes_its_whole_last_day_in() -> None:
    rule = {"rule": "FREQ=DAILY;UNTIL=19970905", "since": "1997-09-02", "from": "09:00", "to": "10:00"}
    assert days_there(person(rule), dt.date(1997, 9, 1), dt.date(1997, 9, 30)) == dates("1997 Sep 2-5")


def test_until_as_a_local_time_ends_at_that_time() -> None:
    hours = {"since": "1997-09-02", "from": "09:00", "to": "10:00"}
    upto = person({"rule": "FREQ=DAILY;UNTIL=19970905T090000"} | hours)
    before = person({"rule": "FREQ=DAILY;UNTIL=19970905T085900"} | hours)
    assert days_there(upto, dt.date(1997, 9, 1), dt.date(1997, 9, 30)) == dates("1997 Sep 2-5")
    assert days_there(before, dt.date(1997, 9, 1), dt.date(1997, 9, 30)) == dates("1997 Sep 2-4")


def test_until_just_before_midnight_keeps_out_what_begins_at_midnight() -> None:
    hours = {"since": "1997-09-02", "from": "00:00", "to": "06:00"}
    somebody = person({"rule": "FREQ=DAILY;UNTIL=19970905T235959"} | hours)
    assert days_there(somebody, dt.date(1997, 9, 1), dt.date(1997, 9, 30)) == dates("1997 Sep 2-5")


def test_until_at_no_time_of_day_is_a_fault_of_the_file() -> None:
    line = '{ rule = "FREQ=DAILY;UNTIL=20270501T996100Z", since = "2027-04-01", from = "09:00", to = "10:00" }'
    with pytest.raises(JobError, match="UNTIL=20270501T996100Z"):
        parse_job(head() + crew(line) + task("launch"))


def test_several_lines_add_up_and_absences_take_away_with_both_ends() -> None:
    # Leap day 2028 is the last day of February, by BYMONTHDAY=-1; the Mondays are 7, 14, 21 and 28 February.
    somebody = person(
        {"rule": "FREQ=MONTHLY;BYMONTHDAY=-1", "since": "2028-01-01", "from": "08:00", "to": "12:00"},
        {"days": "Mon", "from": "10:00", "to": "16:00"},
        away=("2028-02-14", "2028-02-20/2028-02-28"),
    )
    assert days_there(somebody, dt.date(2028, 2, 1), dt.date(2028, 3, 6)) == dates("2028 Feb 7,29; Mar 6")


def test_hours_past_midnight_are_cut_where_an_absence_begins_and_ends() -> None:
    somebody = person({"days": "Mon-Sun", "from": "22:00", "to": "02:00"}, away=("2027-04-14",))
    grid = Grid(ZoneInfo("UTC"), dt.date(2027, 4, 13), 3)
    there = on_shift(somebody, grid)
    hours = [slot / 4 for slot in range(1, grid.length) if there[slot] and not there[slot - 1]]
    ends = [slot / 4 for slot in range(1, grid.length) if there[slot - 1] and not there[slot]]
    # Tuesday to 02:00 (from Monday), Tuesday 22:00 to midnight; nothing on Wednesday; Thursday from 22:00. What
    # the Wednesday shift would have run into Thursday stays or falls with its own date: by the absence's date
    # alone, Thursday's first hours belong to a shift of somebody who is away when it begins.
    assert there[: 2 * 4].all()
    assert hours[0] == 22
    assert ends[:2] == [2, 24]
    assert not there[24 * 4 : 48 * 4].any()
    assert there[70 * 4 :].all()


def test_lift_slots_follow_the_same_rules_and_include_both_their_ends() -> None:
    somebody = person(
        {"rule": "FREQ=WEEKLY;INTERVAL=2;BYDAY=TH", "since": "2027-04-15", "from": "09:00", "to": "10:00"}
    )
    grid = Grid(ZoneInfo("UTC"), dt.date(2027, 4, 12), 28)
    allowed = [f"{grid.moment(slot):%d %H:%M}" for slot in allowed_starts(somebody.hours, grid).nonzero()[0].tolist()]
    quarters = ("09:00", "09:15", "09:30", "09:45", "10:00")
    assert allowed == [f"{day} {at}" for day in ("15", "29") for at in quarters]


def test_a_plan_works_only_on_the_days_a_recurrence_gives() -> None:
    """The third of Tuesday, Wednesday and Thursday in a month, and from 09:00 to 10:00 only: 4 h of work take four
    months (the RFC's own example, 30 years later)."""
    line = '{ rule = "FREQ=MONTHLY;BYDAY=TU,WE,TH;BYSETPOS=3", since = "2027-01-01", from = "09:00", to = "10:00" }'
    plan = planned(
        head("2027-09-01T00:00:00", "America/New_York"),
        normals(),
        crew(line),
        task("work", work=4),
        task("launch", "work", hands=0),
    )
    pieces = [local(plan, begin) for begin, _ in plan.rows["work"].pieces]
    assert pieces == ["2027-09-07 09:00", "2027-10-07 09:00", "2027-11-04 09:00", "2027-12-07 09:00"]
