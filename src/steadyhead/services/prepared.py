"""What takes long to work out is worked out once: pictures and judged sheets, kept ready to be shown."""

from __future__ import annotations

import os
import threading
from collections import OrderedDict
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache

from sqlalchemy import Connection, delete, insert, select
from sqlalchemy.exc import IntegrityError, OperationalError

from steadyhead import __version__
from steadyhead.laws.compiling import PACKAGE
from steadyhead.register import Register, now_text
from steadyhead.register.tables import prepared as table
from steadyhead.register.tables import setting
from steadyhead.services.protection import engine_digest
from steadyhead.station.canonical import canonical, sha256

LASTING = "run gist"
"""Kind of what outlives the code that made it: its row says which code; it is shown as the last known."""
AT_HAND = 64_000_000
"""Most bytes kept in this process besides the register. Own estimate."""

_ready: OrderedDict[str, bytes] = OrderedDict()
_size = 0
_alone = threading.Lock()


@lru_cache(maxsize=1)
def engine() -> str:
    """Return what names the code that works things out: version and digest of the engines."""
    return f"{__version__} {engine_digest()}"


@lru_cache(maxsize=1)
def code() -> str:
    """Return what names all the code and templates as they lie here: names, sizes and times of the files."""
    return sha256(repr((__version__, sorted(_files(str(PACKAGE))))).encode())


def _files(folder: str) -> Iterator[tuple[str, int, int]]:
    with os.scandir(folder) as found:
        for one in found:
            if one.is_dir():
                if one.name != "__pycache__":
                    yield from _files(one.path)
            else:
                told = one.stat()
                yield one.path[len(str(PACKAGE)) :], told.st_size, told.st_mtime_ns


def key_of(kind: str, parts: Mapping[str, str]) -> str:
    """Return the key of a prepared thing: kind, all that decides it, and the code that makes it."""
    return sha256(canonical({"kind": kind, "parts": dict(parts), "code": code()}))


def prepared(
    register: Register, station: str, kind: str, parts: Mapping[str, str], make: Callable[[], bytes]
) -> bytes:
    """Return a prepared thing, made now where it was not.

    station: its key, so that all of a station can be cleared; parts: hash of the file, units, width and
    whatever else decides it. What `make` raises is passed on and nothing is kept.
    """
    key = f"{register.engine.url}\0{key_of(kind, parts)}"
    with _alone:
        if (found := _ready.get(key)) is not None:
            _ready.move_to_end(key)
            return found
    content = _stored(register, key_of(kind, parts))
    if content is None:
        content = make()
        _store(register, station, kind, key_of(kind, parts), content)
    _hold(key, content)
    return content


def is_prepared(register: Register, kind: str, parts: Mapping[str, str]) -> bool:
    """Return whether it is there already, so that a page can show it at once."""
    key = f"{register.engine.url}\0{key_of(kind, parts)}"
    return key in _ready or _stored(register, key_of(kind, parts)) is not None


def clear(register: Register, station: str) -> None:
    """Throw away all that was prepared of a station."""
    with register.caching() as connection:
        connection.execute(delete(table).where(table.c.station == station))


def sweep(register: Register) -> bool:
    """Throw away what other code prepared; return whether there was any. Asked when the app starts.

    What is of the kind `LASTING` stays, until it is made anew.
    """
    with register.caching() as connection:
        last = connection.execute(select(setting.c.value).where(setting.c.name == "code")).scalar()
        if last == code():
            return False
        connection.execute(delete(table).where(table.c.kind != LASTING))
        connection.execute(delete(setting).where(setting.c.name == "code"))
        connection.execute(insert(setting).values(name="code", value=code()))
    return last is not None


def _stored(register: Register, key: str) -> bytes | None:
    with register.reading() as connection:
        found = connection.execute(select(table.c.body).where(table.c.key == key)).scalar()
    return None if found is None else bytes(found)


def _store(register: Register, station: str, kind: str, key: str, content: bytes) -> None:
    row = {"key": key, "kind": kind, "station": station, "body": content, "at": now_text()}
    try:
        with register.caching() as connection:
            connection.execute(insert(table).values(row))
    except (IntegrityError, OperationalError):
        return  # another made the same, the station is not kept yet, or no room: it is shown all the same


def keep_in(connection: Connection, station: str, kind: str, key: str, content: bytes) -> None:
    """Keep a prepared thing inside a transaction that is open; where another keeps the same, that one stays.

    key: of `key_of`.
    """
    row = {"key": key, "kind": kind, "station": station, "body": content, "at": now_text()}
    try:
        with connection.begin_nested():
            connection.execute(insert(table).values(row))
    except IntegrityError:
        return


def _hold(key: str, content: bytes) -> None:
    global _size
    with _alone:
        if key not in _ready:
            _size += len(content)
        _ready[key] = content
        while _size > AT_HAND and len(_ready) > 1:
            _, gone = _ready.popitem(last=False)
            _size -= len(gone)
