"""An import of logger data killed at a random moment: all of it is there, or nothing.

Each case lets a process take files in, and undo some, and ends it by SIGKILL. Then the register is held
against its chain, every import against its files of samples and the files as given, byte for byte, and after
clearing away nothing may lie in the folder that belongs to no import. A register takes ten kills in a row.
"""

from __future__ import annotations

import multiprocessing
import random
import shutil
import tempfile
from pathlib import Path
from typing import Any

from steadyhead.register.reading import looking
from steadyhead.register.tables import logger_import
from tests.register.logs.killing import amiss, fill, kill_once

FULL = 100
KILLS_A_REGISTER = 10


def run(seed: int, n: int) -> dict[str, Any]:
    """Kill `n` times; held when every import was whole or not there, whenever the kill struck."""
    chance = random.Random(seed)
    amid = imports = 0
    bad: list[str] = []
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.register.logs.killing"])
    with tempfile.TemporaryDirectory(prefix="steadyhead-logger-kills-") as folder:
        place = Path(folder) / "none"
        for case in range(n):
            if case % KILLS_A_REGISTER == 0:
                shutil.rmtree(place, ignore_errors=True)
                place = Path(folder) / f"register-{case // KILLS_A_REGISTER}"
                fill(place)
            before = _imports(place)
            kill_once(context, place, chance, seed % 10**6 + case)
            found, struck = amiss(place)
            amid += struck
            imports += _imports(place) - before
            bad += [f"case {case}: {words}" for words in found]
    return {
        "kills": n,
        "amid_an_import": amid,
        "imports": imports,
        "not_whole_or_left_over": len(bad),
        "first": bad[:5],
        "held": not bad,
    }


def _imports(place: Path) -> int:
    from sqlalchemy import func, select

    with looking(place) as connection:
        return int(connection.execute(select(func.count()).select_from(logger_import)).scalar_one())
