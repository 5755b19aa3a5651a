"""A plan as the contract's JSON object (§7). Times are ISO 8601 with offset."""

from __future__ import annotations

from typing import Any

from sequencer.planning.plan import Plan, Row, hours


def plan_object(plan: Plan) -> dict[str, Any]:
    """The plan as one JSON-ready object."""
    cost: dict[str, Any] | None = None
    if plan.cost is not None and plan.job.yard is not None:
        cost = {"currency": plan.job.yard.currency, "total": round(plan.cost, 2)}
    found: dict[str, Any] = {
        "job": plan.job.job.title,
        "launch": _time(plan, plan.launch),
        "nights": plan.nights,
        "proved": plan.proved,
        "no_earlier_than": _time(plan, plan.bound),
    }
    if cost is not None:
        found["cost"] = cost
    found["tasks"] = [_row(plan, row) for row in plan.rows.values()]
    found["stay"] = [{"cause": cause, "hours": hours(slots)} for cause, slots in plan.stay.items()]
    return found


def _time(plan: Plan, slot: int) -> str:
    return plan.moment(slot).isoformat()


def _row(plan: Plan, row: Row) -> dict[str, Any]:
    stages: dict[str, str] = {}
    for name, slot in row.stages.items():
        stages[name] = _time(plan, slot)
        if name in row.closes:
            stages[f"{name}_closes"] = _time(plan, row.closes[name])
    held: dict[str, Any] = {"cause": row.held.cause}
    if row.held.task:
        held |= {"task": row.held.task, "stage": row.held.stage}
    if row.held.by:
        held["by"] = list(row.held.by)
    return {
        "id": row.id,
        "start": _time(plan, row.start),
        "end": _time(plan, row.end),
        "pieces": [[_time(plan, begin), _time(plan, end)] for begin, end in row.pieces],
        "stages": stages,
        "slack_hours": hours(row.slack),
        "on_path": row.on_path,
        "held_by": held,
    }
