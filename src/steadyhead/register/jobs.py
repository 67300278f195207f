"""Jobs in the register: asked for, taken by one worker, told how far they are, ended.

Every step is one statement that holds only if the job still is as it was thought to be, so that two workers
on one database never have the same job: the second one's statement changes no row.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from sqlalchemy import Connection, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from steadyhead.register.tables import job as table

State = Literal["asked", "running", "done", "failed", "stopped"]
OPEN: tuple[State, ...] = ("asked", "running")
"""States of a job that is still to come to an end."""
CUT = "The process that worked on it ended before it was finished"
"""How a job is told of that was given back."""


@dataclass(frozen=True, slots=True)
class JobRow:
    """A job as the register holds it; see `register.tables.job`.

    Parameters
    ----------
    id, spec_hash
        The job, and the hash of all that decides its result; there is one job for each.
    kind, station, spec
        What is worked out, of which station, and what for, as canonical JSON.
    state, share, words
        How it stands, how far it is [1], and at what.
    result, problem
        Where the result lies (SHA-256 of its bytes); why there is none.
    asked_at, asked_by, ended_at
        Moments as text, and who asked.
    begun_at
        When it was begun first; apart by a blank, when it was gone on with last, where it was cut off.
    beat, worker, tries
        Last sign of life [s since 1970] of the process that has it, its name, and how often it was begun.
    stop
        1: somebody wants it stopped.
    """

    id: str
    kind: str
    station: str
    spec_hash: str
    spec: str
    state: State
    share: float
    words: str
    result: str
    problem: str
    asked_at: str
    asked_by: str
    begun_at: str
    ended_at: str
    beat: float
    tries: int
    stop: int
    worker: str

    @property
    def is_open(self) -> bool:
        """Whether it is still to come to an end."""
        return self.state in OPEN


COLUMNS = tuple(table.c[name] for name in JobRow.__dataclass_fields__)


def job_of(connection: Connection, job_id: str) -> JobRow | None:
    """Return a job by its id; None: there is none."""
    found = connection.execute(select(*COLUMNS).where(table.c.id == job_id)).first()
    return None if found is None else JobRow(*found)


def put(connection: Connection, row: Mapping[str, Any]) -> bool:
    """Put a new job into the queue and return whether it was new; there may be one of its id already."""
    try:
        with connection.begin_nested():
            connection.execute(insert(table).values({"state": "asked", **row}))
    except IntegrityError:
        return False
    return True


def again(connection: Connection, job_id: str, who: str, at: str) -> bool:
    """Put a job that failed, was stopped or lost its result into the queue once more."""
    values = {
        "state": "asked", "share": 0.0, "words": "", "problem": "", "result": "", "asked_at": at,
        "asked_by": who, "begun_at": "", "ended_at": "", "beat": 0.0, "tries": 0, "stop": 0, "worker": "",
    }  # fmt: skip
    found = connection.execute(
        update(table).where(table.c.id == job_id, table.c.state.not_in(OPEN)).values(values)
    )
    return found.rowcount == 1


def waiting(connection: Connection, kinds: Collection[str]) -> int:
    """Return how many jobs of these kinds nobody has taken yet."""
    query = select(func.count()).where(table.c.state == "asked", table.c.kind.in_(kinds))
    return int(connection.execute(query).scalar_one())


def take(connection: Connection, kinds: Collection[str], worker: str, now: float, at: str) -> JobRow | None:
    """Take the job that was asked for first, for one worker; None: there is nothing to do."""
    query = (
        select(table.c.id, table.c.begun_at)
        .where(table.c.state == "asked", table.c.kind.in_(kinds))
        .order_by(table.c.asked_at, table.c.id)
        .limit(8)
    )
    for job_id, before in connection.execute(query).all():
        free = update(table).where(table.c.id == job_id, table.c.state == "asked")
        values = {
            "state": "running",
            "worker": worker,
            "beat": now,
            "begun_at": f"{before.split()[0]} {at}" if before else at,
            "share": 0.0,
            "words": "",
        }
        taken = connection.execute(free.values(tries=table.c.tries + 1, **values))
        if taken.rowcount == 1:
            return job_of(connection, job_id)
    return None


def beat(connection: Connection, mine: JobRow, now: float, share: float, words: str) -> bool | None:
    """Give a sign of life; return whether it is to be stopped. None: the job is another's by now."""
    alive = connection.execute(_held(mine).values(beat=now, share=share, words=words))
    if alive.rowcount != 1:
        return None
    return bool(connection.execute(select(table.c.stop).where(table.c.id == mine.id)).scalar())


