"""Which faults each case of a campaign meets."""

from __future__ import annotations

import random
from collections.abc import Sequence


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
