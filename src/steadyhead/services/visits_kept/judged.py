"""A judged run, ready to be shown: worked out once for plan, entries, day and units."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

from steadyhead.drawings.palette import screen
from steadyhead.drawings.proof_score import draw_proof_score
from steadyhead.drawings.proof_score_facts import MARK_OF, proof_score_text
from steadyhead.findings import Finding, Severity, tell
from steadyhead.procedure.ledger import Fault
from steadyhead.records.entry import Entry
from steadyhead.records.proof_score import ScoreBar
from steadyhead.records.run import StepState
from steadyhead.register import Register
from steadyhead.services.entering import open_book
from steadyhead.services.entering.saying import said
from steadyhead.services.page_words import called, on_page, plan_words
from steadyhead.services.prepared import prepared
from steadyhead.services.running import JudgedRun, judge_run
from steadyhead.services.running_words import Speaker
from steadyhead.services.stations.judged import today
from steadyhead.services.told_once import against_final_once, worth_knowing_once
from steadyhead.services.visits_kept.asking import (
    NextView,
    View,
    because,
    called_at,
    lacking_words,
    next_view,
)
from steadyhead.services.visits_kept.run_rows import Run, files_of, one_run
from steadyhead.services.visits_kept.score import plain_name, score_of, table_of
from steadyhead.units import METRIC, UnitSet
from steadyhead.visits.texts import say

WIDE, MIDDLE, NARROW = 1180.0, 740.0, 328.0
"""Widths the proof score is drawn at: a sheet, a tablet, and a phone. [px]"""
SHOWN = 60
"""Entries listed on the page of a run; the rest is on pages of its own. [1]"""


STALE = "RUN-12"
"""Code of a touch after a proof; those of one act are told as one."""


class StepView(View):
    """A step: where it stands, what is still lacking, why it does not count."""

    id: str
    title: str
    state: str
    mark: str
    lacks: tuple[str, ...]
    at: str
    because: tuple[str, ...]


class ProofView(View):
    """A proof: what it showed, where it stands, since when, what it rests on."""

    name: str
    words: str
    detail: str
    state: str
    mark: str
    at: str
    until: str
    steps: tuple[str, ...]
    rests: tuple[str, ...]
    says: str
    because: str


class AgainstView(View):
    """One thing that stands against *final*, or is worth knowing."""

    code: str
    severity: str
    subject: str
    title: str
    statement: str
    why: str
    cure: str
    accepted: str


class EntryView(View):
    """An entry by its number: when, at which step, what it says, and what came to it."""

    number: int
    at: str
    who: str
    step: str
    kind: str
    says: str
    came: str
    by_hand: bool
    typed: str = ""
    """When it was typed, and by whom, where its time was given by hand."""


class JudgedView(View):
    """A judged run: what stands against final first, then the next step, proofs, steps, the newest entries.

    score_wide, score_middle, score_narrow: the proof score as SVG.
    """

    run: str
    plan: str
    plan_sha256: str
    kind: str
    is_final: bool
    signed: tuple[str, ...]
    against: tuple[AgainstView, ...]
    accepted: tuple[AgainstView, ...]
    told: tuple[AgainstView, ...]
    next: NextView | None
    proofs: tuple[ProofView, ...]
    items: tuple[tuple[str, str], ...]
    steps: tuple[StepView, ...]
    counts: tuple[tuple[str, int], ...]
    entries: tuple[EntryView, ...]
    persons: tuple[str, ...]
    instruments: tuple[str, ...]
    score_wide: str
    score_middle: str
    score_narrow: str
    score_words: str


def judged_run_view(
    register: Register, key: str, one: str, units: UnitSet = METRIC, day: date | None = None
) -> bytes:
    """Return a `JudgedView` as JSON, made now where it was not: by plan, entries, day and units.

    Raises
    ------
    NotKept
        No such run.
    """
    with register.reading() as connection:
        of = one_run(connection, key, one)
    return judged_view_of(register, of, units, day)


def judged_view_of(register: Register, of: Run, units: UnitSet = METRIC, day: date | None = None) -> bytes:
    """Return a `JudgedView` as JSON for a run whose row is at hand; see `judged_run_view`.

    Entries only grow: run and their number say which they are.
    """
    on = day or today()
    parts = {
        "plan": of.plan,
        "run": of.id,
        "entries": str(of.entries),
        "day": on.isoformat(),
        "units": f"{units.name} {units.decimal}",
    }

    def make() -> bytes:
        with register.reading() as connection:
            plan, entries = files_of(connection, of)
        return view_of(plan, entries, units, _now(on)).model_dump_json().encode()

    return prepared(register, of.station, "judged run", parts, make)


def _now(day: date) -> float:
    """Return the time a run is judged at on a day: now, or the end of a day that is past. [s]"""
    end = datetime(day.year, day.month, day.day, tzinfo=UTC) + timedelta(days=1)
    return min(datetime.now(UTC), end).timestamp() if day <= today() else end.timestamp()


def view_of(plan: bytes, entries: bytes, units: UnitSet, now: float) -> JudgedView:
    """Return what is shown of plan and entries."""
    run = judge_run(plan, entries, now)
    judged, speaker = run.judgement, Speaker(run.procedure, run.ledger, units)
    score = score_of(run, units)
    against = against_final_once(run, units)
    book = open_book(plan, entries)
    shown = [step for step in judged.steps if step.state != "not on this way"]
    states = [step.state for step in shown]
    return JudgedView(
        run=judged.run,
        plan=run.procedure.id,
        plan_sha256=run.plan.sha256,
        kind=run.procedure.kind,
        is_final=run.is_final,
        signed=tuple(_signed(run)),
        against=(*_stale(run, speaker), *_others(run, units)),
        accepted=tuple(_told(finding, units, by) for finding, by, _ in against if by),
        told=tuple(_told(finding, units) for finding in worth_knowing_once(run, units)),
        next=next_view(run, units),
        proofs=tuple(_proof(bar, score.zone) for bar in table_of(run, units)),
        items=tuple(
            (plain_name(one.name, speaker), one.state) for one in judged.items if one.state != "not opened"
        ),
        steps=tuple(_step(run, step, units) for step in shown),
        counts=tuple((state, states.count(state)) for state in dict.fromkeys(states)),
        entries=tuple(reversed(list(entry_views(plan, entries, units))[-SHOWN:])),
        persons=book.persons,
        instruments=tuple(book.instruments),
        score_wide=draw_proof_score(score, screen(), WIDE),
        score_middle=draw_proof_score(score, screen(), MIDDLE),
        score_narrow=draw_proof_score(score, screen(), NARROW),
        score_words=proof_score_text(score),
    )


def _signed(run: JudgedRun) -> Iterator[str]:
    entries = {entry.id: entry for entry in run.ledger.forms}
    for one in run.judgement.signs:
        entry = entries[one.entry]
        stands = one.stands and not one.later and (run.is_final or one.asks != "final")
        count = len(one.later)
        after = f"; {count} {'entry was' if count == 1 else 'entries were'} made after it" if count else ""
        words = "stands" if stands else "does not stand"
        yield f"as {one.asks} by {_who(entry)}, {clock_words(entry)}: {words}{after}."


def _stale(run: JudgedRun, speaker: Speaker) -> Iterator[AgainstView]:
    """Yield the touches that made the same proofs stale as one, with the steps to be done again."""
    entries = {entry.id: entry for entry in run.ledger.forms}
    lost: dict[str, dict[str, str]] = {}
    things: dict[str, list[str]] = {}
    for block in run.judgement.blocks:
        if block.remark.code == STALE and not block.accepted:
            touch = block.remark.entries[-1]
            lost.setdefault(touch, {})[block.remark.about] = str(block.remark.params["step"])
            things.setdefault(touch, []).append(plain_name(str(block.remark.params["thing"]), speaker))
    told: dict[tuple[str, ...], list[str]] = {}
    for touch, proofs in lost.items():
        told.setdefault(tuple(proofs), []).append(touch)
    for names, touches in told.items():
        first = entries[touches[0]]
        what = ", ".join(dict.fromkeys(name for touch in touches for name in things[touch]))
        again = ", ".join(dict.fromkeys(lost[touches[0]].values()))
        yield AgainstView(
            code=STALE,
            severity="stop",
            subject=", ".join(names),
            title="Touched after its proof",
            statement=f"Touched after its proof: {what}, {clock_words(first)} by {_who(first)}.",
            why=f"Stale: {', '.join(plain_name(name, speaker) for name in names)}. "
            "What was touched since is not what was proved.",
            cure=f"Do {again} again.",
            accepted="",
        )


def _who(entry: Entry) -> str:
    return called(entry.who or entry.device)


def _others(run: JudgedRun, units: UnitSet) -> Iterator[AgainstView]:
    """Yield what else stands against *final*."""
    for finding, by, remark in against_final_once(run, units):
        if not by and (remark is None or remark.code != STALE):
            told = _told(finding, units)
            lacking = lacking_words(run, remark, units) if remark is not None else ""
            yield told.model_copy(update={"statement": lacking}) if lacking else told


def _told(finding: Finding, units: UnitSet, accepted: str = "") -> AgainstView:
    told = tell(finding, units)
    severity = "block" if told.severity is Severity.ASK else told.severity.value
    return AgainstView(
        code=told.code,
        severity=severity,
        subject=plan_words(told.subject),
        title=told.title,
        statement=plan_words(on_page(told.statement)),
        why=plan_words(on_page(told.why)),
        cure=plan_words(on_page(told.cure)),
        accepted=accepted,
    )


def _proof(bar: ScoreBar, zone: int) -> ProofView:
    return ProofView(
        name=bar.name,
        words=bar.words,
        detail=bar.detail,
        state=bar.state,
        mark=MARK_OF[bar.state],
        at=_clock(bar.at, zone),
        until=_clock(bar.until, zone),
        steps=bar.steps,
        rests=bar.rests,
        says=bar.says,
        because=bar.because,
    )


def _clock(moment: float | None, zone: int) -> str:
    if moment is None:
        return ""
    found = datetime.fromtimestamp(moment, UTC) + timedelta(minutes=zone)
    return f"{found:%-d %b %Y %H:%M}"


_MARKS = {"done": "holds", "accepted": "holds", "refused": "struck", "open": "unknown", "waits": "unknown"}


def _step(run: JudgedRun, step: StepState, units: UnitSet) -> StepView:
    node = run.procedure.node(step.id)
    entries = {entry.id: entry for entry in run.ledger.forms} if step.entries else {}
    last = entries.get(step.entries[-1]) if step.entries else None
    return StepView(
        id=step.id,
        title=say(node.title, units),
        state=step.state,
        mark=_MARKS.get(step.state, "unknown"),
        lacks=called_at(run, step.id, step.lacks, units) if step.state in ("open", "refused") else (),
        at="" if last is None else clock_words(last),
        because=because(run, step.id, units) if step.state == "refused" else (),
    )


def listed_entries(register: Register, of: Run, units: UnitSet, first: int, most: int) -> bytes:
    """Return some entries of a run by number as a JSON list of `EntryView`, made now where it was not."""
    parts = {
        "run": of.id, "entries": str(of.entries), "first": str(first), "most": str(most),
        "units": f"{units.name} {units.decimal}",
    }  # fmt: skip

    def make() -> bytes:
        with register.reading() as connection:
            plan, entries = files_of(connection, of)
        found = [one.model_dump(mode="json") for one in entry_views(plan, entries, units, first, most)]
        return json.dumps(found, ensure_ascii=False).encode()

    return prepared(register, of.station, "entries of a run", parts, make)


def entry_views(
    plan: bytes, entries: bytes, units: UnitSet, first: int = 1, most: int = 0
) -> Iterator[EntryView]:
    """Yield entries by number, from the first asked for; most: how many, 0 for all."""
    book = open_book(plan, entries)
    for one in book.listed():
        if one.number < first or (most and one.number >= first + most):
            continue
        if isinstance(one.line, Fault):
            yield EntryView(
                number=one.number,
                at="",
                who="",
                step="",
                kind="none",
                says=one.line.problem,
                came="",
                by_hand=False,
            )
            continue
        came = [f"corrected by {number}" for number in one.corrected] + [f"void by {n}" for n in one.voided]
        yield EntryView(
            number=one.number,
            at=clock_words(one.line),
            who=one.line.who,
            step=one.line.node,
            kind=one.line.kind,
            says=said(one.line, units, one.amends, book.procedure),
            came=", ".join(came),
            by_hand=one.line.by_hand,
            typed=_typed(one.line),
        )


def _typed(entry: Entry) -> str:
    by, at = (str(entry.more.get(key) or "") for key in ("typed_by", "typed_at"))
    words = f"typed {at[:16].replace('T', ' ')}" if at else "typed" if by else ""
    return f"{words} by {by}" if by else words


def clock_words(entry: Entry) -> str:
    """Return when an entry was made, as clocks on site had it."""
    return f"{entry.clock:%-d %b %Y %H:%M:%S}"
