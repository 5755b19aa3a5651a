"""``python -m sequencer`` and the console command ``sequencer``."""

from __future__ import annotations

import sys

from sequencer.cli import run


def main() -> None:
    """Run the command line and leave with its exit code."""
    sys.exit(run(sys.argv[1:]))


if __name__ == "__main__":
    main()
