"""After a repair: exactly what the touch made stale is done again (table of repairs, design handbook 3.7)."""

from __future__ import annotations

import pytest

from steadyhead.errors import InputError
from steadyhead.procedure.graph import ancestors, stale_proofs
from steadyhead.visits.items import facts_of, find, items, names, redo
from tests.visits.plan_stations import ALONE, DOWN, LAYOUTS, PAIR, UP, block, made, setting, station

TRIP = {"F1.SO", "F2.SO", "F3.SO", "F5.SO"}
TABLE = [
    ("reducer pilot", {"H1.RV", "H2.RV", "H4", "H5"}),
    ("reducer spring", {"H1.RV", "H2.RV", "H4", "H5"}),
    ("reducer lock nut", {"H1.RV", "H2.RV", "H4", "H5"}),
    ("reducer needles", {"H1.RV", "H2.RV", "H4", "H5"}),
    ("reducer pilot filter", {"H1.RV", "H2.RV", "H4", "H5"}),
    ("reducer spring range", {"H1.RV", "H2.RV", "H4", "H5", *TRIP}),
    ("reducer diaphragm", {"D3.RV", "H1.RV", "H2.RV", "H4"}),
    ("reducer seat", {"D3.RV", "H1.RV", "H2.RV", "H4"}),
    ("shut-off pilot", {*TRIP, "G1.SO"}),
    ("shut-off spring", {*TRIP, "G1.SO"}),
    ("shut-off setting", {*TRIP, "G1.SO"}),
    ("shut-off lock nut", {*TRIP, "G1.SO"}),
    ("shut-off diaphragm", {*TRIP, "G1.SO"}),
    ("shut-off sensing line", {*TRIP, "G1.SO"}),
    ("shut-off feed", {*TRIP, "G1.SO"}),
    ("shut-off closing needle", {*TRIP, "G1.SO"}),
    ("shut-off exhaust", {*TRIP, "G1.SO"}),
    ("limit switch", {"G1.SO", "G2.SO", "G3.SO"}),
    ("limit switch cable", {"G1.SO", "G2.SO", "G3.SO"}),
    ("alarm text", {"G1.SO", "G2.SO", "G3.SO"}),
    ("outlet transmitter", {"G4", "J6"}),
    ("strainer", {"B5", "H4"}),
    ("outlet isolating valve", {"D2", "H2.RV"}),
    ("test drain", {"D2", "H2.RV"}),
    ("fixed gauge", {"A6"}),
    ("inlet range", {"A1", "F5.SO"}),
    ("consumer limit", {"A1", "F5.SO"}),
    ("zone pipes", {"A1", "F5.SO"}),
]


@pytest.mark.source(kind="common practice", ref="design handbook 3.7, table of repairs; no single source")
@pytest.mark.parametrize("name", [UP, DOWN])
@pytest.mark.parametrize(("item", "again"), TABLE)
def test_a_repair_makes_stale_what_the_table_of_repairs_lists(name, item, again):
    assert set(redo(made(name), find(facts_of(station(name)), item))) == again


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_plan_after_a_repair_holds_all_that_is_stale_and_is_shorter_than_the_first(name):
    first = made(name)
    for item in items(facts_of(station(name))):
        plan = made(name, kind="after_repair", item=item.name)
        ids = {node.id for node in plan.nodes}
        assert set(redo(first, item)) <= ids
        assert len(plan.nodes) < len(first.nodes)
        assert not plan.choices


def test_a_repair_on_paper_sends_nobody_to_the_station():
    plan = made(UP, kind="after_repair", item="inlet range")
    assert [node.id for node in plan.nodes] == ["A1", "F5.SO", "K1"]
    assert plan.node("F5.SO").do[0].id == "F5.paper"


def test_a_repair_of_the_switch_asks_for_one_true_closing():
    plan = made(UP, kind="after_repair", item="limit switch")
    ids = [node.id for node in plan.nodes]
    assert {"F1.SO", "F2.SO", "F2R.SO", "D2", "G1.SO", "G2.SO", "G3.SO", "H1.RV"} <= set(ids)
    assert not {"F3.SO", "H2.RV", "B3", "C2"} & set(ids)


def test_a_lost_setting_of_the_shut_off_is_set_again_before_it_is_proved():
    plan = made(UP, kind="after_repair", item="shut-off spring")
    assert "ES4.SO" in ancestors(plan, "F1.SO")
    kept = made(UP, kind="after_repair", item="shut-off closing needle")
    assert "ES4.SO" not in {node.id for node in kept.nodes}


def test_an_opened_line_is_filled_and_bled_before_it_is_tested():
    plan = made(UP, kind="after_repair", item="shut-off diaphragm")
    assert {"C2", "C3", "C4", "C5"} <= ancestors(plan, "F1.SO")


