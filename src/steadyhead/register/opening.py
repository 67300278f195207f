"""Open a register: a folder with an embedded database, or a server named by its URL."""

from __future__ import annotations

import uuid
from pathlib import Path
from typing import Any
from urllib.parse import quote

from sqlalchemy import Engine, create_engine, event, insert, make_url, select
from sqlalchemy.exc import ArgumentError, DBAPIError, OperationalError
from sqlalchemy.pool import NullPool, QueuePool

from steadyhead.errors import InputError
from steadyhead.register import tables
from steadyhead.register.core import Register, now_text
from steadyhead.register.migrating import migrate, refuse_unfit

FILE = "register.sqlite"
TAKEN = "postgresql://USER@HOST:PORT/NAME"
"""A server's URL, as it is written."""


def open_register(place: str | Path) -> Register:
    """Open the register in a folder, or on a PostgreSQL server (``postgresql://…``); make it where none is.

    Raises
    ------
    InputError
        It cannot be opened, or a newer version made it; says the remedy.
    """
    words = str(place)
    if "://" in words:
        refuse_other_servers(words)
        engine, folder = _server(words), ""
    else:
        Path(words).mkdir(parents=True, exist_ok=True)
        _refuse_unfit(Path(words) / FILE)
        engine, folder = _embedded(Path(words) / FILE), words
    register = Register(engine, folder)
    try:
        migrate(engine)
        _name_it(register)
    except OperationalError as problem:
        register.close()
        raise not_opened(place, problem) from None
    except BaseException:
        register.close()
        raise
    return register


def place_words(place: str | Path) -> str:
    """Return where a register lies, without the password of a server."""
    words = str(place)
    if "://" not in words:
        return words
    try:
        return str(make_url(words).set(password=None, query={}))
    except (ArgumentError, ValueError):
        return f"{words.partition('://')[0][:40]}://…"


def not_opened(place: str | Path, problem: OperationalError) -> InputError:
    """Return what is said of a database that does not let itself be opened: away, full, only to be read."""
    said = (str(problem.orig).strip().splitlines() or ["no reason given"])[0].rstrip(".:")
    remedy = (
        "Opening writes beside the database: give the right and the room to, or open a copy of the folder."
    )
    if "://" in str(place):
        remedy = "See whether the server runs, and who may come in."
    return InputError(place_words(place), f"cannot be opened: {said}.", remedy)


def refuse_other_servers(url: str, called: str = "database") -> None:
    """Refuse the URL of anything but a PostgreSQL server, where nothing would be kept as it is promised.

    called: what the person gave it as.

    Raises
    ------
    InputError
        Another scheme, or no URL at all; its password is not repeated.
    """
    scheme = url.partition("://")[0]
    if scheme != "postgresql":
        got = f"got {scheme[:40]}://…" if "://" in url else "got no URL"
        raise InputError(called, f"{got}; it takes {TAKEN}.", "Write one, or name a folder instead.")
    try:
        make_url(url)
    except (ArgumentError, ValueError):
        raise InputError(
            called, f"got a URL that cannot be read; it takes {TAKEN}.", "Write it like this."
        ) from None


def _refuse_unfit(path: Path) -> None:
    """Look at a database that is there before it is opened for writing, so that a refused one stays as it is.

    Raises
    ------
    InputError
        It is damaged, of a newer version, or holds other tables than ours.
    """
    if not path.exists() or path.stat().st_size == 0:
        return
    try:
        _look(path)
    except DBAPIError as problem:
        raise InputError(
            str(path), f"cannot be opened: {str(problem.orig).rstrip('.')}.",
            f"steadyhead verify {path.parent} says what can be read. Copy the folder before you try more.",
        ) from None  # fmt: skip


def _look(path: Path, tries: int = 3) -> None:
    engine = looking_engine(path)
    try:
        with engine.connect() as connection:
            refuse_unfit(connection)
    except OperationalError:
        if tries == 1:
            raise
        _look(path, tries - 1)  # whoever wrote it has just let go of it, and its log is gone
    finally:
        engine.dispose()


def looking_engine(path: Path) -> Engine:
    """Return an engine that reads a database as it lies there; what a killed server left beside it too."""
    # A file that nobody writes has no log beside it; then it is opened so that none is made either.
    has_log = path.with_name(f"{path.name}-wal").exists()
    how = "mode=ro" if has_log else "mode=ro&immutable=1"
    return create_engine(f"sqlite:///file:{quote(str(path.absolute()))}?{how}&uri=true", poolclass=NullPool)


def _embedded(path: Path) -> Engine:
    engine = create_engine(
        f"sqlite:///{path}", poolclass=QueuePool, pool_size=8, max_overflow=32,
        connect_args={"check_same_thread": False, "timeout": 30.0},
    )  # fmt: skip

    @event.listens_for(engine, "connect")
    def _connected(raw: Any, _: Any) -> None:
        raw.isolation_level = None  # we say BEGIN ourselves
        cursor = raw.cursor()
        for words in (
            "PRAGMA journal_mode=WAL",
            "PRAGMA synchronous=FULL",
            "PRAGMA foreign_keys=ON",
            "PRAGMA busy_timeout=30000",
            "PRAGMA cache_size=-16000",
        ):
            cursor.execute(words)
        cursor.close()

    return engine


def _server(url: str) -> Engine:
    return create_engine(
        url.replace("postgresql://", "postgresql+psycopg://", 1), pool_size=8, max_overflow=32
    )


def _name_it(register: Register) -> None:
    """Give a new register its id, told as the first link of its chain."""
    with register.reading() as connection:
        named = connection.execute(select(tables.setting).where(tables.setting.c.name == "id")).first()
    if named is not None:
        return
    with register.writing("steadyhead", now_text()) as writing:
        name = str(uuid.uuid4())
        writing.connection.execute(insert(tables.setting).values(name="id", value=name))
        writing.tell("register made", "register", id=name)
