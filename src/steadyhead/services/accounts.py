"""People of a team: who they are, what they may do, how they sign in. One function for each thing done."""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from argon2 import PasswordHasher
from argon2.exceptions import Argon2Error, InvalidHashError
from sqlalchemy import Connection

from steadyhead.errors import InputError
from steadyhead.register import Register, accounts
from steadyhead.register.accounts import Account, Role, State
from steadyhead.services.names import one_line

LEAST_SIGNS, MOST_SIGNS = 12, 200
"""Shortest and longest password. Common practice: length before kinds of signs."""
FREE_TRIES, FREE_TRIES_OF_ADDRESS = 4, 20
"""Failed attempts on one name, or from one address, before each further one has to wait. Own estimates."""
LONGEST_WAIT = 900.0
"""Longest wait between attempts. [s] Own estimate."""
COUNTED = 24 * 3600.0
"""How long a failed attempt counts. [s] Own estimate."""
OURS = ("steadyhead", "local", "this machine", "this machine's user")
"""Names under which the chain tells what nobody of a team did."""
AT_ONCE = 2
"""Passwords tried at once; each takes 64 MB of memory for a moment."""
WRONG = "name and password do not belong together, or the account is not in use."

_turns = threading.BoundedSemaphore(AT_ONCE)
Now = Callable[[], float]


class TooManyTries(InputError):
    """Too many attempts; knows how long to wait. seconds: whole, rounded up."""

    def __init__(self, seconds: int) -> None:
        super().__init__("name", "Too many tries went wrong.", f"Wait {_how_long(seconds)}, then try again.")
        self.seconds = seconds


@dataclass(frozen=True, slots=True)
class Person:
    """A person of the team as the list shows them."""

    id: str
    name: str
    role: Role
    state: State
    since: str


@lru_cache(maxsize=1)
def _hasher() -> PasswordHasher:
    return PasswordHasher()


@lru_cache(maxsize=1)
def _nobodys() -> str:
    """Return a secret that no password opens, verified where a name is not known: it takes the same time."""
    return _hasher().hash("nobody " + hashlib.sha256(str(time.time_ns()).encode()).hexdigest())


def sign_in(register: Register, name: str, password: str, address: str, now: Now = time.time) -> Account:
    """Return the account that a name and password belong to.

    The attempt is counted before the password is tried. Unknown names, wrong passwords and suspended accounts
    are answered with the same words after the same work.

    Raises
    ------
    TooManyTries
        After several failed ones each further one has to wait, twice as long as the one before.
    InputError
        They do not belong together.
    """
    at = now()
    who = _told(name)
    with register.caching() as connection:
        _wait_over(connection, who, address, at)
        accounts.note_try(connection, who, address, at, at - COUNTED)
    with register.reading() as connection:
        found = accounts.by_name(connection, name) if name else None
        secret = accounts.secret_of(connection, found.id) if found else ""
    fits = _fits(secret or _nobodys(), password) and bool(secret)
    if found is None or not fits or found.state != "active":
        raise InputError("", WRONG, "Type both again.")
    with register.caching() as connection:
        accounts.forget_tries(connection, who)
    return found


def _wait_over(connection: Connection, who: str, address: str, at: float) -> None:
    on_name, from_there = accounts.tries(connection, who, address, at - COUNTED, at)
    waits = (
        _wait(on_name, FREE_TRIES, at),
        _wait(from_there, FREE_TRIES_OF_ADDRESS, at),
    )
    if (left := max(waits)) > 0:
        raise TooManyTries(int(left) + 1)


def _wait(tries: accounts.Tries, free: int, at: float) -> float:
    """Return how long one has to wait still. [s]"""
    if tries.count < free:
        return 0.0
    return tries.last + min(LONGEST_WAIT, 2.0 ** min(tries.count - free + 1, 20)) - at


def _told(name: str) -> str:
    """Return what an attempt is counted under: not the name, since people type passwords there."""
    return hashlib.sha256(accounts.folded(name[:1000]).encode("utf-8", "replace")).hexdigest()[:32]


def _fits(secret: str, password: str) -> bool:
    with _turns:
        try:
            return _hasher().verify(secret, password[: MOST_SIGNS + 1].encode("utf-8", "replace"))
        except (Argon2Error, InvalidHashError):
            return False


def _how_long(seconds: int) -> str:
    return f"{seconds} s" if seconds < 120 else f"{-(-seconds // 60)} min"


def people(register: Register) -> tuple[Person, ...]:
    """Return everyone of the team by name."""
    with register.reading() as connection:
        return tuple(
            Person(one.id, one.name, one.role, one.state, one.at) for one in accounts.everyone(connection)
        )


