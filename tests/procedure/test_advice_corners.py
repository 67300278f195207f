"""Corners of the adviser that a small wrong change of its text turns, and that no other test goes through."""

from __future__ import annotations

from dataclasses import replace

import pytest

from steadyhead.procedure.advice import (
    FINE,
    FINE_SHARE,
    _is_fine_fall,
    _is_fine_rise,
    _largest,
    allowed,
    decide,
    left,
)
from steadyhead.procedure.advice_bound import Bound
from steadyhead.procedure.advice_needs import lacking
from steadyhead.procedure.advice_state import State, begin, chance, happened
from steadyhead.records.advice import Event, Screw
from tests.independent.turning import BAR
from tests.procedure.small import step, tea
from tests.procedure.test_advice import reducer, shut_off, told


def _known(screw: Screw, *pairs: tuple[str, float]) -> State:
    """Return what is known of a screw after some events; readings in bar."""
    state = begin(screw)
    for one in told(*pairs):
        happened(screw, state, one)
    return state


def test_where_no_step_is_prescribed_a_turn_that_may_reach_the_aim_is_held_to_none():
    for most, wanted in ((0.0, True), (1.0, False)):
        screw = reducer(step=most)
        state = _known(screw, ("read", 3.7), ("turn", 0.5), ("read", 3.9))
        near = [one for one in screw.amounts[1:] if state.below(one, screw.target, screw.reading) < 0.9]
        assert any(_is_fine_rise(screw, state, one) for one in near) is wanted


def test_a_screw_that_was_worked_leaves_no_turn_unanswered():
    bound = Bound(reducer())
    bound.turn(0.25)
    bound.lose()
    assert bound.unanswered == 0.0


def test_no_turn_at_all_makes_no_shut_off_act():
    screw = reducer(trip=(4.0 * BAR, 0.1 * BAR))
    state = _known(screw, ("read", 4.0))
    assert chance(screw, state, 0.0) == 0.0
    assert chance(screw, state, 0.25) > 0.0


def test_a_coarse_turn_down_that_may_well_bring_the_setting_below_the_reading_is_not_fine():
    screw = replace(shut_off(), chance_most=0.5)
    state = _known(screw, ("open", 5.1), ("turn", -3.0), ("open", 5.1))
    coarse = [turn for turn in screw.amounts if state.rate(0.5) * turn > FINE_SHARE * screw.window]
    may = [turn for turn in coarse if chance(screw, state, -turn) < 0.2]
    falls = [turn for turn in may if state.below(-turn, 5.1 * BAR) > FINE]
    assert falls
    assert not any(_is_fine_fall(screw, state, turn) for turn in falls)


@pytest.mark.parametrize(("needs", "lacks"), [(("A", "B"), ("B",)), (({"any": ["A", "B"]},), ())])
def test_of_steps_that_are_needed_all_are_all_and_any_is_one(
    needs: tuple[object, ...], lacks: tuple[str, ...]
):
    plan = tea(step("A"), step("B"), step("C", *needs))
    assert lacking(plan, {"A": "done", "B": "open", "C": "open"}, {}, "C") == lacks


def test_the_smallest_turn_is_advised_as_long_as_it_takes_no_more_than_all_that_is_left():
    screw = replace(shut_off(tell_tale=True), plate=1.5 * BAR)
    state = _known(screw, ("open", 5.1))
    smallest, shares = screw.amounts[0], []
    while decide(screw, state)[0] == "turn":
        assert chance(screw, state, -smallest) <= max(left(screw, state), 1e-5)
        shares.append(chance(screw, state, -smallest) > max(allowed(screw, state), 1e-5))
        for one in (Event("turn", decide(screw, state)[1]), Event("open", 5.1 * BAR)):
            happened(screw, state, one)
    assert any(shares)
    assert chance(screw, state, -smallest) > left(screw, state)


def test_a_larger_turn_is_not_advised_where_one_below_it_would_not_do():
    screw = shut_off()
    assert _largest(screw, lambda turn: turn != screw.amounts[1]) == screw.amounts[0]
