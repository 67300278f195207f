"""Steps picked out of a whole graph: needs contracted, what is opened put right, nothing else kept."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.procedure.graph import Flaw
from steadyhead.records.procedure import Node, Procedure
from steadyhead.visits import plan as planning
from steadyhead.visits.facts import read_facts
from steadyhead.visits.feasibility import Refused
from steadyhead.visits.items import facts_of, names
from steadyhead.visits.picking import picked
from steadyhead.visits.plan import build
from steadyhead.visits.texts.en import collected
from tests.procedure.small import sound, step, tea
from tests.visits.plan_stations import UP, made, numbers, station, without


def chosen(plan: Procedure, *keep: str, **way: str) -> list[tuple[str, object]]:
    return [(node.id, node.needs["all"]) for node in picked(plan, way, keep)]


def test_a_need_for_a_step_left_out_becomes_a_need_for_what_that_step_needs():
    plan = tea(step("A"), step("B", "A"), step("C", "B"), step("D", "C", "A"))
    assert chosen(plan, "A", "D") == [("A", []), ("D", ["A"])]


def test_needs_that_another_need_rests_on_are_left_out():
    plan = tea(step("A"), step("B", "A"), step("C", "A", "B"))
    assert chosen(plan, "A", "B", "C")[-1] == ("C", ["B"])


def test_of_alternatives_only_those_on_the_way_stay():
    plan = sound()
    assert chosen(plan, "A1", "B1", "C1", Q="weak") == [("A1", []), ("B1", ["A1"]), ("C1", ["B1"])]
    assert chosen(plan, "A1", "B1", "B2", "C1", Q="strong") == [("A1", []), ("B2", ["A1"]), ("C1", ["B2"])]


def test_alternatives_that_both_lie_on_the_way_stay_alternatives():
    either = Node("C", step("x").title, {"all": [{"any": ["A", "B"]}]}, ())
    assert chosen(tea(step("A"), step("B"), either), "A", "B", "C")[-1] == ("C", [{"any": ["A", "B"]}])


def test_what_a_kept_step_opens_is_put_right_and_nothing_else():
    plan = tea(step("A", opens=("lid_open",)), step("B", "A"), step("C", "B", restores=("lid_open",)))
    assert [name for name, _ in chosen(plan, "A")] == ["A", "C"]
    nodes = picked(plan, {}, ["C"])
    assert [(node.id, node.restores) for node in nodes] == [("C", ())]


def test_bands_of_another_way_are_left_out():
    heat = picked(sound(), {"Q": "weak"}, ["B1"])[0].expect
    assert [e.where for e in heat] == [None, None]
    plan = sound()
    nodes = [
        replace(n, expect=tuple(replace(e, where=("Q", "strong")) for e in n.expect)) for n in plan.nodes
    ]
    assert picked(replace(plan, nodes=tuple(nodes)), {"Q": "weak"}, ["B1"])[0].expect == ()


def test_facts_need_valves_and_a_drain():
    with pytest.raises(ValueError, match="no plan stands without"):
        read_facts(station(UP, without("TD")), is_live=False)
    with pytest.raises(Refused):
        facts_of(station(UP, without("TD")))
    assert names(station(UP, without("TD"))) == ()


def test_a_text_that_stands_twice_is_an_error_of_ours():
    with pytest.raises(ValueError, match="the text A stands twice"):
        collected(({"A": "x"}, {"A": "y"}))


def test_a_plan_with_a_flaw_is_never_handed_out(monkeypatch):
    monkeypatch.setattr(planning, "validate", lambda procedure: (Flaw("A1", "is odd"),))
    with pytest.raises(AssertionError, match="is not sound: A1 is odd"):
        made(UP)


def test_figures_that_are_left_out_leave_their_words_out():
    of = station(UP)
    bare = build(of, "first", "", replace(numbers(of), pump_volume={}, good_gauges=(), poor_gauges=()))
    assert "D2.amount" not in {m.id for m in bare.node("D2").do}
    assert "A6.set_with" not in {m.id for m in bare.node("A6").do}
    assert not {"note.gauges", "note.gauges_poor"} & {m.id for m in bare.notes}
