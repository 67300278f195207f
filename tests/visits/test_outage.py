"""How long consumers are without the station, held against what they store themselves."""

from __future__ import annotations

import pytest

from steadyhead.findings import Amount
from steadyhead.visits import outage
from steadyhead.visits.plan import build
from tests.visits.plan_stations import UP, block, numbers, station


def step(of, node_id, kind="first"):
    return build(of, kind, "", numbers(of)).node(node_id)


def notes(of, kind="first"):
    return [message.id for message in build(of, kind, "", numbers(of)).notes]


def text(of, kind="first"):
    where = "A3" if kind == "first" else "Y1"
    return {message.id: message.params for message in step(of, where, kind).do}


SENSITIVE = block("station", sensitive_consumers="dialysis, six chairs")
ALONE = block("zone", other_feed="no")


def test_where_nobody_knows_how_long_sensitive_consumers_hold_out_the_plan_says_so_and_asks():
    of = station(UP, SENSITIVE, ALONE)
    for kind in ("first", "yearly"):
        assert "PLAN-54" in notes(of, kind)
        assert "A3.stock" in text(of, kind)
        where = "A3" if kind == "first" else "Y1"
        assert "stock" in [one.name for one in step(of, where, kind).inputs]


def test_a_stock_shorter_than_the_outage_is_told_with_both():
    of = station(UP, SENSITIVE, block("zone", other_feed="no", stock="30 min"))
    assert "PLAN-53" in notes(of)
    assert text(of)["A3.stock_known"]["stock"] == "30 min"
    assert "stock" not in [one.name for one in step(of, "A3").inputs]


def test_a_stock_longer_than_the_outage_is_told_to_nobody_as_a_finding():
    of = station(UP, SENSITIVE, block("zone", other_feed="no", stock="4 d"))
    assert not {"PLAN-53", "PLAN-54"} & set(notes(of))


def test_another_feed_that_holds_the_zone_leaves_nobody_without_water():
    of = station(UP, SENSITIVE, block("zone", other_feed="yes"))
    assert not {"PLAN-53", "PLAN-54"} & set(notes(of))
    assert "A3.stock" not in text(of)


def test_consumers_that_can_do_without_water_are_not_asked_for_a_tank():
    plain = block("station", sensitive_consumers=None, fire_water="no")
    assert "PLAN-54" not in notes(station(UP, ALONE, plain, block("demand", fire=None)))


@pytest.mark.source(kind="analytic", ref="sum of the minutes from the step that shuts the outlet valve")
def test_the_outage_lasts_from_the_shutting_of_the_outlet_valve_to_its_opening():
    of = station(UP)
    first = build(of, "new_setting", "RV", numbers(of))
    ids = [node.id for node in first.nodes]
    begin = next(i for i, n in enumerate(first.nodes) if outage.SHUT in n.opens)
    end = next(i for i, n in enumerate(first.nodes) if outage.SHUT in n.restores)
    assert ids[begin] == "B1"
    minutes = sum(node.minutes for node in first.nodes[begin : end + 1])
    assert outage.lasts(first) == pytest.approx(60.0 * minutes)


def test_a_finding_carries_outage_and_stock_as_amounts():
    of = station(UP, SENSITIVE, block("zone", other_feed="no", stock="30 min"))
    (found,) = outage.judged(of, 7200.0)
    assert found.value == Amount("time", 7200.0)
    assert found.limit == Amount("time", 1800.0)
    assert outage.judged(of, 0.0) == ()
