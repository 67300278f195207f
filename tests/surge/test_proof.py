"""The protection proof: its cases, what counts in it, and that it can be stopped."""

from __future__ import annotations

from dataclasses import replace
from math import log

import pytest

from steadyhead.design.limits import component_limits
from steadyhead.design.protection import questions
from steadyhead.records.protection import Failure
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.surge import proof_defaults as pd
from steadyhead.surge.proof import Claim, Question, prove, proving, without_reliefs
from steadyhead.surge.window import LIMITS, Runs
from steadyhead.surge.window_changes import ladders
from steadyhead.surge.window_remedies import _coarser, runs_of, with_remedies
from steadyhead.work import never_cancel
from tests.station.test_reaches_and_events import text as with_reaches
from tests.surge.files import text, way
from tests.there import there

pytestmark = pytest.mark.by_turns(4)

CREDITED = Failure("RV", "fails open", 5.0, credited=True)
STUCK = Failure("RV", "pilot stuck")
RELIEF = "  - {part: relief, id: RE, size: DN 50, kv: Kv 40, crack: 5.6 bar, full: 6.2 bar, credited: no}\n"


ALONE = (Claim(CREDITED, ("night",)),)


def question(source=None, *, claims=ALONE, **changes):
    view, model = way(source or text(night=20.0))
    limits = component_limits(view.station, model.density)
    return replace(Question(view, "SO", claims, limits, 5.5e5, 5.6e5), **changes)


@pytest.fixture(scope="module")
def proved():
    both = (Claim(CREDITED, ("night", "average")), Claim(STUCK, ("night",)))
    return prove(question(claims=both))


def test_every_failure_is_run_in_every_situation_at_both_edges(proved):
    credited = {(one.inlet, one.flow, one.closing) for one in proved.of(CREDITED)}
    assert credited == {
        (inlet, flow, closing)
        for inlet in ("static", "lowest")
        for flow in ("night", "average")
        for closing in ("slow", "fast")
    }
    assert {one.flow for one in proved.of(STUCK)} == {"night"}
    assert proved.failures == (CREDITED, STUCK)


def test_the_overshoot_is_the_highest_rise_of_a_credited_failure_above_the_edge_of_the_trip(proved):
    highest = max(one.consumer_peak for one in proved.of(CREDITED))
    assert proved.overshoot == pytest.approx(highest - 5.6e5)
    assert proved.highest.consumer_peak == highest
    assert proved.highest.closing == "slow"


def test_slow_closing_is_worse_for_the_consumers_and_fast_closing_for_the_supply_main(proved):
    slow, fast = (
        next(c for c in proved.of(STUCK) if (c.inlet, c.closing) == ("static", edge))
        for edge in ("slow", "fast")
    )
    assert slow.consumer_peak > fast.consumer_peak
    assert slow.peak("inlet").peak < fast.peak("inlet").peak
    assert slow.shut_after == pytest.approx(1.5 * fast.shut_after, rel=0.02)


def test_a_reducer_that_is_still_opening_makes_a_slow_stroke_the_worse_one_for_the_supply_main(proved):
    slow, fast = (
        next(c for c in proved.of(CREDITED) if (c.inlet, c.flow, c.closing) == ("static", "night", edge))
        for edge in ("slow", "fast")
    )
    assert slow.trip_after < CREDITED.within
    assert slow.peak("inlet").peak > fast.peak("inlet").peak


def test_the_worst_case_of_a_side_is_named_with_its_component(proved):
    worst = proved.worst(CREDITED, "consumer")
    peak = worst.peak("consumer")
    assert peak.component == "distribution pipes"
    assert peak.limit == pytest.approx(7e5)
    assert peak.verdict == "over"
    assert worst.words == f"highest static inlet pressure, {worst.flow} flow, slow closing"


def test_each_side_has_its_place_and_the_lowest_pressure_is_told_of_both_mains(proved):
    case = proved.cases[0]
    assert [one.side for one in case.peaks] == ["consumer", "outlet", "between", "inlet"]
    assert case.peak("between").limit is None
    assert case.peak("between").verdict == "no limit"
    assert "consumer main" in case.consumers.place
    assert "supply main" in case.supply.place
    assert case.supply.pressure < 9e5
    assert case.consumers.pressure < 0.0


def test_the_grid_is_halved_for_what_decides(proved):
    assert 0.0 < proved.grid_change < 0.01


def test_a_failure_that_stays_below_the_trip_comes_to_rest_and_has_no_overshoot():
    found = there(prove(question(trip=20e5, trip_edge=20e5)))
    assert {one.trip_after for one in found.cases} == {None}
    assert found.overshoot == 0.0
    assert found.window.state == "no trip"
    assert {peak.verdict for one in found.cases for peak in one.peaks if peak.side == "consumer"} == {"over"}


