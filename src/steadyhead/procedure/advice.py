"""The next turn of a pilot screw, worked out from the turns so far in closed form (agreement A9).

Two things are kept apart. What is *likely* is a table of springs, each with its play, whose weights and
settings every reading moves; amounts are chosen by it. What is *possible* is a bound without any chance in it
(`steadyhead.procedure.advice_bound`); no turn is advised that could pass the limit by it.

The same arithmetic stands in ``js/advice.js``; both run the same vectors.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import inf

from steadyhead.procedure.advice_state import TAIL, State, begin, chance, happened
from steadyhead.records.advice import Advice, Event, Screw, Status

Next = tuple[Status, float]

OVERSHOOT = 0.2
"""Chance taken that a reading lands above its tolerance, which costs another approach; own estimate."""
RAISED_ENOUGH = 0.9
"""Chance with which a screw raised after it acted is to come as far as it must; own estimate."""
UNANSWERED = 0.25
"""Turn beyond the play after which a reading that stands still gives no answer; own estimate. [turn]"""
BELOW = 0.3e5
"""How far below its target a reducer is brought before it comes up to it again; design handbook 3.6a. [Pa]"""
NEAR = 6.0
"""Steps below its target from which on a reading is raised in steps."""
LOW = 2.0
"""Windows below its target from which on the sensed pressure is too low to set a shut-off by."""
FINE = 0.1
"""Chance of acting from which on a turn is to be fine; own estimate."""
FINE_SHARE = 0.5
"""Most of the window that a fine turn is likely to move; design handbook F1."""
NEGLIGIBLE = 1e-5
"""Chance of one turn that counts for nothing, though it is added up; own estimate."""
MOST_TURNS = 40
"""Quarter turns tried at most when a screw is raised out of the way."""


def advise(screw: Screw, events: Iterable[Event], *, others: float = 0.0, waits: bool = False) -> Advice:
    """Return the next turn of a screw, or why none is advised.

    Parameters
    ----------
    screw
        Its table.
    events
        What happened so far, in order; water runs at every reading.
    others
        Chances of a closure before its time that the turns of other screws took in this job.
    waits
        Something that the step rests on does not stand yet: no turn.

    Notes
    -----
    Pure: the same table and events always give the same advice. Limits of validity: play, friction, hand and
    gauge within their largest values in the table; a spring no stiffer than ``most``.
    """
    state = begin(screw, others)
    for event in events:
        happened(screw, state, event)
    return advise_from(screw, state, waits=waits)


def advise_from(screw: Screw, state: State, *, waits: bool = False) -> Advice:
    """Return the advice at a state that has taken in every event."""
    return _advice(screw, state, *decide(screw, state, waits=waits))


def decide(screw: Screw, state: State, *, waits: bool = False) -> Next:
    """Return what is advised, and the turn; raising positive. [turn]"""
    is_gauge = screw.sees == "gauge"
    if screw.limit > 0.0 and state.high > screw.limit:
        return "over", 0.0
    if waits:
        return "needs first", 0.0
    if state.is_lost and not is_gauge:
        return "not counted", 0.0
    if is_gauge and state.is_shut and state.ends:
        return "acted", 0.0
    if state.reading is None or (is_gauge and not state.is_read) or (state.is_shut and not state.ends):
        return "read first", 0.0
    if not state.fits:
        return "no fit", 0.0
    return _seen(screw, state) if is_gauge else _unseen(screw, state)


def _seen(screw: Screw, state: State) -> Next:
    assert state.reading is not None
    off = screw.target - state.reading
    is_up, is_run = state.last >= 0.0, screw.step > 0.0
    if is_run and off <= 0.0:
        return "not acted", 0.0
    if not is_run and abs(off) <= screw.tolerance and is_up:
        return "there", 0.0
    if off < -screw.tolerance or (not is_up and off < BELOW - screw.tolerance):
        return "turn", -_down(screw, state)
    play = screw.play_most
    if not screw.slack and state.bound.unanswered > play + UNANSWERED:
        return "no answer", 0.0
    best = _largest(screw, lambda turn: _is_fine_rise(screw, state, turn))
    if best > 0.0:
        return "turn", best
    smallest = screw.amounts[0]
    if state.bound.worst(smallest) > screw.limit:
        if state.bound.unanswered > play:
            return "no answer", 0.0
        return ("no nearer" if not is_run and off <= FINE_SHARE * screw.window else "no room"), 0.0
    if not _may(chance(screw, state, smallest), left(screw, state)):
        return "used up", 0.0
    landing = state.quantile(smallest, 0.5, screw.reading)
    nearer = is_run or abs(landing - screw.target) < abs(off)
    return ("turn", smallest) if nearer else ("no nearer", 0.0)


def _is_fine_rise(screw: Screw, state: State, turn: float) -> bool:
    if state.bound.worst(turn) > screw.limit:
        return False
    if 1.0 - state.below(turn, screw.target + screw.tolerance, screw.reading) > OVERSHOOT:
        return False
    if screw.trip is not None and not _may(chance(screw, state, turn), allowed(screw, state)):
        return False
    if screw.step <= 0.0 or state.reading is None or turn <= screw.amounts[0]:
        return True
    if state.below(turn, screw.target - NEAR * screw.step, screw.reading) >= 1.0 - TAIL:
        return True
    return state.rate(0.5) * turn <= screw.step


def _down(screw: Screw, state: State) -> float:
    """Return the turn that brings a reducer below its target once water is drawn. [turn]"""
    assert state.reading is not None
    aim = screw.target - BELOW
    for step in range(1, MOST_TURNS):
        turn = step / 8.0
        if state.below(-turn, aim) >= 0.5:
            return turn
    return MOST_TURNS / 8.0


def _unseen(screw: Screw, state: State) -> Next:
    assert state.reading is not None
    if state.ends == "sign":
        return "sign", 0.0
    if state.ends in ("shut", "trip"):
        if not state.was_soon:
            return "in time", 0.0
        return "too soon", _out_of_the_way(screw, state)
    if state.reading < screw.target - LOW * screw.window:
        return "raise first", 0.0
    if state.unlikely:
        return "not found", 0.0
    smallest = screw.amounts[0]
    reach = screw.tell if screw.tell > 0.0 else screw.window
    if state.rate(0.5) * smallest > reach:
        return "coarse", 0.0
    best = _largest(screw, lambda turn: _is_fine_fall(screw, state, turn))
    if best <= 0.0 and not _may(chance(screw, state, -smallest), left(screw, state)):
        return "used up", 0.0
    return "turn", -max(best, smallest)


def _is_fine_fall(screw: Screw, state: State, turn: float) -> bool:
    assert state.reading is not None
    beyond = state.open_at - (state.turned - turn)
    if beyond > 1e-9 and beyond > state.cap + 1e-9:
        return False
    if not _may(chance(screw, state, -turn), allowed(screw, state)):
        return False
    if screw.tell > 0.0 or state.rate(0.5) * turn <= FINE_SHARE * screw.window:
        return True
    return state.below(-turn, state.reading + screw.tell) <= FINE


def left(screw: Screw, state: State) -> float:
    """Return the chance that the turns to come may still take together."""
    return max(screw.chance_most - state.spent - state.others, 0.0)


def allowed(screw: Screw, state: State) -> float:
    """Return the most that the chance of the next turn may be, where a smaller one would do as well."""
    return screw.share * left(screw, state)


def _may(chance_of_it: float, most: float) -> bool:
    return chance_of_it <= max(most, NEGLIGIBLE)


def _out_of_the_way(screw: Screw, state: State) -> float:
    """Return the turn that raises a shut-off far enough after it acted. [turn]"""
    for step in range(1, MOST_TURNS):
        turn = step / 4.0
        if state.moves_by(turn, screw.free) >= RAISED_ENOUGH:
            return turn
    return MOST_TURNS / 4.0


def _largest(screw: Screw, is_fine: Callable[[float], bool]) -> float:
    """Return the largest amount up to which every one will do; 0 for none."""
    best = 0.0
    for amount in screw.amounts:
        if not is_fine(amount):
            break
        best = amount
    return best


def _advice(screw: Screw, state: State, status: Status, turn: float = 0.0) -> Advice:
    is_unseen = screw.sees == "act"
    read = state.reading if state.reading is not None else 0.0
    noise = 0.0 if is_unseen else screw.reading
    known = state.reading is not None and state.fits
    low, middle, high = (state.quantile(turn, p, noise) if known else 0.0 for p in (TAIL, 0.5, 1.0 - TAIL))
    worst = state.bound.worst(turn) if screw.sees == "gauge" else read
    rate = state.rate(0.5)
    return Advice(
        valve=screw.valve,
        status=status,
        turn=turn,
        low=low,
        middle=middle,
        high=high,
        acts=state.below(turn, read + screw.tell) if is_unseen and turn < 0.0 else 0.0,
        chance=chance(screw, state, turn) if turn != 0.0 else 0.0,
        spent=state.spent + state.others,
        worst=0.0 if worst == inf else worst,
        rate_low=state.rate(TAIL),
        rate=rate,
        rate_high=state.rate(1.0 - TAIL),
        rate_most=state.bound.rate,
        play_low=state.play(TAIL),
        play_high=state.play(1.0 - TAIL),
        is_coarse=rate * screw.amounts[0] > FINE_SHARE * screw.window,
        target=screw.reached_at,
        is_past=screw.aims_past,
    )
