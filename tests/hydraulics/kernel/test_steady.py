from __future__ import annotations

from math import isnan, nan

import pytest

from steadyhead.hydraulics.kernel import assembly, layout
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.compiling import floats
from tests.hydraulics.kernel.lines import (
    DENSITY,
    END,
    T1,
    T2,
    T3,
    Station,
    bar,
    conditions,
    ending,
    hourly,
    isolating_valve,
    main,
    outcome,
    state,
)

REFERENCE = "physics specification of the project, numbers of its independent reference"


@pytest.mark.source(kind="independent", ref=f"{REFERENCE}: worked numbers, consumers of Kv 30")
def test_default_station_meets_the_worked_numbers():
    found = Station().solved()
    reducer = Station().reducer_row
    assert hourly(found, 7) == pytest.approx(55.997, rel=2e-3, abs=0.05)
    for node, pressure in ((T1, 8.6890), (T2, 4.0311), (T3, 3.9226), (END, 3.4830)):
        assert bar(found, node) == pytest.approx(pressure, rel=1e-3, abs=0.002)
    assert outcome(found, reducer, layout.OUT_CHAMBER) / 1e5 == pytest.approx(5.9928, rel=1e-3, abs=0.002)
    assert outcome(found, reducer, layout.OUT_LIFT) == pytest.approx(0.10835, abs=1e-3)
    assert outcome(found, reducer, layout.OUT_PILOT) == pytest.approx(0.58618, abs=1e-3)
    assert outcome(found, reducer, layout.OUT_RATIO) == pytest.approx(0.48070, abs=2e-3)
    assert outcome(found, reducer, layout.OUT_INCIPIENT) == 1.0
    assert outcome(found, reducer, layout.OUT_CHOKED) == 0.0
    assert state(found, reducer) == "holding"


@pytest.mark.source(kind="independent", ref=f"{REFERENCE}: worked numbers, no demand")
def test_without_demand_the_outlet_stands_at_lock_up():
    found = Station(consumers=0.0).solved()
    assert bar(found, T3) == pytest.approx(4.5, rel=1e-3, abs=0.002)
    assert bar(found, T1) == 9.0
    assert outcome(found, 4, layout.OUT_CHAMBER) / 1e5 == pytest.approx(9.0)
    assert state(found, 4) == "lock-up"
    assert not found.is_flowing


@pytest.mark.source(kind="independent", ref=f"{REFERENCE}: worked numbers, consumers of Kv 1")
def test_trickle_reading_stands_between_duty_and_lock_up():
    found = Station(consumers=1.0).solved()
    assert hourly(found, 0) == pytest.approx(2.0120, rel=2e-3, abs=0.05)
    assert bar(found, T2) == pytest.approx(4.0481, rel=1e-3, abs=0.002)
    assert outcome(found, 4, layout.OUT_LIFT) == pytest.approx(0.0036, abs=1e-3)


@pytest.mark.source(kind="independent", ref=f"{REFERENCE}: outlet of the healthy station at Kv 0, 10, 30, 60")
@pytest.mark.parametrize(("consumers", "outlet"), [(0, "4.50"), (10, "4.03"), (30, "3.92"), (60, "3.70")])
def test_outlet_falls_with_flow_as_in_the_fault_table(consumers, outlet):
    assert round(bar(Station(consumers=consumers).solved(), T3), 2) == float(outlet)


INLET_VALVE = (1.0, 0.10, 0.07, 0.05, 0.03, 0.02)


@pytest.mark.source(kind="independent", ref=f"{REFERENCE}: how far the inlet isolating valve must stand open")
@pytest.mark.parametrize(
    ("change", "outlets"),
    [
        ({"given_lift": 1.0}, (8.67, 6.82, 4.84, 2.73, 0.78, 0.25)),
        ({"stuck_pilot": 1.0}, (8.37, 6.59, 4.68, 2.65, 0.76, 0.24)),
        ({"given_lift": 1.0, "main_lengths": (0.0, 0.0)}, (8.84, 6.92, 4.89, 2.75)),
    ],
    ids=["full lift", "pilot stuck open", "without main friction"],
)
def test_drain_holds_the_section_only_behind_a_nearly_shut_inlet_valve(change, outlets):
    case = Station(consumers=0.0, drain=15.0, outlet_valve=0.0, **change)
    for opening, outlet in zip(INLET_VALVE, outlets, strict=False):
        assert bar(case.but(inlet_valve=opening).solved(), T3) == pytest.approx(outlet, abs=0.006)


