"""Which faults each case of a campaign meets."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence

AT_LEAST = 20
"""How often each fault must have struck in a whole campaign. [1]"""


def drawn(faults: Sequence[str], chance: random.Random, n: int, span: tuple[int, int]) -> list[list[str]]:
    """Draw faults for each case, `span` of them at least and at most; over all cases each comes as often."""
    bag: list[str] = []
    cases: list[list[str]] = []
    for _ in range(n):
        mine: list[str] = []
        count = chance.randint(*span)
        while len(mine) < count:
            if not bag:
                bag = list(faults)
                chance.shuffle(bag)
            mine.append(bag.pop())
        cases.append(mine)
    return cases


def seldom(met: Mapping[str, int], faults: Sequence[str]) -> list[str]:
    """Return the faults that struck less often than a whole campaign promises."""
    few = [(name, met.get(name, 0)) for name in dict.fromkeys(faults)]
    return [f"{name} struck {count} times, fewer than {AT_LEAST}" for name, count in few if count < AT_LEAST]
