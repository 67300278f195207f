"""What the stroke of a shut-off means for the supply main and for the section between the valves."""

from __future__ import annotations

from math import pi, sqrt

import pytest

from steadyhead.design import credit
from steadyhead.design.basis import Basis
from steadyhead.design.closing import needle_of
from steadyhead.design.overshoot import run
from steadyhead.design.sheet import judge
from steadyhead.design.surge import SuddenFailure, sudden_failure
from steadyhead.design.twin import SteadyTwin
from steadyhead.findings import Amount, Finding, Severity, tell
from tests.design.stations import DOWNSTREAM, UPSTREAM, Edit, limit, no_side, part, section, station_of, top


def found(code: str, name: str, *edits: Edit) -> Finding | None:
    return next((one for one in judge(station_of(name, *edits)).findings if one.code == code), None)


def raised(code: str, name: str, *edits: Edit) -> Finding:
    one = found(code, name, *edits)
    assert one is not None
    return one


def si(amount: object) -> float:
    assert isinstance(amount, Amount)
    return amount.si


def failure_of(*edits: Edit, trip: float = 5.2e5) -> SuddenFailure | None:
    station = station_of(UPSTREAM, *edits)
    basis = Basis(station, SteadyTwin(station))
    assert basis.layout.shut_off is not None
    return sudden_failure(basis, trip=trip, needle_k=needle_of(basis, basis.layout.shut_off))


@pytest.mark.source(kind="analytic", ref="ρ a Δv with v = Q/A and the printed wave speed, by hand")
def test_between_the_valves_the_sum_of_static_and_surge_is_held_against_the_rating():
    weak = limit(2, normal="16 bar", fault="16 bar")
    one = raised("LAD-27", DOWNSTREAM, weak)
    speed = next(given.amount for given in one.inputs if given.label == "wave speed")
    rise = 999.8 * si(speed) * 9.5e-3 / (pi / 4 * 0.101**2)
    assert one.value is not None
    assert one.margin is not None
    assert one.value.si == pytest.approx(9.0e5 + rise, rel=1e-3)
    assert one.margin.si == pytest.approx(16e5 - one.value.si)
    assert one.severity is Severity.ASK
    assert "at most 24.6" in tell(one).statement
    assert raised("LAD-27", DOWNSTREAM).severity is Severity.NOTE


def closing(**pressures: str) -> Edit:
    return part("SO", closing={"time": "6 s", "flow": "0.4 L/s", **pressures})


@pytest.mark.source(kind="analytic", ref="p₁ − p₂ = (Q/Kv)², 0.4 L/s through a wide-open valve: nothing")
@pytest.mark.parametrize("outlet", ["2 bar", "8.5 bar", "7.7 bar"])
def test_pressures_an_open_valve_cannot_have_at_a_trickle_are_asked_about(outlet):
    one = raised("SUR-54", UPSTREAM, closing(inlet_pressure="8 bar", outlet_pressure=outlet))
    assert one.severity is Severity.ASK
    assert one.subject == "SO: closing.outlet_pressure"
    told = tell(one)
    assert f"got {float(outlet.split()[0]):.2f} bar" in told.statement
    assert "leaves 8.00 bar" in told.statement


def test_pressures_that_fit_the_open_valve_or_that_nobody_stated_are_not_asked_about():
    for edit in (
        closing(inlet_pressure="8 bar", outlet_pressure="7.9 bar"),
        closing(inlet_pressure="8 bar"),
        closing(outlet_pressure="2 bar"),
        part("SO", closing={"time": "6 s", "inlet_pressure": "8 bar", "outlet_pressure": "2 bar"}),
        part("SO", closing=None),
    ):
        assert found("SUR-54", UPSTREAM, edit) is None


def test_between_the_valves_a_fire_flow_counts_where_it_is_larger():
    peak, fire = (raised("LAD-27", DOWNSTREAM, section("demand", fire=flow)) for flow in (None, "20 L/s"))
    assert si(fire.params["flow"]) == pytest.approx(20e-3)
    assert si(fire.params["surge"]) > 2.0 * si(peak.params["surge"])


def test_a_surge_study_answers_the_question_between_the_valves():
    weak = limit(2, normal="16 bar", fault="16 bar")
    asked = raised("LAD-27", DOWNSTREAM, weak)
    answer = {
        "to": asked.code, "at": asked.subject, "value": asked.value_hash,
        "answer": "surge study of 3 May, 13.1 bar at most", "by": "I. Marrow",
    }  # fmt: skip
    assert raised("LAD-27", DOWNSTREAM, weak, top(answers=[answer])).severity is Severity.NOTE


@pytest.mark.source(kind="analytic", ref="Q = √(Δp/(R + 1/k_r² + 1/k_s²)) with both valves open, by hand")
def test_the_flow_that_stops_is_that_of_a_reducer_fully_open_at_the_trip():
    station = station_of(UPSTREAM)
    basis = Basis(station, SteadyTwin(station))
    case = credit.zone_case(basis, within=2.0, at="night flow", trip=5.2e5, closing_time=6.0)
    failure = failure_of()
    assert case is not None
    assert failure is not None
    loss = case.supply_loss + case.reducer_full**-2 + case.shut_off_full**-2
    assert failure.flow == pytest.approx(sqrt((case.supply_pressure - 5.2e5) / loss))
    assert failure.flow >= run(case).failure_flow * (1 - 1e-9)


