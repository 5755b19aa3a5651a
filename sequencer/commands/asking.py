"""Commands that ask something of a job: `odds`, `levers`, `review`."""

from __future__ import annotations

import argparse
import datetime as dt
from typing import Any

from sequencer.commands.shared import (
    FINDINGS,
    OK,
    add_command,
    add_job,
    add_json,
    add_now,
    add_seconds,
    planned,
    print_json,
    say,
    seconds,
    whole,
)
from sequencer.commands.waiting import Progress, interruptible
from sequencer.errors import Fault, NoPlanError, UsageError


def add(commands: Any) -> None:
    """The commands."""
    _add_odds(commands)
    _add_levers(commands)
    _add_review(commands)


def _add_odds(commands: Any) -> None:
    command = add_command(
        commands, "odds", "how sure the date is: the chance of being afloat by each date, and the cost"
    )
    add_job(command)
    command.add_argument(
        "--runs", type=whole(1, 1_000_000), default=1000, metavar="N", help="futures tried (default 1000)"
    )
    command.add_argument(
        "--seed", type=whole(0, 2**63 - 1), default=1, metavar="S", help="the same seed, the same odds"
    )
    command.add_argument("--cores", type=whole(1, 256), metavar="N", help="processes to use (default: all cores)")
    add_json(command)
    add_now(command)
    add_seconds(command)
    command.set_defaults(run=_odds)


def _odds(args: argparse.Namespace) -> int:
    from sequencer.odds import Odds, tell_odds
    from sequencer.paper.odds_text import in_hundred, odds_json, odds_text

    progress = Progress()

    def grown(odds: Odds) -> None:
        progress.tell(f"{odds.runs:,} of {odds.wanted:,} tries: {in_hundred(odds.as_planned)} in 100 afloat as planned")

    with progress:
        progress.tell("planning")
        job, plan = planned(args)
        progress.tell(f"0 of {args.runs:,} tries")
        with interruptible() as stop:
            odds = tell_odds(job, plan, args.runs, args.seed, stop, grown, args.cores)
    if odds.runs < odds.wanted:
        if not odds.runs:
            raise KeyboardInterrupt
        say(f"Stopped after {odds.runs:,} of {odds.wanted:,} tries; the odds are of those.")
    if args.json:
        print_json(odds_json(plan, odds))
    else:
        print(odds_text(plan, odds), end="")
    return OK


def _add_levers(commands: Any) -> None:
    command = add_command(
        commands, "levers", "what would buy a night: each help tried for real, ranked by what is kept"
    )
    add_job(command)
    command.add_argument("--no-odds", action="store_true", help="leave out what each saves at 8 in 10")
    command.add_argument("--no-pairs", action="store_true", help="leave out two at a time")
    add_json(command)
    add_now(command)
    command.add_argument(
        "--seconds", type=seconds, default=20.0, metavar="N", help="try for at most so long (default 20)"
    )
    command.set_defaults(run=_levers)


def _levers(args: argparse.Namespace) -> int:
    from sequencer.job.source import read_text
    from sequencer.levers import eight_in_ten, read_prices, try_levers, with_prices
    from sequencer.paper.levers_text import levers_json, levers_text

    job, plan = planned(args)
    prices = read_prices(args.job)
    late = None if args.no_odds else eight_in_ten()
    trials = try_levers(
        read_text(args.job), args.job, job, plan, seconds=args.seconds, pairs=not args.no_pairs, odds_of=late
    )
    trials = with_prices(trials, prices)
    if args.json:
        print_json(levers_json(trials))
    else:
        print(levers_text(trials), end="")
    return OK


def _add_review(commands: Any) -> None:
    command = add_command(commands, "review", "checks of the trade: what one must not forget, and what to change")
    add_job(command)
    command.add_argument(
        "--answer", nargs=2, metavar=("FINDING", "REASON"), help="answer a finding; no reason takes the answer back"
    )
    add_json(command, "the findings as one JSON list")
    add_now(command)
    add_seconds(command)
    command.set_defaults(run=_review)


def _review(args: argparse.Namespace) -> int:
    from sequencer.job import read_job
    from sequencer.paper.review_text import review_json, review_text
    from sequencer.planning.planner import plan_job
    from sequencer.review import answer_finding, read_answers, review

    job = read_job(args.job)
    plan = None
    try:
        plan = plan_job(job, args.now, args.seconds, clock=dt.datetime.now(dt.UTC))
    except NoPlanError:
        say("There is no plan, so windows and loads are not looked at; sequencer plan says why.")
    findings = review(job, plan, read_answers(args.job))
    if args.answer:
        name, reason = args.answer
        if name not in {finding.id for finding in findings}:
            raise UsageError([Fault("", f"there is no finding {name}", "take its name from the list")], str(args.job))
        answer_finding(args.job, name, reason)
        findings = review(job, plan, read_answers(args.job))
    if args.json:
        print_json(review_json(findings))
    else:
        print(review_text(findings), end="")
    return FINDINGS if any(not finding.answered for finding in findings) else OK
