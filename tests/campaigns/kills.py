"""The app killed in the middle of writes that come at once: all that was acknowledged is there, whole.

Each case opens the app on one register, lets five people write station files, documents and upkeep over HTTP,
and ends its process by SIGKILL at a random moment. Then the register is verified as it lies, and every
acknowledged write looked up. A register takes twenty kills one after the other.
"""

from __future__ import annotations

import random
import shutil
import tempfile
from pathlib import Path
from typing import Any

from steadyhead.register import open_register
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.register.killing import STATIONS, kill_once, missing, starting

FULL = 200
KILLS_A_REGISTER = 20


def run(seed: int, n: int) -> dict[str, Any]:
    """Kill the app `n` times; held when nothing was lost, all is whole, and half were amid a write."""
    chance = random.Random(seed)
    amid = acknowledged = 0
    lost: list[str] = []
    refused: list[str] = []
    with tempfile.TemporaryDirectory(prefix="steadyhead-kills-") as folder:
        context = starting()
        for case in range(n):
            place = Path(folder) / f"register-{case // KILLS_A_REGISTER}"
            if case % KILLS_A_REGISTER == 0:
                _fill(place)
                shutil.rmtree(Path(folder) / f"register-{case // KILLS_A_REGISTER - 1}", ignore_errors=True)
            wrote = kill_once(context, place, chance, seed + case)
            amid += wrote.in_flight > 0
            acknowledged += wrote.count
            refused += wrote.refused
            lost += [f"case {case}: {words}" for words in missing(place, wrote)]
    return {
        "kills": n,
        "amid_a_write": amid,
        "acknowledged": acknowledged,
        "not_whole_or_lost": len(lost),
        "refused": len(refused),
        "first": (lost + refused)[:5],
        "held": not lost and not refused and 2 * amid >= n and acknowledged > 0,
    }


def _fill(place: Path) -> None:
    register = open_register(place)
    for name in STATIONS.values():
        save(register, read(name), "Ilse Marrow")
    register.close()
