"""The adviser: what is likely, what is possible, and what it refuses."""

from __future__ import annotations

import json
import random
import shutil
from dataclasses import asdict, replace
from math import exp, isfinite
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.errors import InputError
from steadyhead.procedure.advice import advise, decide
from steadyhead.procedure.advice_needs import lacking
from steadyhead.procedure.advice_state import begin, chance, happened
from steadyhead.records.advice import Event, Screw, plain_screw, screw_from
from steadyhead.visits.advising import defaults as d
from steadyhead.visits.advising.screws import at, seen_screw, unseen_screw
from steadyhead.visits.advising.words import SAYS
from tests.conftest import SEED
from tests.independent.pilot_bench import Bench, draw
from tests.independent.turning import BAR, reducer_table
from tests.procedure.advice_vectors import FILE
from tests.procedure.in_js import in_browser, in_node, source
from tests.procedure.small import step as small_step
from tests.procedure.small import tea

pytestmark = pytest.mark.by_turns(2)

SMALLEST = 15 / 360
RUNNERS = [
    pytest.param(in_browser, id="browser", marks=pytest.mark.browser),
    pytest.param(in_node, id="node", marks=pytest.mark.skipif(not shutil.which("node"), reason="no Node")),
]


def reducer(target: float = 4.0, limit: float = 5.25, **changes: Any) -> Screw:
    found = seen_screw(
        "RV", plate=0.69 * BAR, target=target * BAR, limit=limit * BAR, reading=0.02 * BAR, from_lowest=False,
        spread=0.4, window=0.15 * BAR,
    )  # fmt: skip
    return replace(found, **changes)


def shut_off(tell_tale: bool = False, plate: float = 0.75) -> Screw:
    return unseen_screw(
        "SO", plate=plate * BAR, top=9.0 * BAR, target=5.1 * BAR, repeat=0.15 * BAR, reading=0.02 * BAR,
        spread=0.4, has_tell_tale=tell_tale, dead_band=0.6 * BAR,
    )  # fmt: skip


def told(*pairs: tuple[str, float]) -> list[Event]:
    """Return events; turns in turns, readings in bar."""
    return [Event(what, amount if what == "turn" else amount * BAR) for what, amount in pairs]  # type: ignore[arg-type]


def close(got: Any, wanted: Any, where: str) -> None:
    if isinstance(wanted, float):
        assert got == pytest.approx(wanted, rel=1e-9, abs=1e-15), where
    else:
        assert got == wanted, where


VECTORS = json.loads(FILE.read_text("utf-8"))


def test_the_vectors_are_many_and_meet_every_status():
    statuses = {case["advice"]["status"] for case in VECTORS["cases"]}
    assert len(VECTORS["cases"]) >= 500
    assert statuses >= {
        "turn",
        "there",
        "no room",
        "sign",
        "in time",
        "too soon",
        "read first",
        "no fit",
        "over",
        "used up",
        "needs first",
        "not counted",
        "acted",
        "not acted",
    }


def test_no_target_of_the_vectors_lies_past_its_limit_and_where_the_aim_does_it_is_told():
    past = 0
    for case in VECTORS["cases"]:
        screw = screw_from(VECTORS["screws"][case["screw"]])
        assert screw.limit <= 0.0 or case["advice"]["target"] <= screw.limit
        assert case["advice"]["is_past"] is (0.0 < screw.limit < screw.target)
        past += case["advice"]["is_past"]
    assert past >= 5


@pytest.mark.source(kind="pinned", ref="tests/vectors/advice.json, what this adviser gave")
def test_the_advice_of_one_in_twenty_of_the_vectors_is_what_it_was():
    for index, case in enumerate(VECTORS["cases"][::20]):
        events = [Event(**one) for one in case["events"]]
        more = {"others": case["others"], "waits": case["waits"]}
        got = asdict(advise(screw_from(VECTORS["screws"][case["screw"]]), events, **more))
        for key, wanted in case["advice"].items():
            close(got[key], wanted, f"case {20 * index}, {key}")


@pytest.mark.source(kind="pinned", ref="tests/vectors/advice.json, what the Python adviser gave")
@pytest.mark.parametrize("run", RUNNERS)
def test_every_advice_of_the_vectors_is_the_same_in_js(run: Any, tmp_path: Path):
    body = """
const { advise } = await import("data:text/javascript," + encodeURIComponent(data.module))
result = data.cases.map((one) => advise(data.screws[one.screw], one.events, one))
"""
    every = 3 if run is in_node else 6  # another third, another sixth, at each run of the tests
    cases = VECTORS["cases"][int(SEED) % every :: every]
    got = run(tmp_path, body, {**VECTORS, "cases": cases, "module": source("advice")})
    assert len(got) == len(cases)
    for index, (one, case) in enumerate(zip(got, cases, strict=True)):
        assert set(one) == set(case["advice"])
        for key, wanted in case["advice"].items():
            close(one[key], wanted, f"case {index}, {key}")