def test_the_surge_in_the_supply_main_is_said_with_flow_time_and_the_return_of_a_wave():
    one = raised("LAD-37", UPSTREAM)
    assert one.severity is Severity.HEED
    assert one.value is not None
    assert one.limit is not None
    assert one.value.si == pytest.approx(si(one.params["static"]) + si(one.params["surge"]))
    assert si(one.params["wave"]) == pytest.approx(1.0, abs=0.1)
    assert si(one.params["time"]) < 6.0
    assert one.limit.si == pytest.approx(20e5)


def test_without_a_limit_of_the_inlet_side_that_is_said():
    one = raised("LAD-38", UPSTREAM, no_side("inlet"))
    assert one.severity is Severity.HEED
    assert "No limit of the inlet side is stated." in tell(one).statement
    assert found("LAD-37", UPSTREAM, no_side("inlet")) is None
    short = lambda data: data["supply"]["main"].update(length="40 m")  # noqa: E731
    slow = raised("LAD-38", UPSTREAM, no_side("inlet"), short)
    assert slow.severity is Severity.HEED, "the limit is missing whatever the stroke"


def test_a_surge_that_the_inlet_side_bears_is_a_note():
    assert raised("LAD-37", UPSTREAM, limit(4, fault="60 bar")).severity is Severity.NOTE


def test_a_main_so_short_that_waves_return_many_times_is_a_note():
    short = lambda data: data["supply"]["main"].update(length="40 m")  # noqa: E731
    assert raised("LAD-37", UPSTREAM, short).severity is Severity.NOTE


@pytest.mark.parametrize("length", ["40 m", "150 m", "300 m", "600 m", "1 km", "2 km"])
@pytest.mark.parametrize("fault", ["10 bar", "14 bar", "20 bar", "60 bar"])
def test_a_surge_above_the_limit_is_never_a_mere_note(length: str, fault: str):
    main = lambda data: data["supply"]["main"].update(length=length)  # noqa: E731
    one = raised("LAD-37", UPSTREAM, main, limit(4, fault=fault))
    assert one.value is not None
    assert one.limit is not None
    assert (one.severity is Severity.NOTE) == (one.value.si <= one.limit.si)


@pytest.mark.source(kind="analytic", ref="Δp = 2 ρ L Δv / t, twice that for an uneven stop, by hand")
def test_a_slow_stroke_on_a_short_main_is_told_with_the_rise_of_its_own_time():
    short = lambda data: data["supply"]["main"].update(length="40 m")  # noqa: E731
    one = raised("LAD-37", UPSTREAM, short)
    failure = failure_of(short)
    assert failure is not None
    assert failure.stop is not None
    time = 0.2 * failure.closing
    even = failure.stop.rise * failure.stop.return_time / time
    assert si(one.params["surge"]) == pytest.approx(2.0 * even)
    assert "twice that of an even stop in the last fifth of this stroke" in tell(one).statement


def test_after_the_reducer_the_section_between_stands_ahead_of_the_shut_off_too():
    one = raised("LAD-37", DOWNSTREAM, limit(3, fault="40 bar"))
    assert one.params["component"] == "section between the valves"


def test_without_a_supply_main_its_surge_is_not_known_and_a_faster_needle_is_offered_with_care():
    assert raised("LAD-39", UPSTREAM, section("supply", main=None)).severity is Severity.HEED
    sheet = judge(station_of(UPSTREAM, limit(0, fault="8 bar"), section("supply", main=None)))
    closing = next(one for one in sheet.remedies if one.kinds == ("closing",))
    assert "in a sudden failure it stops" in closing.caution
    assert "supply main" not in closing.caution


def test_a_reducer_that_cannot_reach_the_trip_stops_nothing():
    assert (
        failure_of(section("supply", min="4.2 bar", typical="4.6 bar", night="4.8 bar", static="5 bar"))
        is None
    )


def test_a_faster_needle_is_offered_with_its_time_and_surge_in_a_sudden_failure():
    sheet = judge(station_of(UPSTREAM, limit(0, fault="8 bar")))
    closing = next(one for one in sheet.remedies if one.kinds == ("closing",))
    failure = failure_of(trip=sheet.ladder.worst_case.lowest if sheet.ladder else 0.0)
    assert failure is not None
    assert failure.stop is not None
    said = float(closing.caution.split("at most ")[1].split(" bar")[0]) * 1e5
    assert said == pytest.approx(failure.stop.rise, rel=0.05)
    faster = float(str(closing.patches[0].value).split()[0])
    time = float(closing.caution.split("in about ")[1].split(" s")[0])
    assert time == pytest.approx(failure.closing * faster / 6.0, rel=0.05)


def test_a_spring_that_closes_slower_in_a_failure_has_no_note_about_a_faster_stroke():
    slow = part("SO", closing={"time": "6 s"})
    assert found("LAD-35", UPSTREAM, slow) is None
    assert found("LAD-37", UPSTREAM, slow) is not None
