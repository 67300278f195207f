"""The field page in real browsers, killed with and without its server: what it showed as kept is there once.

Two tablets, each a browser with a profile of its own, take a visit along and note, key by key, on the page as
it is served. Browser and server are ended by SIGKILL, pages closed, syncs repeated, clocks set hours off,
storages full, sessions ended. What counts is what the page said: *entries kept on this device*.
"""

from __future__ import annotations

import random
import shutil
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

from tests.campaigns.field.drawing import drawn, seldom
from tests.campaigns.field.house import COUNT, House, is_whole, make_base
from tests.campaigns.field.line import Line
from tests.campaigns.field.pace import Pace, may_end
from tests.campaigns.field.visit_on_tablets import COUNTED, FAULTS, VisitOnTablets

FULL = 100
A_REGISTER = 20
"""Cases that share a register. [1]"""
A_CASE = (2, 3)
"""Faults of one case, at least and at most. [1]"""
SHOWN = 8


def run(seed: int, n: int) -> dict[str, Any]:
    """Try `n` sequences; held when all that was shown as kept is in the register exactly once."""
    from playwright.sync_api import sync_playwright

    folder = Path(tempfile.mkdtemp(prefix="steadyhead-tablets-"))
    try:
        with sync_playwright() as driver:
            return _run(seed, n, folder, driver)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _new_tablets(folder: Path) -> Path:
    """Return where tablets keep what is theirs: nothing of visits of the register before, alike in name."""
    place = folder / "tablets"
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    return place


def _run(seed: int, n: int, folder: Path, driver: Any) -> dict[str, Any]:
    make_base(folder / "base", min(n, A_REGISTER), COUNT + 1)
    met: Counter[str] = Counter()
    totals: Counter[str] = Counter()
    amiss: list[str] = []
    pace = Pace("sequences", n)
    house = House(folder / "register")
    line = Line(lambda: house.port, house.kill, house.trap, random.Random(seed))
    faults = drawn(FAULTS, random.Random(seed), n, A_CASE)
    done = 0
    try:
        with may_end():
            for case in range(n):
                if case % A_REGISTER == 0:
                    amiss += house.turn(folder / "base")
                    tablets = _new_tablets(folder)
                one = VisitOnTablets(house, line, driver, tablets, seed + case, case % A_REGISTER, COUNT + 1)
                try:
                    found = one.play(faults[case])
                except Exception as problem:
                    found = [*one.wrong, f"{type(problem).__name__}: {problem}"]
                found = [f"case {case}, {', '.join(faults[case])}: {words}" for words in found]
                pace.amiss(found)
                amiss += found
                met += one.met
                totals += one.totals
                done = case + 1
                pace.step(done, f"{totals['kept']} entries kept, {len(amiss)} amiss")
    finally:
        house.close()
        line.close()
    amiss += is_whole(house.place)
    amiss += seldom(met, COUNTED) if n >= FULL and done >= n else []
    return {
        "sequences": done,
        "entries shown as kept": totals["kept"],
        "entries in the register": totals["register"],
        "photos shown as kept": totals["photos kept"],
        "photos in the register": totals["photos"],
        "syncs": totals["syncs"],
        "keys touched once more": totals["touched again"],
        "faults that struck": dict(sorted(met.items())),
        "amiss": len(amiss),
        "first": amiss[:SHOWN],
        "held": not amiss and totals["kept"] > 0 and totals["photos kept"] > 0 and done > 0,
    }