@pytest.mark.source(kind="independent", ref=f"{REFERENCE}: fault table, outlet at Kv 10, 30, 60")
@pytest.mark.parametrize(
    ("change", "outlets", "word"),
    [
        ({"tear": 0.5}, (8.7, 7.9, 6.4), "cannot shut"),
        ({"shut_off_lift": 0.15}, (3.75, 2.48, 1.40), "holding"),
        ({"lockup": 8.1}, (7.6,), "holding"),
    ],
    ids=["torn diaphragm", "shut-off partly closed", "wrong spring"],
)
def test_faults_read_as_in_the_fault_table(change, outlets, word):
    for consumers, outlet in zip((10, 30, 60), outlets, strict=False):
        found = Station(consumers=consumers, **change).solved()
        assert bar(found, T3) == pytest.approx(outlet, abs=0.06)
    assert state(Station(consumers=10, **change).solved(), 4) == word


@pytest.mark.source(
    kind="independent", ref=f"{REFERENCE}: fault table, strainer clogged 30 times: inlet 9.0 to 5.3"
)
def test_clogged_strainer_pulls_the_inlet_down_with_the_square_of_flow():
    found = Station(consumers=60, strainer=300.0 / 30.0**0.5).solved()
    assert bar(found, T1) == pytest.approx(5.3, abs=0.06)


@pytest.mark.source(kind="independent", ref=f"{REFERENCE}: partly blocked feed, 4.39 bar at Kv 10")
def test_partly_blocked_feed_stands_near_lock_up_and_shows_no_droop():
    assert bar(Station(consumers=10, feed=0.012).solved(), T3) == pytest.approx(4.39, abs=0.006)


@pytest.mark.parametrize(
    ("change", "word", "outlet"),
    [
        ({"tear": 0.5}, "creeping", 9.0),
        ({"debris": 0.02}, "creeping", 9.0),
        ({"leak": 0.5}, "creeping", 9.0),
        ({"stuck_pilot": 1.0}, "creeping", 9.0),
        ({"trapped": 2.0}, "creeping", 9.0),
        ({"feed": 1e-6, "feed_blocked": True}, "ratcheting", 9.0),
        ({"given_lift": 0.3}, "lift given", 9.0),
        ({"supply": 3.0}, "standing open", 3.0),
        ({"filter_kv": 0.02}, "lock-up", 4.5),
    ],
)
def test_at_no_flow_a_sound_reducer_locks_up_and_a_faulty_one_creeps(change, word, outlet):
    found = Station(consumers=0.0, **change).solved()
    assert state(found, 4) == word
    assert bar(found, T3) == pytest.approx(outlet)


def test_blocked_feed_leaves_the_valve_wide_open_under_flow():
    found = Station(feed=1e-6, feed_blocked=True).solved()
    assert state(found, 4) == "ratcheting"
    assert outcome(found, 4, layout.OUT_LIFT) == 1.0


def test_needle_nearly_shut_keeps_the_valve_shut_under_demand():
    found = Station(needle=0.015).solved()
    assert state(found, 4) == "shut"
    assert bar(found, T3) == pytest.approx(0.0, abs=1e-3)


def test_small_supply_leaves_the_reducer_as_open_as_it_can_be():
    found = Station(supply=4.2, consumers=60).solved()
    assert state(found, 4) == "wide open"
    assert 0.0 < outcome(found, 4, layout.OUT_LIFT) < 1.0
    assert outcome(found, 4, layout.OUT_PILOT) == 1.0


