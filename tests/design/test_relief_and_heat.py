"""Relief valves, vessels, heated water, monitors: balances that can be written down."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest

from steadyhead.design import credit
from steadyhead.design.basis import Basis
from steadyhead.design.monitor_checks import highest_held
from steadyhead.design.overshoot import ZoneCase, run
from steadyhead.design.relief import lets_off, relief_sizings
from steadyhead.design.sheet import judge
from steadyhead.design.thermal import heating, takes_up, thermal_rise
from steadyhead.design.twin import SteadyTwin
from steadyhead.design.ways import ways_of
from steadyhead.findings import Finding, Severity
from steadyhead.records.design import ReliefSizing
from steadyhead.water import properties
from tests.design.stations import Edit, limit, part, section, station_of, top, without
from tests.design.way_stations import MONITORED, PLANT

BAR = 1e5
LARGE = (without("SOA", "SOB"), part("RL", kv="Kv 60", size="DN 80", crack="5.5 bar", full="5.6 bar"))


def found(name: str, *edits: Edit) -> dict[str, Finding]:
    return {one.code: one for one in judge(station_of(name, *edits)).findings}


def sized(*edits: Edit) -> ReliefSizing:
    (one,) = relief_sizings(ways_of(station_of(PLANT, *edits)))
    return one


@pytest.mark.source(
    kind="analytic", ref="no night demand: what a stuck reducer passes, the relief valve lets off"
)
def test_the_peak_with_a_reducer_stuck_open_is_where_both_flows_balance():
    one = sized(*LARGE)
    relief = ways_of(station_of(PLANT, *LARGE))[0].reliefs[0]
    assert one.place == "in place of the shut-off"
    assert one.failed_open_flow == pytest.approx(lets_off(relief, one.peak, 999.5), rel=2e-3)
    assert one.holds is True


@pytest.mark.source(kind="analytic", ref="Q = Kv √(p / 1 bar) wide open")
def test_a_relief_valve_wide_open_lets_off_by_its_flow_coefficient():
    relief = ways_of(station_of(PLANT, *LARGE))[0].reliefs[0]
    assert lets_off(relief, 6.0 * BAR, 1000.0) * 3600.0 == pytest.approx(60.0 * sqrt(6.0), rel=1e-6)
    assert lets_off(relief, 5.5 * BAR, 1000.0) == 0.0
    assert lets_off(relief, 5.55 * BAR, 1000.0) * 3600.0 == pytest.approx(30.0 * sqrt(5.55), rel=1e-6)


@pytest.mark.source(kind="analytic", ref="balance of inflow and relief once the zone rests")
def test_a_zone_with_a_relief_valve_rests_where_it_lets_off_what_comes_in():
    case = ZoneCase(
        supply_pressure=10 * BAR, supply_loss=0.0, reducer_full=1e-5, shut_off_full=1e9,
        start_pressure=4 * BAR, demand=0.0, exponent=0.5, head=0.0, compliance=1e-7, within=2.0,
        trip=30 * BAR, dead_time=0.5, closing_time=3.0, relief_full=2e-5, relief_crack=4.8 * BAR,
        relief_wide=5.0 * BAR,
    )  # fmt: skip
    rests = run(case)
    lift = min((rests.peak - 4.8 * BAR) / (0.2 * BAR), 1.0)
    assert rests.trips is False
    assert 1e-5 * sqrt(10 * BAR - rests.peak) == pytest.approx(2e-5 * lift * sqrt(rests.peak), rel=1e-4)


@pytest.mark.source(kind="analytic", ref="more that lets off can only lower the overshoot")
def test_a_relief_valve_counted_in_lowers_the_overshoot_and_one_not_counted_changes_nothing():
    plain, counted, none = (
        judge(station_of(PLANT, *edits)).streams[0].ladder.inputs.overshoot
        for edits in ((), (part("RL", credited="yes"),), (without("RL"),))
    )
    assert plain == none
    assert counted is not None
    assert plain is not None
    assert counted < plain


def test_the_order_alarm_relief_trip_is_judged_each_way():
    assert found(PLANT, part("RL", crack="5.7 bar"))["LAD-52"].severity is Severity.HEED
    assert "LAD-52" not in found(PLANT)
    late = found(PLANT, section("alarm", pressure="5.45 bar"))["LAD-55"]
    assert late.severity is Severity.HEED
    assert found(PLANT)["LAD-55"].severity is Severity.HEED, "a full heating lifts it before the alarm"
    assert found(PLANT, part("EV", volume="2000 L"))["LAD-55"].severity is Severity.NOTE


def test_in_place_of_a_shut_off_a_relief_valve_near_normal_running_or_too_small_stops_the_release():
    assert found(PLANT, *LARGE, part("RL", crack="5.1 bar"))["LAD-54"].severity is Severity.STOP
    assert found(PLANT, *LARGE, part("RL", kv="Kv 5"))["LAD-58"].severity is Severity.STOP
    held = found(PLANT, *LARGE)
    assert held["LAD-59"].severity is Severity.NOTE
    assert "LAD-29" not in held


@pytest.mark.source(
    kind="published", ref="engineering forum on trapped liquids, 2007; evaluated in handbook 0.5"
)
def test_trapped_water_in_metal_gains_about_1_7_bar_for_each_kelvin_near_15_degrees():
    water = properties(288.15, 6 * BAR)
    rise = thermal_rise(
        fluid_expansion=water.thermal_expansion,
        wall_expansion=12e-6,
        compressibility=1.0 / 2.15e9 + 35.0 / 170e9,
        warmer=1.0,
    )
    assert rise == pytest.approx(1.7 * BAR, abs=0.1 * BAR)


@pytest.mark.source(
    kind="published", ref="handbook 0.5: plastic out-expands water near 15 °C, not above 30 °C"
)
def test_in_plastic_the_rise_turns_round_with_temperature():
    def rise(kelvin: float) -> float:
        expands = properties(kelvin, 6 * BAR).thermal_expansion
        return thermal_rise(fluid_expansion=expands, wall_expansion=7e-5, compressibility=6e-9, warmer=1.0)

    assert rise(288.15) < 0.0 < rise(308.15)


@pytest.mark.source(kind="analytic", ref="P V = constant: volume taken from P1 to P2 is V0 P0 (1/P1 − 1/P2)")
def test_a_vessel_takes_up_what_boyle_says():
    basis = ways_of(station_of(PLANT, section("zone", volume=None)))[0]
    atmosphere = basis.twin.atmosphere_abs
    start, end, empty = 4.9 * BAR + atmosphere, 5.3 * BAR + atmosphere, 4.4 * BAR + atmosphere
    expected = 0.2 * empty * (1.0 / start - 1.0 / end)
    assert takes_up(basis, 4.9 * BAR, 5.3 * BAR) == pytest.approx(expected, rel=1e-9)
    assert takes_up(basis, 3.0 * BAR, 4.4 * BAR) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.source(kind="analytic", ref="derivative of Boyle's law over the exponent of the gas")
def test_the_vessel_softens_the_zone_by_the_slope_of_its_gas():
    basis = ways_of(station_of(PLANT, section("zone", volume=None)))[0]
    step = 100.0
    slope = (takes_up(basis, 5.5 * BAR, 5.5 * BAR + step)) / step
    assert credit.vessel_compliance(basis, 5.5 * BAR) == pytest.approx(slope / 1.2, rel=1e-3)
    assert credit.vessel_compliance(basis, 4.0 * BAR) == 0.0


@pytest.mark.source(kind="analytic", ref="volume gained = volume taken up")
def test_heating_ends_where_vessel_and_zone_have_taken_up_what_the_water_gains():
    basis = ways_of(station_of(PLANT))[0]
    end = heating(basis, 4.9 * BAR)
    assert end is not None
    assert takes_up(basis, 4.9 * BAR, end.ends) == pytest.approx(end.expands, rel=1e-6)
    assert end.expands == pytest.approx(1.0 * (999.5 / 983.2 - 1.0), rel=0.03)


@pytest.mark.source(
    kind="published", ref="EN 806-2 as quoted in handbook S2: 75 % of 8 bar at +3 m is 6.29 bar"
)
def test_the_heaters_safety_valve_is_held_against_three_quarters_of_its_pressure():
    told = found(PLANT, part("RVA", duty={"pressure": "6.2 bar", "flow": "0.4 L/s"}, lockup="6.3 bar"))
    limit = told["LAD-71"].limit
    assert limit is not None
    assert limit.si == pytest.approx(6.29 * BAR, abs=0.01 * BAR)


def test_a_building_is_asked_for_its_heaters_only_where_nothing_takes_the_expansion_up():
    bare = (top(hot_water=None), without("RL", "EV"))
    assert found(PLANT, *bare)["LAD-73"].severity is Severity.ASK
    assert found(PLANT, top(hot_water=None))["LAD-73"].severity is Severity.NOTE
    kiosk = section("station", kind="kiosk")
    assert "LAD-73" not in found(PLANT, *bare, kiosk)


@pytest.mark.source(kind="independent", ref="steady twin, worker stuck wide open")
def test_with_the_worker_stuck_open_the_monitor_holds_no_more_than_is_told():
    station = station_of(MONITORED)
    basis = Basis(station, SteadyTwin(station))
    assert basis.worker.id == "RV"
    assert basis.monitor is not None
    steady = basis.twin.failed_open("RV")
    assert steady is not None
    assert steady.taps["T3"] <= highest_held(basis, basis.monitor)
    assert steady.taps["T3"] == pytest.approx(5.3 * BAR, abs=0.05 * BAR)


def test_the_lower_set_of_two_that_sense_one_tap_is_the_worker_wherever_it_stands():
    def turned(data: dict[str, object]) -> None:
        line = data["line"]
        assert isinstance(line, list)
        a, b = (next(i for i, p in enumerate(line) if p["id"] == name) for name in ("MON", "RV"))
        line[a], line[b] = line[b], line[a]

    station = station_of(MONITORED, turned)
    assert Basis(station, SteadyTwin(station)).worker.id == "RV"
    assert judge(station).ladder is not None


@pytest.mark.source(kind="analytic", ref="a stroke twice as long never lowers the peak")
def test_a_slower_monitor_lets_the_outlet_rise_further():
    station = station_of(MONITORED, section("zone", volume="400 m³"))
    basis = Basis(station, SteadyTwin(station))
    assert basis.monitor is not None
    case = credit.zone_case(
        basis, within=120.0, at="average flow", trip=5.5 * BAR, closing_time=5.0, closes=basis.monitor
    )
    assert case is not None
    assert run(replace(case, closing_time=10.0)).peak > run(case).peak


@pytest.mark.parametrize(
    "edit",
    [
        part("RL", full="5.2 bar"),
        part("RL", reseat="5.6 bar"),
        section("hot_water", cold="70 °C"),
    ],
    ids=["wide open below its crack", "shut above its crack", "colder after heating"],
)
def test_values_of_a_relief_valve_or_heater_that_exclude_each_other_stop_the_release(edit):
    assert found(PLANT, edit)["STN-03"].severity is Severity.STOP


def test_a_monitor_alone_that_is_too_slow_for_the_credited_failure_is_asked_about():
    assert found(MONITORED)["LAD-63"].severity is Severity.ASK
    roomy = section("zone", volume="4000 m³")
    assert found(MONITORED, roomy)["LAD-63"].severity is Severity.HEED


@pytest.mark.source(kind="analytic", ref="a slower stroke lets in more: V β dP/dt = Q_in − Q_demand")
def test_a_monitor_is_judged_by_its_measured_response_and_heeded_while_that_is_a_default():
    roomy = section("zone", volume="4000 m³")
    assumed, measured = found(MONITORED, roomy), found(MONITORED, roomy, part("MON", response="3 s"))
    assert assumed["LAD-63"].severity is Severity.HEED
    assert measured["LAD-63"].severity is Severity.NOTE
    quicker, slower = measured["LAD-63"].value, assumed["LAD-63"].value
    assert quicker is not None
    assert slower is not None
    assert quicker.si <= slower.si
    assert measured["LAD-63"].params["response"] != assumed["LAD-63"].params["response"]


def test_a_monitor_measured_too_slow_for_its_zone_forbids_a_release_and_a_guessed_one_asks():
    """What is measured is no question any more: no words settle it."""
    assert found(MONITORED)["LAD-63"].severity is Severity.ASK
    assert found(MONITORED, part("MON", response="30 s"))["LAD-63"].severity is Severity.STOP


@pytest.mark.parametrize(("reseat", "told"), [("4.6 bar", True), ("4.9 bar", True), ("5.25 bar", False)])
def test_a_relief_valve_that_reseats_below_lock_up_or_highest_normal_is_heeded(reseat: str, told: bool):
    heeded = found(PLANT, part("RL", reseat=reseat)).get("LAD-56")
    assert (heeded is not None) is told
    assert heeded is None or heeded.severity is Severity.HEED


def test_heated_water_with_neither_vessel_nor_relief_is_asked_about():
    assert found(PLANT, without("EV", "RL"))["LAD-68"].severity is Severity.ASK
    assert found(PLANT, without("EV"))["LAD-68"].severity is Severity.NOTE


@pytest.mark.source(
    kind="analytic", ref="the relief valve lifts at crack + error, Q = Q: the peak follows it"
)
def test_in_place_of_a_shut_off_a_relief_valve_is_judged_at_the_upper_edge_of_its_crack():
    one = sized(*LARGE)
    assert one.latest_crack == pytest.approx(5.5 * BAR * 1.03)
    relief = ways_of(station_of(PLANT, *LARGE, part("RL", crack="5.665 bar", full="5.768 bar")))[0].reliefs[0]
    flow = lets_off(relief, one.latest_peak, 999.5)
    assert flow == pytest.approx(one.failed_open_flow, rel=0.05)
    assert one.latest_peak > one.peak
    between = f"{0.5 * (one.peak + one.latest_peak):.1f} Pa"
    told = found(PLANT, *LARGE, limit(1, fault=between, normal=between, level="0 m"))
    assert told["LAD-58"].severity is Severity.STOP
    assert told["LAD-58"].value is not None
    assert told["LAD-58"].value.si == pytest.approx(one.latest_peak)


def test_where_demand_may_be_zero_a_stuck_reducer_is_looked_at_without_any_draw():
    some = section("demand", night="0.4 L/s")
    drawn = sized(*LARGE, some, section("demand", zero_possible="no"))
    none = sized(*LARGE, some)
    assert none.peak > drawn.peak
    assert none.peak == pytest.approx(sized(*LARGE).peak)


@pytest.mark.source(kind="analytic", ref="rise from the highest lock-up: volume gained = volume taken up")
def test_heating_starts_from_the_highest_lock_up_and_stands_on_a_rung_of_its_own():
    sheet = judge(station_of(PLANT, part("EV", volume="2000 L")))
    ladder = sheet.streams[0].ladder
    basis = ways_of(station_of(PLANT, part("EV", volume="2000 L")))[0]
    assert ladder.heated is not None
    assert ladder.heated > ladder.highest_normal
    end = heating(basis, ladder.highest_normal)
    assert end is not None
    assert ladder.heated == pytest.approx(end.ends)
    assert takes_up(basis, ladder.highest_normal, ladder.heated) == pytest.approx(end.expands, rel=1e-6)


def heated_far(*edits: Edit) -> list[Finding]:
    """Return what is told of a vessel too small, stream by stream."""
    return [
        one
        for one in judge(station_of(PLANT, part("EV", volume="60 L"), *edits)).findings
        if one.code == "LAD-69"
    ]


def test_heating_that_reaches_the_trip_or_the_normal_limit_stops_the_release():
    told = heated_far(without("RL"))
    assert {one.severity for one in told} == {Severity.STOP}
    assert told[0].params["what"] == "the trip's lower edge"
    (late,) = heated_far(without("RL"), part("SOA", trip="9 bar"), part("SOB", trip="9 bar"))
    assert late.severity is Severity.STOP
    assert str(late.params["what"]).startswith("the normal limit of")


def test_a_relief_valve_that_surely_lifts_below_trip_and_limit_leaves_heating_at_heed():
    assert {one.severity for one in heated_far(part("RL", crack="5.3 bar", error="0.05 bar"))} == {
        Severity.HEED
    }
    late = part("RL", crack="5.4 bar", error="0.15 bar")
    assert {one.severity for one in heated_far(late)} == {Severity.HEED}, "by root-sum-square it lifts first"
    assert Severity.STOP in {one.severity for one in heated_far(late, top(stacking="worst case"))}


def test_what_a_rise_by_heating_rests_on_names_each_vessel_and_the_exponent_is_no_share():
    labels = {given.label for given in found(PLANT, part("EV", volume="2000 L"))["LAD-70"].inputs}
    assert {"volume of EV", "precharge of EV"} <= labels
    inputs = {given.label: given for given in found(PLANT)["LAD-75"].inputs}
    assert {"volume of EV", "precharge of EV"} <= set(inputs)
    assert inputs["exponent of the gas"].amount == "1.2"
