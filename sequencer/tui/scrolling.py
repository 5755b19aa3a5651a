"""Keeping the marked line in view."""

from __future__ import annotations


def follow(top: int, first: int, last: int, height: int, total: int) -> int:
    """The first line shown of `total`, moved from `top` no more than needed to show lines [first, last).

    Where they do not fit into `height`, the first of them is shown.
    """
    if last > top + height:
        top = last - height
    if first < top or last - first > height:
        top = first
    return max(0, min(top, total - height))
