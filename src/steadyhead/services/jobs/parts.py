"""Finished cases of a job, kept while it is at work: what one worker began another goes on with."""

from __future__ import annotations

from sqlalchemy import delete, insert, select
from sqlalchemy.exc import IntegrityError

from steadyhead.register import Register, now_text
from steadyhead.register.tables import prepared as table
from steadyhead.station.canonical import sha256


class Parts:
    """Finished cases of one job under their names, as bytes.

    key: the job's; what it holds may be thrown away at any time, then the cases are worked out again.
    """

    def __init__(self, register: Register, station: str, key: str) -> None:
        self._register = register
        self._station = station
        self._key = key
        self._kind = f"part {key}"
        self._known: dict[str, bytes] = {}

    def load(self) -> int:
        """Read what is kept and return how many cases that are."""
        query = select(table.c.key, table.c.body).where(
            table.c.station == self._station, table.c.kind == self._kind
        )
        with self._register.reading() as connection:
            self._known = {row.key: bytes(row.body) for row in connection.execute(query)}
        return len(self._known)

    def __len__(self) -> int:
        return len(self._known)

    def get(self, name: str) -> bytes | None:
        """Return a finished case; None: it is not there."""
        return self._known.get(self._name(name))

    def put(self, name: str, content: bytes) -> None:
        """Keep a finished case."""
        key = self._name(name)
        self._known[key] = content
        row = {
            "key": key, "kind": self._kind, "station": self._station, "body": content, "at": now_text(),
        }  # fmt: skip
        try:
            with self._register.caching() as connection:
                connection.execute(insert(table).values(row))
        except IntegrityError:
            return  # another worker kept the same case meanwhile

    def clear(self) -> None:
        """Throw away what is kept: the job is finished."""
        self._known.clear()
        with self._register.caching() as connection:
            connection.execute(
                delete(table).where(table.c.station == self._station, table.c.kind == self._kind)
            )

    def _name(self, name: str) -> str:
        return sha256(f"{self._key}\0{name}".encode())
