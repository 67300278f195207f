"""What the proofs of a run showed, in few words: *5.11 bar, 3 runs*."""

from __future__ import annotations

from steadyhead.findings import Severity, tell
from steadyhead.records.certificate import Setting
from steadyhead.services.running import JudgedRun
from steadyhead.services.running_words import Speaker
from steadyhead.units import UnitSet
from steadyhead.visits.certifying import Seen, in_words
from steadyhead.visits.certifying.proofs import alarms, flows, lockups, trips
from steadyhead.visits.certifying.settings import settings


def settings_of(run: JudgedRun, units: UnitSet) -> tuple[Setting, ...]:
    """Return every setting and figure of a run, signed or not."""
    seen = seen_of(run, units)
    return settings(seen, trips(seen), lockups(seen), alarms(seen), flows(seen))


def seen_of(run: JudgedRun, units: UnitSet) -> Seen:
    """Return a judged run as a certificate looks at it."""
    speaker = Speaker(run.procedure, run.ledger, units)
    return Seen(
        run.procedure,
        run.ledger,
        run.judgement,
        units,
        lambda remark: tell(speaker.finding(remark, Severity.HEED), units).statement,
    )


def as_left(run: JudgedRun, units: UnitSet) -> dict[str, str]:
    """Return by proof what it showed; proofs of no figure are left out."""
    if not run.ledger.of_run(run.judgement.run).standing:
        return {}
    return {one.key: said for one in settings_of(run, units) if (said := _said(one, units))}


def _said(one: Setting, units: UnitSet) -> str:
    if one.as_left is not None and isinstance(one.as_left.value, int | float):
        value: float = one.as_left.value
    elif one.runs:
        value = one.runs[-1]
    else:
        return ""
    told = in_words(value, one.quantity, units)
    return f"{told}, {len(one.runs)} runs" if len(one.runs) > 1 else told