def test_the_module_for_the_field_page_stays_short():
    assert len(source("advice").splitlines()) <= 420


# What is likely.


@pytest.mark.source(kind="independent", ref="20 000 drawn shut-offs, those kept that stood open")
def test_the_chance_of_acting_agrees_with_drawn_shut_offs():
    screw = shut_off()
    draws = random.Random(3)
    weights = [row[3] for row in screw.springs]
    left = []
    for _ in range(20_000):
        rate, start, spread, _ = draws.choices(screw.springs, weights)[0]
        play, _ = draws.choice(screw.gaps)
        setting = draws.gauss(start, spread)
        if setting - rate * max(2.0 - play, 0.0) > screw.target:
            left.append((rate, play, setting))
    turn = 1.5
    acted = [rate * max(2.0 + turn - play, 0.0) > start - screw.target for rate, play, start in left]
    state = begin(replace(screw, bend=0.0, hand=0.0, grain=0.0))
    for event in told(("open", 5.1), ("turn", -2.0), ("open", 5.1)):
        happened(screw, state, event)
    assert state.below(-turn, screw.target) == pytest.approx(sum(acted) / len(acted), abs=0.015)


@pytest.mark.source(kind="analytic", ref="two readings 0.69 bar apart, one turn between, play taken up")
def test_the_rate_found_is_the_rise_over_the_turn():
    events = told(
        ("read", 2.0),
        ("turn", 1.0),
        ("read", 2.6),
        ("turn", 1.0),
        ("read", 3.3),
        ("turn", 1.0),
        ("read", 4.0),
    )
    found = advise(reducer(target=4.6), events)
    assert found.rate / BAR == pytest.approx(0.70, abs=0.06)
    assert found.rate_low <= found.rate <= found.rate_high


@pytest.mark.source(kind="analytic", ref="reading after a turn by the rate found before")
def test_the_reading_that_comes_lies_in_the_band_that_was_told():
    inside = 0
    for number in range(30):
        drawn = draw(900 + number, wrong_share=0.0)
        screw, bench = at(reducer_table(drawn), drawn.trip * BAR), Bench(drawn)
        events = [Event("read", bench.read() * BAR)]
        for _ in range(3):
            found = advise(screw, events)
            if found.status != "turn":
                break
            bench.turn_reducer(found.turn)
            events += [Event("turn", found.turn), Event("read", bench.read() * BAR)]
            inside += found.low <= events[-1].amount <= found.high
            inside -= not found.low <= events[-1].amount <= found.high
    assert inside > 30 * 3 * 0.7


# What is possible.


@pytest.mark.source(
    kind="independent", ref="design handbook 3.8: the first turn stays below the limit at four times"
)
@given(st.floats(2.0, 5.0), st.floats(0.4, 2.0))
def test_the_first_turn_stays_below_the_limit_with_a_spring_four_times_as_stiff(start: float, plate: float):
    screw = reducer(target=5.1, plate=plate * BAR)
    screw = replace(
        screw,
        most=4.0 * plate * BAR,
        springs=tuple((r * plate / 0.69, s, d_, w) for r, s, d_, w in screw.springs),
    )
    found = advise(screw, told(("read", start)))
    if found.turn > 0.0:
        assert start + 4.0 * plate * found.turn < 5.25
        assert found.rate_most == screw.most


def test_the_bound_on_the_spring_is_never_below_the_true_spring():
    for number in range(20):
        drawn = draw(7000 + number, wrong_share=0.5)
        screw, bench = at(reducer_table(drawn), drawn.trip * BAR), Bench(drawn)
        events = [Event("read", bench.read() * BAR)]
        for _ in range(6):
            found = advise(screw, events)
            if found.turn <= 0.0:
                break
            bench.turn_reducer(found.turn)
            assert bench.outlet <= drawn.limit, number
            assert bench.outlet * BAR <= found.worst + drawn.gauge_error * BAR, number
            events += [Event("turn", found.turn), Event("read", bench.read() * BAR)]


def test_a_first_turn_that_shows_nothing_leaves_the_spring_unknown():
    found = advise(reducer(), told(("read", 3.0), ("turn", 0.25), ("read", 3.0)))
    assert found.rate_most == pytest.approx(4.0 * 0.69 * BAR)


