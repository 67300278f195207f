"""No file of ours grows past what one person reads in one go."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

LONGEST_FILE = 500  # lines; house rule 7 in docs/architecture.md
FOLDERS = ("src", "tests", "devtools", "bench", "docs")
ENDINGS = {".py", ".typ", ".js", ".css"}
MADE = {"_build", "_generated", "__pycache__"}


def size_problems(root: Path) -> Iterator[str]:
    """Yield one line for each source file that is too long."""
    for path in sorted(_sources(root)):
        lines = len(path.read_text(encoding="utf-8").splitlines())
        if lines >= LONGEST_FILE:
            name = path.relative_to(root).as_posix()
            yield f"{name}: {lines} lines, must stay below {LONGEST_FILE}; split it by subject."


def _sources(root: Path) -> Iterator[Path]:
    for folder in FOLDERS:
        for path in (root / folder).rglob("*"):
            if path.suffix in ENDINGS and not MADE.intersection(path.parts):
                yield path
    yield root / "dev.py"
