"""Adding lines at the end of a file of entries: all or nothing, one writer at a time, kept on the disk."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import LONGEST_LINE, Fault, lines
from steadyhead.services.files import read_stream

PATIENCE = 10.0
"""How long another writer is waited for; own estimate: a line takes milliseconds. [s]"""
_PAUSE = 0.02
_FAR = 1 << 40
"""Byte that is locked on Windows, beyond every file: reading stays free for others."""


def append(place: str, make: Callable[[bytes], bytes], most: int) -> tuple[bytes, bytes]:
    """Add to a file what is made out of what it holds; return its content before and after.

    Nobody else adds to it meanwhile. What cannot be written whole is taken back; a machine that stops in the
    middle leaves a line cut off, and nothing is added behind such a line.

    Parameters
    ----------
    place
        Name of the file; it is made where it is not there, in a folder that is.
    make
        Gives the lines to be added, each with its end, for the content so far.
    most
        Largest file taken. [bytes]

    Raises
    ------
    InputError
        A name that cannot be used, a last line cut off, another writer that does not end, or no room.
    """
    path = Path(place)
    is_new = not path.exists()
    if is_new:
        make(b"")  # what cannot be entered leaves no empty file behind
    with _opened(path, place) as file, _alone(file, place):
        before = read_stream(file, place, most)
        _whole(before, place)
        added = make(before)
        if before and not before.endswith(b"\n"):
            added = b"\n" + added
        _write(file, len(before), added, place)
        if is_new:
            _keep_name(path.parent)
        return before, before + added


@contextmanager
def _opened(path: Path, place: str) -> Iterator[BinaryIO]:
    try:
        if path.is_dir():
            at = str(path / "entries.jsonl")
            raise InputError(place, "is a folder.", f"Name the file the entries are kept in, e.g. {at}")
        handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o644)
    except InputError:
        raise
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or "the name cannot be used"
        raise InputError(place, f"cannot be written: {reason}.", "Choose another place.") from None
    with os.fdopen(handle, "r+b", buffering=0) as file:
        yield file


@contextmanager
def _alone(file: BinaryIO, place: str) -> Iterator[None]:
    """Hold a file against every other writer that asks."""
    until = time.monotonic() + PATIENCE
    while not _taken(file):
        if time.monotonic() > until:
            problem = f"is held by another writer for more than {PATIENCE:.0f} s. Nothing was entered."
            raise InputError(place, problem, "See what else writes to it, and enter it again.")
        time.sleep(_PAUSE)
    try:
        yield
    finally:
        _let_go(file)


if sys.platform == "win32":
    import msvcrt

    def _taken(file: BinaryIO) -> bool:
        try:
            file.seek(_FAR)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        file.seek(0)
        return True

    def _let_go(file: BinaryIO) -> None:
        with suppress(OSError):
            file.seek(_FAR)
            msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _taken(file: BinaryIO) -> bool:
        try:
            fcntl.flock(file.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError as problem:
            remedy = "Keep the file on a disk of this machine and enter it there."
            raise InputError("entries", f"cannot be held for writing: {problem.strerror}.", remedy) from None
        return True

    def _let_go(file: BinaryIO) -> None:
        fcntl.flock(file.fileno(), fcntl.LOCK_UN)


def _whole(content: bytes, place: str) -> None:
    """Refuse a file whose last line was cut off."""
    if not content or content.endswith(b"\n"):
        return
    last = content[content.rfind(b"\n") + 1 :]
    if not last.strip():
        return
    found = next(iter(lines(last, place)), None) if len(last) <= LONGEST_LINE else Fault(place, 1, "", "")
    if isinstance(found, Fault):
        begins = last[:50].decode("utf-8", "replace")
        problem = f"ends in a line that was cut off; it begins {begins!r}. Nothing was entered."
        remedy = "Keep a copy of the file, take that last line away, and enter again what it said."
        raise InputError(place, problem, remedy)


def _write(file: BinaryIO, size: int, added: bytes, place: str) -> None:
    try:
        file.seek(size)
        rest = memoryview(added)
        while rest:
            rest = rest[file.write(rest) :]
        os.fsync(file.fileno())
    except OSError as problem:
        with suppress(OSError):
            file.truncate(size)
            os.fsync(file.fileno())
        reason = problem.strerror or "the disk refused it"
        remedy = "Make room, or choose another place, and enter it again."
        raise InputError(place, f"cannot be written: {reason}. Nothing was entered.", remedy) from None
    except BaseException:
        with suppress(OSError):
            file.truncate(size)
        raise


def _keep_name(folder: Path) -> None:
    """Let the name of a new file reach the disk too, where the system can do that."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
