"""``python -m sequencer`` and the console command ``sequencer``."""

from __future__ import annotations

import os
import sys

if __name__ == "__main__" and not sys.flags.safe_path:
    # "python -m" looks for modules in the folder one stands in first: that may be a job's, and a stranger's. Nothing
    # may be imported to leave it out but what Python has loaded already; pathlib is not.
    own = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))  # noqa: PTH100, PTH120
    sys.path[:1] = [own] if os.path.abspath(sys.path[0]) == own else []  # noqa: PTH100

from sequencer.cli import run


def main() -> None:
    """Run the command line and leave with its exit code."""
    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
