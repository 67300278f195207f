"""Every step of a plan as a certificate lists it: expected, observed, and what that amounts to."""

from __future__ import annotations

from steadyhead.procedure.grammar import is_number
from steadyhead.procedure.steps import Step
from steadyhead.records.certificate import TestLine, TestStep
from steadyhead.records.procedure import Input
from steadyhead.visits.certifying.answers import wanted
from steadyhead.visits.certifying.failures import fails
from steadyhead.visits.certifying.seen import Seen, moment

NOT_APPLICABLE = "not applicable"
AFTER = "comes after signing"


def tests(seen: Seen) -> tuple[TestStep, ...]:
    """Return every step in the order of the plan; those of another way stand as not applicable."""
    states = {state.id: state.state for state in seen.judgement.steps}
    return tuple(_step(seen, step, states[name]) for name, step in seen.steps.items())


def _step(seen: Seen, step: Step, state: str) -> TestStep:
    off = step.way != "on"
    rows = [row for row in step.rows if row.entry.kind in ("reading", "observation", "action", "choice")]
    said = [seen.told(one.remark) for one in seen.judgement.blocks if one.remark.about == step.node.id]
    said += [f"{seen.told(one)} (worth knowing)" for one in seen.judgement.told if one.about == step.node.id]
    because = " ".join(dict.fromkeys(said))
    if off:
        because = "another way was chosen" if step.way == "off" else "its choice was not taken"
    if step.node.id in seen.procedure.after and not rows:
        state = AFTER
    return TestStep(
        step.node.id,
        seen.title(step.node),
        NOT_APPLICABLE if step.way == "off" else state,
        because,
        moment(rows[-1].entry) if rows else "",
        () if off else tuple(_line(seen, step, one) for one in step.node.inputs),
    )


def _line(seen: Seen, step: Step, asked: Input) -> TestLine:
    band = step.bands.get(asked.name, {})
    noted = seen.noted(step, asked.name)
    label = seen.procedure.names.get(f"{step.node.id}/{asked.name}")
    words = seen.word(f"{step.node.id}/{asked.name}") if label is not None else asked.name
    low, high = band.get("low"), band.get("high")
    failed = [row for row in step.given.get(asked.name, ())[:-1] if fails(step, asked.name, row)]
    answer = wanted(step.node, asked.name) if asked.quantity == "yes_no" else None
    result = _result(step, asked, low, high)
    return TestLine(asked.name, words, asked.quantity, low, high, noted, result, answer, len(failed))


def _result(step: Step, asked: Input, low: float | None, high: float | None) -> str:
    chosen = step.chosen.get(asked.name)
    if chosen is None:
        return "not noted" if asked.name in (*step.lacks, *step.unnoted) else "not asked"
    if any(name == asked.name and counts for name, _, _, counts in step.unfit):
        return "fail"
    if isinstance(chosen.value, bool) and (right := wanted(step.node, asked.name)) is not None:
        return "pass" if chosen.value is right else "fail"
    if not is_number(chosen.value) or (low is None and high is None):
        return "noted"
    value = float(chosen.value)
    inside = (low is None or value >= low) and (high is None or value <= high)
    return "pass" if inside else "fail"
