"""Where things lie in the work tree, and how one command is run."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
SCRIPTS = VENV / ("Scripts" if os.name == "nt" else "bin")
PYTHON = SCRIPTS / ("python.exe" if os.name == "nt" else "python")


def tell(text: str) -> None:
    """Say one thing to the person at the keyboard, at once."""
    print(text, flush=True)


def shown(path: Path) -> str:
    """Return *path* as a person in the work tree would type it."""
    return path.relative_to(ROOT).as_posix() if path.is_relative_to(ROOT) else str(path)


def script(name: str) -> Path:
    """Return the place of an installed command in the project's environment."""
    return SCRIPTS / (f"{name}.exe" if os.name == "nt" else name)


def run(command: Sequence[str | Path], env: Mapping[str, str] | None = None) -> int:
    """Run *command* in the work tree, let it speak for itself and return its exit code."""
    sys.stdout.flush()
    merged = {**os.environ, **(env or {})}
    return subprocess.run([str(part) for part in command], cwd=ROOT, env=merged, check=False).returncode
