"""A folder into which files of loggers are laid: each that stands still is taken in, once, and stays."""

from __future__ import annotations

import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.services.logs.proposing import Given
from steadyhead.services.logs.pushing import Pushed, push
from steadyhead.watch.counting import counted

STILL = 10.0
"""How long a file must not have changed before it is read, so that none is read half. Own estimate. [s]"""
HALF = (".part", ".partial", ".tmp", ".crdownload", ".filepart")
"""Endings under which programs write what is not whole yet."""
Mark = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a file: `pushed` where it was read, else why it was left aside."""

    name: str
    pushed: Pushed | None
    why: str = ""

    def words(self) -> str:
        """Return it in one line."""
        if self.pushed is None:
            return f"{self.name} is left aside: {self.why}"
        if not self.pushed.number:
            return f"{self.name} is kept already; it adds nothing."
        one = self.pushed
        taken = f" Taken: {'; '.join(one.assumed)}" if one.assumed else ""
        used = f"{one.used} of {counted(one.rows, 'row')}"
        return f"{self.name}: import {one.number}, {counted(one.samples, 'sample')}, {used}.{taken}"


@dataclass(slots=True)
class Watched:
    """A watched folder.

    Parameters
    ----------
    folder, station, source
        Where files are laid, whose they are, which logger.
    still
        See `STILL`. [s]
    """

    folder: Path
    station: str
    source: str = ""
    still: float = STILL
    _done: dict[str, Mark] = field(default_factory=dict)

    def look(self, register: Register, who: str) -> Iterator[Outcome]:
        """Take in every file that stands still and was not looked at as it is; yield what became of each.

        Raises
        ------
        InputError
            The folder is not there, or no such station is kept.
        """
        for path, mark in self._waiting():
            self._done[path.name] = mark
            yield self._one(register, path, who)

    def _waiting(self) -> list[tuple[Path, Mark]]:
        try:
            listed = sorted(self.folder.iterdir())
        except OSError as problem:
            raise InputError(
                str(self.folder),
                f"cannot be looked into: {problem.strerror}.",
                "Name a folder that is there.",
            ) from None
        out = []
        for path in listed:
            if path.name.startswith((".", "~")) or path.name.lower().endswith(HALF) or path.is_symlink():
                continue
            try:
                told = path.stat()
            except OSError:
                continue  # it is gone
            mark = (told.st_size, told.st_mtime_ns)
            is_new = path.is_file() and told.st_size > 0 and self._done.get(path.name) != mark
            if is_new and time.time() - told.st_mtime >= self.still:
                out.append((path, mark))
        return out

    def _one(self, register: Register, path: Path, who: str) -> Outcome:
        try:
            return Outcome(path.name, push(register, Given(self.station, (path,), self.source), who))
        except InputErrors as several:
            return Outcome(
                path.name, None, " ".join(f"{one.field} {one.problem} {one.remedy}" for one in several.errors)
            )
        except InputError as one:
            return Outcome(path.name, None, f"{one.field} {one.problem} {one.remedy}")
