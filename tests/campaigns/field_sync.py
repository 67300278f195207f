"""Devices and server killed, cut off and set wrong amid a sync: what was shown as kept is there once.

Two devices in Node keep and send with the modules of the field page, each on a disk that outlives its
process; the app serves an embedded register in a process of its own; on the line between them requests and
answers are lost, doubled and slowed. Each case draws some faults and mixes them with entries at random. At
the end all is well again, every device sends, and the register is read as it lies.
"""

from __future__ import annotations

import random
import shutil
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

from tests.campaigns.field.drawing import drawn, seldom
from tests.campaigns.field.house import House, is_whole, make_base
from tests.campaigns.field.line import Line
from tests.campaigns.field.node_device import laid_out
from tests.campaigns.field.pace import Pace, may_end
from tests.campaigns.field.sequence import COUNTED, FAULTS, Sequence

FULL = 400
A_REGISTER = 20
"""Cases that share a register. [1]"""
A_CASE = (2, 4)
"""Faults of one case, at least and at most. [1]"""
SHOWN = 8


def run(seed: int, n: int) -> dict[str, Any]:
    """Try `n` sequences; held when all that was shown as kept is in the register exactly once."""
    folder = Path(tempfile.mkdtemp(prefix="steadyhead-field-"))
    try:
        return _run(seed, n, folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _run(seed: int, n: int, folder: Path) -> dict[str, Any]:
    pack = make_base(folder / "base", min(n, A_REGISTER), is_whole=False)
    modules = laid_out(folder / "modules")
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
                one = Sequence(house, line, modules, folder / "devices", pack, seed + case, case % A_REGISTER)
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
        "faults that struck": dict(sorted(met.items())),
        "conflicts named": totals["conflicts"],
        "verdicts compared": totals["verdicts"],
        "amiss": len(amiss),
        "first": amiss[:SHOWN],
        "held": not amiss and totals["kept"] > 0 and totals["photos kept"] > 0 and done > 0,
    }
