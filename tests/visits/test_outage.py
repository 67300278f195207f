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


@pytest.mark.source(kind="analytic", ref="a night is 24 h less the working day of 8 h")
def test_a_night_that_falls_into_the_outage_is_counted_in_and_told():
    of = station(UP, SENSITIVE, block("zone", other_feed="no", stock="4 h"))
    first = build(of, "first", "", numbers(of))
    work, overnight = outage.lasts(first), outage.with_nights(first)
    assert (overnight - work) % (16 * 3600.0) == pytest.approx(0.0)
    assert overnight > work
    assert "note.overnight" in [message.id for message in first.notes]
    assert "A3.overnight" in [message.id for message in first.node("A3").do]
    yearly = build(of, "yearly", "", numbers(of))
    assert outage.with_nights(yearly) == outage.lasts(yearly)
    assert "note.overnight" not in [message.id for message in yearly.notes]


def test_consumers_whose_stock_is_too_short_stop_the_work_until_somebody_brings_water():
    short = station(UP, SENSITIVE, block("zone", other_feed="no", stock="30 min"))
    lasting = station(UP, SENSITIVE, block("zone", other_feed="no", stock="9 d"))
    for kind, where in (("first", "A3"), ("yearly", "Y1")):
        node = step(short, where, kind)
        assert {"covered", "agreed"} <= {one.name for one in node.inputs}
        (stop,) = [one for one in node.otherwise if one.see.id == "A3.uncovered.see"]
        assert stop.then.id == "A3.uncovered.then"
        calm = step(lasting, where, kind)
        assert "covered" not in {one.name for one in calm.inputs}
        assert "A3.uncovered.see" not in {one.see.id for one in calm.otherwise}


def test_a_finding_carries_outage_and_stock_as_amounts():
    of = station(UP, SENSITIVE, block("zone", other_feed="no", stock="30 min"))
    (found,) = outage.judged(of, 7200.0)
    assert found.value == Amount("time", 7200.0)
    assert found.limit == Amount("time", 1800.0)
    assert outage.judged(of, 0.0) == ()
