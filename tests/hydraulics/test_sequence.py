"""Sequences of screws, drains and resets: what the gauges show, with memory, in every layout."""

from __future__ import annotations

from typing import Any

import pytest

from steadyhead.hydraulics import Model, solve
from steadyhead.hydraulics.sequence import Step, StepReading, read_sequence
from tests.hydraulics.stations import BAR, LAYOUTS, Layout, drawing, model

WITH_SHUT_OFF: tuple[Layout, ...] = ("shut-off upstream", "shut-off downstream")
QUASI_STEADY = "setting procedure, quasi-steady with memory, written physics, section 10"


def step(
    *, kv: float = 0.0, lockup: float = 4.5, trip: float | None = None, reset: bool = False, **openings: float
) -> Step:
    """Return one step: draw-off Kv, settings in bar, openings by id."""
    return Step(
        drawing(kv, lockup={"RV": lockup * BAR}, openings=openings),
        {} if trip is None else {"SO": trip * BAR},
        frozenset({"SO"} if reset else ()),
    )


def outlets(readings: tuple[StepReading, ...], tap: str = "T3") -> list[float]:
    """Return what a tap reads after each step. [bar]"""
    return [round(reading.steady.taps[tap] / BAR, 4) for reading in readings]


def run(built: Model, *steps: Step, before: float | None = None) -> tuple[StepReading, ...]:
    """Return the readings of a sequence that starts with all water standing at `before` [bar]."""
    return read_sequence(built, steps, None if before is None else built.standing_at(before * BAR))


@pytest.mark.source(
    kind="analytic", ref=f"{QUASI_STEADY}: outlet = max(before, lock-up) with no water leaving"
)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_lowered_screw_lowers_nothing_until_water_leaves(layout: Layout) -> None:
    readings = run(
        model(layout),
        step(lockup=4.0),
        step(lockup=5.5),
        step(lockup=4.0),
        step(lockup=4.0, TD=0.5),
        step(lockup=4.0),
        before=0.0,
    )
    found = outlets(readings)
    assert found[:3] == [4.0, 5.5, 5.5]
    assert found[3] < 4.0
    assert found[4] == 4.0


@pytest.mark.source(kind="analytic", ref=f"{QUASI_STEADY}: friction in the zone's main ends with the flow")
@pytest.mark.parametrize("layout", LAYOUTS)
def test_pressure_at_the_outlet_is_what_stays_when_consumers_stop(layout: Layout) -> None:
    flowing, stopped = run(model(layout), step(kv=40.0, lockup=5.0), step(lockup=2.0))
    assert flowing.steady.consumer_end < flowing.steady.taps["T3"] - 0.3 * BAR
    assert stopped.steady.flow == 0.0
    assert stopped.steady.taps["T3"] == pytest.approx(flowing.steady.taps["T3"], abs=0.5)
    assert stopped.steady.consumer_end == pytest.approx(flowing.steady.taps["T3"], abs=0.5)


@pytest.mark.source(
    kind="analytic", ref=f"{QUASI_STEADY}: trip where the sensed outlet reaches the trip pressure"
)
@pytest.mark.parametrize("layout", WITH_SHUT_OFF)
def test_shut_off_set_below_the_outlet_acts_under_flow_and_cuts_the_station(layout: Layout) -> None:
    built = model(layout)
    readings = run(
        built,
        step(kv=10.0, lockup=5.5, trip=12.0),
        step(kv=10.0, lockup=5.5, trip=5.4),
        step(kv=10.0, lockup=5.5, trip=5.0),
        step(kv=10.0, lockup=4.5, trip=5.0),
        step(kv=10.0, lockup=4.5, trip=5.0, reset=True),
        step(lockup=4.5, trip=5.0),
    )
    assert [bool(reading.tripped) for reading in readings] == [False, False, True, True, False, False]
    shut = readings[2].steady
    assert shut.flow == 0.0
    assert shut.taps["T3"] == 0.0
    assert shut.taps["T1"] == pytest.approx(9.0 * BAR, abs=1.0)
    assert readings[4].steady.taps["T3"] == pytest.approx(
        solve(built, drawing(10.0, lockup={"RV": 4.5 * BAR})).taps["T3"], abs=0.5
    )
    assert outlets(readings)[5] == 4.5
    assert readings[5].margin["SO"] == pytest.approx(0.5 * BAR, abs=1.0)