def test_repairs_on_two_reducers_name_the_first_and_the_second():
    first = made(PAIR)
    facts = facts_of(station(PAIR))
    assert set(redo(first, find(facts, "first reducer needles"))) == {"H1.RV1", "H2.RV1", "H4", "H5", "J3F"}
    assert set(redo(first, find(facts, "second reducer diaphragm"))) == {
        "D3.RV2", "TS1.RV2", "H1.RV2", "H2.RV2", "H4",
    }  # fmt: skip
    assert set(redo(first, find(facts, "drain between the valves"))) == {"H2.RV1"}


def test_a_shared_sensing_line_takes_reducer_and_shut_off_proofs_away_together():
    plan = made(UP, setting("SO", sensing_tap="shared with reducer"))
    item = find(
        facts_of(station(UP, setting("SO", sensing_tap="shared with reducer"))), "reducer sensing line"
    )
    assert set(redo(plan, item)) == {*TRIP, "G1.SO", "H1.RV", "H2.RV", "H4", "H5"}


def test_by_injection_a_repair_of_the_shut_off_is_proved_by_injection():
    low = block("supply", min="5.4 bar")
    again = redo(made(UP, low), find(facts_of(station(UP, low)), "shut-off lock nut"))
    assert set(again) == {"IN3.SO", "IN5.SO", "F5.SO", "G1.SO"}


def test_an_unknown_item_names_the_known_ones():
    with pytest.raises(InputError, match=r"^item: got 'flux gate'.* Use one of: reducer pilot, .*strainer"):
        made(UP, kind="after_repair", item="flux gate")


def test_items_are_found_however_they_are_written():
    facts = facts_of(station(UP))
    assert find(facts, "Shut-Off  closing_needle") == find(facts, "shut-off closing needle")


def test_a_station_without_a_shut_off_has_no_items_of_one():
    assert not any("shut-off" in name or "switch" in name for name in names(station(ALONE)))


def test_the_trip_outlives_a_repair_of_the_reducer_needles():
    proofs = stale_proofs(made(UP), ["RV.needles"])
    assert proofs == ("RV.duty", "RV.lockup", "station.droop", "station.response")


@pytest.mark.parametrize(
    ("item", "set_up", "left"),
    [
        pytest.param("reducer", {"ES1.RV", "ES2.RV"}, {"EF2.SO"}, id="reducer"),
        pytest.param("shut-off", {"ES3.SO", "ES4.SO", "ES6.SO"}, {"EF1.RV", "EF3.RV"}, id="shut-off"),
        pytest.param("", {"ES1.RV", "ES4.SO"}, set(), id="both"),
    ],
)
def test_a_new_setting_sets_that_pilot_and_proves_trip_alarm_duty_and_lockup(item, set_up, left):
    ids = {node.id for node in made(UP, kind="new_setting", item=item).nodes}
    assert {"A1", "F1.SO", "F3.SO", "F5.SO", "G4", "H1.RV", "H2.RV"} | set_up | left <= ids
    assert not {"B3", "H4", "C2"} & ids


def test_a_new_setting_of_an_unknown_valve_names_the_known_ones():
    with pytest.raises(InputError, match=r"^item: got 'relief'.* Use one of: reducer, shut-off"):
        made(UP, kind="new_setting", item="relief")


@pytest.mark.source(
    kind="common practice", ref="design handbook 3.7: C, D2, trickle reading, J; no single source"
)
def test_a_return_to_service_fills_tries_the_outlet_valve_reads_trickle_and_opens():
    ids = [node.id for node in made(UP, kind="return_to_service").nodes]
    assert [i for i in ids if i[0] in "CDEJ"] == [
        "C1", "C1F.SO", "C1F.RV", "C2", "C3", "C4", "C5", "D2", "EF1.RV", "J1", "J2", "J3", "J4", "J5", "J6",
    ]  # fmt: skip
    assert not any(i[0] in "BFGH" for i in ids)


def test_an_unknown_kind_names_the_known_ones():
    with pytest.raises(InputError, match=r"^kind: got 'weekly'.* Use one of: first, yearly"):
        made(UP, kind="weekly")  # type: ignore[arg-type]


def test_after_the_strainer_the_pilot_filters_are_looked_at_and_not_opened():
    """Opened, each would make its own proofs stale (table of repairs); the step sends there instead."""
    look = made(UP, kind="after_repair", item="strainer").node("B5")
    assert not look.touches
    assert {m.id for m in look.do} == {"B5.look"}
    assert look.otherwise[0].then.id == "B5.dirty.then"
    assert made(UP).node("B5").touches == ("SO.feed", "RV.filter")