def test_a_spring_seen_narrows_what_is_possible():
    events = told(("read", 2.0), ("turn", 1.0), ("read", 2.7), ("turn", 1.0), ("read", 3.4))
    found = advise(reducer(), events)
    assert 0.7 * BAR < found.rate_most < 1.1 * BAR


# Refusals and ends.


@pytest.mark.parametrize(
    ("screw", "events", "status"),
    [
        (reducer(), (), "read first"),
        (reducer(), (("read", 5.4),), "over"),
        (reducer(), (("read", 3.7), ("turn", 0.5), ("read", 4.02)), "there"),
        (reducer(), (("read", 2.0), ("turn", 0.5), ("read", 2.0), ("turn", 0.2), ("read", 2.0)), "no answer"),
        (reducer(), (("read", 2.0), ("turn", 0.25), ("read", 4.9)), "no fit"),
        (reducer(target=5.06, limit=5.05), (("read", 5.0),), "no nearer"),
        (reducer(target=5.1, limit=5.0), (("read", 4.95),), "no room"),
        (shut_off(), (("open", 4.0),), "raise first"),
        (shut_off(True), (("open", 5.1), ("turn", -5.0), ("sign", 5.1)), "sign"),
        (shut_off(), (("open", 5.1), ("turn", -5), ("open", 5.1), ("turn", -0.1), ("shut", 5.1)), "in time"),
        (shut_off(), (("open", 5.1), ("turn", -6.0), ("shut", 5.1)), "too soon"),
        (shut_off(), (("open", 5.1), ("turn", -20.0), ("open", 5.1)), "not found"),
        (shut_off(plate=4.0), (("open", 5.1),), "coarse"),
    ],
)  # fmt: skip
def test_each_end_is_told_by_its_name(screw: Screw, events: Any, status: str):
    assert advise(screw, told(*events)).status == status


def test_a_full_closure_is_before_its_time_where_a_tell_tale_should_show_first():
    events = told(("open", 5.1), ("turn", -4.5), ("open", 5.1), ("turn", -0.125), ("shut", 5.1))
    assert advise(shut_off(True), events).status == "too soon"


@pytest.mark.source(
    kind="common practice", ref="design handbook 3.6a DS4x: dead band + 0.5 bar, half the last turn"
)
def test_after_an_early_closure_it_goes_up_by_dead_band_and_half_a_bar_and_comes_back_by_halves():
    screw = shut_off()
    events = told(("open", 5.1), ("turn", -5.0), ("open", 5.1), ("turn", -1.0), ("shut", 5.1))
    found = advise(screw, events)
    assert found.status == "too soon"
    assert found.turn * found.rate_high >= 1.1 * BAR
    events += told(("turn", found.turn), ("open", 5.1))
    again, position, steps = advise(screw, events), found.turn, []
    for _ in range(8):
        events += [Event("turn", again.turn), Event("open", 5.1 * BAR)]
        position += again.turn
        steps.append((position, again.turn))
        again = advise(screw, events)
        if again.turn == 0.0:
            break
    beyond = [-turn for where, turn in steps if where < 1.0 - 1e-9 and where - turn <= 1.0 + 1e-9]
    assert beyond
    assert max(beyond) <= 0.5 + 1e-9


def test_a_reducer_above_its_target_goes_below_it_first():
    found = advise(reducer(), told(("read", 3.0), ("turn", 1.0), ("read", 4.3)))
    assert found.status == "turn"
    assert found.turn < 0.0
    assert found.middle <= 3.75 * BAR


def test_with_the_trip_live_the_closure_counts_into_the_chance():
    calm = advise(reducer(), told(("read", 3.0)))
    live = advise(reducer(trip=(4.1 * BAR, 0.1 * BAR)), told(("read", 3.0)))
    assert live.chance > 0.0 == calm.chance
    assert live.turn <= calm.turn


def test_near_the_trip_a_run_climbs_in_steps():
    screw = reducer(target=5.2, limit=5.6, step=0.075 * BAR)
    events = told(("read", 3.4), ("turn", 1.0), ("read", 4.1), ("turn", 1.0), ("read", 4.8))
    found = advise(screw, events)
    assert 0.0 < found.turn * found.rate <= 0.075 * BAR