def test_pressure_trapped_high_in_the_sensing_line_shuts_and_nothing_is_guessed():
    assert state(Station(trapped=6.0).solved(), 4) == "shut"
    found = Station(trapped=6.0, consumers=0.0).solved()
    assert ending(found) == "trapped pressure unknown"
    assert isnan(found.nodes[T3])
    healthy = Station(consumers=0.0).solved()
    assert bar(Station(trapped=6.0, consumers=0.0).solved(healthy.nodes), T3) == pytest.approx(4.5)


def test_levels_of_the_mains_are_felt_at_both_ends():
    found = Station(consumers=0.0, supply_levels=(60.0, 40.0), zone_levels=(40.0, 10.0)).solved()
    weight = DENSITY * 9.81
    assert found.nodes[T1] == pytest.approx(9e5 + 20.0 * weight)
    assert found.nodes[END] == pytest.approx(4.5e5 + 30.0 * weight)


def test_consumers_too_high_up_get_nothing_and_the_station_locks_up():
    found = Station(zone_levels=(0.0, 60.0)).solved()
    assert not found.is_flowing
    assert state(found, 4) == "lock-up"
    assert found.nodes[END] < 0.0


def test_shut_outlet_valve_makes_lock_up_whatever_consumers_would_draw():
    found = Station(outlet_valve=0.0).solved()
    assert bar(found, T3) == pytest.approx(4.5)
    assert bar(found, END) == 0.0
    assert ending(found) == "solved"


def test_drain_makes_trickle_behind_a_shut_outlet_valve_and_consumers_stay_as_they_were():
    before = Station(consumers=0.0).solved()
    found = Station(consumers=0.0, outlet_valve=0.0, drain=1.0).solved(before.nodes)
    assert bar(found, T3) == pytest.approx(4.048, abs=0.002)
    assert bar(found, END) == pytest.approx(4.5)
    assert hourly(found, 4) == pytest.approx(2.012, abs=0.01)
    assert hourly(found, 1) == 0.0


def test_tripped_shut_off_cuts_the_line_and_the_reducer_above_locks_up():
    found = Station(shut_off_lift=0.0).solved()
    assert hourly(found, 7) == 0.0
    assert bar(found, T2) == pytest.approx(4.5)
    assert bar(found, END) == 0.0
    assert state(found, 4) == "lock-up"


def test_reducer_that_senses_beyond_a_tripped_shut_off_opens_wide():
    found = Station(shut_off_lift=0.0, reducer_tap=T3).solved()
    assert state(found, 4) == "standing open"
    assert bar(found, T2) == pytest.approx(9.0)


def test_emptied_section_reads_its_lowest_outlet():
    found = Station(shut_off_lift=0.0, drain=3.0, zone_levels=(0.0, -10.0)).solved()
    assert found.nodes[END] == pytest.approx(0.0)
    assert found.nodes[T3] == pytest.approx(-10.0 * DENSITY * 9.81)
    upper = Station(shut_off_lift=0.0, drain=3.0, zone_levels=(0.0, 10.0)).solved()
    assert upper.nodes[T3] == pytest.approx(0.0)


def test_imposed_flow_is_passed_whatever_the_pressure():
    found = Station(drawn=30.0 / 3600.0).solved()
    assert hourly(found, 0) == pytest.approx(30.0)
    assert state(found, 4) == "holding"
    assert Station(drawn=0.0).solved().is_flowing is False


def test_two_reducers_in_series_hold_their_own_outlets():
    downstream = Station(lockup=3.0)
    first = Station(lockup=6.0).rows()[4]
    rows = downstream.rows()
    upper = assembly.Row(first.kind, first.columns, 5)
    line = assembly.pack([*rows[:5], upper, *rows[5:]])
    found = assembly.solve_line(line, downstream.at())
    assert (state(found, 4), state(found, 5)) == ("holding", "holding")
    assert bar(found, 5) == pytest.approx(5.5, abs=0.15)
    assert bar(found, 4) == pytest.approx(2.5, abs=0.15)
    still = assembly.solve_line(line, Station(consumers=0.0).at())
    assert [bar(still, 5), bar(still, 4)] == pytest.approx([6.0, 3.0])
    assert (state(still, 4), state(still, 5)) == ("lock-up", "lock-up")


