"""How a run stands, in few facts: one row a run, which says of how many entries, and what code judged it.

After an upgrade the row is the last known: it is shown with a mark until the run is judged anew.
"""

from __future__ import annotations

import json
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, delete, func, insert, select
from sqlalchemy.exc import IntegrityError

from steadyhead.errors import StationError
from steadyhead.procedure.record import lay
from steadyhead.procedure.steps import look
from steadyhead.procedure.touching import rests_of, touches
from steadyhead.register import Register, now_text
from steadyhead.register.tables import entry as entry_table
from steadyhead.register.tables import prepared as table
from steadyhead.register.tables import run as run_table
from steadyhead.services.prepared import LASTING, code
from steadyhead.services.running import JudgedRun, against_final, judge_run
from steadyhead.services.visits_kept.run_rows import Run, files_of, one_run
from steadyhead.station.canonical import canonical, sha256

KIND = LASTING
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
    name = _held(run)
    if name in _ready and not keep:
        _ready.move_to_end(name)
        return _ready[name]
    stored = connection.execute(select(table.c.body).where(table.c.key == key_of(run.id))).scalar()
    known = None if stored is None else _read(bytes(stored))
    if known is not None and known.is_of(run):
        return _hold(name, known.gist)
    made = _ready.get(name) or _judged(connection, run)
    if keep:
        _keep(connection, run, made)
    return _hold(name, made)


@contextmanager
def gist_at_hand(run: Run, made: RunGist) -> Iterator[None]:
    """Have at hand how a run stands that was judged already, for a transaction that is open.

    run: with as many entries as that transaction leaves. Where it fails, nothing stays at hand.
    """
    _hold(_held(run), made)
    try:
        yield
    except BaseException:
        _ready.pop(_held(run), None)
        raise


def _judged(connection: Connection, run: Run) -> RunGist:
    plan, entries = files_of(connection, run)
    return gist_of(judge_run(plan, entries, datetime.now(UTC).timestamp()))


@dataclass(frozen=True, slots=True)
class Known:
    """The last known gist of a run: of which plan and how many entries, and by what code."""

    gist: RunGist
    code: str
    plan: str
    entries: int

    def is_of(self, run: Run) -> bool:
        """Return whether it is of all the run holds, by the code of today."""
        return (self.code, self.plan, self.entries) == (code(), run.plan, run.entries)


def last_known(connection: Connection, listed: Sequence[Run]) -> dict[str, Known]:
    """Return the last known gists of runs, with one statement; nothing is judged."""
    keys = {key_of(one.id): one.id for one in listed}
    rows = connection.execute(select(table.c.key, table.c.body).where(table.c.key.in_(keys))).all()
    found = {keys[row.key]: _read(bytes(row.body)) for row in rows}
    return {run: known for run, known in found.items() if known is not None}


def judged_counts(register: Register) -> tuple[int, int]:
    """Return how many runs there are, and how many have a last known gist: cheap to ask again and again."""
    with register.reading() as connection:
        there = connection.execute(select(func.count()).select_from(run_table)).scalar_one()
        kept = connection.execute(select(func.count()).where(table.c.kind == KIND)).scalar_one()
    return int(there), int(kept)


def judge_anew(register: Register, is_ending: Callable[[], bool] = lambda: False) -> int:
    """Judge the runs other code judged, or nobody, the newest first; return how many were judged.

    For the worker, at its start: pages show the last known meanwhile.
    """
    c = run_table.c
    with register.reading() as connection:
        rows = connection.execute(select(c.station, c.id).order_by(c.at.desc(), c.id.desc())).all()
    count = 0
    for station, one in rows:
        if is_ending():
            break
        with register.reading() as connection:
            of = one_run(connection, station, one)
            known = last_known(connection, (of,)).get(one)
            if known is not None and known.is_of(of):
                continue
            try:
                made = run_gist(connection, of, keep=False)
            except StationError:
                continue  # its page tells why
        with register.caching() as connection:
            now = connection.execute(select(func.count()).where(entry_table.c.run == one)).scalar_one()
            if now == of.entries:  # else who entered has kept a newer one
                _keep(connection, of, made)
        count += 1
    return count


def key_of(run: str) -> str:
    """Return the key the gist of a run is kept under, whatever code made it."""
    return sha256(canonical({"kind": KIND, "run": run}))


def _held(run: Run) -> str:
    return f"{run.id} {run.plan} {run.entries}"


def _keep(connection: Connection, run: Run, made: RunGist) -> None:
    """Keep a gist in place of the last known one, inside a transaction that is open."""
    body = {"code": code(), "plan": run.plan, "entries": run.entries, "gist": asdict(made)}
    row = {
        "key": key_of(run.id), "kind": KIND, "station": run.station, "body": json.dumps(body).encode(),
        "at": now_text(),
    }  # fmt: skip
    try:
        with connection.begin_nested():
            connection.execute(delete(table).where(table.c.key == row["key"]))
            connection.execute(insert(table).values(row))
    except IntegrityError:
        return  # another keeps the same at this moment


def _read(body: bytes) -> Known | None:
    """Return what is kept of a run; None where other code wrote it in another form."""
    try:
        plain = json.loads(body)
        return Known(from_plain(plain["gist"]), plain["code"], plain["plan"], int(plain["entries"]))
    except (ValueError, KeyError, TypeError):
        return None


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