@pytest.mark.source(kind="own estimate", ref="4.5 % of one job, a turn below 1e-5 passed over")
@pytest.mark.parametrize("factor", [0.2, 0.4, 0.7, 1.0, 1.4])
@pytest.mark.parametrize("tell_tale", [False, True])
def test_the_chances_of_advised_turns_never_add_up_to_more_than_a_job_allows(factor: float, tell_tale: bool):
    screw = shut_off(tell_tale)
    state, setting = begin(screw), 9.0 * BAR
    happened(screw, state, Event("open", screw.target))
    for _ in range(160):
        status, turn = decide(screw, state)
        if status != "turn":
            break
        of_it = chance(screw, state, turn)
        assert of_it + state.spent <= screw.chance_most + 160e-5
        assert of_it <= max(screw.chance_most - state.spent, 1e-5)
        setting += factor * screw.plate * turn
        happened(screw, state, Event("turn", turn))
        happened(screw, state, Event("shut" if setting <= screw.target else "open", screw.target))
    assert status in ("used up", "in time", "too soon", "not found")


def test_with_the_chance_used_up_no_turn_is_advised_and_what_to_do_is_said():
    screw = shut_off(tell_tale=True, plate=1.5)
    state = begin(screw)
    happened(screw, state, Event("open", 5.1 * BAR))
    while decide(screw, state)[0] == "turn":
        happened(screw, state, Event("turn", decide(screw, state)[1]))
        happened(screw, state, Event("open", 5.1 * BAR))
    assert decide(screw, state) == ("used up", 0.0)
    assert "chance used up" in SAYS["used up"]
    assert "injection" in SAYS["used up"]


def test_chances_spent_by_another_screw_of_the_job_count():
    screw, events, found = shut_off(), told(("open", 5.1)), advise(shut_off(), told(("open", 5.1)))
    while found.chance < 1e-3:
        events += [Event("turn", found.turn), Event("open", 5.1 * BAR)]
        found = advise(screw, events)
    assert found.status == "turn"
    less = advise(screw, events, others=0.045)
    assert less.status == "used up" or less.turn > found.turn
    assert less.chance <= 1e-5
    near = reducer(target=5.0, trip=(5.1 * BAR, 0.09 * BAR))
    assert advise(near, told(("read", 4.9))).status == "turn"
    assert advise(near, told(("read", 4.9)), others=0.045).status == "used up"
    far = reducer(target=4.0, trip=(5.1 * BAR, 0.09 * BAR))
    assert advise(far, told(("read", 3.9)), others=0.045).status == "turn"


def test_turns_made_with_the_shut_off_out_of_the_way_cost_no_chance():
    screw = reducer(trip=(4.1 * BAR, 0.1 * BAR))
    events = [Event("read", 3.0 * BAR), Event("turn", 1.5, live=False), Event("read", 4.0 * BAR)]
    assert advise(screw, events).spent == 0.0
    assert advise(screw, [replace(one, live=True) for one in events]).spent > 0.01


def test_after_a_turn_the_gauge_is_read_before_the_next_one():
    assert advise(reducer(), told(("read", 3.0), ("turn", 0.25))).status == "read first"
    assert advise(reducer(), told(("read", 4.0), ("turn", 0.25))).status == "read first"
    assert advise(reducer(), told(("read", 4.0), ("turn", -0.25))).status == "read first"


def test_no_reducer_is_raised_while_the_shut_off_stands_shut():
    assert advise(reducer(), told(("read", 3.0), ("shut", 3.1))).status == "acted"
    assert advise(reducer(), told(("read", 3.0), ("shut", 3.1), ("turn", -0.5))).status == "read first"
    assert advise(reducer(), told(("read", 3.0), ("shut", 3.1), ("turn", -0.5), ("read", 2.7))).turn > 0.0


def test_a_reading_above_the_limit_stands_against_a_turn_up_until_it_is_lowered():
    assert advise(reducer(), told(("read", 3.0), ("high", 5.4))).status == "over"
    assert advise(reducer(), told(("read", 3.0), ("high", 5.4)), waits=True).status == "over"
    lowered = told(("read", 3.0), ("high", 5.4), ("turn", -1.0), ("read", 2.4))
    assert advise(reducer(), lowered).status == "turn"
    over = replace(shut_off(), limit=5.25 * BAR)
    assert advise(over, told(("open", 5.1), ("high", 5.3))).status == "over"


def test_a_screw_worked_nobody_knows_how_far_is_reckoned_with_at_four_times_again():
    seen = told(("read", 2.0), ("turn", 1.0), ("read", 2.7), ("turn", 1.0), ("read", 3.4))
    assert advise(reducer(), seen).rate_most < 1.2 * BAR
    lost = [*seen, Event("lost", 0.0)]
    assert advise(reducer(), lost).status == "read first"
    again = advise(reducer(), [*lost, *told(("read", 3.4))])
    assert again.rate_most == pytest.approx(4.0 * 0.69 * BAR)
    assert again.spent == advise(reducer(), seen).spent


