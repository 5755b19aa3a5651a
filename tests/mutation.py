"""How many small faults the tests would notice: mutants of the planning, cure and weather rooms, drawn at random.

    .venv/bin/pip install mutmut                                 # once; no part of the tests
    cd tests && ../.venv/bin/python mutation.py FOLDER           # a folder outside the repository; an hour or two
    cd tests && ../.venv/bin/python mutation.py FOLDER --count 40 --seed 7 --only 'sequencer/planning/slack.py'

mutmut makes the mutants, finds the tests that reach each and runs them, one fault at a time, in a copy of the tree.
``mutation_order.py`` says by which tests each is tried, in what order. A second run in the same folder keeps the
copy's map of tests, and takes in tests that are new.

In the folder: ``results.txt``, a line per mutant, and ``survivors.txt``, each with what it changed.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ROOMS = [f"sequencer/{name}.py" for name in ("planning/*", "weather/*", "cure", "grid", "shifts")]
TESTS = re.compile(
    "air|climate|clock|cure|engine|enumeration|epw|forecast|humidity|logged|longest|moved|plan_properties|published|"
    "recurrence|shifts|telling|trouble|weather"
)
"""What is in the name of a test file that is quick and reaches these rooms."""

SETTINGS = """
[tool.mutmut]
source_paths = ["sequencer"]
only_mutate = {only}
also_copy = ["mutation_order.py", "jobs", "README.md", "DEVELOPERS.md"]
process_isolation = "forkserver"
timeout_multiplier = 0.3
timeout_constant = 200.0
use_git_change_detection = false
track_dependencies = false
pytest_add_cli_args = ["-n", "0", "-p", "no:cacheprovider", "-p", "mutation_order"]
pytest_add_cli_args_test_selection = {tests}
"""


def copied(folder: Path, only: list[str]) -> Path:
    """A copy of the tree in the folder, with mutmut's settings in it.

    What has changed gets the time of the copying, by which mutmut knows what to make its mutants of anew.
    """
    tree = folder / "tree"
    listed = ["git", "ls-files", "--cached", "--others", "--exclude-standard"]
    for name in subprocess.run(listed, capture_output=True, text=True, check=True, cwd=ROOT).stdout.splitlines():
        source, target = ROOT / name, tree / name
        if source.is_file() and not (target.exists() and target.read_bytes() == source.read_bytes()):
            target.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(source, target)
    tests = sorted(str(p.relative_to(ROOT)) for p in ROOT.glob("tests/test_*.py") if wanted(p.stem))
    settings = SETTINGS.format(only=only, tests=tests).replace("'", '"')
    (tree / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text() + settings)
    shutil.copyfile(ROOT / "tests" / "mutation_order.py", tree / "mutation_order.py")
    return tree


def wanted(stem: str) -> bool:
    """Whether a test file is one of those that mutants are tried by."""
    return TESTS.search(stem) is not None and "_tui_" not in stem


def drawn(only: list[str], count: int, seed: int) -> list[str]:
    """The names of mutants drawn at random, the same for the same code and seed; works in the copy."""
    from mutmut.mutation.file_mutation import mutate_file_contents
    from mutmut.utils.format_utils import get_mutant_name

    paths = sorted({path for pattern in only for path in Path().glob(pattern)})
    names = [
        get_mutant_name(path, name)
        for path in paths
        for name in mutate_file_contents(str(path), path.read_text()).mutant_names
    ]
    return random.Random(seed).sample(names, min(count, len(names)))


def told(names: list[str], folder: Path) -> None:
    """Write and count what became of each mutant."""
    from mutmut.mutation.diff_apply import find_mutant, get_diff_for_mutant
    from mutmut.stats import status_by_exit_code

    results = {name: status_by_exit_code[find_mutant(name).exit_code_by_key[name]] for name in names}
    lines = "".join(f"{fate:10} {name}\n" for name, fate in sorted(results.items(), key=lambda one: one[::-1]))
    (folder / "results.txt").write_text(lines)
    left = [name for name in sorted(names) if results[name] not in ("killed", "timeout")]
    (folder / "survivors.txt").write_text(
        "\n\n".join(f"# {name}: {results[name]}\n{get_diff_for_mutant(name)}" for name in left)
    )
    print(*(f"{number} {fate}" for fate, number in Counter(results.values()).most_common()), sep=", ")
    share = 100 * (len(names) - len(left)) / len(names)
    print(f"{share:.1f} % of {len(names)} noticed; those left: {folder / 'survivors.txt'}")


def main() -> None:
    """Draw mutants, try them, tell."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", action="append", help="a file, or files by pattern")
    parser.add_argument("--names", type=Path, help="a file of mutants by name, in place of a draw")
    parser.add_argument("--tell", action="store_true", help="only tell what is known by now")
    args = parser.parse_args()
    folder = args.folder.resolve()
    if folder.is_relative_to(ROOT):
        parser.error("give a folder outside the repository")
    os.nice(19)
    os.environ.pop("PYTHONPATH", None)
    os.chdir(folder / "tree" if args.tell else copied(folder, ROOMS))
    names = args.names.read_text().split() if args.names else drawn(args.only or ROOMS, args.count, args.seed)
    if not args.tell:
        mutmut = Path(sys.executable).with_name("mutmut")
        with (folder / "log.txt").open("w") as log:
            command = [mutmut, "run", "--max-children", "1", *names]
            if subprocess.run(command, stdout=log, stderr=log, check=False).returncode:
                sys.exit(f"The tests fail, or mutmut does, before anything is changed: see {folder / 'log.txt'}")
    told(names, folder)


if __name__ == "__main__":
    main()