def end(
    connection: Connection, mine: JobRow, state: State, at: str, *, result: str = "", problem: str = ""
) -> bool:
    """End a job this worker has and return whether it still had it."""
    values: dict[str, Any] = {"state": state, "ended_at": at, "result": result, "problem": problem}
    values |= {"words": "", "share": 1.0} if state == "done" else {"words": ""}
    return connection.execute(_held(mine).values(values)).rowcount == 1


def put_off(connection: Connection, mine: JobRow) -> bool:
    """Put a job this worker has back into the queue, the try not counted: the worker ends."""
    values = {"state": "asked", "words": "", "worker": "", "beat": 0.0, "tries": mine.tries - 1}
    values["problem"] = f"{CUT}: the app was ended."
    return connection.execute(_held(mine).values(values)).rowcount == 1


def _held(mine: JobRow) -> Any:
    """Return the change of a job that holds only while this worker has it, in this try."""
    c = table.c
    return update(table).where(
        c.id == mine.id, c.state == "running", c.worker == mine.worker, c.tries == mine.tries
    )


def stop(connection: Connection, job_id: str, at: str) -> bool:
    """Stop a job: at once where nobody has it, else whoever has it is told; False: it is over already."""
    c = table.c
    waits = update(table).where(c.id == job_id, c.state == "asked")
    if connection.execute(waits.values(state="stopped", ended_at=at, words="")).rowcount == 1:
        return True
    runs = update(table).where(c.id == job_id, c.state == "running")
    return connection.execute(runs.values(stop=1)).rowcount == 1


def running(connection: Connection) -> tuple[JobRow, ...]:
    """Return the jobs that workers have."""
    found = connection.execute(select(*COLUMNS).where(table.c.state == "running"))
    return tuple(JobRow(*row) for row in found)


def give_back(connection: Connection, lost: JobRow, because: str, most: int, at: str) -> State | None:
    """Put a job back whose worker is gone: into the queue, or aside where it was tried often enough.

    because: what is known of the end of the worker; most: tries. None: it is not as it was seen.
    """
    state: State = "asked"
    problem = f"{CUT}: {because}."
    if lost.stop:
        state, problem = "stopped", ""
    elif lost.tries >= most:
        state = "failed"
        problem = f"{CUT}, {lost.tries} times: {because}."
    values: dict[str, Any] = {"state": state, "problem": problem, "words": "", "worker": "", "beat": 0.0}
    if state != "asked":
        values["ended_at"] = at
    held = _held(lost).where(table.c.beat == lost.beat)
    return state if connection.execute(held.values(values)).rowcount == 1 else None


def listed(
    connection: Connection, *, station: str = "", kinds: Collection[str] = (), start: int = 0, most: int = 50
) -> tuple[Sequence[JobRow], int]:
    """Return jobs, the last ones first, and how many there are in all."""
    query = select(*COLUMNS)
    counted = select(func.count()).select_from(table)
    if station:
        query, counted = (one.where(table.c.station == station) for one in (query, counted))
    if kinds:
        query, counted = (one.where(table.c.kind.in_(kinds)) for one in (query, counted))
    ordered = query.order_by(table.c.asked_at.desc(), table.c.id).offset(start).limit(most)
    rows = [JobRow(*row) for row in connection.execute(ordered)]
    return rows, int(connection.execute(counted).scalar_one())
