"""Renew the locks: `python -m devtools.relock` inside `.venv`, then read what changed.

The test lock comes first and the core lock is held to it, so that a person who runs the demo
and one who runs the tests have the same versions. Only wheels are taken. No address is written.
"""

from __future__ import annotations

import sys
from pathlib import Path

from devtools.bootstrap import CORE, INSTALLER, TEST
from devtools.places import PYTHON, ROOT, run, tell

FORM = ["--universal", "--python-version", "3.11", "--generate-hashes", "--no-header", "--no-annotate"]
WHEELS = ["--only-binary", ":all:"]


def main() -> int:
    """Write the three locks and refuse an address in any of them."""
    uv: list[str | Path] = [PYTHON, "-m", "uv", "-q", "pip", "compile"]
    compile_lock = [*uv, *FORM, *WHEELS, *sys.argv[1:]]
    project = ["pyproject.toml", "--group", "build"]
    steps: tuple[list[str | Path], ...] = (
        [*compile_lock, "--group", "installer", "-o", INSTALLER],
        [*compile_lock, *project, "--group", "test", "-o", TEST],
        [*compile_lock, *project, "-c", TEST, "-o", CORE],
    )
    for step in steps:
        if run(step) != 0:
            return 1
    named = [name for name in (INSTALLER, TEST, CORE) if ":" + "//" in (ROOT / name).read_text()]
    for name in named:
        tell(f"{name} names an address; do not commit it.")
    return 1 if named else 0


if __name__ == "__main__":
    sys.exit(main())
