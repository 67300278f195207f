"""A judged run as text for a terminal."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from steadyhead.cli.showing import finding_lines, paragraph
from steadyhead.findings import Finding, Severity, tell
from steadyhead.procedure.plain import plain
from steadyhead.records.procedure import Procedure
from steadyhead.services.running import JudgedRun
from steadyhead.services.running_words import Speaker
from steadyhead.services.told_once import against_final_once, worth_knowing_once
from steadyhead.units import UnitSet
from steadyhead.visits.text import render_step
from steadyhead.visits.texts import say

STALE = "RUN-12"
PAST_DUE = "RUN-90"
"""Said before everything else: what was accepted for a time that has run out."""
MARK = {
    "done": "done",
    "accepted": "accepted",
    "open": "open",
    "waits": "waits",
    "refused": "REFUSED",
    "valid": "valid",
    "stale": "STALE",
    "restored": "restored",
    "not opened": "not opened",
    "not on this way": "not on this way",
}


def judged_text(run: JudgedRun, units: UnitSet) -> str:
    """Return a judged run: what stands against *final* first, then proofs, restore items and steps."""
    return "\n".join(line.rstrip() for line in _lines(run, units)) + "\n"


def _lines(run: JudgedRun, units: UnitSet) -> Iterator[str]:
    judged, plan = run.judgement, run.procedure
    yield f"{plan.station_name} ({plan.station_id}), plan {plan.id}, run {judged.run or 'without entries'}"
    yield "Final." if run.is_final else "Not final."
    told = worth_knowing_once(run, units)
    late = [finding for finding in told if finding.code == PAST_DUE]
    if late:
        yield ""
        yield f"Past its due date: {len(late)}"
        for finding in late:
            yield finding_lines(finding, units)
    against = [(finding, by) for finding, by, _ in against_final_once(run, units)]
    opened = [(finding, by) for finding, by in against if not by]
    if opened:
        yield ""
        stale = list(stale_lines(run, units))
        others = [finding for finding, _ in opened if finding.code != STALE]
        yield f"Against final: {len(stale) + len(others)}"
        yield from stale
        for finding in others:
            yield finding_lines_of_run(finding, units)
    accepted = [(finding, by) for finding, by in against if by]
    if accepted:
        yield ""
        yield f"Accepted as recorded deviations: {len(accepted)}"
        for finding, by in accepted:
            yield paragraph(f"{tell(finding, units).statement} Accepted by entry {by}.", 4, "  ")
    speaker = Speaker(plan, run.ledger, units)
    yield from _table("Proofs", [(speaker.name(one.name), one.state) for one in judged.proofs])
    items = [(speaker.name(one.name), one.state) for one in judged.items if one.state != "not opened"]
    yield from _table("To be restored", items)
    steps = [(f"{one.id}", one.state) for one in judged.steps if one.state != "not on this way"]
    counts = ", ".join(f"{count} {name}" for name, count in Counter(state for _, state in steps).items())
    yield ""
    yield f"Steps: {counts}"
    yield from _table("", [(name, state) for name, state in steps if state not in ("done", "waits")])
    told = tuple(finding for finding in told if finding.code != PAST_DUE)
    if told:
        yield ""
        yield f"Worth knowing: {len(told)}"
        for finding in told:
            yield paragraph(f"{finding.code}  {tell(finding, units).statement}", 10, "  ")
    yield from _signed(run)
    yield ""
    yield f"Next: {', '.join(judged.next) or 'nothing'}"


def _signed(run: JudgedRun) -> Iterator[str]:
    """Yield each signature: what it asked for, by whom and when, and whether it still stands."""
    entries = {entry.id: entry for entry in run.ledger.forms}
    if run.judgement.signs:
        yield ""
        yield "Signed"
    for one in run.judgement.signs:
        entry = entries[one.entry]
        state = "stands" if one.stands and (run.is_final or one.asks != "final") else "does not stand"
        count = len(one.later)
        after = f": {count} {'entry was' if count == 1 else 'entries were'} made after it" if count else ""
        said = f"as {one.asks} by {entry.who or entry.device}, {entry.clock:%d %b %Y %H:%M}: {state}{after}."
        yield paragraph(said, 4, "  ")


def stale_lines(run: JudgedRun, units: UnitSet) -> Iterator[str]:
    """Yield touches that made the same proofs stale as one text, with the steps to be done again."""
    entries = {entry.id: entry for entry in run.ledger.forms}
    speaker = Speaker(run.procedure, run.ledger, units)
    lost: dict[str, dict[str, str]] = {}
    things: dict[str, list[str]] = {}
    for block in run.judgement.blocks:
        if block.remark.code == STALE and not block.accepted:
            touch = block.remark.entries[-1]
            lost.setdefault(touch, {})[block.remark.about] = str(block.remark.params["step"])
            things.setdefault(touch, []).append(speaker.name(str(block.remark.params["thing"])))
    told: dict[tuple[str, ...], list[str]] = {}
    for touch, proofs in lost.items():
        told.setdefault(tuple(proofs), []).append(touch)
    for proofs_lost, touches in told.items():
        acts = [
            f"{', '.join(dict.fromkeys(things[one]))} at {entries[one].clock:%H:%M:%S on %d %b %Y} "
            f"by {entries[one].who or entries[one].device}"
            for one in touches
        ]
        steps = ", ".join(dict.fromkeys(lost[touches[0]].values()))
        named = ", ".join(speaker.name(name) for name in proofs_lost)
        head = f"  {'stop':<5} {STALE:<9} "
        yield "\n".join(
            (
                paragraph(f"Touched after its proof: {'; '.join(acts)}.", len(head), head),
                paragraph(f"Stale: {named}.", len(head)),
                paragraph(f"What was touched since is not what was proved. Do {steps} again.", len(head)),
            )
        )


def finding_lines_of_run(finding: Finding, units: UnitSet) -> str:
    """Return one finding of a run; what a recorded deviation may accept is no question to the file."""
    told = tell(finding, units)
    if told.severity is not Severity.ASK:
        return finding_lines(finding, units)
    head = f"  {'block':<5} {told.code:<9} "
    lines = [paragraph(told.statement, indent=len(head), first=head)]
    lines += [paragraph(text, indent=len(head)) for text in (told.why, told.cure) if text]
    return "\n".join(lines)


def _table(title: str, rows: Sequence[tuple[str, str]]) -> Iterator[str]:
    if not rows:
        return
    if title:
        yield ""
        yield title
    for name, state in rows:
        yield paragraph(name, indent=19, first=f"  {MARK[state]:<16} ")


def next_text(run: JudgedRun, units: UnitSet) -> str:
    """Return the next step as the plan prints it, what to mend first, and the stop rules."""
    judged, plan = run.judgement, run.procedure
    if not judged.next:
        waits = [one.id for one in judged.steps if one.state == "waits"]
        reason = (
            f"These wait for a choice: {', '.join(waits)}." if waits else "Every step of this way is done."
        )
        return f"Nothing to be done now. {reason}\n"
    step = judged.next[0]
    lines = [_why(run, step, units), render_step(plan, step, units).rstrip()]
    lines += ["", *entering_lines(plan, step), *_names(plan, step, units)]
    if plan.stop_rules:
        lines += ["", "Stop and back out when"]
        lines += [paragraph(say(rule, units), 4, "  - ") for rule in plan.stop_rules]
    if len(judged.next) > 1:
        lines += ["", f"Can be done now as well: {', '.join(judged.next[1:])}"]
    return "\n".join(line for line in lines if line is not None) + "\n"


def entering_lines(plan: Procedure, step: str) -> list[str]:
    """Return the names under which the answers of a step are entered."""
    node = plan.node(step)
    options = [f"choose {'|'.join(o[0] for o in one.options)}" for one in plan.choices if one.id == step]
    names = [one.name for one in node.inputs if one.worked is None]
    asked = [*options, " ".join(f"{name}=" for name in names) if names else "" if options else "done"]
    return [paragraph(f"{step} {one}", 13, "  run enter  ", at_hyphens=False) for one in asked if one]


def _names(plan: Procedure, step: str, units: UnitSet) -> list[str]:
    """Return each name a step is entered by with what it asks for, and each option of its choice."""
    rows = [
        (f"choose {name}", say(words, units))
        for one in plan.choices
        if one.id == step
        for name, words, _ in one.options
    ]
    asked = [one.name for one in plan.node(step).inputs]
    for one in plan.node(step).inputs:
        label = plan.names.get(f"{step}/{one.name}")
        if one.worked is None:
            told = say(label, units) if label is not None else one.quantity
            beside = "; flow= beside it" if "flow" in one.carries and "flow" not in asked else ""
            rows.append((f"{one.name}=", f"{told}{beside}"))
    if "flow" in asked:
        rows.append(("at_flow=", "beside a reading: its own flow, where it is not that of flow="))
    wide = max((len(name) for name, _ in rows), default=0)
    return [paragraph(said, wide + 6, f"    {name:<{wide}}  ") for name, said in rows]


def _why(run: JudgedRun, step: str, units: UnitSet) -> str:
    state = run.judgement.step(step).state
    lost = {one for proof in run.judgement.proofs if proof.state == "stale" for one in proof.steps}
    once = [one for one in run.procedure.minding.instead if one.choice == step and one.step in lost]
    steps = {step, *(one.step for one in once)}
    ends = {
        (node.id, one.see.id): say(one.then, units)
        for node in run.procedure.nodes
        for one in node.otherwise
        if one.instead == step
    }
    reasons, ended = [], False
    for finding, by, remark in against_final_once(run, units):
        if remark is None:
            continue
        then = ends.get((remark.about, remark.message.id if remark.message is not None else ""), "")
        if not by and (remark.about == step or remark.params.get("step") in steps or then):
            reasons.append(f"{tell(finding, units).statement} {then}".rstrip())
            ended = ended or bool(then)
    reasons += [f"{one.step} is gone through once: choose {one.option} here." for one in once]
    head = {"open": "To be done", "refused": "To be done again", "done": "To be done again"}.get(
        state, "Next"
    )
    told = f": {' '.join(reasons)}" if reasons and (ended or state != "open") else ""
    return paragraph(f"{head}{told}" if told else f"{head}:") + "\n"


def next_data(run: JudgedRun) -> dict[str, Any]:
    """Return the next step as plain data: the node of the plan, and the other steps that can be done now."""
    judged = run.judgement
    nodes = {node["id"]: node for node in plain(run.procedure)["nodes"]}
    return {
        "format": "steadyhead/next-step/1",
        "step": nodes[judged.next[0]] if judged.next else None,
        "state": judged.step(judged.next[0]).state if judged.next else None,
        "also": list(judged.next[1:]),
        "choices": dict(judged.choices),
        "stop_rules": plain(run.procedure)["stop_rules"],
    }
