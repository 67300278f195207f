"""A file copied with its checksum: what is kept is what was summed, whoever changes the file meanwhile."""

from __future__ import annotations

import errno
import hashlib
import os
import time
from collections.abc import Callable
from io import FileIO
from mmap import mmap
from pathlib import Path

from steadyhead.errors import InputError

AT_ONCE = 1 << 22
"""Bytes copied at a time."""
State = tuple[int, ...]
"""What changes with a file's content: its device, its number there, size, and times."""
ALIGNED = 4096
"""What a write past the system's memory for files is a multiple of. [bytes]"""
SETTLED = 2.0
"""How long nobody has written to a file of which a change is seen by its time. [s]"""


class Halted(Exception):
    """Nobody waits for the copy any more."""


def copied(
    source: Path, target: Path, *, is_past_memory: bool = False, is_halted: Callable[[], bool] = lambda: False
) -> tuple[str, int]:
    """Copy a file and return SHA-256 and size of what was copied [bytes]; it is not on the disk by then.

    is_past_memory: nobody reads the copy soon, so it need not lie in the system's memory for files, where the
    system can write past it; is_halted: asked for each block.

    Raises
    ------
    InputError
        It cannot be read, or there is no room.
    Halted
        `is_halted` said so.
    """
    digest, size = hashlib.sha256(), 0
    try:
        with (
            source.open("rb", buffering=0) as given,
            _opened(target, is_past_memory) as out,
            mmap(-1, AT_ONCE) as block,  # begins at a page, as writing past the memory wants it
            memoryview(block) as whole,
        ):
            while count := given.readinto(block):
                if is_halted():
                    raise Halted
                with whole[:count] as some:
                    digest.update(some)
                    _put(out, some)
                size += count
    except OSError as problem:
        reason = problem.strerror or "the name cannot be used"
        raise InputError(
            str(source), f"cannot be read or kept: {reason}.", "Name a file that is there, and see for room."
        ) from None
    return digest.hexdigest(), size


def _opened(target: Path, is_past_memory: bool) -> FileIO:
    if is_past_memory and hasattr(os, "O_DIRECT"):
        try:
            return FileIO(target, "w", opener=lambda path, flags: os.open(path, flags | os.O_DIRECT, 0o666))
        except OSError:
            pass  # not every file system can; what else is wrong is met below
    return FileIO(target, "w")


def _put(out: FileIO, block: memoryview) -> None:
    """Write all of a block; plainly what cannot be written past the memory, as the end of a file."""
    at = 0
    while at < len(block):
        if (len(block) - at) % ALIGNED:
            _write_plainly(out)
        try:
            at += out.write(block[at:])
        except OSError as problem:
            if problem.errno != errno.EINVAL or not _write_plainly(out):
                raise


def _write_plainly(out: FileIO) -> bool:
    """Write through the memory from now on; False: it does so already."""
    if not hasattr(os, "O_DIRECT"):
        return False
    import fcntl

    flags = fcntl.fcntl(out, fcntl.F_GETFL)
    if not flags & os.O_DIRECT:
        return False
    fcntl.fcntl(out, fcntl.F_SETFL, flags & ~os.O_DIRECT)
    return True


def state_of_file(path: Path) -> State | None:
    """Return what changes with a file's content; None: it cannot be told by that, it was just written."""
    told = path.stat()
    if not 0 <= told.st_mtime < time.time() - SETTLED:
        return None
    return told.st_dev, told.st_ino, told.st_size, told.st_mtime_ns, told.st_ctime_ns
