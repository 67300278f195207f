"""The judge: what a plan and the entries of a run amount to (agreements A8, A9).

A pure function of the plan, the entries in the order of judging, and the time. It knows nothing of valves:
what counts, what is refused and what nobody may accept stands in the plan.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace

from steadyhead.procedure.accepting import Deviations
from steadyhead.procedure.graph import is_met
from steadyhead.procedure.holding import broken, unread
from steadyhead.procedure.ledger import Ledger, amended
from steadyhead.procedure.minded import beside_plan, never_accepted
from steadyhead.procedure.recanting import taken_back
from steadyhead.procedure.record import Record, lay
from steadyhead.procedure.remarks import of_ledger, of_step, told_of_record, told_of_step
from steadyhead.procedure.restoring import is_by_act, items
from steadyhead.procedure.shielding import to_prove_first, unshielded
from steadyhead.procedure.steps import Step, look
from steadyhead.procedure.touching import prove
from steadyhead.procedure.trials import Tried, tried
from steadyhead.records.entry import TELLS, Entry
from steadyhead.records.procedure import Procedure
from steadyhead.records.run import (
    Block,
    ItemState,
    Judgement,
    ProofState,
    Remark,
    Signed,
    StepIs,
    StepState,
)

PAPERS = ("sign",)
"""Kinds of entry that may follow a signature without taking anything from it: other signatures."""
LATER = ("reading", "observation", "photo", "note", "position", "choice")
"""Kinds of entry that may follow it at the steps that come with the signature or after it; and acts
that touch nothing."""


def judge(procedure: Procedure, ledger: Ledger, now: float | None = None) -> Judgement:
    """Return where every step, proof and restore item stands, and what stands against *final*.

    Holds for a plan without flaws (`steadyhead.procedure.flaws`). The same plan, entries and time always give
    the same judgement, whatever devices the entries came by and in which order.

    Parameters
    ----------
    procedure
        The plan.
    ledger
        Entries of one run, or of several: the run that was begun with this plan, else the first, is judged.
    now
        Time of judging [s since 1970-01-01 UTC]; None: nothing is held against the clock.
    """
    run = run_of(ledger)
    mine = ledger.of_run(run)
    record = lay(procedure, mine.standing)
    steps = look(record)
    bare = unshielded(record, steps)
    for name, lacking in bare.items():
        steps[name].uncovered = lacking
    refusing, moved, answered = broken(record, steps)
    for name, remarks in refusing.items():
        steps[name].held = remarks
    proofs, found = prove(record, steps, moved), items(record, steps)
    deviations = Deviations(record)
    unagreed, taken = taken_back(record, mine)
    trials = tried(record, steps)
    blocks = tuple(
        block
        for block in _blocks(record, steps, proofs, found, deviations, (*of_ledger(mine), *unagreed), trials)
        if block.remark.about not in procedure.after
    )
    accepted = _accepted(blocks)
    states = tuple(_step(step, record, accepted) for step in steps.values())
    states = _ready(procedure, states)
    return Judgement(
        run=run,
        now=now,
        choices=record.choices,
        steps=states,
        proofs=tuple(_proof(one, accepted, blocks) for one in proofs),
        items=tuple(_item(one, accepted) for one in found),
        blocks=blocks,
        told=(
            *deviations.overdue(blocks, now),
            *(remark for step in steps.values() for remark in told_of_step(step, record)),
            *told_of_record(ledger, mine, record, steps, now),
            *taken,
            *unread(record, steps),
            *answered,
            *trials.told,
            *deviations.told(blocks),
        ),
        signs=_signs(record, mine, blocks),
        next=_next(record, steps, states, proofs, blocks, to_prove_first(record, steps, bare)),
    )


def run_of(ledger: Ledger) -> str:
    """Return the run that is judged: the one first begun, or of the first entry; empty without entries.

    One id with several contents tells only where there is nothing else: the earliest, by its own time.
    """
    begun = [entry.run for entry in ledger.entries if entry.kind == "run"]
    told = (*begun, *(entry.run for entry in ledger.entries))
    return told[0] if told else min(((one.order, one.run) for one in ledger.forms), default=("", ""))[1]


def _blocks(
    record: Record,
    steps: Mapping[str, Step],
    proofs: tuple[ProofState, ...],
    found: tuple[ItemState, ...],
    deviations: Deviations,
    faults: tuple[Remark, ...],
    trials: Tried,
) -> list[Block]:
    never = record.procedure.never
    blocks = [Block(remark, may_accept=False) for remark in faults]
    for step in steps.values():
        node = step.node
        names = (node.id, *node.proves)
        may = not never & {*names, *node.restores}
        fixed = ("RUN-48", "RUN-53", *(("RUN-08",) if node.id in record.procedure.minding.stops else ()))
        blocks += [
            deviations.weigh(remark, names, may and remark.code not in fixed)
            for remark in of_step(step, record)
        ]
        blocks += [
            deviations.weigh(remark, names, remark.entries[0] in trials.may)
            for remark in trials.against.get(node.id, ())
        ]
    for proof in proofs:
        may = proof.name not in never
        blocks += [
            deviations.weigh(remark, (proof.name, *proof.steps), may)
            for remark in proof.because
            if proof.state in ("stale", "open")
        ]
    for remark in beside_plan(record, steps, proofs):
        may = not never_accepted(remark, record)
        blocks.append(deviations.weigh(remark, (remark.about,), may))
    for item in found:
        if item.state == "open":
            remark = Remark("RUN-13", item.name, (item.opened,))
            may = item.name not in never and not is_by_act(record, steps, item)
            blocks.append(deviations.weigh(remark, (item.name,), may))
    return blocks


def _accepted(blocks: tuple[Block, ...]) -> dict[str, str]:
    """Return what is accepted with everything that stands against it, and by which deviation."""
    about: dict[str, list[Block]] = {}
    for block in blocks:
        about.setdefault(block.remark.about, []).append(block)
    return {name: found[-1].accepted for name, found in about.items() if all(one.accepted for one in found)}


def _step(step: Step, record: Record, accepted: Mapping[str, str]) -> StepState:
    state: StepIs = "done"
    if step.way != "on":
        state = "waits" if step.way == "waits" else "not on this way"
    elif step.is_refused:
        state = "refused"
    elif step.lacks:
        state = "open"
    node_id = step.node.id
    if state in ("open", "refused") and node_id in accepted:
        state = "accepted"
    times = [row.time for row in step.rows]
    return StepState(
        id=node_id,
        state=state,
        ready=False,
        lacks=step.lacks if state != "not on this way" else (),
        unnoted=step.unnoted,
        first=times[0] if times else None,
        last=times[-1] if times else None,
        entries=tuple(row.entry.id for row in step.rows),
        accepted=accepted.get(node_id, ""),
    )


def _ready(procedure: Procedure, states: tuple[StepState, ...]) -> tuple[StepState, ...]:
    done = {state.id for state in states if state.state in ("done", "accepted")}
    return tuple(
        replace(state, ready=is_met(node.needs, done))
        for node, state in zip(procedure.nodes, states, strict=True)
    )


def _proof(proof: ProofState, accepted: Mapping[str, str], blocks: tuple[Block, ...]) -> ProofState:
    names = (proof.name, *proof.steps)
    found = next((accepted[name] for name in names if name in accepted), "")
    stands = any(block.remark.about in names and not block.accepted for block in blocks)
    if found and not stands and proof.state in ("open", "stale", "refused"):
        return replace(proof, state="accepted", accepted=found)
    return proof


def _item(item: ItemState, accepted: Mapping[str, str]) -> ItemState:
    if item.state == "open" and item.name in accepted:
        return replace(item, state="accepted", accepted=accepted[item.name])
    return item


def _signs(record: Record, mine: Ledger, blocks: tuple[Block, ...]) -> tuple[Signed, ...]:
    """Return the signatures; each covers what had been entered when it was given, and nothing entered later.

    A correction or a void counts with its own time, whatever it is about.
    """
    fine = all(block.accepted for block in blocks)
    signed = {row.entry.id: row for row in record.rows if row.entry.kind == "sign"}
    if not signed:
        return ()
    by_id = {entry.id: entry for entry in mine.entries}
    place = {entry.id: at for at, entry in enumerate(mine.entries)}
    matter = [entry for entry in mine.entries if _matters(entry, by_id, record.procedure)]
    found = []
    for entry in mine.entries:
        if entry.id in signed:
            asks = signed[entry.id].text("asks")
            later = tuple(other.id for other in matter if _is_later(other, entry, place))
            stands = not later and (fine or asks == "provisional")
            found.append(Signed(entry.id, asks, stands, later))
    return tuple(found)


def _matters(entry: Entry, by_id: Mapping[str, Entry], procedure: Procedure) -> bool:
    """Return whether an entry says something that a signature given before it does not cover."""
    if entry.kind in PAPERS:
        return False
    if entry.kind in ("correction", "void"):
        about = amended(entry, by_id)
        return about is None or about.kind in PAPERS or _matters(about, by_id, procedure)
    tells = entry.kind == "action" and entry.payload.get("do") in TELLS
    return not (entry.node in procedure.after and (tells or entry.kind in LATER))


def _is_later(one: Entry, sign: Entry, place: Mapping[str, int]) -> bool:
    """Return whether an entry was made after a signature, or written behind it for an earlier time.

    Of another device it is later where the order of judging says so, or the clocks as they stood.
    """
    after = place[one.id] > place[sign.id]
    if one.device == sign.device and one.device_seq != sign.device_seq:
        return one.device_seq > sign.device_seq or after
    return after or one.order > sign.order or (one.by_hand and one.written > sign.written)


def _next(
    record: Record,
    steps: Mapping[str, Step],
    states: tuple[StepState, ...],
    proofs: tuple[ProofState, ...],
    blocks: tuple[Block, ...],
    first: list[tuple[tuple[str, ...], tuple[str, ...]]],
) -> tuple[str, ...]:
    """Return the steps that can be done now, in the order of the plan; those after the signature last.

    Such are: steps open or refused whose needs are met, steps whose proof went stale, and steps with a
    reading outside its band that nobody has answered. A step gone through once is not done again: the choice
    that stands for it is; so it is where what was seen at a step asks for another way, and no step of the way
    chosen before is done then. first: steps that must
    be proved anew, and the steps that wait for them.
    """
    again = {step for proof in proofs if proof.state == "stale" for step in proof.steps}
    for one in record.procedure.minding.instead:
        if one.step in again:
            again.remove(one.step)
            again |= {one.choice} if record.choices.get(one.choice) != one.option else set()
    again |= {block.remark.about for block in blocks if block.remark.code == "RUN-14" and not block.accepted}
    again |= {step for giving, _ in first for step in giving}
    wait = {step for _, later in first for step in later}
    ended = {name: _other_way(step) for name, step in steps.items() if step.way == "on" and _other_way(step)}
    over = {*ended, *_opened(record, ended.values())}
    due = [
        state.id
        for state in states
        if state.id not in over
        and (state.ready or state.id in ended.values())
        and state.id not in wait
        and (
            state.state in ("open", "refused")
            or (state.id in again | set(ended.values()) and state.state == "done")
        )
    ]
    return tuple(sorted(due, key=lambda step: step in record.procedure.after))


def _opened(record: Record, choices: Collection[str]) -> Iterator[str]:
    """Yield the steps of the ways that were chosen where another is to be chosen."""
    for choice in record.procedure.choices:
        for name, _, nodes in choice.options:
            if choice.id in choices and name == record.choices.get(choice.id):
                yield from nodes


def _other_way(step: Step) -> str:
    """Return the choice that is the way on after what was seen at a step; empty: the step itself."""
    return next((one.instead for one in step.fires if one.instead and not one.tells), "")
