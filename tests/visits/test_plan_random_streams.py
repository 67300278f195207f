"""Random stations of streams, groups inside branches: a sound plan, or a refusal that says why."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steadyhead.findings import Severity, tell
from steadyhead.procedure.flaws import validate
from steadyhead.procedure.graph import ancestors
from steadyhead.procedure.plain import from_json, to_json
from steadyhead.records.procedure import Kind
from steadyhead.visits.feasibility import Refused
from steadyhead.visits.plan import KINDS, build
from steadyhead.visits.several import items
from steadyhead.visits.several.plan import judged_for
from steadyhead.visits.text import render
from tests.visits import stream_stations as ss
from tests.visits.random_trees import trees


@settings(max_examples=max(settings().max_examples // 6, 10), deadline=None)
@given(trees(), st.sampled_from(KINDS), st.integers(0, 60))
def test_any_tree_of_streams_gets_a_sound_plan_or_a_refusal_that_names_what_is_missing(
    data: dict[str, Any], kind: Kind, pick: int
) -> None:
    of = ss.station(data)
    known = items.names(of)
    if kind == "after_repair" and not known:
        kind = "first"
    item = known[pick % len(known)] if kind == "after_repair" else ""
    judged = judged_for(of, kind, item)
    if not judged.ways:
        with pytest.raises(Refused) as refused:
            build(of, kind, item, ss.numbers(of, kind, item))
        stops = [f for f in refused.value.findings if f.severity is Severity.STOP]
        assert stops
        assert all(tell(finding).statement for finding in refused.value.findings)
        assert all(
            "stream" in f.subject or "line" in f.subject or f.subject == "equipment.hand_pump" for f in stops
        )
        return
    given = ss.numbers(of, kind, item)
    if kind == "restart":
        tripped = [way.view.id for way in judged.ways if way.shut_off is not None]
        if len(tripped) != 1:
            with pytest.raises(Refused, match="RUN-81" if tripped else "RUN-80"):
                build(of, kind, "", given)
        if not tripped:
            return
        item = tripped[pick % len(tripped)]
    plan = build(of, kind, item, given)
    assert validate(plan) == ()
    assert to_json(from_json(to_json(plan))) == to_json(plan)
    assert plan.station_name in render(plan)
    opened = {name for node in plan.nodes for name in node.opens if name.endswith(".isolated")}
    restored = {name for node in plan.nodes for name in node.restores}
    assert opened <= restored
    if kind == "first":
        before = ancestors(plan, "J3")
        assert {
            node.id for node in plan.nodes if node.restores and node.id.startswith(("S3", "H3"))
        } <= before
        proved = [node.id for node in plan.nodes if node.id.startswith("F5.")]
        wanted = {v.id for way in judged.ways for v in way.layout.shut_offs if v.id in way.own}
        assert {name.partition(".")[2] for name in proved} == wanted
