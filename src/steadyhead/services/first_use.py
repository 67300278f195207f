"""What is told before the compiled engine is used, and a second process that compiles beside this one."""

from __future__ import annotations

import atexit
import os
import subprocess
import sys
from collections.abc import Callable

from steadyhead.laws import compiling

COMPILING = "First use: compiling the transient twin, about a minute, longer on a busy machine."
LAST_KEPT = ("advance.advance-*.nbc", "steady.solve-*.nbc")
"""Files that are kept when all that a run needs is compiled."""
BESIDE = (sys.executable, "-m", "steadyhead.surge.warming")


def needs_compiling() -> bool:
    """Return whether the transient twin is compiled when it is first used; plain engines never are."""
    if compiling.mode() == "plain":
        return False
    folder = compiling.cache_folder()
    return folder is None or not all(any(folder.rglob(last)) for last in LAST_KEPT)


def tell_first_use(telling: Callable[[str], None]) -> None:
    """Say that the engine is compiled now, where that is so, and where it is not as usual; begin compiling.

    Where code is kept and there is more than one core, a process of its own compiles the march of time, while
    this one compiles the steady state. It is ended with this one.
    """
    compiling.tell_damage(telling)
    for words in (compiling.cache_message(), compiling.shortcut_message()):
        if words:
            telling(words)
    if not needs_compiling():
        return
    telling(COMPILING)
    if compiling.cache_folder() is not None and (os.cpu_count() or 1) > 1 and sys.executable:
        _begin_beside()


def _begin_beside() -> None:
    try:
        process = subprocess.Popen(
            BESIDE,
            env=os.environ | {compiling.ENGINE_VARIABLE: "compiled"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
    except OSError:
        return  # this one compiles all
    atexit.register(process.terminate)
    compiling.wait_for(process.wait)
