"""People of a team: access to their rows, which change; the chain tells each change without the secret."""

from __future__ import annotations

import os
import secrets
import time
import unicodedata
import uuid
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from sqlalchemy import ColumnElement, Connection, Row, and_, delete, exists, func, insert, select, update

from steadyhead.register import tables
from steadyhead.register.core import Register, Writing

Role = Literal["look", "record", "engineer", "administer"]
State = Literal["invited", "active", "suspended"]
KEY_FILE = "session.key"
ENDED = "ended session "
_SHOWN = (tables.account.c.id, tables.account.c.name, tables.account.c.role, tables.account.c.state,
          tables.account.c.epoch, tables.account.c.at)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Account:
    """A person of the team, without the secret. epoch: grows with each change that ends their sessions."""

    id: str
    name: str
    role: Role
    state: State
    epoch: int
    at: str


def _account(row: Row[Any, Any, Any, Any, Any, Any] | None) -> Account | None:
    return None if row is None else Account(**row._mapping)


def folded(name: str) -> str:
    """Return a name as it is compared: whoever writes it in capitals is the same person."""
    return unicodedata.normalize("NFKC", name).casefold().strip()


def everyone(connection: Connection) -> tuple[Account, ...]:
    """Return all accounts by name."""
    rows = connection.execute(select(*_SHOWN).order_by(tables.account.c.name))
    return tuple(Account(**row._mapping) for row in rows)


def by_id(connection: Connection, account: str) -> Account | None:
    """Return an account by its id."""
    return _account(connection.execute(select(*_SHOWN).where(tables.account.c.id == account)).first())


def by_name(connection: Connection, name: str) -> Account | None:
    """Return an account by its name, however it is written."""
    wanted = folded(name)
    return next((one for one in everyone(connection) if folded(one.name) == wanted), None)


def secret_of(connection: Connection, account: str) -> str:
    """Return what a password is verified against; empty where none is set."""
    found = connection.execute(select(tables.account.c.secret).where(tables.account.c.id == account))
    return str(found.scalar() or "")


def administrators(connection: Connection) -> int:
    """Return how many people can administer: active, with a password."""
    can = and_(
        tables.account.c.role == "administer",
        tables.account.c.state == "active",
        tables.account.c.secret != "",
    )
    return int(connection.execute(select(func.count()).select_from(tables.account).where(can)).scalar_one())


def is_any(register: Register) -> bool:
    """Return whether there is any account at all."""
    with register.reading() as connection:
        return connection.execute(select(tables.account.c.id).limit(1)).first() is not None


def in_session(connection: Connection, account: str, epoch: int, session: str) -> Account | None:
    """Return who a session belongs to, in one statement; None where it has ended."""
    has_ended = exists().where(tables.setting.c.name == f"{ENDED}{session}")
    wanted = and_(
        tables.account.c.id == account,
        tables.account.c.epoch == epoch,
        tables.account.c.state == "active",
        ~has_ended,
    )
    return _account(connection.execute(select(*_SHOWN).where(wanted)).first())


def add(writing: Writing, name: str, role: Role) -> Account:
    """Add a person who has yet to set a password."""
    made = Account(str(uuid.uuid4()), name, role, "invited", 0, writing.at)
    row = {
        "id": made.id,
        "name": name,
        "role": role,
        "state": made.state,
        "epoch": 0,
        "secret": "",
        "at": made.at,
    }
    writing.connection.execute(insert(tables.account).values(row))
    writing.tell("person added", made.id, name=name, role=role)
    return made


def change(writing: Writing, before: Account, act: str, **values: str) -> None:
    """Change a row and end every session of that person.

    act: what the chain says was done. values: columns; a secret is not told.
    """
    new = values | {"epoch": before.epoch + 1}
    writing.connection.execute(update(tables.account).where(tables.account.c.id == before.id).values(new))
    told = {name: value for name, value in values.items() if name != "secret"}
    writing.tell(act, before.id, name=before.name, **told)


def end_session(register: Register, session: str, lasts: float) -> None:
    """Refuse a session from now on; what has run out by itself meanwhile is forgotten."""
    now = time.time()
    ended = tables.setting.c.name.like(f"{ENDED}%")
    with register.caching() as connection:
        for name, value in connection.execute(select(tables.setting).where(ended)).all():
            if float(value) < now:
                connection.execute(delete(tables.setting).where(tables.setting.c.name == name))
        name = f"{ENDED}{session}"
        connection.execute(delete(tables.setting).where(tables.setting.c.name == name))
        connection.execute(insert(tables.setting).values(name=name, value=f"{now + lasts:.0f}"))


def session_key(register: Register) -> str:
    """Return the key that sessions are signed with; made where there is none.

    Beside an embedded database it is a file that only its owner reads; a server's keeps it in a row.
    """
    if register.folder:
        return _key_in_file(Path(register.folder) / KEY_FILE)
    with register.writing("steadyhead") as writing:
        wanted = select(tables.setting.c.value).where(tables.setting.c.name == "session key")
        found = writing.connection.execute(wanted).scalar()
        if found is None:
            found = secrets.token_hex(32)
            writing.connection.execute(insert(tables.setting).values(name="session key", value=found))
            writing.tell("key of sessions made", "register")
    return str(found)


def _key_in_file(path: Path) -> str:
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        kept = path.read_text("ascii").strip()
        if len(kept) >= 64:
            return kept
        path.unlink()
        return _key_in_file(path)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        made = secrets.token_hex(32)
        file.write(made)
        file.flush()
        os.fsync(file.fileno())
    return made


# Attempts to sign in -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Tries:
    """Attempts that failed of late: how many, and when the last one was. [s since 1970]"""

    count: int = 0
    last: float = 0.0


AHEAD = 60.0
"""How far before a clock an attempt may lie; one beyond was noted before the clock was set back. [s]"""


def tries(
    connection: Connection, name: str, address: str, since: float, now: float = float("inf")
) -> tuple[Tries, Tries]:
    """Return the failed attempts on a name, and from an address, since a moment and until now."""
    return (
        _tries(connection, tables.attempt.c.name == name, since, now + AHEAD),
        _tries(connection, tables.attempt.c.address == address, since, now + AHEAD),
    )


def _tries(connection: Connection, which: ColumnElement[bool], since: float, until: float) -> Tries:
    late = and_(which, tables.attempt.c.at > since, tables.attempt.c.at <= until)
    wanted = select(func.count(), func.max(tables.attempt.c.at)).where(late)
    count, last = connection.execute(wanted).one()
    return Tries(int(count), float(last or 0.0))


def note_try(connection: Connection, name: str, address: str, at: float, since: float) -> None:
    """Count an attempt, before its password is tried; older ones are cleared away."""
    connection.execute(delete(tables.attempt).where(tables.attempt.c.at <= since))
    connection.execute(insert(tables.attempt).values(name=name, address=address, at=at))


def forget_tries(connection: Connection, name: str) -> None:
    """Forget the attempts on a name: its person has signed in. Those on other names still count."""
    connection.execute(delete(tables.attempt).where(tables.attempt.c.name == name))