def test_a_relief_valve_counts_only_where_it_is_credited():
    source = text(night=20.0, extra=RELIEF)
    with_it = question(source.replace(b"credited: no", b"credited: yes"))
    assert not [part for part in without_reliefs(question(source).view.station).parts() if part.id == "RE"]
    assert [part for part in without_reliefs(with_it.view.station).parts() if part.id == "RE"]
    alone, helped = there(prove(question(source))), there(prove(with_it))
    assert there(helped.overshoot) < there(alone.overshoot) - 0.1e5


def test_a_situation_without_a_steady_state_is_left_out_and_named():
    source = text(night=20.0).replace(b"{min: 9 bar", b"{min: 0.2 bar")
    found = there(prove(question(source)))
    assert found.missing == ("lowest inlet pressure, night flow",)
    assert {one.inlet for one in found.cases} == {"static"}


def test_a_proof_tells_how_far_it_is_and_can_be_stopped():
    told = []
    assert prove(question(), progress=lambda done, total, what: told.append((done, total))) is not None
    assert [done for done, _ in told] == sorted(done for done, _ in told)
    assert told[0][0] == 1
    assert told[-1][0] == told[-1][1]
    assert prove(question(), cancel=lambda: True) is None


@pytest.mark.source(kind="analytic", ref="a remedy is told only where the window it leaves, run, is open")
def test_every_remedy_of_an_empty_window_leaves_one_that_can_be_set():
    source = text(night=20.0, closes="line pressure")
    made = proving(question(source, lowest_edge=5.0e5))
    window = there(prove(made.question)).window
    assert window.state == "empty"
    kinds = [one.steps[0].kind for one in window.remedies]
    assert {"higher rating", "vessel"} <= set(kinds)
    assert {len(one.steps) for one in window.remedies} == {1}
    for one in window.remedies:
        assert one.slowest is not None or one.fastest is not None
        if one.slowest is not None and one.fastest is not None:
            assert one.slowest.stopwatch > 1.45 * one.fastest.stopwatch
    (rating,) = next(one.steps for one in window.remedies if one.steps[0].kind == "higher rating")
    assert rating.value % pd.RATING_STEP.si == pytest.approx(0.0, abs=1e-6)


@pytest.mark.source(kind="analytic", ref="what is told holds in every case at its edges, run once more")
def test_a_remedy_found_on_the_cases_that_decide_holds_in_every_other_one():
    source = text(night=20.0, closes="line pressure")
    made = _coarser(proving(question(source, lowest_edge=5.0e5)))
    window = there(prove(made.question)).window
    checked = 0
    for ladder in ladders(made):
        for step, change in zip(ladder.steps, ladder.changes, strict=True):
            told = next((one for one in window.remedies if one.steps == (step,)), None)
            if told is None:
                continue
            changed = there(change(made))
            tripping = [run for run in runs_of(changed, never_cancel) if run.trips]
            given = Runs(tripping, changed.question.limits, changed.setting, changed.stopwatch)
            for edge in filter(None, (told.slowest, told.fastest)):
                x = log(changed.stopwatch / edge.stopwatch)
                assert all(given.all_hold(list(range(len(tripping))), x, kind) for kind in LIMITS)
                checked += 1
    assert checked


def test_a_proof_is_stopped_while_it_tries_what_opens_the_window():
    said: list[str] = []
    asked = question(text(night=20.0, closes="line pressure"), lowest_edge=5.0e5)
    found = prove(
        asked,
        progress=lambda done, total, what: said.append(what),
        cancel=lambda: any(what.startswith("what opens") for what in said),
    )
    assert found is None
    assert "window of the closing time" in said
    assert not any("two at once" in what for what in said)


def test_a_protective_device_is_never_told_to_bear_more():
    source = text(night=20.0, closes="line pressure")
    asked = question(source, protected=frozenset(("distribution pipes", "inlet pipework")))
    found = there(prove(asked)).window
    assert "higher rating" not in [step.kind for one in found.remedies for step in one.steps]
    assert (
        with_remedies(proving(asked), replace(found, state="open"), lambda: False).remedies == found.remedies
    )


def test_a_zone_written_as_reaches_is_proved_and_its_places_name_the_reach():
    (asked,) = questions(load(with_reaches().encode()).station)
    found = there(prove(replace(asked, claims=asked.claims[:1])))
    assert found.window.state in ("open", "empty")
    places = {peak.place for one in found.cases for peak in one.peaks if peak.side == "consumer"}
    assert all(place.endswith(" along") for place in places)
    assert {place.split(",")[0] for place in places} <= {"reach A", "reach B", "reach C"}


def test_a_reducer_that_goes_on_regulating_sits_still_or_is_named():
    source = examples.read("mesquill-flat")
    several = [one for one in questions(load(source).station) if len(one.view.layout.reducers) > 1]
    assert several
    for asked in several:
        made = proving(asked)
        assert set(made.hunts) <= {one.id for one in asked.view.layout.reducers}
