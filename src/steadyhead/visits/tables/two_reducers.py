"""Table TS: two reducers in series; if the first fails, the second must hold alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from steadyhead.records.procedure import Node
from steadyhead.visits.tables import e_settings
from steadyhead.visits.tables.desk import SETTING_GAUGE, Desk, Needs, above, is_no, measured, yes_no
from steadyhead.visits.tables.names import of, sensing


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield TS1 where the outlet can be cut off."""
    facts = desk.facts
    if facts.is_pair and facts.can_isolate and all(facts.is_own(reducer) for reducer in facts.reducers):
        first, second = facts.reducers
        yield alone(
            desk,
            needs=["D2", "C5", e_settings.reducer_free(first), e_settings.reducer_ready(second)],
            time="TS1",
        )


def alone(desk: Desk, *, needs: Sequence[Needs], base: str = "TS1", time: str = "") -> Node:
    """Return the second reducer seen to hold while the first is held open."""
    first, second = desk.facts.reducers
    return desk.node(
        base,
        second.id,
        needs=needs,
        do=("rating", "raise", "read", "slow", "lower"),
        inputs=(
            *desk.reads("T1"),
            desk.read(desk.facts.stage),
            desk.read("T3", instrument=SETTING_GAUGE),
            measured("turns", "turns", "count"),
            *yes_no("stable"),
        ),
        bands={role: f"first_open.{role}" for role in (desk.facts.stage, "T3")},
        otherwise=(("climbs", above("T3")), ("swings", is_no("stable"))),
        out=("first_raised",),
        hazards=(("pressure", "raised_between"), ("pressure", "raised"), ("consumers", "consumers_high")),
        text="TS1",
        time=time or base,
        over=desk.pilot(first),
        touches=of(first, "setting"),
        proves=of(second, "alone"),
        depends_on=(*of(second, "pilot", "diaphragm", "seat"), sensing(desk.facts, second)),
        opens=of(first, "raised"),
        raises=("between", "outlet"),
    )