def add(register: Register, name: str, role: Role, by: str) -> Account:
    """Add a person, who sets their password by a link made for them.

    Raises
    ------
    InputError
        The name is taken, or cannot be used.
    """
    plain = one_line("name", name)
    if accounts.folded(plain) in OURS:
        raise InputError("name", f"{plain!r} is what the chain calls this program.", "Write another name.")
    with register.writing(by) as writing:
        if accounts.by_name(writing.connection, plain) is not None:
            raise InputError("name", f"{plain!r} is taken.", "Add something that tells the two apart.")
        return accounts.add(writing, plain, role)


def set_role(register: Register, account: str, role: Role, by: str) -> Account:
    """Give a person another role; their sessions end.

    Raises
    ------
    InputError
        The person is not there, or the last one who can administer.
    """
    return _changed(register, account, by, "role changed", role=role)


def suspend(register: Register, account: str, by: str) -> Account:
    """Suspend a person: their sessions end at once, they cannot sign in; what they did stays.

    Raises
    ------
    InputError
        As `set_role`.
    """
    return _changed(register, account, by, "person suspended", state="suspended")


def resume(register: Register, account: str, by: str) -> Account:
    """Let a suspended person in again, by a password set anew.

    Raises
    ------
    InputError
        The person is not there.
    """
    return _changed(register, account, by, "person resumed", state="invited", secret="")


def renew(register: Register, account: str, by: str) -> Account:
    """Take a person's password away, so that they set a new one by a link; their sessions end.

    Raises
    ------
    InputError
        As `set_role`.
    """
    return _changed(register, account, by, "password taken away", state="invited", secret="")


def _changed(register: Register, account: str, by: str, act: str, **values: str) -> Account:
    with register.writing(by) as writing:
        before = accounts.by_id(writing.connection, account)
        if before is None:
            raise InputError("person", "is not of the team.", "Open the list of people again.")
        accounts.change(writing, before, act, **values)
        if _could(before) and not accounts.administrators(writing.connection):
            raise InputError(
                "person", f"{before.name} is the last one who can administer.",
                "Give another person the right to administer first, and let them sign in once.",
            )  # fmt: skip
        after = accounts.by_id(writing.connection, account)
    assert after is not None
    return after


def _could(account: Account) -> bool:
    return account.role == "administer" and account.state == "active"


def set_password(register: Register, account: Account, password: str, by: str = "") -> Account:
    """Set a password: the first one by a link, or a new one of one's own. Every session of the person ends.

    account: as it was when the link was made or the page was asked for; where it has changed since, the link
    is used up.

    Raises
    ------
    InputError
        Too short, too long, the name itself; or the link is used up.
    """
    _good(password, account.name)
    with _turns:
        secret = _hasher().hash(password.encode("utf-8", "replace"))
    with register.writing(by or account.name) as writing:
        now = accounts.by_id(writing.connection, account.id)
        if now is None or now.epoch != account.epoch or now.state == "suspended":
            raise InputError("password", "cannot be set by this link any more.", "Ask for a new link.")
        accounts.change(writing, now, "password set", secret=secret, state="active")
        after = accounts.by_id(writing.connection, account.id)
    assert after is not None
    return after


def change_password(register: Register, account: str, old: str, new: str, address: str) -> Account:
    """Change one's own password, knowing the old one; every other session of the person ends.

    Raises
    ------
    InputError
        The old one is wrong, the new one cannot be used.
    """
    with register.reading() as connection:
        found = accounts.by_id(connection, account)
    if found is None:
        raise InputError("old", "is not right.", "Type it again.")
    _good(new, found.name, "new")
    try:
        sign_in(register, found.name, old, address)
    except TooManyTries:
        raise
    except InputError:
        raise InputError("old", "is not right.", "Type it again.") from None
    return set_password(register, found, new)


def _good(password: str, name: str, field: str = "password") -> None:
    if len(password) < LEAST_SIGNS:
        raise InputError(
            field, f"has {len(password)} signs.", f"Take {LEAST_SIGNS} or more; four words are easy to keep."
        )
    if len(password) > MOST_SIGNS:
        raise InputError(field, f"has {len(password)} signs.", f"Take {MOST_SIGNS} at most.")
    if accounts.folded(password) == accounts.folded(name) or len(set(password)) < 5:
        raise InputError(field, "is easily guessed.", "Take four words that do not belong together.")


def has_administrator(register: Register) -> bool:
    """Return whether somebody can administer: active, with a password."""
    with register.reading() as connection:
        return accounts.administrators(connection) > 0


def first_administrator(register: Register, name: str) -> Account:
    """Return the account of a name with the right to administer, made where there is none.

    For the person at the machine the register lies on; the chain names it as their doing.

    Raises
    ------
    InputError
        The name cannot be used.
    """
    plain = one_line("--administrator", name)
    with register.reading() as connection:
        found = accounts.by_name(connection, plain)
    made = found or add(register, plain, "administer", "this machine")
    if made.role != "administer":
        made = set_role(register, made.id, "administer", "this machine")
    if made.state == "suspended":
        made = resume(register, made.id, "this machine")
    return made
