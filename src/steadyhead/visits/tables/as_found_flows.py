"""Bands of the flow test where the reducer is left as it stands: it may have drifted since it was set."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from steadyhead.records.procedure import Expect
from steadyhead.visits.tables.desk import FITS, Desk


def as_found(desk: Desk, points: int) -> Iterator[Expect]:
    """Yield the bands of a flow test, up and down, of a last reducer that was not set in this visit.

    Ahead of it nothing changes. Behind it the band of a reducer as set is moved by as much as its trickle as
    found may stand apart from its trickle as set, on either side: own estimate, an edge on the safe side of
    drawing both at once.

    Parameters
    ----------
    desk
        Of one line; without bands of the twin nothing is yielded.
    points
        Flows of the test on the way up.
    """
    facts, bands = desk.facts, desk.numbers.bands
    reducer = facts.last_reducer
    if reducer in facts.raised:
        return
    found, fresh = bands.get("trickle.T3"), bands.get("trickle_set.T3")
    if found is None or fresh is None:
        return
    below, above = min(found.low - fresh.low, 0.0), max(found.high - fresh.high, 0.0)
    for number in range(1, 2 * points + 1):
        of = number if number <= points else 2 * points + 1 - number
        for role in ("T0", "T1", *facts.inner, "T3") if number <= points else ("T3",):
            for one in desk.expect(f"{role}.{number}", f"flow.{of}.{role}"):
                moved = role == "T3" or (role in facts.inner and facts.is_downstream)
                low, high = one.low, one.high
                if moved and low is not None and high is not None:
                    low, high = low + below, high + above
                yield replace(one, low=low, high=high, where=(f"E0.{reducer.id}", FITS))
