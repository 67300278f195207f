"""Ask for a study: the finished one at once where it was worked out before, else a job in the queue."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from steadyhead.errors import InputError
from steadyhead.register import Register, now_text
from steadyhead.register import jobs as kept
from steadyhead.register.tables import record, revision
from steadyhead.services.jobs.keys import ID_LENGTH, Ground, result_key, study_id
from steadyhead.services.jobs.kinds import KINDS, Lane, of_lane
from steadyhead.services.stations.kept import not_kept
from steadyhead.station.canonical import canonical

MOST_WAITING: dict[Lane, int] = {"studies": 20, "pictures": 200}
"""Most jobs of a register that wait. Own estimate."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What came of asking.

    state: as of a job; *done* also where the study is kept and no job is known any more. study: id of the
    record of a finished study, empty before.
    """

    id: str
    kind: str
    station: str
    state: kept.State
    study: str
    is_new: bool


def ground_of(connection: Connection, key: str) -> Ground:
    """Return the last revision of a station.

    Raises
    ------
    NotKept
        No station of that key.
    """
    c = revision.c
    query = select(c.station, c.number, c.file, c.canonical).where(c.station == key)
    found = connection.execute(query.order_by(c.number.desc()).limit(1)).first()
    if found is None:
        raise not_kept(key)
    return Ground(*found)


def ask(register: Register, key: str, kind: str, spec: Mapping[str, Any], who: str) -> Asked:
    """Ask for a study of the last revision of a station.

    Parameters
    ----------
    register, key
        Where the station is kept, and its key.
    kind, spec
        One of `kinds.KINDS`, and what it is to be made with: plain data.
    who
        Who asks.

    Raises
    ------
    NotKept
        No station of that key.
    InputError
        Too many jobs wait already.
    """
    with register.caching() as connection:
        return ask_in(connection, key, kind, spec, who)


def ask_in(connection: Connection, key: str, kind: str, spec: Mapping[str, Any], who: str) -> Asked:
    """Ask for a study inside a transaction; see `ask`."""
    ground = ground_of(connection, key)
    digest = result_key(key, ground.canonical, kind, spec)
    job_id, study = digest[:ID_LENGTH], study_id(digest)
    is_kept = connection.execute(select(record.c.id).where(record.c.id == study)).first() is not None
    if is_kept:
        return Asked(job_id, kind, key, "done", study, False)
    known = kept.job_of(connection, job_id)
    if known is not None and known.is_open:
        return Asked(job_id, kind, key, known.state, "", False)
    _refuse_too_many(connection, kind)
    at = now_text()
    if known is not None:
        kept.again(connection, job_id, who, at)
        return Asked(job_id, kind, key, "asked", "", True)
    full = {"ask": dict(spec), "file": ground.file, "canonical": ground.canonical, "revision": ground.number}
    row = {
        "id": job_id, "kind": kind, "station": key, "spec_hash": digest, "spec": canonical(full).decode(),
        "asked_at": at, "asked_by": who,
    }  # fmt: skip
    is_new = kept.put(connection, row)
    return Asked(job_id, kind, key, "asked", "", is_new)


def _refuse_too_many(connection: Connection, kind: str) -> None:
    lane = KINDS[kind].lane
    most = MOST_WAITING[lane]
    if kept.waiting(connection, of_lane(lane)) >= most:
        raise InputError(
            "study",
            f"is not taken: {most} jobs wait already.",
            "Wait until some are finished, or stop those nobody needs, under Jobs.",
        )


def begin_again(register: Register, job_id: str, who: str) -> Asked:
    """Ask anew for what a job was asked for that was stopped or failed, of the station's last revision.

    Cases that were finished are kept: of the same revision it goes on from them.

    Raises
    ------
    InputError
        No such job, or too many wait already.
    """
    with register.caching() as connection:
        job = kept.job_of(connection, job_id)
        if job is None:
            raise no_job(job_id)
        return ask_in(connection, job.station, job.kind, json.loads(job.spec)["ask"], who)


def stop(register: Register, job_id: str) -> bool:
    """Stop a job: at once where it waits, within seconds where it is at work; False: it is over already.

    Raises
    ------
    InputError
        No such job.
    """
    with register.caching() as connection:
        if kept.stop(connection, job_id, now_text()):
            return True
        if kept.job_of(connection, job_id) is None:
            raise no_job(job_id)
    return False


def no_job(job_id: str) -> InputError:
    """Return the refusal for a job that is not known."""
    from steadyhead.services.stations.kept import NotKept

    return NotKept("job", f"{job_id[:40]!r} is not known here.", "See the list under Jobs.")
