"""Trials that lay outside and were read again: a newer reading alone does not answer them (handbook F3, F5).

A run outside its band, or above the highest pressure of a test, is a finding. It is answered by a touch
after it of what the proof rests on, since then everything is proved anew; or by a note of that day at the
step that says what was found. A note does not answer what passed the rating of the section.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from steadyhead.procedure.agreeing import inside
from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.record import Record, Row
from steadyhead.procedure.steps import Step
from steadyhead.procedure.touching import rests_of, touches
from steadyhead.records.minding import Trial
from steadyhead.records.run import Plain, Remark


@dataclass
class Tried:
    """What stands against *final* by step, and what is told because a note answers it."""

    against: dict[str, list[Remark]] = field(default_factory=dict)
    told: list[Remark] = field(default_factory=list)


def tried(record: Record, steps: Mapping[str, Step]) -> Tried:
    """Return the trials outside that were read again: those nobody answered, and those a note answers."""
    found = Tried()
    for trial, row, params in _passed_over(record, steps):
        remark = Remark("RUN-59", trial.step, (row.entry.id,), params)
        if _is_touched(record, steps, steps[trial.step], row):
            continue
        if _is_noted(steps[trial.step], row, trial):
            found.told.append(remark)
        else:
            found.against.setdefault(trial.step, []).append(remark)
    return found


def unanswered(record: Record, steps: Mapping[str, Step], step: str) -> tuple[str, ...]:
    """Return the readings of one step that lay outside, were read again and that nothing answers, by id."""
    return tuple(remark.entries[0] for remark in tried(record, steps).against.get(step, ()))


def _passed_over(record: Record, steps: Mapping[str, Step]) -> Iterator[tuple[Trial, Row, dict[str, Plain]]]:
    """Yield the readings outside that do not count any more, with what was expected of them."""
    for trial in record.procedure.minding.trials:
        step = steps.get(trial.step)
        pick = step.chosen.get(trial.input) if step is not None and step.way != "off" else None
        if step is None or pick is None:
            continue
        for row in step.given[trial.input]:
            outside = None if row in pick.rows else _outside(trial, step, row)
            if outside is not None:
                yield trial, row, outside


def _outside(trial: Trial, step: Step, row: Row) -> dict[str, Plain] | None:
    """Return what was read, and what was expected; None where it lay inside."""
    value = row.number("value")
    if value is None:
        return None
    if trial.edge is not None and value > trial.edge:
        return {"input": trial.input, "value": value, "low": None, "high": trial.edge}
    band = step.bands.get(trial.band)
    if band is None:
        return None
    middle = _middle(trial, step, row, value)
    if inside(middle, band):
        return None
    return {"input": trial.band, "value": middle, "low": band["low"], "high": band["high"]}


def _middle(trial: Trial, step: Step, row: Row, value: float) -> float:
    """Return the middle of a run: of its reading and the last hold before it, else the first one after it."""
    holds = [one for one in step.given.get(trial.beside, ()) if is_number(one.entry.payload["value"])]
    before = [one for one in holds if one.at < row.at]
    hold = before[-1] if before else holds[0] if holds else row
    low = min(float(hold.entry.payload["value"]), value)
    return (low + value) / 2.0


def _is_touched(record: Record, steps: Mapping[str, Step], step: Step, row: Row) -> bool:
    """Return whether what the proof rests on was touched after a reading, by more than its own step."""
    rests = rests_of(steps)[step.node.id]
    return any(
        touch.row.at > row.at
        and touch.things & rests
        and (touch.row.do or touch.row.entry.node != step.node.id)
        for touch in touches(record)
    )


def _is_noted(step: Step, row: Row, trial: Trial) -> bool:
    """Return whether a note of that day at the step says what was found, of what it may answer."""
    value = row.number("value")
    if value is not None and trial.bears is not None and value > trial.bears:
        return False
    return any(one.entry.kind == "note" and one.at > row.at and one.day == row.day for one in step.rows)
