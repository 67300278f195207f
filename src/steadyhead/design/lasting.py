"""A failure that the pipes bear and that lasts until somebody sees it."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design.report import HEED, finding, pressure
from steadyhead.findings import Finding, Input
from steadyhead.records.ladder import Ladder


def for_good(ladder: Ladder, where: str, reducer: str, reaches: float, grounds: Input) -> Iterator[Finding]:
    """Yield where a failure that the pipes bear leaves them above the limit of normal running."""
    weakest = ladder.weakest_normal
    if weakest is None or weakest.normal_at_datum is None or reaches <= weakest.normal_at_datum:
        return
    yield finding(
        "LAD-40",
        where,
        HEED,
        value=pressure(reaches),
        limit=pressure(weakest.normal_at_datum),
        reducer=reducer,
        component=weakest.component,
        inputs=(grounds,),
    )
