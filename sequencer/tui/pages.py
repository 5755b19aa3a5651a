"""The pages there are, in the order of the rail."""

from __future__ import annotations

from sequencer.tui.page import Page
from sequencer.tui.stay import StayPage


def page_types() -> tuple[type[Page], ...]:
    """Every page's class; a new page is added here and in the keys, nowhere else."""
    found: list[type[Page]] = [StayPage]
    import importlib

    for title in ("Day", "Cures", "Holds", "Tasks"):
        try:
            module = importlib.import_module(f"sequencer.tui.{title.lower()}")
            found.append(getattr(module, f"{title}Page"))
        except ImportError:
            pass
    return tuple(found)
