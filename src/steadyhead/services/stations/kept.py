"""Stations that are kept: their rows, and the files of their revisions."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, select

from steadyhead.errors import InputError, StationError
from steadyhead.register import Register
from steadyhead.register.tables import blob, revision, station
from steadyhead.services.stations.proofs import look_up

LONGEST_KEY = 24
"""Most characters of a station's key, as of every id of the station file."""

RESERVED = ("new", "import")
"""Words that stand in addresses where else a station's key does."""
NO_FILE_NAMES = frozenset(
    ("con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(10)))
)
"""Names that Windows gives its devices: no file can bear one there, with any ending."""
MOST_REVISIONS = 1_000_000
"""No station has as many revisions. Own estimate."""


class NotKept(InputError):
    """A station, revision or record that the register does not hold."""


@dataclass(frozen=True, slots=True)
class StationRow:
    """What the list knows of a station; see `register.tables.station`."""

    key: str
    name: str
    place: str
    head: int
    weight: int
    worst: str
    proof: str
    proof_words: str
    next_due: str
    due_words: str
    changed_at: str
    released: str
    struck: str
    gist_day: str


@dataclass(frozen=True, slots=True)
class Head:
    """One revision of a station file.

    Parameters
    ----------
    key, number
        Station and number of the revision, from 1.
    file_hash, source
        SHA-256 of the bytes, and the bytes as given.
    at, who, why
        When it was saved, by whom, and the reason given.
    based_on
        Number of the revision it was made from; 0: none.
    proof
        Hash of the record of its protection proof; empty: there is none.
    """

    key: str
    number: int
    file_hash: str
    source: bytes
    at: str
    who: str
    why: str = ""
    based_on: int = 0
    proof: str = ""


class Conflict(StationError):
    """Somebody saved another revision meanwhile; nothing was saved, nothing is lost.

    Parameters
    ----------
    base
        Revision the editing began with.
    mine
        The bytes that were to be saved.
    theirs
        The last revision now.
    why
        Reason given for the saving.
    """

    def __init__(self, base: Head, mine: bytes, theirs: Head, why: str = "") -> None:
        self.base, self.mine, self.theirs, self.why = base, mine, theirs, why
        super().__init__(
            f"{theirs.key}: revision {theirs.number} was saved by {theirs.who} after revision {base.number}. "
            "Nothing was saved. Look at both, then save again."
        )


def check_new_key(key: str) -> None:
    """Refuse a key that no new station can have.

    Raises
    ------
    InputError
        It is a word of this app, or a name that Windows writes no file under.
    """
    if key.casefold() in RESERVED:
        raise InputError("station.id", f"is {key!r}, a word of this app.", "Give it another id.")
    if key.casefold().partition(".")[0].rstrip() in NO_FILE_NAMES:
        problem = f"is {key!r}; Windows cannot write a file of that name."
        raise InputError(
            "station.id", problem, f"Give it another id, e.g. {key.partition('.')[0].rstrip()}-1."
        )


COLUMNS = tuple(station.c[name] for name in StationRow.__dataclass_fields__)


def not_kept(key: str) -> NotKept:
    """Return the refusal for a station that is not kept."""
    return NotKept("station", f"{key[:40]!r} is not kept here.", "Look it up under Stations.")


def station_row(connection: Connection, key: str) -> StationRow:
    """Return the row of a station.

    Raises
    ------
    NotKept
        No station of that key.
    """
    found = connection.execute(select(*COLUMNS).where(station.c.key == key)).first()
    if found is None:
        raise not_kept(key)
    return StationRow(*found)


def head_in(connection: Connection, key: str, number: int = 0) -> Head:
    """Return a revision of a station file, the last one where no number is given.

    Raises
    ------
    NotKept
        No such station, or no such revision.
    """
    c = revision.c
    query = (
        select(c.station, c.number, c.file, blob.c.bytes, c.at, c.who, c.why, c.based_on, c.canonical)
        .join(blob, blob.c.hash == c.file)
        .where(c.station == key)
        .order_by(c.number.desc())
        .limit(1)
    )
    is_possible = 0 <= number < MOST_REVISIONS
    asked = query.where(c.number == number) if number else query
    found = connection.execute(asked).first() if is_possible else None
    if found is not None:
        proof = look_up(connection, found.station, found.file, found.canonical)
        return Head(*found[:3], bytes(found[3]), *found[4:8], proof)
    if not number:
        raise not_kept(key)
    raise NotKept("revision", f"{key[:40]} has no revision {number}.", "See the list of its revisions.")


def head_file(register: Register, key: str) -> Head:
    """Return the last revision of a station file.

    Raises
    ------
    NotKept
        No station of that key.
    """
    with register.reading() as connection:
        return head_in(connection, key)


def revision_file(register: Register, key: str, number: int) -> Head:
    """Return one revision of a station file.

    Raises
    ------
    NotKept
        No such station or revision.
    """
    with register.reading() as connection:
        return head_in(connection, key, number)
