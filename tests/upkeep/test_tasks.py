"""Which activities a station and its places have follows from its file."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.station.examples import names
from steadyhead.upkeep import defaults
from steadyhead.upkeep.activities import ALL, BY_KEY
from steadyhead.upkeep.cautions import CAUTIONS, cautions
from steadyhead.upkeep.factors import is_critical
from steadyhead.upkeep.places import is_within, isolation_words, piece_places, places
from steadyhead.upkeep.tasks import is_fine, monitors, tasks
from steadyhead.upkeep.waiting import costs, unseen
from tests.upkeep.stations import BEGAN, example, task, with_changes

EXAMPLES = tuple(names())


def keys(name: str) -> set[tuple[str, str]]:
    return {(one.activity.key, one.place) for one in tasks(example(name))}


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_has_upkeep_and_no_line_twice(name):
    found = [(one.activity.key, one.place) for one in tasks(example(name))]
    assert len(found) == len(set(found))
    assert {"look", "setting_review", "coating", "gauges_compared"} <= {key for key, _ in found}
    valves = {place.id for place in places(example(name)) if place.part.part in ("reducer", "shut_off")}
    assert {place for key, place in found if key == "inside_inspection"} == valves


def test_a_shut_off_gets_its_trip_proof_and_a_reducer_its_functional_check():
    found = keys("quillenby-row")
    assert ("trip_proof", "SO") in found
    assert ("functional_check", "RV") in found
    assert not {("trip_proof", "RV"), ("functional_check", "SO"), ("relief_lift", "SO")} & found


def test_a_monitor_is_proved_and_not_checked_like_the_reducer_at_work():
    assert monitors(example("fenwarren-gate")) == {"MON"}
    found = keys("fenwarren-gate")
    assert ("monitor_proof", "MON") in found
    assert ("functional_check", "MON") not in found
    assert ("functional_check", "RV") in found
    assert not any(key == "trip_proof" for key, _ in found)


def test_every_shut_off_of_several_streams_is_proved_at_its_own_place():
    assert {place for key, place in keys("veldany-house") if key == "trip_proof"} == {"SOA", "SOB"}


def test_relief_valve_vessel_and_alarm_are_looked_after_where_there_are_any():
    found = keys("veldany-house")
    assert {("relief_lift", "RL"), ("vessel_precharge", "EV"), ("alarm_check", "")} <= found
    without = with_changes("quillenby-row").model_copy(update={"alarm": None})
    assert not any(one.activity.key == "alarm_check" for one in tasks(without))


def test_fire_water_brings_the_fire_service_regime_and_nothing_else_does():
    fire = {"fire_look", "fire_part", "fire_full"}
    assert fire <= {key for key, _ in keys("quillenby-row")}
    assert not fire & {key for key, _ in keys("orrowby-mill")}


def test_a_plant_room_is_looked_at_weekly_and_a_chamber_monthly():
    assert task("look", "", example("veldany-house")).base == defaults.LOOK_MANNED
    assert task("look", "", example("quillenby-row")).base == defaults.LOOK_CHAMBER


@pytest.mark.parametrize(
    ("mesh", "fine"),
    [("0.1 mm", True), ("100 µm", True), ("150 um", True), ("0,09 mm", True), ("0.5 mm", False), ("", False),
     ("stainless", False)],
)  # fmt: skip
def test_a_fine_filter_of_a_building_is_cleaned_every_six_months(mesh, fine):
    station = example("veldany-house")
    strainer = next(part for part in station.parts() if part.part == "strainer").model_copy(
        update={"mesh": mesh}
    )
    assert is_fine(station, strainer) is fine
    assert not is_fine(example("quillenby-row"), strainer)


def test_a_direct_acting_reducer_has_no_pilot_to_look_after():
    station = example("quillenby-row")
    line = tuple(
        part.model_copy(update={"kind": "direct-acting"}) if part.id == "RV" else part
        for part in station.line
    )
    found = {(one.activity.key, one.place) for one in tasks(station.model_copy(update={"line": line}))}
    assert not {("pilot_filter", "RV"), ("pilot_overhaul", "RV")} & found
    assert ("pilot_overhaul", "SO") in found


def test_the_section_shut_off_is_the_nearest_of_its_own_line():
    where = {place.id: place.isolation for place in places(example("veldany-house"))}
    assert where["SOA"] == "IV1|IV2/IVA1|IVA2"
    assert where["ST"] == "IV1|IV2"
    assert where["IVB2"] == "IV1|IV2/IVB1|IVB2"
    assert is_within(where["SOA"], where["ST"])
    assert not is_within(where["ST"], where["SOA"])
    assert not is_within(where["SOA"], where["IVB2"])


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_section_is_told_in_words(name):
    for place in places(example(name)):
        assert isolation_words(place.isolation).startswith(("between", "behind", "ahead of", "with no"))


def test_a_valve_and_its_pilot_are_two_places_for_pieces():
    found = piece_places(example("quillenby-row"))
    assert found["SO"] == "shut-off SO"
    assert found["SO.pilot"] == "pilot of shut-off SO"
    assert "T1" not in found


@pytest.mark.source(kind="common practice", ref="design handbook 5.1 and 5.2: critical 6 months")
def test_a_critical_station_is_proved_twice_as_often():
    assert is_critical(example("quillenby-row")).startswith("sensitive consumers")
    proof = task("trip_proof", "SO", example("quillenby-row"))
    assert [factor.value for factor in proof.factors] == [0.5]
    calm = with_changes(
        "quillenby-row", station={"sensitive_consumers": "", "fire_water": False}, demand={"fire": None},
        zone={"other_feed": True},
    )  # fmt: skip
    assert task("trip_proof", "SO", calm).factors == ()


def test_long_names_of_consumers_are_cut_between_words_and_one_word_within():
    named = "clinic with six dialysis chairs, " * 6
    told = is_critical(with_changes("pinnock-yard", station={"sensitive_consumers": named}))
    assert told.endswith(" …")
    assert named.startswith(told.partition(": ")[2].removesuffix(" …"))
    assert named.removeprefix(told.partition(": ")[2].removesuffix(" …"))[0] == " "
    word = is_critical(with_changes("pinnock-yard", station={"sensitive_consumers": "w" * 200}))
    assert word.endswith("www…")


def test_a_zone_said_to_have_no_other_feed_is_critical_and_one_that_says_nothing_is_not():
    station = with_changes("pinnock-yard", station={"sensitive_consumers": ""})
    said = station.model_copy(update={"zone": type(station.zone)(other_feed=False)})
    silent = station.model_copy(update={"zone": type(station.zone)()})
    assert "no other feed" in is_critical(said)
    assert is_critical(silent) == ""


def test_what_the_file_says_of_water_place_and_speed_shortens_what_it_wears():
    station = example("quillenby-row")
    warm = replace(station.water.temperature, si=300.0, text="26.85 °C")
    fast = replace(station.demand.average, si=0.2, text="200 L/s")
    worn = with_changes("quillenby-row", water={"highest": warm}, demand={"average": fast})
    because = [factor.because for factor in task("pilot_overhaul", "SO", worn).factors]
    assert because == ["water up to 26.85 °C", "the place floods"]
    assert any(
        "m/s at average flow" in factor.because for factor in task("inside_inspection", "SO", worn).factors
    )
    assert task("inside_inspection", "SO", station).factors == ()


def test_every_activity_has_a_cost_of_waiting_cautions_that_exist_and_an_interval_within_its_limits():
    for one in ALL:
        assert costs(one, None, BEGAN.on)
        assert set(one.cautions) <= set(CAUTIONS)
        assert one.least <= one.months <= one.most or one.key == "look"
        assert one.base.source
        if one.needs == "section":
            assert one.cautions, f"{one.key} shuts a section off without a caution"


def test_cautions_of_the_place_come_before_those_of_the_work():
    found = [hazard for hazard, _ in cautions(BY_KEY["strainer_clean"].cautions, example("quillenby-row"))]
    assert found[:3] == ["Confined space", "Flooding", "Traffic"]
    assert "Stored pressure" in found


@pytest.mark.source(kind="published", ref="IEC 61508 low-demand relation as cited in the design handbook 5.4")
def test_the_chance_of_not_acting_is_that_of_the_handbook():
    assert unseen(365.25, 0.01)[0] == pytest.approx(0.005)
    assert unseen(2 * 365.25, 0.02)[0] == pytest.approx(0.020)
    assert unseen(0.5 * 365.25, 0.05)[0] == pytest.approx(0.0125)
    assert unseen(0.0) == (0.0, 0.0)
    assert unseen(1e6, 1.0) == (0.5, 1.0)
