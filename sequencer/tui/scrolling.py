"""Keeping the marked line in view, and how far down it is."""

from __future__ import annotations

from typing import ClassVar

from textual.scrollbar import ScrollBarRender


class WholeCells(ScrollBarRender):
    """A scrollbar whose ends fall on whole cells: the signs for parts of a cell are not on every terminal."""

    VERTICAL_BARS: ClassVar[list[str]] = [" "] * 8
    HORIZONTAL_BARS: ClassVar[list[str]] = [" "] * 8


def more_words(top: int, shown: int, count: int) -> str:
    """How many of `count` lie out of view, `shown` from `top` on being in it; empty where none do."""
    below = count - top - shown
    if below > 0:
        return f"  {below} more below"
    return f"  {top} more above" if top else ""


def follow(top: int, first: int, last: int, height: int, total: int) -> int:
    """The first line shown of `total`, moved from `top` no more than needed to show lines [first, last).

    Where they do not fit into `height`, the first of them is shown.
    """
    if last > top + height:
        top = last - height
    if first < top or last - first > height:
        top = first
    return max(0, min(top, total - height))
