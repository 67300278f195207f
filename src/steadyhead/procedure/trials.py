"""Trials that lay outside and were read again: a newer reading alone does not answer them (handbook F3, F5).

A run outside its band, or above the highest pressure of a test, is a finding. It is answered by a touch
after it of what the proof rests on, since then everything is proved anew; or by a note of that day at the
step that ends with one of the plan's words for what was found. A note does not answer what passed the rating
of the section. What was read beside a run, how long it closed and what stood after it, is answered by another
run too. A shut-off said to have acted while flows were stepped, or consumers fed, is found so too. What
was read beyond the test limit where no step asks for it counts as found like the rest; so does an outlet read
beyond it at a step that holds it against nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf

from steadyhead.procedure.agreeing import Band, inside
from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.naming import folded
from steadyhead.procedure.record import Record, Row
from steadyhead.procedure.steps import Step
from steadyhead.procedure.touching import rests_of, touches
from steadyhead.records.minding import Trial
from steadyhead.records.procedure import Input
from steadyhead.records.run import Plain, Remark

Outside = tuple[Trial, Row, dict[str, Plain], str]
"""A reading that lay outside: trial, reading, what was expected, and the step whose proofs rest on it; empty
where none does: no touch then answers it."""
ROUNDING = 1e-6
"""Share by which figures typed in another unit may pass a limit."""


@dataclass
class Tried:
    """What stands against *final* by step, and what is told because a note or another run answers it.

    may: readings of which a recorded deviation may accept that they count no more, by id.
    """

    against: dict[str, list[Remark]] = field(default_factory=dict)
    may: set[str] = field(default_factory=set)
    told: list[Remark] = field(default_factory=list)


def tried(record: Record, steps: Mapping[str, Step]) -> Tried:
    """Return the trials outside that were read again: those nobody answered, and those a note answers."""
    found = Tried()
    for trial, row, params, rests in _passed_over(record, steps):
        remark = Remark("RUN-59", trial.step, (row.entry.id,), params)
        if rests and _is_touched(record, steps, steps[rests], row):
            continue
        if _is_run_again(steps, trial, row) or _is_noted(record, row, trial):
            found.told.append(remark)
        else:
            found.against.setdefault(trial.step, []).append(remark)
            found.may |= set() if _is_beyond(row, trial) else {row.entry.id}
    return found


def unanswered(record: Record, steps: Mapping[str, Step], step: str) -> tuple[str, ...]:
    """Return the readings of one step that lay outside, were read again and that nothing answers, by id."""
    return tuple(remark.entries[0] for remark in tried(record, steps).against.get(step, ()))


def _passed_over(record: Record, steps: Mapping[str, Step]) -> Iterator[Outside]:
    """Yield the readings outside that do not count any more, with what was expected of them."""
    for trial in record.procedure.minding.trials:
        step = steps.get(trial.step)
        pick = step.chosen.get(trial.input) if step is not None and step.way != "off" else None
        if step is None or pick is None:
            continue
        newest = {row.at for row in pick.rows}
        for row in step.given[trial.input]:
            counts = row.at in newest and not trial.alone
            outside = None if counts else _outside(record, trial, step, row)
            if outside is not None:
                yield trial, row, outside, trial.step
    yield from _astray(record, steps)


def _astray(record: Record, steps: Mapping[str, Step]) -> Iterator[Outside]:
    """Yield what was read beyond the highest of a test where nothing is held against it.

    So at no step, under a name its step does not ask, and where its step has no band for it.
    """
    edges: dict[str, tuple[Trial, float]] = {}
    asked: dict[str, frozenset[str]] = {}
    tried_by: set[tuple[str, str]] = set()
    for trial in record.procedure.minding.trials:
        step = steps.get(trial.step)
        if step is None or step.way == "off":
            continue
        tried_by.add((trial.step, trial.input))
        if trial.alone:
            continue
        inputs = {one.name: one for one in step.node.inputs}
        asked[trial.step] = frozenset(inputs)
        tap = inputs[trial.input].tap if trial.input in inputs else ""
        if tap and trial.edge is not None and trial.edge < edges.get(tap, (trial, inf))[1]:
            edges[tap] = (trial, trial.edge)
    for row in record.rows:
        node, value = row.entry.node, row.number("value")
        unheld = _unheld(record, steps, row) if (node, row.input) not in tried_by else None
        found = edges.get(unheld.tap if unheld is not None else row.text("tap"))
        if row.entry.kind != "reading" or value is None or found is None or value <= found[1]:
            continue
        stray = not node or (node in asked and row.input not in asked[node])
        params: dict[str, Plain] = {"input": row.input, "value": value, "low": None, "high": found[1]}
        if row.text("quantity") in ("", "pressure") and stray:
            trial = next((one for one, _ in edges.values() if one.step == node), found[0])
            yield trial, row, params, trial.step
        elif unheld is not None:
            own = replace(found[0], step=node, input=row.input, run=())
            yield own, row, params, ""


def _unheld(record: Record, steps: Mapping[str, Step], row: Row) -> Input | None:
    """Return the pressure a reading answers where no band of its step speaks against it; None for any other.

    A step that pumps the outlet to prove its valve, or brings the inlet valve to its opening, goes by its own
    limits. After a trip nothing is asked of how the outlet was found, up to the reset.
    """
    step = steps.get(row.entry.node)
    minding = record.procedure.minding
    if step is None or step.way != "on" or any(step.node.id in one.steps for one in minding.shields):
        return None
    if any(step.node.id in one.brings for one in minding.openings):
        return None
    if any(one.input == row.input for one in step.node.expect):
        pick = step.chosen.get(row.input)
        if pick is None or row.input in step.outside or all(one.at != row.at for one in pick.rows):
            return None
    stops = minding.stops
    ids = [node.id for node in record.procedure.nodes]
    if stops and ids.index(step.node.id) <= min(ids.index(name) for name in stops):
        return None
    found = (one for one in step.node.inputs if one.name == row.input and one.quantity == "pressure")
    return next((one for one in found if one.tap), None)


def _outside(record: Record, trial: Trial, step: Step, row: Row) -> dict[str, Plain] | None:
    """Return what was read, and what was expected; None where it lay inside."""
    if trial.yes:
        said = row.entry.payload.get("value") is True
        return (
            {"input": trial.input, "value": True, "low": "no, from first", "high": "last"} if said else None
        )
    value = row.number("value")
    if value is None:
        return None
    if trial.edge is not None and value > trial.edge:
        return {"input": trial.input, "value": value, "low": None, "high": trial.edge}
    if trial.by is not None:
        most = _beside(step.given.get(trial.above, ()), row, value) + trial.by
        return {"input": trial.input, "value": value, "low": None, "high": most} if value > most else None
    band = step.bands.get(trial.band)
    if band is None:
        return None
    low = min(_beside(step.given.get(trial.beside, ()), row, value), value)
    middle = (low + value) / 2.0
    if inside(middle, band) or _says_nothing(trial, band, low, value):
        return None
    if _sets(record, trial) and inside(value, {**band, "low": None}):
        return None
    return {"input": trial.band, "value": middle, "low": band["low"], "high": band["high"]}


def _beside(rows: Sequence[Row], row: Row, value: float) -> float:
    """Return what was read beside a reading: last before it, else first after it; without any, it itself."""
    read = [one for one in rows if is_number(one.entry.payload["value"])]
    before = [one for one in read if one.at < row.at]
    found = before[-1] if before else read[0] if read else None
    return value if found is None else float(found.entry.payload["value"])


def _says_nothing(trial: Trial, band: Band, low: float, high: float) -> bool:
    """Return whether a run in large steps leaves open where it acted: its interval reaches into the band."""
    if trial.wide is None or high - low <= trial.wide * (1.0 + ROUNDING):
        return False
    return inside(high, {**band, "high": None}) and inside(low, {**band, "low": None})


def _sets(record: Record, trial: Trial) -> bool:
    """Return whether the step sets the screw: what reads below the band is on the way."""
    if len(trial.sets) < 2:
        return bool(trial.sets)
    return record.choices.get(trial.sets[0]) == trial.sets[1]


def _is_touched(record: Record, steps: Mapping[str, Step], step: Step, row: Row) -> bool:
    """Return whether what the proof rests on was touched after a reading, by more than its own step."""
    rests = rests_of(steps)[step.node.id]
    return any(
        touch.row.at > row.at
        and touch.things & rests
        and (touch.row.do or touch.row.entry.node != step.node.id)
        for touch in touches(record)
    )


def _is_run_again(steps: Mapping[str, Step], trial: Trial, row: Row) -> bool:
    """Return whether the run a reading belongs to was made once more after it, and the reading taken anew."""
    if not trial.run or trial.run[0] not in steps:
        return False
    runs = steps[trial.run[0]].given.get(trial.run[1], ())
    again = [one.at for one in runs if one.at > row.at]
    newest = steps[trial.step].chosen[trial.input].newest
    return any(one.at < row.at for one in runs) and bool(again) and newest > again[0]


def _is_noted(record: Record, row: Row, trial: Trial) -> bool:
    """Return whether somebody's note of that day at the step says what was found, of what it may answer."""
    return not _is_beyond(row, trial) and any(
        one.entry.kind == "note"
        and one.at > row.at
        and one.day == row.day
        and bool(folded(one.entry.who))
        and _says_cause(one.text("text"), record.procedure.minding.causes)
        for one in record.at(trial.step)
    )


def _is_beyond(row: Row, trial: Trial) -> bool:
    """Return whether a reading passed the rating of the section."""
    value = row.number("value")
    return value is not None and trial.bears is not None and value > trial.bears


def _says_cause(text: str, causes: Sequence[str]) -> bool:
    """Return whether a note is one of the words for what was found, or ends with one after a colon."""
    said = folded(text.rpartition(":")[2]).removesuffix(".")
    return any(said == folded(one) for one in causes)
