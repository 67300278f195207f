"""The second reading of a record: what a senior commissioning engineer looks for in finished site work.

The record is followed from entry to entry: where each valve stands, what was defeated, what was touched
since which proof, which instrument read what. Every breach of the rules V1 to V12 and of the step tables is
named with the entry that shows it. Words are read with caution; what is doubtful is a note.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Final

from steadyhead.findings import Finding, Severity
from steadyhead.records.entry import Entry
from steadyhead.records.job import Job
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.capitals import in_small
from steadyhead.visits.audit.follow import follow
from steadyhead.visits.audit.model import Story
from steadyhead.visits.audit.rules import (
    filling,
    found,
    gauges,
    guard,
    instruments,
    leaving,
    lockup,
    loop,
    marks,
    motion,
    omitted,
    protect,
    readings,
    restart,
    runs,
    settings,
    signing,
    stale,
    steps,
    yearly,
    zeros,
)
from steadyhead.visits.audit.rules.case import Case
from steadyhead.visits.audit.timeline import story_of

RULES: Final[tuple[Callable[[Case], Iterator[Breach]], ...]] = (
    protect.rules,
    motion.rules,
    filling.rules,
    runs.rules,
    stale.rules,
    marks.rules,
    readings.rules,
    gauges.rules,
    instruments.rules,
    zeros.rules,
    settings.rules,
    lockup.rules,
    guard.rules,
    loop.rules,
    leaving.rules,
    yearly.rules,
    restart.rules,
    steps.rules,
    found.rules,
    omitted.rules,
    signing.rules,
)


def audit(job: Job, entries: Sequence[Entry]) -> tuple[Finding, ...]:
    """Return every breach of the handbook that a record shows, in the order of its entries.

    Parameters
    ----------
    job
        The numbers the record is held against.
    entries
        Entries in the order of judging, corrections and voids applied.

    Returns
    -------
    tuple of Finding
        STOP: final is refused. HEED: said. NOTE: doubtful, or of little weight. Subject: the entry's id.
    """
    return tuple(b.finding() for b in _breaches(job, entries))


def _breaches(job: Job, entries: Sequence[Entry]) -> list[Breach]:
    story = _at_home(_in_small(story_of(entries), job.name), job.name)
    if not story.moments:
        return []
    case = Case(job, story, follow(story, job))
    found = [breach for rule in RULES for breach in rule(case)]
    kept = _once(_softened(case, _causes(case, found)))
    kept.sort(key=lambda b: b.moment.index)
    return kept


def _in_small(story: Story, name: str) -> Story:
    """Return a record whose notes in capitals throughout are read as ordinary ones."""
    changed = tuple(
        m.changed(text=in_small(m.text, name), more=in_small(m.more, name)) for m in story.moments
    )
    return replace(story, moments=changed)


def _at_home(story: Story, name: str) -> Story:
    """Return a record whose own station is called *here*: another one that is named is another place."""
    if not name:
        return story
    own = re.compile(rf"\b([Aa]t|[Ii]n|[Tt]he) {re.escape(name)}\b(?! [A-Z]{{2}})")
    called = {"at": "here", "in": "here", "the": "our"}
    return replace(
        story,
        moments=tuple(
            m.changed(text=own.sub(lambda spot: called[spot[1].casefold()], m.text)) if name in m.text else m
            for m in story.moments
        ),
    )


def told_by_words(job: Job, entries: Sequence[Entry]) -> tuple[Finding, ...]:
    """Return what only the notes of a record tell: found with them, and not without them.

    For a run with a plan: its steps, readings and acts are judged by the plan, what people wrote is not.
    What does not stand in the record is not told by words; the plan asks for it.
    """
    hushed = [replace(e, payload={**e.payload, "text": ""}) if e.kind == "note" else e for e in entries]
    bare = {(b.code, b.moment.entry) for b in _breaches(job, hushed)}
    moments = {(e.node, e.who, e.time) for e in entries if e.kind == "note"}
    noted = {e.id for e in entries if (e.node, e.who, e.time) in moments}
    return tuple(
        b.finding()
        for b in _breaches(job, entries)
        if not b.absent and (b.code, b.moment.entry) not in bare and b.moment.entry in noted
    )


def allows_final(findings: Sequence[Finding]) -> bool:
    """Return whether nothing stands against a final signature."""
    return not any(f.severity is Severity.STOP for f in findings)


def _causes(case: Case, found: Sequence[Breach]) -> list[Breach]:
    """Return the breaches without those that only follow from another one."""
    open_line = any(b.code in ("RUN-20", "RUN-21") and b.rule in ("V1", "V2") for b in found)
    return [b for b in found if not (b.code == "RUN-40" and open_line and case.job.kind != "restart")]


def _softened(case: Case, found: Sequence[Breach]) -> list[Breach]:
    """Return breaches with those a recorded deviation covers, or that a correction took back, as notes."""
    return [replace(b, level="info") if _covered(case.story, b) else b for b in found]


def _covered(story: Story, breach: Breach) -> bool:
    if (
        breach.moment.corrected
        and breach.code in ("RUN-36", "RUN-38", "RUN-44", "RUN-37", "RUN-34")
        and breach.value is not None
    ):
        return False
    if not breach.accepts:
        return False
    step = breach.rule.casefold()
    own = any(d.owned and (step in d.words.split() or step in d.words) for d in story.deviations)
    return own or (story.sign is not None and story.sign.asks == "provisional")


def _once(found: Sequence[Breach]) -> list[Breach]:
    """Return the breaches without those that say the same of the same entry; the weightier stays."""
    weight = {"block": 0, "flag": 1, "info": 2}
    found = [
        b
        for b in found
        if not (
            b.rule == "V2" and b.level == "flag" and any(o.rule == "V2" and o.level == "block" for o in found)
        )
    ]
    best: dict[tuple[str, int], Breach] = {}
    for breach in sorted(found, key=lambda b: weight[b.level]):
        best.setdefault((breach.code, breach.moment.index), breach)
    return list(best.values())