@pytest.mark.source(
    kind="analytic",
    ref="under flow the outlet stands below lock-up: a trip set just above it acts at no flow; "
    "written physics, section 10",
)
@pytest.mark.parametrize("layout", WITH_SHUT_OFF)
def test_shut_off_set_just_above_the_outlet_at_flow_trips_when_the_flow_stops(layout: Layout) -> None:
    built = model(layout)
    flowing = solve(built, drawing(10.0, lockup={"RV": 5.2 * BAR})).taps["T3"] / BAR
    just_above = flowing + 0.02
    assert just_above < 5.2
    readings = run(
        built,
        step(kv=10.0, lockup=5.2, trip=just_above),
        step(lockup=5.2, trip=just_above),
        step(lockup=4.5, trip=just_above, reset=True),
    )
    assert [bool(reading.tripped) for reading in readings] == [False, True, True]
    assert outlets(readings)[1] == pytest.approx(just_above, abs=1e-4)
    assert outlets(readings)[2] == pytest.approx(just_above, abs=1e-4)


@pytest.mark.source(kind="analytic", ref=f"{QUASI_STEADY}: a rise at no flow stops at the trip")
@pytest.mark.parametrize("layout", WITH_SHUT_OFF)
@pytest.mark.parametrize("lockup", [5.5, 5.0])
def test_rise_at_no_flow_stops_at_the_trip(layout: Layout, lockup: float) -> None:
    before, after = run(model(layout), step(lockup=4.0, trip=5.0), step(lockup=lockup, trip=5.0), before=0.0)
    assert not before.tripped
    assert after.tripped == {"SO"}
    assert after.steady.taps["T3"] == pytest.approx(5.0 * BAR, abs=0.5)


@pytest.mark.source(kind="analytic", ref=f"{QUASI_STEADY}: stays shut until it is reset")
@pytest.mark.parametrize("layout", WITH_SHUT_OFF)
def test_reset_against_a_trapped_pressure_above_the_trip_acts_again(layout: Layout) -> None:
    readings = run(
        model(layout),
        step(lockup=5.5, trip=12.0),
        step(lockup=4.0, trip=5.0),
        step(lockup=4.0, trip=5.0, reset=True),
        step(lockup=4.0, trip=5.0, TD=1.0),
        step(lockup=4.0, trip=5.0, reset=True),
        before=0.0,
    )
    assert [bool(reading.tripped) for reading in readings] == [False, True, True, True, False]
    assert outlets(readings) == [5.5, 5.5, 5.5, 0.0, 4.0]


@pytest.mark.source(
    kind="analytic", ref="little water lies between the valves: it cannot raise the outlet by itself"
)
def test_reducer_raised_behind_a_shut_shut_off_brings_the_section_down_not_the_outlet_up() -> None:
    readings = run(
        model("shut-off upstream"),
        step(lockup=5.0, trip=7.0),
        step(lockup=2.0, trip=4.2),
        step(lockup=2.0, trip=4.2, reset=True),
        step(lockup=5.5, trip=4.2),
        before=5.0,
    )
    assert readings[3].tripped == {"SO"}
    assert outlets(readings)[3] == 5.0
    assert outlets(readings, "T2")[3] == 5.0


@pytest.mark.source(
    kind="analytic",
    ref="a shut, sound reducer holds what stands above it; a shut-off above it traps the inlet",
)
def test_shut_off_upstream_traps_the_inlet_pressure_above_a_shut_reducer() -> None:
    standing, tripped = run(
        model("shut-off upstream"), step(lockup=4.5, trip=5.0), step(lockup=4.5, trip=4.0), before=0.0
    )
    assert standing.steady.taps["T2"] == pytest.approx(9.0 * BAR, abs=1.0)
    assert tripped.tripped == {"SO"}
    assert tripped.steady.taps["T2"] == pytest.approx(9.0 * BAR, abs=1.0)
    assert outlets((tripped,)) == [4.5]


