"""Breaches of the handbook put into clean site stories by rule and place: the rules in turn."""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from random import Random

from tests.independent.story_breaches_proof import (
    air_left,
    bare_reading,
    cause_open,
    coarse,
    dead_gauge,
    expired,
    fast_fill,
    few_points,
    from_above,
    high_bleed,
    jumper,
    left_alone,
    left_defeated,
    left_out,
    no_second,
    odd_time,
    off_band,
    off_plan,
    on_test,
    pressed_cover,
    short_of_trip,
    signed_wrong,
    touched_first,
    two_runs,
    unread_arrival,
    wet_lockup,
    wide_reset,
    wide_steps,
    wrong_text,
)
from tests.independent.story_breaches_site import (
    fast_valve,
    low_test,
    moved_mark,
    no_tightness,
    touched_act,
    touched_late,
    two_changes,
    unsteady,
    valve_follows,
    wide_inlet,
)
from tests.independent.story_edits import Breached, Break
from tests.independent.story_innocents import Story

BREAKS: Sequence[Break] = (
    no_tightness,
    valve_follows,
    low_test,
    wide_inlet,
    fast_valve,
    touched_late,
    touched_late,
    touched_act,
    moved_mark,
    unsteady,
    two_changes,
    dead_gauge,
    left_defeated,
    from_above,
    bare_reading,
    pressed_cover,
    no_second,
    expired,
    coarse,
    wet_lockup,
    jumper,
    wrong_text,
    off_plan,
    odd_time,
    off_band,
    wide_steps,
    two_runs,
    touched_first,
    wide_reset,
    fast_fill,
    high_bleed,
    few_points,
    left_out,
    left_out,
    on_test,
    signed_wrong,
    air_left,
    short_of_trip,
    unread_arrival,
    cause_open,
    left_alone,
)


def breaches(bases: Sequence[Story], count: int, seed: int) -> list[Breached]:
    """Return breached stories: every rule in turn, each at a place drawn at random."""
    chance, turn = Random(seed), 0
    made: list[Breached] = []
    while len(made) < count:
        rule = BREAKS[turn % len(BREAKS)]
        turn += 1
        for base in chance.sample(list(bases), len(bases)):
            story = deepcopy(base)
            hit = rule(story, chance)
            if hit is not None:
                made.append(Breached(f"{base['id']}: {rule.__name__}", story, *hit))
                break
    return made
