"""The rules of the house: which room may know which, what starts without what, what lies at the top."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports

ROOT = Path(__file__).resolve().parent.parent
TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "sequencer", "tests", "jobs", "screenshots"}


def test_no_room_imports_upward() -> None:
    assert lint_imports(config_filename=str(ROOT / "pyproject.toml"), no_cache=True) == EXIT_STATUS_SUCCESS


def loaded_by(statement: str) -> set[str]:
    """Top-level modules that are loaded after `statement` in a fresh interpreter."""
    script = f"{statement}\nimport sys\nprint(*{{m.partition('.')[0] for m in sys.modules}})"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    return set(done.stdout.split())


def test_the_core_loads_without_textual_and_without_the_solver() -> None:
    loaded = loaded_by("import sequencer.cli, sequencer.paper.textplan, sequencer.planning.planner, sequencer.checking")
    assert "sequencer" in loaded
    assert not loaded & {"textual", "rich", "ortools"}


def test_help_needs_neither_textual_nor_numpy() -> None:
    loaded = loaded_by("import sequencer.cli\ntry:\n    sequencer.cli.run(['--help'])\nexcept SystemExit:\n    pass")
    assert not loaded & {"textual", "numpy", "pydantic"}


def test_the_top_level_is_as_agreed() -> None:
    listed = subprocess.run(["git", "ls-files"], capture_output=True, text=True, check=True, cwd=ROOT).stdout.split(
        "\n"
    )
    top = {name.partition("/")[0] for name in listed if name}
    assert {name for name in top if not name.startswith(".")} <= TOP
    assert {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "jobs"} <= top


def test_no_file_names_a_registry_host() -> None:
    listed = subprocess.run(["git", "ls-files"], capture_output=True, text=True, check=True, cwd=ROOT).stdout.split(
        "\n"
    )
    texts = [ROOT / name for name in listed if name.endswith((".md", ".toml", ".py", ".lock", ".txt"))]
    hosts = [".".join(("pypi", "org")), ".".join(("pythonhosted", "org"))]
    assert texts
    assert not [path for path in texts if path.is_file() and any(host in path.read_text("utf-8") for host in hosts)]
