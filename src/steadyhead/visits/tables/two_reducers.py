"""Table TS: two reducers in series; if the first fails, the second must hold alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from steadyhead.findings import Finding, Severity
from steadyhead.records.procedure import Node
from steadyhead.visits.facts import Facts
from steadyhead.visits.tables import counting, e_settings
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


def not_tried(lines: Iterable[Facts], proved: Iterable[str]) -> tuple[Finding, ...]:
    """Return a finding for each second reducer that no step sees hold alone while another one is seen so.

    The first reducer is set on the way on which it is raised: raised again for a second one on another way,
    all that rests on its setting would have to be proved again.

    Parameters
    ----------
    lines
        Facts of each stream.
    proved
        What the steps of the plan prove.
    """
    seen, listed = set(proved), tuple(lines)
    pairs = [facts.reducers for facts in listed if facts.is_pair and len(facts.reducers) > 1]
    found = []
    for facts in listed:
        if not facts.is_pair or f"{facts.reducers[1].id}.alone" in seen:
            continue
        first, second = facts.reducers[:2]
        others = [two.id for one, two, *_ in pairs if one.id == first.id and f"{two.id}.alone" in seen]
        if others:
            params = {"first": first.id, "second": second.id, "other": " and ".join(others)}
            found.append(Finding("PLAN-55", second.id, Severity.HEED, params=params))
    return tuple(found)


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
        refuses=(counting.screw(desk, first),),
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