@pytest.mark.source(kind="analytic", ref="release at trip minus dead band; written physics, section 3")
@pytest.mark.parametrize("layout", WITH_SHUT_OFF)
def test_self_resetting_shut_off_opens_again_once_its_tap_has_fallen_to_its_reset(layout: Layout) -> None:
    steps = (
        step(lockup=5.5, trip=12.0),
        step(lockup=4.0, trip=5.0),
        step(lockup=4.0, trip=5.0),
        step(lockup=4.0, trip=5.0, TD=1.0),
        step(lockup=4.0, trip=5.0, TD=1.0),
        step(lockup=4.0, trip=5.0),
    )
    by_itself = run(model(layout, resets="by itself"), *steps, before=0.0)
    assert [bool(reading.tripped) for reading in by_itself] == [False, True, True, True, False, False]
    assert outlets(by_itself)[5] == 4.0
    by_hand = run(model(layout), *steps, before=0.0)
    assert [bool(reading.tripped) for reading in by_hand] == [False, True, True, True, True, True]
    assert outlets(by_hand)[5] == 0.0


@pytest.mark.source(
    kind="analytic",
    ref="written handbook 3.6: shut-off downstream, the reducer's own tap goes on standing at lock-up",
)
def test_shut_off_that_acts_leaves_a_reducer_that_senses_above_it_at_lock_up() -> None:
    _, tripped = run(model("shut-off downstream"), step(kv=10.0, trip=12.0), step(kv=10.0, trip=3.0))
    assert tripped.tripped == {"SO"}
    assert outlets((tripped,)) == [0.0]
    assert outlets((tripped,), "T2") == [4.5]
    assert tripped.steady.valves["RV"].state == "lock-up"


@pytest.mark.source(
    kind="analytic",
    ref="written handbook 3.6 and physics, pitfall 15: sensing beyond a shut-off, it opens wide",
)
def test_reducer_that_senses_beyond_the_shut_off_lets_the_section_between_climb_to_the_inlet() -> None:
    _, tripped = run(
        model("shut-off downstream", senses="T3"), step(kv=10.0, trip=12.0), step(kv=10.0, trip=3.0)
    )
    assert tripped.tripped == {"SO"}
    assert outlets((tripped,)) == [0.0]
    assert tripped.steady.taps["T2"] == pytest.approx(9.0 * BAR, abs=1.0)


@pytest.mark.source(
    kind="analytic", ref="a leak fills a closed section up to the inlet; the shut-off stops it at its trip"
)
@pytest.mark.parametrize("layout", WITH_SHUT_OFF)
@pytest.mark.parametrize(
    "fault", [{"seat_leak_kv": {"RV": 0.3}}, {"torn_kv": {"RV": 0.4}}, {"debris_lift": {"RV": 0.02}}]
)
def test_creep_of_a_leaking_reducer_is_stopped_by_the_shut_off(layout: Layout, fault: dict[str, Any]) -> None:
    built = model(layout)
    creeping = drawing(0.0, **fault)
    unguarded, guarded = (
        read_sequence(built, [Step(creeping, trip)], built.standing_at(4.0 * BAR))[0]
        for trip in ({}, {"SO": 5.0 * BAR})
    )
    assert unguarded.steady.taps["T3"] == pytest.approx(9.0 * BAR, abs=1.0)
    assert unguarded.steady.valves["RV"].state == "creep"
    assert guarded.tripped == {"SO"}
    assert guarded.steady.taps["T3"] == pytest.approx(5.0 * BAR, abs=0.5)


def test_shut_off_found_shut_stays_shut() -> None:
    built = model("shut-off upstream")
    found = read_sequence(
        built, [step(kv=10.0, trip=5.0)], built.standing_at(3.0 * BAR), tripped=frozenset({"SO"})
    )
    assert found[0].tripped == {"SO"}
    assert found[0].steady.flow == 0.0


@pytest.mark.source(kind="analytic", ref="standing water: pressure differs by level alone, Δp = ρ g Δz")
def test_water_that_stands_at_one_pressure_at_the_station_differs_by_level_in_the_zone() -> None:
    built = model(levels=(30.0, 10.0, -15.0))
    standing = built.standing_at(3.0 * BAR)
    assert standing.taps["T3"] == 3.0 * BAR
    assert standing.consumer_end == pytest.approx(3.0 * BAR + built.density * 9.81 * 25.0, rel=1e-12)
    kept = read_sequence(built, [step(lockup=2.0)], standing)[0]
    assert kept.steady.taps["T3"] == pytest.approx(3.0 * BAR, abs=0.5)
