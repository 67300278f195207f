"""Steps that may only be begun while something stands proved: before the first raise, and at each one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from steadyhead.procedure.placing import moves
from steadyhead.procedure.record import Record, Row, round_starts
from steadyhead.procedure.steps import Step, look
from steadyhead.procedure.touching import Touch, touches, valves
from steadyhead.records.minding import Shield

BEGINS = ("reading", "observation", "action", "choice")
"""Kinds of entry by which a step is gone through."""


def unshielded(record: Record, steps: Mapping[str, Step]) -> dict[str, tuple[str, ...]]:
    """Return for each step that was begun without it the proof it should have been begun under.

    What counts is how things stood at the oldest reading the step rests on, or at the beginning of its last
    round: the proof was gained before, and what it speaks of was not touched or moved since.
    """
    found: dict[str, tuple[str, ...]] = {}
    touched = touches(record) if record.procedure.minding.shields else ()
    for shield in record.procedure.minding.shields:
        giving = [steps[name] for name in shield.steps if name in steps and steps[name].way != "off"]
        if not giving:
            continue
        lost = _Lost(record, shield, touched)
        for name in shield.asks:
            start = _start(steps[name]) if name in steps and steps[name].way == "on" else None
            if start is not None and not any(lost.stands(step, start) for step in giving):
                found[name] = (*found.get(name, ()), shield.proof)
    return found


def to_prove_first(
    record: Record, steps: Mapping[str, Step], bare: Mapping[str, tuple[str, ...]]
) -> list[tuple[tuple[str, ...], tuple[str, ...]]]:
    """Return what must be proved anew before steps that lack it are begun again.

    bare: what `unshielded` found. Each item: the steps that give such a proof, and those that wait for it.
    """
    touched = touches(record) if bare else ()
    found = []
    for shield in record.procedure.minding.shields:
        later = tuple(name for name in shield.asks if shield.proof in bare.get(name, ()))
        giving = tuple(name for name in shield.steps if name in steps and steps[name].way != "off")
        lost = _Lost(record, shield, touched)
        if later and not any(lost.stands(steps[name], len(record.rows)) for name in giving):
            found.append((giving, later))
    return found


def missing_now(record: Record, steps: Mapping[str, Step], name: str) -> tuple[str, ...]:
    """Return the proofs a step would be begun without if it were begun now."""
    found = []
    for shield in record.procedure.minding.shields:
        giving = [steps[one] for one in shield.steps if one in steps and steps[one].way != "off"]
        if name not in shield.asks or not giving:
            continue
        lost = _Lost(record, shield, touches(record))
        if not any(lost.stands(step, len(record.rows)) for step in giving):
            found.append(shield.proof)
    return tuple(found)


def _start(step: Step) -> int | None:
    """Return where the step as it counts was begun; None: not at all."""
    if step.base >= 0:
        return step.base
    starts = round_starts((row for row in step.rows if row.entry.kind in BEGINS), step.node)
    return starts[-1].at if starts else None


class _Lost:
    """When what a shield speaks of was touched or moved."""

    def __init__(self, record: Record, shield: Shield, touched: tuple[Touch, ...]) -> None:
        self._record = record
        self._moved = sorted(row.at for row in _moves(record, shield))
        self._touched = touched
        self._seen: dict[tuple[str, int], bool] = {}

    def stands(self, step: Step, at: int) -> bool:
        """Return whether the proof that a step gives stood at a place in the order of judging."""
        key = (step.node.id, at)
        if key not in self._seen:
            self._seen[key] = self._stood(step, at)
        return self._seen[key]

    def _stood(self, step: Step, at: int) -> bool:
        was = _as_it_was(self._record, step, at)
        if was.lacks or was.is_refused or was.base < 0:
            return False
        own = {row.at for row in was.rows if row.at <= was.latest}
        rests = frozenset(step.node.depends_on)
        lost = [*self._moved, *(one.row.at for one in self._touched if one.things & rests)]
        return not any(was.base < place < at and place not in own for place in lost)


def _moves(record: Record, shield: Shield) -> Iterator[Row]:
    for name in shield.moved_at:
        yield from (row for row in record.at(name) if row.entry.kind in BEGINS)
    left = frozenset(one.thing for one in record.procedure.minding.left)
    own = valves(record.procedure)
    yield from (row for row in record.rows if moves(row, shield, left, own))


def _as_it_was(record: Record, step: Step, at: int) -> Step:
    """Return a step as it was found before a place in the order of judging, its needs left aside."""
    rows = tuple(row for row in step.rows if row.at < at)
    node = replace(step.node, needs={"all": []})
    plan = replace(record.procedure, nodes=(node,), choices=())
    part = replace(record, procedure=plan, rows=rows, by_node={node.id: rows}, node={node.id: node})
    return look(part)[node.id]
