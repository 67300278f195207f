"""How a run stands, in few facts: kept ready under the run and the number of its entries."""

from __future__ import annotations

import json
from collections import OrderedDict
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, select

from steadyhead.procedure.record import lay
from steadyhead.procedure.steps import look
from steadyhead.procedure.touching import rests_of, touches
from steadyhead.register.tables import prepared as table
from steadyhead.services.prepared import keep_in, key_of
from steadyhead.services.running import JudgedRun, against_final, judge_run
from steadyhead.services.visits_kept.run_rows import Run, files_of

KIND = "run gist 2"
AT_HAND = 512
"""Gists held in this process. Own estimate."""
DONE = ("done", "accepted")


@dataclass(frozen=True, slots=True)
class RunGist:
    """The few facts of a run.

    Parameters
    ----------
    is_final
        Nothing stands against *final*.
    against
        How many things stand against it.
    signed
        What the last signature that stands asks for; empty: none.
    begun, ended
        Day of its first and its last entry, as clocks on site had it.
    last
        Time of the last entry. [s since 1970-01-01 UTC]
    done, steps
        Steps done or accepted, and steps on this way.
    next
        Steps that can be done now, the first three.
    stale, refused
        Names of the proofs that no longer stand, and of those that are none.
    touched
        Things touched after which nothing proves them in this run: name, words, day.
    people
        Who entered.
    first
        Moment of the first entry, as clocks on site had it, ISO 8601 with offset.
    """

    is_final: bool
    against: int
    signed: str
    begun: str
    ended: str
    last: float
    done: int
    steps: int
    next: tuple[str, ...]
    stale: tuple[str, ...]
    refused: tuple[str, ...]
    touched: tuple[tuple[str, str, str], ...]
    people: tuple[str, ...]
    first: str = ""


_ready: OrderedDict[str, RunGist] = OrderedDict()


def run_gist(connection: Connection, run: Run, *, keep: bool = True) -> RunGist:
    """Return how a run stands; worked out where it was not.

    keep: the connection writes: what was worked out is kept beside the run.
    """
    name = key_of(KIND, {"run": run.id, "plan": run.plan, "entries": str(run.entries)})
    if name in _ready:
        _ready.move_to_end(name)
        return _ready[name]
    stored = connection.execute(select(table.c.body).where(table.c.key == name)).scalar()
    if stored is not None:
        return _hold(name, from_plain(json.loads(bytes(stored))))
    plan, entries = files_of(connection, run)
    made = gist_of(judge_run(plan, entries, datetime.now(UTC).timestamp()))
    if keep:
        keep_in(connection, run.station, KIND, name, json.dumps(asdict(made)).encode())
    return _hold(name, made)


def _hold(name: str, made: RunGist) -> RunGist:
    _ready[name] = made
    while len(_ready) > AT_HAND:
        _ready.popitem(last=False)
    return made


def from_plain(plain: dict[str, Any]) -> RunGist:
    """Return a gist from its plain data."""
    for name in ("next", "stale", "refused", "people"):
        plain[name] = tuple(plain[name])
    plain["touched"] = tuple(tuple(one) for one in plain["touched"])
    return RunGist(**plain)


def gist_of(run: JudgedRun) -> RunGist:
    """Return the few facts of a judged run."""
    judged, ledger = run.judgement, run.ledger.of_run(run.judgement.run)
    entries = ledger.entries
    signs = [one for one in judged.signs if one.stands and not one.later]
    on_way = [one for one in judged.steps if one.state != "not on this way"]
    return RunGist(
        is_final=run.is_final,
        against=sum(1 for _, by in against_final(run) if not by),
        signed=signs[-1].asks if signs else "",
        begun=entries[0].day.isoformat() if entries else "",
        ended=entries[-1].day.isoformat() if entries else "",
        last=entries[-1].time if entries else 0.0,
        done=sum(one.state in DONE for one in on_way),
        steps=len(on_way),
        next=judged.next[:3],
        stale=tuple(one.name for one in judged.proofs if one.state == "stale"),
        refused=tuple(one.name for one in judged.proofs if one.state == "refused"),
        touched=_unproved(run),
        people=tuple(dict.fromkeys(entry.who for entry in entries if entry.who)),
        first=entries[0].clock.isoformat(timespec="minutes") if entries else "",
    )


def _unproved(run: JudgedRun) -> tuple[tuple[str, str, str], ...]:
    """Return the things touched on which no proof of the run rests that stands now."""
    from steadyhead.services.running_words import Speaker

    ledger = run.ledger.of_run(run.judgement.run)
    if not ledger.standing:
        return ()
    record = lay(run.procedure, ledger.standing)
    rests = rests_of(look(record))
    stand = {step for one in run.judgement.proofs if one.state == "valid" for step in one.steps}
    proved = frozenset().union(*(rests.get(step, frozenset()) for step in stand))
    speaker = Speaker(run.procedure, run.ledger)
    found: dict[str, tuple[str, str, str]] = {}
    for touch in touches(record):
        for thing in sorted(touch.things - proved):
            found[thing] = (thing, thing_words(speaker.name(thing), thing), touch.row.entry.day.isoformat())
    return tuple(found.values())


def thing_words(said: str, thing: str) -> str:
    """Return what a thing is called: in the words of the plan, else by its name.

    Examples
    --------
    >>> thing_words("SO.nut (lock nut of SO)", "SO.nut"), thing_words("SO.setting", "SO.setting")
    ('lock nut of SO', 'setting of SO')
    """
    if said.startswith(f"{thing} ("):
        return said[len(thing) + 2 : -1]
    part, _, what = thing.partition("@")[0].rpartition(".")
    return f"{what.replace('_', ' ')} of {part}" if part else thing


def proved_rests(run: JudgedRun) -> tuple[str, ...]:
    """Return the things the proofs of a run rest on that stand."""
    ledger = run.ledger.of_run(run.judgement.run)
    if not ledger.standing:
        return ()
    rests = rests_of(look(lay(run.procedure, ledger.standing)))
    stand = {step for one in run.judgement.proofs if one.state in ("valid", "accepted") for step in one.steps}
    return tuple(sorted(frozenset().union(*(rests.get(step, frozenset()) for step in stand))))
