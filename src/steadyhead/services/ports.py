"""What services need from outside, as protocols: a clock, and a place to keep things."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Protocol

from steadyhead.errors import InputError


class Clock(Protocol):
    """Says what time it is."""

    def now(self) -> datetime:
        """Return the time now, with its zone."""
        ...


class Shelf(Protocol):
    """A place to keep finished papers and records; nothing on it is ever overwritten."""

    def names(self) -> tuple[str, ...]:
        """Return the names of what lies there."""
        ...

    def read(self, name: str) -> bytes:
        """Return what lies under a name.

        Raises
        ------
        InputError
            Not there, not readable, or too large.
        """
        ...

    def keep(self, name: str, content: bytes) -> str:
        """Keep `content` under a free name, all or nothing, and return where it lies."""
        ...


class SystemClock:
    """The clock of this machine, in UTC, to the second."""

    def now(self) -> datetime:
        """Return the time now."""
        return datetime.now(UTC).replace(microsecond=0)


class FolderShelf:
    """A folder as a shelf: written beside, flushed, then named; an existing name is refused."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def names(self) -> tuple[str, ...]:
        """Return the names of the files in the folder.

        Raises
        ------
        InputError
            When the folder cannot be listed.
        """
        try:
            return tuple(sorted(path.name for path in self._folder.iterdir() if path.is_file()))
        except OSError as problem:
            raise InputError(
                str(self._folder), f"cannot be listed: {problem.strerror}.", "Check the rights on it."
            ) from None

    def read(self, name: str) -> bytes:
        """Return what lies under a name; see `Shelf.read`."""
        from steadyhead.services.files import read_file

        return read_file(str(self._folder / name))

    def keep(self, name: str, content: bytes) -> str:
        """Write `content` under `name`, all or nothing, and return where it lies.

        Raises
        ------
        FileExistsError
            When the name is taken.
        OSError
            When the folder cannot be written.
        """
        from steadyhead.services.files import write_new

        return str(write_new(self._folder / name, content))
