"""`dev.py check`: everything but the tests; all checks run, two at a time, then the failed ones are named."""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from devtools.locks import lock_problems
from devtools.manual import build_command
from devtools.places import ROOT, script, tell
from devtools.sizes import size_problems

TOGETHER = 2
"""Checks that run at a time; each is a process of its own, and those of the longest are two."""


@dataclass(frozen=True)
class Check:
    """One thing to check: a name, and a way to get its problems as text (empty: none)."""

    name: str
    problems: Callable[[], str]


def main() -> int:
    """Run every check and return 0 if all hold."""
    failed = []
    with ThreadPoolExecutor(TOGETHER) as pool:
        for check, problems, seconds in pool.map(_timed, _checks()):
            if problems:
                failed.append(check.name)
                tell(f"---- {check.name}\n{problems.rstrip()}\n----")
            tell(f"{'FAILED' if problems else 'ok':6} {check.name} ({seconds:.1f} s)")
    tell(f"check: {'failed: ' + ', '.join(failed) if failed else 'all hold'}")
    return 1 if failed else 0


def _timed(check: Check) -> tuple[Check, str, float]:
    started = time.monotonic()
    problems = check.problems()
    return check, problems, time.monotonic() - started


def _checks() -> Iterator[Check]:
    ruff = script("ruff")
    yield _command("format", ruff, "format", "--check", ".")
    yield _command("lint", ruff, "check", ".")
    yield _command("types", script("mypy"))
    yield _command("import layers", script("lint-imports"), "--no-cache")
    yield Check("sizes", lambda: "\n".join(size_problems(ROOT)))
    yield Check("locks", lambda: "\n".join(lock_problems(ROOT)))
    python = Path(sys.executable)
    yield _command(
        "examples in docstrings",
        python,
        "-m",
        "pytest",
        "-q",
        "--doctest-modules",
        "--ignore-glob=*/migrations/*",
        *_documented(),
    )
    yield _command("examples in the manual", python, "-m", "devtools.console_examples")
    yield _command("manual", *build_command())


def _documented() -> list[str]:
    return ["src/steadyhead", "tests/printed.py", "devtools/verification.py"]


def _command(name: str, *command: str | Path) -> Check:
    return Check(name, lambda: _output_if_failed(command))


def _output_if_failed(command: tuple[str | Path, ...]) -> str:
    words = [str(word) for word in command]
    done = subprocess.run(
        words, cwd=ROOT, check=False, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    return "" if done.returncode == 0 else done.stdout or f"exit code {done.returncode}, nothing printed"


if __name__ == "__main__":
    sys.exit(main())
