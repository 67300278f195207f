"""Where files lie for a while that are not kept: in the register's folder, swept of what was left behind."""

from __future__ import annotations

import shutil
import tempfile
import time
from pathlib import Path
from typing import Final

from steadyhead.register import Register

NAME: Final = "desks"
"""Folder beside the database; what lies in it belongs to no record and may be taken away."""
PREFIXES: Final = ("steadyhead-import-", "steadyhead-logs-", "steadyhead-scratch-")
"""What is laid there: lists of stations, files of loggers, the register an import is tried in."""
LASTS: Final = 2 * 86_400.0
"""How long is left there what nobody touches. Own estimate. [s]"""


def staging(register: Register) -> Path:
    """Return the folder for what lies about between two pages; the machine's beside a server's database."""
    if not register.folder:
        return Path(tempfile.gettempdir())
    folder = Path(register.folder) / NAME
    folder.mkdir(mode=0o700, exist_ok=True)
    return folder


def clear_left(register: Register) -> int:
    """Clear away what nobody touched for long, also in the machine's temporary folder; return how much.

    A process that was killed leaves such folders; an import that goes on after a restart still finds its own.
    """
    now, cleared = time.time(), 0
    for place in dict.fromkeys((staging(register), Path(tempfile.gettempdir()))):
        for prefix in PREFIXES:
            for one in place.glob(f"{prefix}*"):
                try:
                    if now - one.stat().st_mtime <= LASTS:
                        continue
                except OSError:
                    continue
                shutil.rmtree(one, ignore_errors=True)
                cleared += 1
    return cleared
