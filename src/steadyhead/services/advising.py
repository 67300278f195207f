"""Advise the next turn of a pilot screw from a plan and the entries of its run."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from steadyhead.errors import InputError
from steadyhead.procedure.advice import advise
from steadyhead.procedure.advice_needs import lacking
from steadyhead.procedure.fitness import misled_now
from steadyhead.procedure.holding import dry_now, too_far_now
from steadyhead.procedure.record import lay
from steadyhead.procedure.shielding import missing_now
from steadyhead.procedure.steps import look
from steadyhead.records.advice import Advice, Aim, Event, Screw
from steadyhead.records.procedure import Procedure
from steadyhead.services.running import JudgedRun
from steadyhead.visits.advising.history import events
from steadyhead.visits.advising.readings import feeds

FINE = ("turn", "there", "no nearer", "sign", "in time", "too soon", "read first", "raise first", "acted")
"""Statuses after which the visit goes on."""
KEPT = "kept"
"""Status of a pilot whose factory setting is kept."""


@dataclass(frozen=True, slots=True)
class Advised:
    """One screw at one step: what it is brought to, its table, and the advice.

    advice: None where its factory setting is kept. is_now: the step can be done now. waits: steps and proofs
    it rests on that do not stand. feeds: inputs of the step from which the next turn is worked out. raises:
    which way its screw raises, clockwise or anticlockwise; empty where the plan does not say.
    """

    aim: Aim
    screw: Screw
    advice: Advice | None
    is_now: bool
    waits: tuple[str, ...] = ()
    feeds: tuple[str, ...] = ()
    raises: str = ""


def advise_run(run: JudgedRun, valve: str = "") -> tuple[Advised, ...]:
    """Return the advice for every screw of a plan, the one whose step comes next first.

    Parameters
    ----------
    run
        The judged run.
    valve
        Only this one; empty: all.

    Raises
    ------
    InputError
        The plan turns no screw, or not that one.
    """
    advising = run.procedure.advice
    valves = [screw.valve for screw in advising.screws]
    if not valves:
        raise InputError(
            "NAME.plan", "this plan turns no pilot screw.", "Nothing is advised where none is turned."
        )
    if valve and valve not in valves:
        raise InputError("--valve", f"got {valve!r}.", f"Use one of: {', '.join(valves)}.")
    found = [_advised(run, name) for name in valves if valve in ("", name)]
    return tuple(sorted(found, key=lambda one: not one.is_now))


def is_fine(one: Advised) -> bool:
    """Return whether a turn is advised, the setting is reached or kept, or only a reading is missing."""
    return one.advice is None or one.advice.status in FINE


def _advised(run: JudgedRun, valve: str) -> Advised:
    """Return the advice for one screw at the first of its steps that can be done now, else the next one."""
    advising, judged = run.procedure.advice, run.judgement
    states = {step.id: str(step.state) for step in judged.steps}
    aims = [aim for aim in advising.aims if aim.valve == valve]
    on_way = [aim for aim in aims if states.get(aim.step) != "not on this way"]
    if not on_way:
        screw = advising.screw(aims[0], is_loaded=not _from_rest(run, valve, states))
        return Advised(aims[0], screw, None, is_now=False, raises=raises(run.procedure, valve))
    begun = {step.id for step in judged.steps if step.entries and step.state == "open"}
    ready = [aim for aim in on_way if aim.step in (*judged.next, *begun)]
    ahead = [aim for aim in on_way if states.get(aim.step) in ("open", "waits", "refused")]
    aim = (ready or ahead or on_way[-1:])[0]
    proofs = {proof.name: str(proof.state) for proof in judged.proofs}
    waits = (*lacking(run.procedure, states, proofs, aim.step), *_unshielded(run, aim.step))
    waits = tuple(dict.fromkeys(waits))
    screw, happened = _history(run, aim, states)
    others = sum(_spent(run, other.valve, states) for other in advising.screws if other.valve != valve)
    found = advise(screw, happened, others=others, waits=bool(waits))
    way = raises(run.procedure, valve)
    return Advised(aim, screw, found, bool(ready) and not waits, waits, feeds(aim.step), way)


def raises(procedure: Procedure, valve: str) -> str:
    """Return which way a pilot screw raises by what the plan says of that very valve; empty: it does not."""
    for node in procedure.nodes:
        beside = [*(one.do for one in node.back_out), *(one.then for one in node.otherwise)]
        for message in (*node.do, *beside):
            short = next((one for one in ("rv", "so") if message.params.get(one) == valve), "")
            said = {name: str(message.params.get(f"{name}_{short}", "")) for name in ("raise", "lower")}
            for way, other in (("clockwise", "anticlockwise"), ("anticlockwise", "clockwise")):
                if said["raise"] == f"@screw.{way}" or said["lower"] == f"@screw.{other}":
                    return way
    return ""


def _unshielded(run: JudgedRun, step: str) -> tuple[str, ...]:
    """Return what a turn is made under and does not stand: proofs, inlet valve, water running, gauge."""
    record = lay(run.procedure, run.ledger.of_run(run.judgement.run).standing)
    steps = look(record)
    shields = (*missing_now(record, steps, step), *too_far_now(record, steps, step))
    return (*shields, *dry_now(record, step), *misled_now(record, step))


def _history(run: JudgedRun, aim: Aim, states: dict[str, str]) -> tuple[Screw, tuple[Event, ...]]:
    """Return the table of a screw on its way to an aim, and what happened at it."""
    advising = run.procedure.advice
    screw = advising.screw(aim, is_loaded=not _from_rest(run, aim.valve, states))
    ledger = run.ledger.of_run(run.judgement.run)
    return screw, events(advising, aim, screw, ledger.standing, run.procedure)


def _spent(run: JudgedRun, valve: str, states: dict[str, str]) -> float:
    """Return the chances of a closure before its time that the turns of a screw took in this job."""
    aims = [aim for aim in run.procedure.advice.aims if aim.valve == valve]
    on_way = [aim for aim in aims if states.get(aim.step) != "not on this way"]
    live = [aim for aim in on_way if aim.trip is not None] or on_way
    return advise(*_history(run, live[0], states)).spent if live else 0.0


def _from_rest(run: JudgedRun, valve: str, states: dict[str, str]) -> bool:
    """Return whether the screw was brought to its rest position on this visit: C1 of a pilot to be set."""
    names = [node.id for node in run.procedure.nodes if node.id.startswith(f"C1S.{valve}")]
    return any(states.get(name) != "not on this way" for name in names)


def advised_data(found: tuple[Advised, ...]) -> dict[str, Any]:
    """Return the advice as plain data, SI."""
    return {"format": "steadyhead/advised/1", "screws": [_data(one) for one in found]}


def _data(one: Advised) -> dict[str, Any]:
    told = {} if one.advice is None else asdict(one.advice)
    return {
        "valve": one.aim.valve,
        "step": one.aim.step,
        "is_now": one.is_now,
        "waits_for": list(one.waits),
        "fed_by": list(one.feeds),
        "tap": one.aim.tap,
        "raises": one.raises,
        "target_pa": one.screw.reached_at,
        "limit_pa": one.screw.limit or None,
        "target_past_limit": one.screw.aims_past,
        "status": KEPT if one.advice is None else one.advice.status,
        "turn_turns": told.get("turn"),
        "expected_pa": [told.get("low"), told.get("middle"), told.get("high")],
        "acts_chance": told.get("acts"),
        "early_chance": told.get("chance"),
        "spent_chance": told.get("spent"),
        "allowed_chance": one.screw.chance_most,
        "worst_pa": told.get("worst"),
        "per_turn_pa": [told.get("rate_low"), told.get("rate"), told.get("rate_high")],
        "per_turn_most_pa": told.get("rate_most"),
        "play_turns": [told.get("play_low"), told.get("play_high")],
        "too_coarse": told.get("is_coarse"),
    }
