"""Faults within one table of a job file: each a sentence of its own, in plain words."""

from __future__ import annotations

import pytest
from support import BASE_JOB, assert_only_fault, faults_or_none, plain

TABLE_FAULTS = [
    # a change to the sound job, and the one sentence that must come of it
    ("[yard]", "[yrad]", "there is no table yrad; did you mean yard?"),
    ("[yard]", "[[yard]]", "yard: [[yard]] has double brackets, and there is only one of it; write [yard]"),
    ("[[delivery]]", "[delivery]", "delivery pod: [delivery] has single brackets; write [[delivery]]"),
    ("[[weather.day]]", "[weather.day]", "weather: day must be a list, not a table; write [[weather.day]]"),
    ('finish = "relaunch"\n', "", 'job: finish is missing; add finish = "relaunch"'),
    (
        '"Europe/London"',
        '"Europe/Lodnon"',
        'job: timezone must be an IANA time zone, and "Europe/Lodnon" is none; ',
    ),
    ('"Europe/London"', '"Europe/Lodnon"', 'did you mean "Europe/London"?'),
    (
        '"Europe/London"',
        '"/etc/passwd"',
        'job: timezone must be an IANA time zone, and "/etc/passwd" is none',
    ),
    ('"Europe/London"', r'"a\u0000b"', "job: timezone must be the name of an IANA time zone"),
    (
        "hauled = 2027-04-12T10:00:00",
        'hauled = "Monday"',
        'job: hauled must be a date or a moment, not "Monday"',
    ),
    ("hauled = 2027-04-12T10:00:00", "hauled = 9999-12-31", "job: hauled must lie in the years 1970 to 2100"),
    (
        "hauled = 2027-04-12T10:00:00",
        "hauled = 0001-01-01T00:00:00+14:00",
        "job: hauled must lie in the years 1970 to 2100",
    ),
    ("night = 38.0", 'night = "38"', 'yard: night must be a number, not "38"'),
    ("night = 38.0", "night = -1", "yard: night must be 0 or more, not -1"),
    ("night = 38.0", "night = inf", "yard: night must be 1e+09 or less, not inf"),
    ("free_nights = 2", "free_nights = 2.5", "yard: free_nights must be a whole number, not 2.5"),
    (
        "free_nights = 2",
        "free_nights = 0x" + "f" * 6000,
        "yard: free_nights must be 1000 or less, not so large",
    ),
    ("high = 13.5", "high = 3.5", "weather day 2027-04-16: high is 3.5 and low is 6; change them over"),
    ("high = 13.5\n", "", "weather day 2027-04-16: high is missing; add high = 13.5"),
    (
        "dew = 5.0\nrain",
        "rain",
        "weather day 2027-04-16: dew is missing; add dew (the dew point) or humidity",
    ),
    (
        "dew = 5.0\nrain",
        "dew = 5.0\nhumidity = 80\nrain",
        "weather day 2027-04-16: dew and humidity both stand",
    ),
    ("dew = 5.0\nrain", "humidity = 0\nrain", "weather day 2027-04-16: humidity must be 1 or more, not 0"),
    ("wind = 12", "wind = nan", "weather day 2027-04-16: wind must be a number, not nan"),
    ('["13:00/18:00"]', '["18:00/13:00"]', "weather day 2027-04-16: the 1st of rain must be hours of a day"),
    ('["13:00/18:00"]', '["1 pm/6 pm"]', 'the 1st of rain must be a time of day, not "1 pm"'),
    ("month = 4", "month = 13", "weather normal 13: month must be 12 or less, not 13"),
    (
        "month = 4",
        "month = 4\nwet_day = 3",
        "weather normal 4: there is no field wet_day; did you mean wet_days?",
    ),
    ('days = "Mon-Sat", from = "08:00"', 'from = "08:00"', "crew owner, the 1st of hours: days is missing"),
    (
        'days = "Mon-Sat", from = "08:00"',
        'days = "Mon-Sun", from = 8',
        "from must be a time of day in quotes, not 8",
    ),
    (
        '"08:00", to = "12:00"',
        '"08:00", to = "08:00"',
        "crew owner, the 1st of hours: from and to are the same",
    ),
    ('days = "Mon-Sat", from = "08:00"', 'days = "Mon-Saturn", from = "08:00"', '"Mon-Saturn" is none'),
    (
        "FREQ=WEEKLY",
        "FREQ=HOURLY",
        "crew friend, the 1st of hours: rule must have FREQ=DAILY, WEEKLY, MONTHLY or",
    ),
    ("INTERVAL=2", "INTERVAL=0", "rule has INTERVAL=0; INTERVAL is a whole number from 1 to 9999"),
    ("INTERVAL=2", "BYHOUR=9", "rule can't have BYHOUR; hours stand in from and to"),
    ("INTERVAL=2", "DAY=2", 'rule has the part "DAY" that no recurrence has'),
    ("INTERVAL=2;BYDAY=SA", "BYDAY=XX", '"FREQ=WEEKLY;BYDAY=XX" is none'),
    ("INTERVAL=2", "COUNT=2;UNTIL=20270501", "rule has both UNTIL and COUNT; keep one of the two"),
    ("FREQ=WEEKLY;INTERVAL=2;BYDAY=SA", "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30", "rule never falls on a day"),
    ('since = "2027-04-10", ', "", "crew friend, the 1st of hours: since is missing; add the date"),
    (
        'rule = "FREQ',
        'days = "Sat", rule = "FREQ',
        "crew friend, the 1st of hours: days and rule both stand here",
    ),
    ("2027-05-01/2027-05-03", "2027-05-03/2027-05-01", "crew owner: the 2nd of away ends before it begins"),
    (
        "2027-05-01/2027-05-03",
        "next week",
        "crew owner: the 2nd of away must be a date or an interval of dates, not",
    ),
    (
        'shelter = "open"',
        'shelter = "tent"',
        'zone drive-bay: shelter must be open, covered or inside, not "tent"',
    ),
    ("heat_to = 15", "heat_to = true", "zone drive-bay: heat_to must be a number, not true"),
    ("count = 1", "count = -1", "gear pad-mould: count must be 0 or more, not -1"),
    ('["2027-04-24", "2027-05-05"]', '["2027-04-24"]', "delivery pod: range must be two dates, not a list"),
    (
        '["2027-04-24", "2027-05-05"]',
        '["2027-05-05", "2027-04-24"]',
        "delivery pod, range: the latest comes before",
    ),
    ("due = 2027-04-26", "due = 2027-06-26", "delivery pod, due: 2027-06-26 lies outside its range"),
    (
        'id = "lay-up-epoxy"',
        'id = "lay-up-epoxy"\napply_ = 1',
        "material lay-up-epoxy: there is no field apply_",
    ),
    ("no_cure_below", "no_cure_bellow", "there is no field no_cure_bellow; did you mean no_cure_below?"),
    ("temps = [10, 20, 30]\n", "", "material lay-up-epoxy: temps is missing; add temps = [10, 20, 30]"),
    ("[10, 20, 30]", "[10, 30, 20]", "material lay-up-epoxy: temps must rise from left to right"),
    ("[10, 20, 30]", "[10, 20, 300]", "material lay-up-epoxy: the 3rd of temps must be 80 or less, not 300"),
    (
        "[10, 20, 30]",
        "[10, 20]",
        "material lay-up-epoxy, temps: temps has 2 numbers, and every stage has 3 numbers",
    ),
    ("[10, 20, 30]", "[]", "material lay-up-epoxy: temps is empty; give the temperatures of the columns"),
    ("set    = [10, 5, 2.5]\n", "", "material lay-up-epoxy: set is missing; add the hours until it has set"),
    (
        "set    = [10, 5, 2.5]",
        "set = [10, 5]",
        "material lay-up-epoxy, set: it has 2 numbers, and temps has 3",
    ),
    (
        "set    = [10, 5, 2.5]",
        'set = [10, "x", 2]',
        'material lay-up-epoxy: set must be hours, not "x"; write hours',
    ),
    (
        "set    = [10, 5, 2.5]",
        "set = [10, 0, 2]",
        "material lay-up-epoxy: set must be hours above 0 and up to",
    ),
    ("set    = [10, 5, 2.5]", "set = [3, 2, 1]\ndone = [3, 2, 1]", "done can't be the name of a stage"),
    (
        "set    = [10, 5, 2.5]",
        "set = [3, 2, 1]\n'Tack free' = [3, 2, 1]",
        '"Tack free" can\'t be the name of a stage',
    ),
    (
        "opens = [8, 4, 2]",
        "open = [8, 4, 2]",
        "material lay-up-epoxy, recoat: there is no field open; did you mean",
    ),
    ("closes = [60, 36, 20]", "closes = [60, 36]", "recoat: closes has 2 numbers, and temps has 3 numbers"),
    (
        "closes = [60, 36, 20]",
        "closes = [60, 3, 20]",
        "material lay-up-epoxy, recoat: the window closes before it",
    ),
    (
        "{ work = 1.5, dust = true }",
        "{ work = 1.5, dust = 1 }",
        "recoat, if_missed: dust must be true or false, not 1",
    ),
    (
        'dry_until = "set"',
        'dry_until = "sett"',
        'dry_until names "sett", and the material has no such stage; did you',
    ),
    ("max_temp = 32", "max_temp = 3", "material lay-up-epoxy, apply: max_temp is 3 and min_temp is 10"),
    (
        'id = "friend"',
        'id = "The Friend"',
        'crew The Friend: id must be a short name, not "The Friend"; use small',
    ),
    ('id = "soak"', "id = 7", "the 4th task: id must be text in quotes, not 7"),
    ('id = "soak"\n', "", 'the 4th task: id is missing; add id = "a-short-name"'),
    (
        "wait = 48\n",
        "",
        "task soak: work is missing; add work (hours at the job), or wait (hours that just pass)",
    ),
    ("wait = 48", "wait = 48\nwork = 1", "task soak: work and wait both stand here; keep one of the two"),
    ("wait = 48", 'wait = 48\nwho = ["owner"]', "task soak: who stands with wait, and a wait needs nobody"),
    ("wait = 48", "wait = -1", "task soak: wait must be 0 or more, not -1"),
    (
        "work = [3, 4, 6]",
        "work = [3, 4]",
        "task tab-pad: work has 2 numbers; write one number, or three: low, likely",
    ),
    ("work = [3, 4, 6]", "work = [6, 4, 3]", "task tab-pad: work must rise from low over likely to high"),
    (
        "work = [3, 4, 6]",
        'work = "3 h"',
        'task tab-pad: work must be hours, not "3 h"; write one number, or three',
    ),
    ("hands = 2\n", 'hands = "two"\n', 'task tab-pad: hands must be a whole number, not "two"'),
    ("hands = 2\n", "hand = 2\n", "task tab-pad: there is no field hand; did you mean hands?"),
    ('who = ["owner"]', 'who = ["owner", "friend", "owner"]', "task tab-pad: who names owner 2 times"),
    ("hands = 2\n", "hands = 0\n", "task tab-pad: hands is 0, and who names 1; make hands 1 or more"),
    ("one_go = true", 'one_go = "yes"', 'task tab-pad: one_go must be true or false, not "yes"'),
    ('makes = "dust"', 'makes = "noise"', 'task grind-taper: makes must be dust, not "noise"'),
    (
        "max_wind = 20",
        'max_wind = "force 4"',
        'task grind-taper, needs: max_wind must be a number, not "force 4"',
    ),
    ("needs = {", "needs = 5 # {", "task grind-taper, needs: this must be a table in braces, not 5"),
    (
        'zone = "drive-bay"\nwork = 5',
        "work = 5",
        "task grind-taper: zone is missing, and needs is about the air there",
    ),
    (
        'zone = "drive-bay"\nwork = 2',
        "work = 2",
        "task bond-pad: zone is missing, and a task with a material needs one",
    ),
    ("units = 2", "units = 0", "task tab-pad, the 3rd of gear: units must be 1 or more, not 0"),
    (
        '"grinder", {',
        '"grinder", "grinder", {',
        "task tab-pad: gear names grinder 2 times; name it once; units says",
    ),
    (
        'after = ["soak"]',
        'after = "soak"',
        'task fit-pod: after must be a list, not "soak"; put square brackets',
    ),
    (
        "bond-pad@recoat",
        "bond-pad@",
        "task tab-pad: the 2nd of after must name a task, or a task and a stage",
    ),
    ("reached = { sand", "reached = [3] # {", "task bond-pad: reached must be a table in braces, not a list"),
    (
        "sand = 2027-04-15T07:00:00",
        'sand = "noon"',
        "task bond-pad: reached sand must be a date or a moment, not",
    ),
    ('part = "Plan B"', "part = 2027-04-12", "task tab-pad: part must be text in quotes, not 2027-04-12"),
]


@pytest.mark.parametrize(("old", "new", "sentence"), TABLE_FAULTS)
def test_one_slip_is_one_sentence(old: str, new: str, sentence: str) -> None:
    assert_only_fault(BASE_JOB.replace(old, new, 1), sentence)


ODD = ["3", "-3", "2.5", "1e400", "nan", '"x"', '""', "true", "[]", '["x"]', "[3, [3]]", "{}", "{ x = 3 }"]
ODD += ["2027-04-12", "9999-12-31T23:59:59-23:59", "12:00:00", "0x" + "f" * 300, "[[[[[[]]]]]]"]


@pytest.mark.parametrize("odd", ODD)
def test_every_field_takes_odd_values_or_says_why_not(odd: str) -> None:
    lines = BASE_JOB.splitlines()
    for number, line in enumerate(lines):
        field, equals, _ = line.partition(" = ")
        if equals and not line.startswith(" ") and not line.endswith("["):
            text = "\n".join([*lines[:number], f"{field} = {odd}", *lines[number + 1 :]])
            faults = faults_or_none(text)
            assert plain(faults), (field, odd, faults)
