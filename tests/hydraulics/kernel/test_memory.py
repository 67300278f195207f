from __future__ import annotations

import pytest

from steadyhead.hydraulics.kernel.memory import Settled, TripUnit, settle
from steadyhead.laws.compiling import Floats, floats
from tests.hydraulics.kernel.lines import END, T2, T3, Station, bar, hourly

REFERENCE = "physics specification of the project, setting procedure with memory"


class Bench:
    """A station taken from one step to the next, as a person would."""

    def __init__(
        self, station: Station, trip: float = 99.0, tap: int = 3, release: float = float("nan")
    ) -> None:
        self.station = station
        self.trip, self.tap, self.release = trip, tap, release
        self.tripped = False
        self.held: Floats | None = None

    def step(self, *, trip: float | None = None, reset: bool = False, **changes: object) -> Settled:
        self.station = self.station.but(**changes)
        self.trip = self.trip if trip is None else trip
        unit = TripUnit(self.station.shut_off_row, self.tap, self.trip * 1e5, release=self.release * 1e5)
        before = self.tripped and not reset
        done = settle(self.station.line(), self.station.at(), [unit], [before], self.held)
        self.tripped, self.held = done.tripped[0], done.solution.nodes
        return done


@pytest.mark.source(
    kind="independent", ref=f"{REFERENCE}: 11 turns 5.5 bar, 8 turns 5.5 still, drain opened and shut 4.0"
)
def test_lowered_screw_lowers_nothing_until_water_leaves():
    bench = Bench(Station(consumers=0.0))
    assert bar(bench.step(lockup=5.5).solution, T3) == pytest.approx(5.5)
    assert bar(bench.step(lockup=4.0).solution, T3) == pytest.approx(5.5)
    bench.step(drain=3.0)
    assert bar(bench.step(drain=0.0).solution, T3) == pytest.approx(4.0)


@pytest.mark.parametrize("downstream", [True, False])
def test_slow_rise_at_no_flow_stops_at_the_trip_in_both_orders(downstream):
    bench = Bench(Station(consumers=0.0, lockup=4.0, shut_off_downstream=downstream), trip=5.0)
    bench.step()
    done = bench.step(lockup=5.5)
    assert done.tripped == (True,)
    assert bar(done.solution, T3) == pytest.approx(5.0)
    again = bench.step(lockup=6.5)
    assert bar(again.solution, T3) == pytest.approx(5.0)
    assert bar(again.solution, T2) == pytest.approx(6.5 if downstream else 5.0)


def test_first_step_with_nothing_known_before_also_stops_at_the_trip():
    done = Bench(Station(consumers=0.0, lockup=5.5), trip=5.0).step()
    assert done.tripped == (True,)
    assert bar(done.solution, T3) == pytest.approx(5.0)


def test_trip_lowered_below_the_trapped_pressure_acts_and_keeps_it():
    bench = Bench(Station(consumers=0.0, lockup=5.5), trip=9.0)
    bench.step()
    done = bench.step(lockup=4.0, trip=5.4)
    assert done.tripped == (True,)
    assert bar(done.solution, T3) == pytest.approx(5.5)


def test_trip_with_water_running_empties_the_consumer_side():
    bench = Bench(Station(consumers=10.0, lockup=5.75), trip=6.0)
    assert bench.step().tripped == (False,)
    done = bench.step(trip=5.1)
    assert done.tripped == (True,)
    assert bar(done.solution, END) == 0.0
    assert hourly(done.solution, 7) == 0.0


def test_latched_shut_off_stays_and_opens_only_when_reset():
    bench = Bench(Station(consumers=10.0, lockup=5.75), trip=5.1)
    assert bench.step().tripped == (True,)
    assert bench.step(lockup=4.5).tripped == (True,)
    done = bench.step(reset=True)
    assert done.tripped == (False,)
    assert bar(done.solution, T3) == pytest.approx(4.03, abs=0.005)


def test_self_resetting_shut_off_opens_at_the_next_step_below_its_release():
    bench = Bench(Station(consumers=10.0, lockup=5.75), trip=5.1, release=4.5)
    assert bench.step().tripped == (True,)
    assert bench.step(lockup=4.5).tripped == (False,)


def test_blind_shut_off_never_acts():
    station = Station(consumers=0.0, lockup=6.0)
    blind = TripUnit(station.shut_off_row, T3, 5e5, trapped=2e5)
    assert settle(station.line(), station.at(), [blind], [False]).tripped == (False,)


def test_stuck_shut_off_trips_and_stays_where_it_is():
    station = Station(consumers=10.0, lockup=5.75)
    stuck = TripUnit(station.shut_off_row, T3, 5e5, open_lift=0.5, shut_lift=0.5)
    done = settle(station.line(), station.at(), [stuck], [False])
    assert done.tripped == (True,)
    assert hourly(done.solution, 0) > 10.0


def test_reopened_section_takes_the_pressure_of_the_larger_part():
    bench = Bench(Station(consumers=0.0, lockup=6.5), trip=5.0)
    bench.step()
    bench.step(lockup=3.5)
    bench.step(drain=3.0)
    bench.step(drain=0.0)
    assert bar(bench.step(reset=True).solution, T3) == pytest.approx(3.5)


def test_supply_that_falls_away_lets_trapped_pressure_go_back_through_the_reducer():
    bench = Bench(Station(consumers=0.0, lockup=4.5))
    bench.step()
    done = bench.step(supply=2.0)
    assert bar(done.solution, T3) == pytest.approx(2.0)
    high = Bench(Station(consumers=0.0, lockup=6.0))
    high.step()
    kept = high.step(supply=5.5, lockup=4.5)
    assert bar(kept.solution, T3) == pytest.approx(5.5 + 0.05 / 0.55)


def test_station_without_shut_off_settles_like_a_plain_solve():
    station = Station()
    done = settle(station.line(), station.at())
    assert done.tripped == ()
    assert done.solution.nodes[T3] == station.solved(floats([0.0] * 9)).nodes[T3]