def test_upper_reducer_may_sense_beyond_the_lower_one():
    rows = Station(lockup=3.0).rows()
    upper = assembly.Row(rows[4].kind, rows[4].columns | {layout.CLOSING: 6.0e5}, 4)
    line = assembly.pack([*rows[:5], upper, *rows[5:]])
    still = assembly.solve_line(line, Station(consumers=0.0).at())
    assert [bar(still, 5), bar(still, 4)] == pytest.approx([9.0, 3.0])
    lower = assembly.Row(rows[4].kind, rows[4].columns | {layout.CLOSING: 2.0e5}, 4)
    line = assembly.pack([*rows[:5], lower, *rows[5:]])
    still = assembly.solve_line(line, Station(consumers=0.0).at())
    assert bar(still, 5) == pytest.approx(2.0)


def test_reducer_that_senses_its_inlet_is_refused():
    found = Station(reducer_tap=5).solved()
    assert ending(found) == "tap not downstream"
    assert all(isnan(pressure) for pressure in found.nodes)


@pytest.mark.parametrize(
    ("row", "column", "value"),
    [
        (4, layout.FULL, 0.0), (4, layout.FLOOR, 0.0), (4, layout.BAND, 0.0), (4, layout.FEED, 0.0),
        (4, layout.CLOSING, nan), (0, layout.DIAMETER, 0.0), (1, layout.FULL, -1.0), (2, layout.FULL, -1.0),
        (3, layout.LIFT, nan), (3, layout.RECOVERY, 0.0),
    ],
)  # fmt: skip
def test_value_that_cannot_be_solved_with_is_refused(row, column, value):
    line = Station().line()
    line.values[row][column] = value
    found = assembly.solve_line(line, Station().at())
    assert ending(found) == "value out of range"
    assert isnan(found.nodes[0])


@pytest.mark.parametrize(
    ("column", "value"),
    [
        (layout.SUPPLY, nan),
        (layout.SUPPLY, -2e5),
        (layout.DENSITY, 0.0),
        (layout.DEMAND, -1.0),
        (layout.DRAWN, -1.0),
    ],
)
def test_condition_that_cannot_be_solved_with_is_refused(column, value):
    at = Station().at()
    at[column] = value
    assert ending(assembly.solve_line(Station().line(), at)) == "value out of range"


@pytest.mark.source(
    kind="analytic", ref="reducer of unlimited gain at a fixed resistance: static gain of main and valve"
)
def test_static_gain_of_main_valve_and_demand_meets_the_closed_form():
    weight = 9810.0
    to_k = weight**-0.5
    held, source, resistance, opening = 40.0, 80.0, 200.0, 0.02
    flow = ((source - held) / (resistance + 1 / opening**2)) ** 0.5
    demand = flow / held**0.5

    def outlet_head(coefficient: float) -> float:
        line = assembly.pack([assembly.loss(coefficient * to_k), assembly.loss(resistance**-0.5 * to_k)])
        at = assembly.conditions(
            density=1000.0, viscosity=1e-6, gravity=9.81, atmosphere_abs=101325.0, vapour_pressure_abs=1228.0,
            critical_pressure_abs=221e5, supply=source * weight, reference=1e5, demand=demand * to_k,
        )  # fmt: skip
        found = assembly.solve_line(line, at)
        if coefficient == opening:
            assert found.flows[0] == pytest.approx(0.12172, rel=1e-3)
        return float(found.nodes[0]) / weight

    assert outlet_head(opening) == pytest.approx(held, rel=1e-9)
    step = 1e-5
    gain = (outlet_head(opening + step) - outlet_head(opening - step)) / (2 * step)
    assert gain == pytest.approx(1851.9, rel=1e-3)


