"""The graph: ways, order, what comes before, what goes stale."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.procedure.graph import (
    ancestors,
    before_each,
    dependants,
    is_met,
    needed,
    on_way,
    order,
    stale_proofs,
    ways,
)
from tests.procedure.small import sound, step, tea


def test_a_way_goes_through_what_its_options_open_and_through_all_that_no_option_names():
    plan = sound()
    assert [dict(way) for way in ways(plan)] == [{"Q": "weak"}, {"Q": "strong"}]
    assert [n.id for n in on_way(plan, {"Q": "weak"})] == ["A1", "Q", "B1", "C1", "D1"]
    assert [n.id for n in on_way(plan, {"Q": "strong"})] == ["A1", "Q", "B2", "C1", "D1"]


def test_a_procedure_without_choices_has_one_way():
    plan = tea(step("A1"), step("A2", "A1"))
    assert list(ways(plan)) == [{}]
    assert on_way(plan, {}) == plan.nodes


def test_the_order_keeps_needs_and_otherwise_the_tables_order():
    plan = tea(step("A1", "B1"), step("A2"), step("B1", "A2"), step("B2"))
    assert order(plan) == ("A2", "B1", "A1", "B2")


def test_on_a_way_one_of_several_needs_is_enough():
    assert order(sound(), {"Q": "strong"}) == ("A1", "Q", "B2", "C1", "D1")


def test_a_circle_has_no_order():
    with pytest.raises(ValueError, match="never met: A1, A2"):
        order(tea(step("A1", "A2"), step("A2", "A1")))


def test_what_comes_before_is_asked_over_all_ways_or_on_one():
    assert ancestors(sound(), "C1") == {"A1", "Q", "B1", "B2"}
    assert ancestors(sound(), "C1", {"Q": "weak"}) == {"A1", "Q", "B1"}


def test_a_touch_makes_stale_what_rests_on_it_and_what_rests_on_that():
    plan = sound()
    assert stale_proofs(plan, ["kettle.screw"]) == ("kettle.hot", "kettle.poured")
    assert dependants(plan, ["kettle.screw"]) == ("B1", "D1")
    assert dependants(plan, ["lid"]) == ()
    assert dependants(plan, ["nothing known"]) == ()


def test_needs_may_be_empty():
    assert is_met({}, ())
    assert is_met({"all": []}, ())
    assert is_met({"any": []}, ())
    assert not is_met({"any": ["A1"]}, ())
    assert not is_met({"all": [3]}, ())
    assert needed({"all": []}) == ()


@st.composite
def graphs(draw):
    count = draw(st.integers(1, 12))
    nodes = []
    for i in range(count):
        before = draw(st.lists(st.integers(0, i - 1), max_size=3, unique=True)) if i else []
        nodes.append(step(f"N{i}", *(f"N{j}" for j in before)))
    return tea(*draw(st.permutations(nodes)))


@given(graphs())
def test_any_graph_without_a_circle_has_an_order_that_keeps_all_needs(plan):
    place = {name: i for i, name in enumerate(order(plan))}
    before = before_each(plan.nodes)
    assert set(place) == {node.id for node in plan.nodes}
    for node in plan.nodes:
        assert all(place[other] < place[node.id] for other in before[node.id])