@pytest.mark.parametrize(
    "after",
    [
        (("read", 3.8),),
        (("read", 3.0),),
        (("turn", 0.125), ("read", 3.1)),
        (("turn", -0.125), ("read", 3.7)),
        (("turn", 0.125), ("read", 4.9)),
    ],
)
def test_a_reading_that_cannot_come_of_the_turns_entered_makes_the_bound_begin_anew(after: Any):
    seen = told(("read", 2.0), ("turn", 1.0), ("read", 2.7), ("turn", 1.0), ("read", 3.4))
    screw = reducer()
    state = begin(screw)
    for event in (*seen, *told(*after)):
        happened(screw, state, event)
    assert state.bound.rate == screw.most
    assert len(state.bound.marks) <= 1


def test_the_error_of_every_turn_by_hand_counts_into_the_worst_case():
    few, many = begin(reducer()), begin(reducer())
    for event in told(("read", 3.0), ("turn", 0.25)):
        happened(reducer(), few, event)
    for event in told(("read", 3.0), *[("turn", 0.05)] * 5):
        happened(reducer(), many, event)
    more = 4 * d.HAND.si * reducer().most
    assert many.bound.worst(0.125) - few.bound.worst(0.125) == pytest.approx(more)


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["turn", "read", "open", "sign", "shut", "trip", "high", "lost", "rest"]),
            st.floats(-3, 12),
        ),
        max_size=8,
    )
)
def test_whatever_is_entered_some_advice_comes(pairs: list[tuple[str, float]]):
    for screw in (reducer(), shut_off(), shut_off(True)):
        found = asdict(advise(screw, told(*pairs)))
        assert all(isfinite(value) for value in found.values() if isinstance(value, float))
        assert abs(found["turn"]) <= max(screw.amounts[-1], 10.0)
        assert 0.0 <= found["chance"] <= 1.0


def test_a_table_is_stored_and_read_back():
    for screw in (reducer(trip=(5e5, 1e4)), shut_off()):
        assert screw_from(json.loads(json.dumps(plain_screw(screw)))) == screw
    with pytest.raises(InputError, match="window"):
        screw_from({key: value for key, value in plain_screw(shut_off()).items() if key != "window"})


def test_every_amount_is_an_eighth_a_half_or_the_smallest_honest_turn():
    assert d.AMOUNTS[0] == pytest.approx(SMALLEST)
    assert list(d.AMOUNTS) == sorted(d.AMOUNTS)
    assert all(abs(amount * 8 - round(amount * 8)) < 1e-12 for amount in d.AMOUNTS[2:])


@pytest.mark.source(kind="analytic", ref="errors of both readings over the turn that is sure, times the bend")
def test_of_two_readings_after_the_first_no_play_is_taken_off():
    screw = reducer()
    found = advise(screw, told(("read", 2.0), ("turn", 1.0), ("read", 2.7), ("turn", 1.0), ("read", 3.4)))
    error, sure = 2.0 * screw.reading_most + screw.friction_most, 1.0 - screw.hand
    assert found.rate_most == pytest.approx((0.7 * BAR + error) / sure * exp(screw.bend), rel=1e-9)


def test_the_smallest_turn_is_advised_however_little_each_may_raise():
    events = told(("read", 3.7), ("turn", 0.5), ("read", 3.9))
    for most in (100.0, 1000.0):
        found = advise(reducer(step=most), events)
        assert found.status == "turn"
        assert found.turn == pytest.approx(SMALLEST)
        assert found.rate * found.turn > most


def test_the_chance_that_a_shut_off_acts_is_told_of_the_smallest_turn_down_too():
    found = advise(shut_off(), told(("open", 5.1), ("turn", -5.0), ("open", 5.1)))
    assert found.status == "turn"
    assert found.turn == -0.125
    assert 0.02 < found.acts < 0.1


@pytest.mark.parametrize(
    ("states", "lacks"),
    [
        ({"A": "done", "B1": "done", "B2": "open"}, ()),
        ({"A": "done", "B1": "not on this way", "B2": "open"}, ("B2",)),
        ({"A": "done", "B1": "open", "B2": "open"}, ("B1", "B2")),
        ({"A": "open", "B1": "done", "B2": "open"}, ("A",)),
        ({"A": "open", "B1": "done", "B2": "done"}, ("A",)),
    ],
)
def test_a_turn_waits_for_every_step_behind_it_and_for_one_of_those_that_stand_side_by_side(
    states: dict[str, str], lacks: tuple[str, ...]
):
    plan = tea(
        small_step("A"), small_step("B1", "A"), small_step("B2", "A"), small_step("C", {"any": ["B1", "B2"]})
    )
    assert lacking(plan, states, {}, "C") == lacks
