"""What many rows of a report have in common, told once: gaps of a bare layout stand in every row of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from steadyhead.services.importing.reporting import RowReport

Problem = tuple[str, str, str]
T = TypeVar("T")
LEAST_ROWS = 2
"""Rows from which on something is told once for all of them."""


@dataclass(frozen=True, slots=True)
class InCommon:
    """What is told once.

    problems: (field, what was got, remedy) that stand in at least half of the refused rows; rows: how many
    rows each stands in; left: what every new row leaves to the template; new: how many rows that are.
    """

    problems: tuple[Problem, ...]
    rows: tuple[int, ...]
    left: tuple[str, ...]
    new: int

    def own(self, row: RowReport) -> tuple[tuple[Problem, ...], int]:
        """Return the problems that only this row or few have, and how many it shares."""
        shared = set(self.problems)
        mine = tuple(one for one in row.problems if one not in shared)
        return mine, len(row.problems) - len(mine)


def in_common(rows: Sequence[RowReport]) -> InCommon:
    """Return what is to be told once of the rows of a report; nothing where it has few rows."""
    refused = [one for one in rows if one.state == "refused"]
    problems = _many((one.problems for one in refused), max(LEAST_ROWS, (len(refused) + 1) // 2))
    new = [one for one in rows if one.state == "new"]
    left = _many((one.left for one in new), max(LEAST_ROWS, len(new)))
    return InCommon(tuple(problems), tuple(problems.values()), tuple(left), len(new))


def _many(lists: Iterable[tuple[T, ...]], least: int) -> dict[T, int]:
    """Return what stands in at least so many lists, in their order, with its count."""
    counts = Counter(one for several in lists for one in dict.fromkeys(several))
    return {one: count for one, count in counts.items() if count >= least}
