"""When something was out of its place: each interval of its own, from the first entry to its restoring."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from steadyhead.procedure.record import Row, round_starts
from steadyhead.procedure.restoring import opened_by, restored_by
from steadyhead.procedure.steps import Step
from steadyhead.records.certificate import Restored
from steadyhead.records.run import ItemState
from steadyhead.visits.certifying.seen import Seen, moment


@dataclass(frozen=True, slots=True)
class Change:
    """One entry by which an item was put out of its place, or back into it."""

    row: Row
    out: bool


def restored(seen: Seen) -> tuple[Restored, ...]:
    """Return what was put out of its place, and when it was put back: each time by itself, impairments too.

    An interval begins with the first entry that took it out and ends with the last of the step, or with the
    act, that put it back. The state of the last one is that of the judge.
    """
    return tuple(
        one for item in seen.judgement.items if item.state != "not opened" for one in _of(seen, item)
    )


def _of(seen: Seen, item: ItemState) -> Iterator[Restored]:
    begun: Row | None = None
    found: list[tuple[Row, Row | None]] = []
    for change in sorted(_changes(seen, item.name), key=lambda one: (one.row.at, one.out)):
        if change.out and begun is None:
            begun = change.row
        elif not change.out and begun is not None:
            found.append((begun, change.row))
            begun = None
    if begun is not None:
        found.append((begun, None))
    if found and item.state == "open":
        found[-1] = (found[-1][0], None)
    for number, (out, back) in enumerate(found, 1):
        last = number == len(found)
        yield Restored(
            item.name,
            seen.word(item.name),
            moment(out.entry),
            out.entry.who,
            moment(back.entry) if back else "",
            back.entry.who if back else "",
            item.state if last else "restored",
        )


def _changes(seen: Seen, name: str) -> Iterator[Change]:
    for step in seen.on_way():
        rounds = list(_rounds(step))
        if name in step.node.opens:
            yield from (Change(rows[0], out=True) for rows in rounds)
        if name in step.node.restores:
            yield from (Change(rows[-1], out=False) for rows in rounds)
    for row in seen.record.rows:
        if opened_by(seen.record, seen.steps, row) == name:
            yield Change(row, out=True)
        elif name in restored_by(seen.record, row):
            yield Change(row, out=False)


def _rounds(step: Step) -> Iterator[list[Row]]:
    """Yield the rows of each time a step was gone through; papers between them belong to none."""
    starts = [row.at for row in round_starts(step.rows, step.node)]
    end = max((row.at for row in step.rows), default=0) + 1
    for start, after in pairwise([*starts, end]):
        rows = [row for row in step.rows if start <= row.at < after]
        yield [row for row in rows if row.input or row.do or row.entry.kind == "choice"]