@pytest.mark.source(
    kind="independent", ref=f"{REFERENCE}: strokes of a Kv 0.15 needle, 13.6 and 9.4 s failed open"
)
@pytest.mark.parametrize(("consumers", "seconds"), [(20.0, 13.6), (60.0, 9.4)])
def test_closing_time_in_the_failure_follows_from_the_steady_states(consumers, seconds):
    from steadyhead.laws.shutoff import closing_integral, graded_lift

    differences = []
    for index in range(61):
        case = Station(consumers=consumers, stuck_pilot=1.0, shut_off_lift=max(graded_lift(index, 60), 1e-9))
        found = case.solved()
        differences.append(float(found.nodes[T2] - found.nodes[T3]))
    integral = closing_integral(floats(differences), 0.45, 0.15, 0.15e5, 0.25e5, 0.01745, 0.025)
    assert integral / k_of_kv(0.15, DENSITY) == pytest.approx(seconds, abs=0.05)


def test_direct_acting_reducer_falls_along_its_band():
    k = k_of_kv(20.0, DENSITY)
    direct = assembly.direct_reducer(
        full=k, shape=0.0, floor=1e-5, recovery=0.85, incipient=0.45, closing=4e5, band=1e5, tap=1
    )
    line = assembly.pack([isolating_valve(1.0), direct, isolating_valve(1.0)])
    still = assembly.solve_line(line, conditions(supply=9.0))
    assert still.nodes[1] == pytest.approx(4e5)
    assert state(still, 1) == "lock-up"
    found = assembly.solve_line(line, conditions(supply=9.0, consumers=5.0))
    lift = outcome(found, 1, layout.OUT_LIFT)
    assert found.nodes[1] == pytest.approx(4e5 - lift * 1e5)
    assert state(found, 1) == "holding"
    assert state(assembly.solve_line(line, conditions(supply=9.0, consumers=300.0)), 1) == "wide open"


def test_relief_valve_lets_off_what_a_leak_brings():
    rows = Station(consumers=0.0, leak=1.0).rows()
    rows[2] = assembly.relief(k_of_kv(40.0, DENSITY), crack=6e5, full=7e5)
    found = assembly.solve_line(assembly.pack(rows), Station(consumers=0.0).at())
    assert found.is_flowing
    assert 6e5 < found.nodes[T3] < 7e5
    rows[2] = assembly.relief(k_of_kv(40.0, DENSITY), crack=9.5e5, full=10e5)
    assert not assembly.solve_line(assembly.pack(rows), Station(consumers=0.0).at()).is_flowing
    rows[2] = assembly.relief(k_of_kv(40.0, DENSITY), crack=0.0, full=0.0, curve=((6e5, 0.0), (6.2e5, 1.0)))
    curved = assembly.solve_line(assembly.pack(rows), Station(consumers=0.0).at())
    assert 6e5 < curved.nodes[T3] < 6.2e5


def test_curve_of_a_valve_replaces_its_shape_and_its_onset():
    plain = Station()
    rows = plain.rows()
    line = assembly.pack(rows)
    points = tuple((i / 400, (i / 400) * (2 / (1 + (i / 400) ** 2)) ** 0.5) for i in range(401))
    rows[4] = assembly.Row(rows[4].kind, rows[4].columns, 4, points, ((0.0, 0.6), (1.0, 0.3)))
    curved = assembly.solve_line(assembly.pack(rows), plain.at())
    assert curved.nodes[T3] == pytest.approx(assembly.solve_line(line, plain.at()).nodes[T3], rel=1e-6)
    assert outcome(curved, 4, layout.OUT_INCIPIENT) == 0.0


def test_long_main_alone_loses_what_darcy_says():
    line = assembly.pack([main(1000.0, (0.0, 0.0))])
    found = assembly.solve_line(line, conditions(supply=5.0, drawn=0.01))
    from steadyhead.laws.friction import pipe_drop

    drop = pipe_drop(0.01, 1000.0, 0.15, 1e-4, DENSITY, 1.31e-6)
    assert found.nodes[0] == pytest.approx(5e5 - drop, rel=1e-12)
