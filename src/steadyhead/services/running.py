"""Judge a run: a plan, and the entries made on site."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from steadyhead.errors import InputError
from steadyhead.findings import Amount, Finding, Severity
from steadyhead.procedure.judged import plain_judgement
from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import Ledger, read
from steadyhead.procedure.stops import said_stops, words
from steadyhead.records.procedure import Procedure
from steadyhead.records.run import Judgement, Remark
from steadyhead.services.auditing import audit_words
from steadyhead.services.judging import finding_data
from steadyhead.services.plan_files import PlanFile, read_plan_file
from steadyhead.services.running_words import Speaker
from steadyhead.units import METRIC, UnitSet

LARGEST_ENTRIES = 200_000_000
"""Largest file of entries read; own estimate: a long visit has some hundred kB. [bytes]"""


SLIPS = 3
"""Unknown steps from which on the entries are taken as made with another plan. Own estimate."""


@dataclass(frozen=True, slots=True)
class JudgedRun:
    """A plan, the ledger of its run, and what they amount to.

    words: what only the notes tell, found by the audit. content: the file of entries, for their numbers.
    """

    plan: PlanFile
    ledger: Ledger
    judgement: Judgement
    words: tuple[Finding, ...] = ()
    content: bytes = field(default=b"", repr=False, compare=False)

    @property
    def procedure(self) -> Procedure:
        """The plan."""
        return self.plan.procedure

    @property
    def is_final(self) -> bool:
        """Nothing stands against *final*, nor was the run made with another plan."""
        told = any(finding.severity is Severity.STOP for finding in self.words)
        return self.judgement.is_final and not self.other_plan and not self.foreign and not told

    @property
    def other_plan(self) -> str:
        """Hash of the plan the run says it was made with, where that is another one; else empty."""
        said = [entry.payload.get("plan") for entry in self.ledger.standing if entry.kind == "run"]
        other = [str(hash_) for hash_ in said if hash_ not in (self.plan.sha256, "", None)]
        return other[-1] if other else ""

    @property
    def foreign(self) -> int:
        """Number of steps of the run that this plan does not have, where the run names no plan."""
        return foreign_steps(self.plan, self.ledger.of_run(self.judgement.run))


def foreign_steps(plan: PlanFile, ledger: Ledger) -> int:
    """Return how many steps of a run that names no plan this one does not have; 0 for a slip or two."""
    named = any(entry.payload.get("plan") for entry in ledger.standing if entry.kind == "run")
    known = {node.id for node in plan.procedure.nodes}
    unknown = {entry.node for entry in ledger.standing if entry.node and entry.node not in known}
    return 0 if named or len(unknown) < SLIPS else len(unknown)


def judge_run(
    plan: bytes,
    entries: bytes,
    now: float | None = None,
    *,
    plan_name: str = "plan",
    entries_name: str = "entries",
) -> JudgedRun:
    """Return what the entries of a run amount to under its plan.

    Parameters
    ----------
    plan, entries
        Contents of the two files.
    now
        Time of judging [s since 1970-01-01 UTC]; None: nothing is held against the clock.
    plan_name, entries_name
        Names of the files, for messages.

    Raises
    ------
    InputError
        No plan file, or entries of another format. A bad line of entries is no error but a finding.
    """
    stored = read_plan_file(plan, plan_name)
    ledger = read(entries, entries_name)
    judgement = judge(stored.procedure, ledger, now)
    own = ledger.of_run(judgement.run)
    told = (*_stopped(own), *audit_words(stored.procedure, own))
    return JudgedRun(stored, ledger, judgement, told, entries)


def _stopped(ledger: Ledger) -> Iterator[Finding]:
    """Yield the Stops that were said and that nobody has lifted."""
    for stop in said_stops(ledger.standing):
        params: dict[str, Amount | str | int | float] = {
            "who": stop.who or stop.device,
            "when": f"{stop.clock:%-d %b %Y %H:%M}",
            "words": words(stop) or "no words",
            "device": stop.device,
            "number": stop.device_seq,
        }
        yield Finding("RUN-92", stop.node or "run", Severity.STOP, params=params)


def time_of(text: str) -> float:
    """Return a time a person wrote. [s since 1970-01-01 UTC]

    Raises
    ------
    InputError
        Not ISO 8601 with its offset from UTC.
    """
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        remedy = "Write a time with its offset, e.g. 2027-04-14T16:20+01:00."
        raise InputError("--now", f"got {text!r:.60}.", remedy)
    return moment.timestamp()


def against_final(run: JudgedRun, units: UnitSet = METRIC) -> tuple[tuple[Finding, str], ...]:
    """Return what stands against *final* as findings, each with the id of the deviation that accepts it.

    First one for each block of the judgement, in its order; then the other plan, and what the notes tell.
    """
    speaker = Speaker(run.procedure, run.ledger, units)
    found = [
        (speaker.finding(block.remark, Severity.ASK if block.may_accept else Severity.STOP), block.accepted)
        for block in run.judgement.blocks
    ]
    if run.other_plan:
        params = {"why": "other plan", "got": run.other_plan[:12], "asked": run.plan.sha256[:12]}
        found.append((speaker.finding(Remark("RUN-05", "run", (), params), Severity.STOP), ""))
    if run.foreign:
        remark = Remark("RUN-05", "run", (), {"why": "no plan", "count": float(run.foreign)})
        found.append((speaker.finding(remark, Severity.STOP), ""))
    found += [(finding, "") for finding in run.words if finding.severity is Severity.STOP]
    return tuple(found)


def worth_knowing(run: JudgedRun, units: UnitSet = METRIC) -> tuple[Finding, ...]:
    """Return what is worth knowing and forbids nothing, as findings."""
    speaker = Speaker(run.procedure, run.ledger, units)
    told = [speaker.finding(remark, Severity.HEED) for remark in run.judgement.told]
    return (*told, *(finding for finding in run.words if finding.severity is not Severity.STOP))


def judged_data(run: JudgedRun) -> dict[str, Any]:
    """Return a judged run as plain data."""
    return {
        "format": "steadyhead/judged-run/1",
        "plan": {"id": run.procedure.id, "kind": run.procedure.kind, "sha256": run.plan.sha256},
        "is_final": run.is_final,
        "judgement": plain_judgement(run.judgement),
        "against_final": [
            {**finding_data(finding), "accepted": accepted} for finding, accepted in against_final(run)
        ],
        "worth_knowing": [finding_data(finding) for finding in worth_knowing(run)],
    }
