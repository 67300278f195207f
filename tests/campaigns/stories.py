"""Stories of site work, each set unseen once, and variations: are breaches caught and clean ones let be.

`n` innocent variations of clean stories and at least `n` breaches put into them are made from the seed; the
sets of stories are judged whole, whatever `n`. What a set gave when it was first judged, before any rule was
mended by it, was written down then (`tests/independent/stories/first_sight.json`) and stands beside: only it
tells what a set not seen yet will give. No first figure of the second set was kept.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from tests.independent.story_breaches import breaches
from tests.independent.story_campaign import HERE, SETS, Rate, caught, clean, false_alarms, rate
from tests.independent.story_innocents import innocents

FULL = 600
CAUGHT_AT_LEAST = 0.95
ALARMED_AT_MOST = 0.02


def run(seed: int, n: int = FULL) -> dict[str, Any]:
    """Judge every set, then n innocent variations and the breaches; return hits and false alarms."""
    sets = {folder.name: rate(folder) for folder in SETS}
    bases = clean(*SETS)
    alarmed = sum(bool(false_alarms(story)) for _, story in innocents(bases, n, seed))
    tried = [caught(case) for case in breaches(bases, n, seed)]
    hits = sum(right for right, _, _ in tried)
    return {
        "held": all(not one.missed and not one.false for one in sets.values())
        and hits >= CAUGHT_AT_LEAST * len(tried)
        and alarmed <= ALARMED_AT_MOST * n,
        "at_first_sight": json.loads((HERE / "first_sight.json").read_text(encoding="utf-8")),
        "now": {name: _figures(one) for name, one in sets.items()},
        "variations": {
            "innocent": n,
            "with false alarms": alarmed,
            "breaches": len(tried),
            "caught": hits,
            "said besides": sum(len(more) for _, _, more in tried),
        },
    }


def _figures(one: Rate) -> Mapping[str, int]:
    return {
        "broken": one.broken,
        "hits": one.broken - len(one.missed),
        "clean": one.clean,
        "left alone": one.clean - sum(name.startswith("=") for name in one.false),
        "false alarms": sum(map(len, one.false.values())),
    }
