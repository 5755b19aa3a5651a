"""The findings of the review as plain text and as JSON."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from sequencer.errors import one_line
from sequencer.paper.lines import folded
from sequencer.review import Finding

NOTHING = "Nothing found. That is no approval: the checks know only what the file says.\n"
CLOSING = "Your data sheets, the yard's rules, local codes and licensed trades have the last word."


def review_text(findings: Sequence[Finding], width: int = 80) -> str:
    """The findings to read, those not answered first; lines of at most `width` cells."""
    if not findings:
        return NOTHING
    open_, answered = [f for f in findings if not f.answered], [f for f in findings if f.answered]
    lines = [_counted(len(open_), len(answered)), ""]
    for number, finding in enumerate(open_, 1):
        lines += [*_told(finding, number, width), ""]
    if answered:
        lines.append("ANSWERED")
        for finding in answered:
            lines += folded(f"{_safe(finding.what)}. Answer: {_safe(finding.answered)}", width, "- ", "  ")
            lines += folded(f"[{_safe(finding.id)}]", width, "  ", "  ")
        lines.append("")
    return "\n".join([*lines, *folded(CLOSING, width)]) + "\n"


def _counted(open_: int, answered: int) -> str:
    said = f"{open_} finding{'s' if open_ != 1 else ''}" if open_ else "No open finding"
    return f"{said}, {answered} answered." if answered else f"{said}."


def _told(finding: Finding, number: int, width: int) -> Iterator[str]:
    yield from folded(f"{_safe(finding.what)}.", width, f"{number:>2}  ", "    ")
    parts = (("why", finding.why), ("source", finding.source), ("change", finding.change), ("read from", finding.rests))
    for lead, text in parts:
        if text:
            yield from folded(f"{lead}: {_safe(text)}.", width, "    ", "      ")
    yield from folded(f"[{_safe(finding.id)}]", width, "    ", "    ")


def _safe(text: str) -> str:
    return one_line(text, 800)


def review_json(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """The findings as a JSON-ready list, a field each of :class:`Finding`."""
    fields = ("id", "where", "what", "why", "source", "change", "rests", "answered")
    return [{name: getattr(finding, name) for name in fields} for finding in findings]
