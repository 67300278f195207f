"""Hold a folder: one app at a time on an embedded register. The hold ends with its process, in any way."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from steadyhead.errors import InputError

NAME = "serving.lock"


class Hold:
    """A held folder; `let_go` gives it back, and so does the end of the process."""

    def __init__(self, handle: int) -> None:
        self._handle: int | None = handle

    def let_go(self) -> None:
        """Give the folder back."""
        if self._handle is not None:
            os.close(self._handle)  # closing gives up the lock
            self._handle = None


def hold(folder: Path) -> Hold:
    """Hold a folder for this process.

    The lock is the system's, on an open file: it is gone when the process is, also after a kill, so that no
    file has to be taken away by hand.

    Raises
    ------
    InputError
        Another process holds it, or the folder cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle = os.open(folder / NAME, os.O_RDWR | os.O_CREAT, 0o600)
    except OSError as problem:
        raise InputError(
            str(folder), f"cannot be used: {problem.strerror}.", "Name a folder that can be written."
        ) from None
    try:
        _lock(handle)
    except OSError:
        told = os.read(handle, 200).decode("utf-8", "replace").strip()
        os.close(handle)
        where = f" ({told})" if told else ""
        raise InputError(
            str(folder), f"is open in another process already{where}.",
            "Use the one that is open, or end it; or name another folder.",
        ) from None  # fmt: skip
    tell(handle, f"process {os.getpid()}")
    return Hold(handle)


def tell(handle: int, words: str) -> None:
    """Leave word in the held file, for whoever finds it held."""
    os.ftruncate(handle, 0)
    os.lseek(handle, 0, os.SEEK_SET)
    os.write(handle, words.encode())


if sys.platform == "win32":  # pragma: no cover
    import msvcrt

    _FAR = 1 << 30

    def _lock(handle: int) -> None:
        os.lseek(handle, _FAR, os.SEEK_SET)
        msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        os.lseek(handle, 0, os.SEEK_SET)

else:
    import fcntl

    def _lock(handle: int) -> None:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
