"""Logger data of an archive put into the folder of a register: all of them, or nothing is left of them."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from sqlalchemy import Connection

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.logs import LogsFolder, logs_folder
from steadyhead.register.logs.belonging import Belonging, Told, told
from steadyhead.register.logs.layout import move, remove, settle, unfinished, write_durably
from steadyhead.register.logs.staging import turn
from steadyhead.register.restoring import refuse_filled
from steadyhead.services.archive.content import logger_files
from steadyhead.services.archive.layout import is_logger
from steadyhead.services.archive.reading import Archive, Damaged

_DIGEST = re.compile(r"[0-9a-f]{64}")
_TOKEN = re.compile(r"[0-9a-f]{1,64}")
_NOT_CHANGED = "Nothing was changed."


class Placing:
    """Files under way to the folder of logger data.

    logs: the folder; None: none is known.
    """

    def __init__(self, logs: LogsFolder | None) -> None:
        self.logs = logs
        self._put: list[tuple[Path, Path]] = []
        self._notes: list[Path] = []
        self._folders: set[Path] = set()
        self._held = ExitStack()

    def put(self, connection: Connection, archive: Archive, step: Callable[[str], None]) -> None:
        """Put every file of logger data that the rows name in its place; step: told after each.

        Raises
        ------
        Damaged
            One is missing in the archive, or is not what its row says.
        InputError
            No folder is known, or it cannot be written.
        """
        if not any(is_logger(name) for name in archive.contents):
            if (first := next(logger_files(connection), None)) is not None:
                raise Damaged(first[1], f"is missing in {archive.where}.", _NOT_CHANGED)
            return
        if self.logs is None:
            raise InputError(
                "folder of logger data", "is not named, and this archive has such data.",
                f"Name a folder that every machine of the register reaches: --data FOLDER. {_NOT_CHANGED}",
            )  # fmt: skip
        try:
            self._held.enter_context(turn(self.logs))
            for one in told(connection):
                self._note(self.logs, one, archive)
            for belonging, name in logger_files(connection):
                self._file(self.logs, belonging, name, archive)
                step("files of loggers put in place")
            for one in told(connection):
                target = self.logs.manifest(one.token, is_undone=one.is_undone)
                self._kept(target, self.logs.root)
                write_durably(target, one.content)
            settle(sorted(self._folders))
        except OSError as problem:
            reason = problem.strerror or "the name cannot be used"
            raise InputError(
                str(self.logs.root), f"cannot be written: {reason}.", f"Make room there. {_NOT_CHANGED}"
            ) from None

    def _note(self, logs: LogsFolder, one: Told, archive: Archive) -> None:
        """Leave word, so that after a kill all of it is cleared away like any import that never was."""
        if not _TOKEN.fullmatch(one.token):
            raise Damaged("logger_import", f"in {archive.where} has no token of ours.", _NOT_CHANGED)
        place = logs.staged / one.token
        self._notes.append(place)
        write_durably(place / "manifest.json", one.content)

    def _file(self, logs: LogsFolder, one: Belonging, name: str, archive: Archive) -> None:
        there = archive.contents.get(name)
        if there is None:
            raise Damaged(name, f"is missing in {archive.where}.", _NOT_CHANGED)
        if not _DIGEST.fullmatch(one.sha256) or (there.sha256, there.size) != (one.sha256, one.size):
            raise Damaged(name, f"in {archive.where} is not the file that its row tells of.", _NOT_CHANGED)
        target = one.path(logs)
        self._kept(target, logs.raw if one.is_given else logs.samples)
        target.parent.mkdir(parents=True, exist_ok=True)
        beside = unfinished(target)
        try:
            with beside.open("wb") as out:
                for piece in archive.pieces(name):
                    out.write(piece)
                out.flush()
                os.fsync(out.fileno())
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
        move(beside, target)
        self._folders.add(target.parent)

    def _kept(self, target: Path, above: Path) -> None:
        if not target.exists():
            self._put.append((target, above))

    def take_back(self) -> None:
        """Take away what was put."""
        for path, above in self._put:
            remove(path, above)

    def end(self) -> None:
        """Clear the notes away and let the folder go."""
        for place in self._notes:
            shutil.rmtree(place, ignore_errors=True)
        self._held.close()


@contextmanager
def placing(register: Register, data: str) -> Iterator[Placing]:
    """Give a placing; whatever it put is taken back where what is done inside fails.

    data: folder of logger data, named; empty: the one the register knows.
    """
    with register.reading() as connection:
        refuse_filled(connection)
    try:
        logs = logs_folder(register, data)
    except InputError:
        logs = None
    one = Placing(logs)
    try:
        yield one
    except BaseException:
        one.take_back()
        raise
    finally:
        one.end()


def put_logs_in_place(staged: Path, target: Path) -> None:
    """Move a finished folder of logger data to its place; what lies there already stays."""
    if not staged.is_dir():
        return
    shutil.rmtree(staged / "staged", ignore_errors=True)
    if not target.exists():
        staged.rename(target)
        settle([target.parent])
        return
    folders = set()
    for one in sorted(path for path in staged.rglob("*") if path.is_file()):
        there = target / one.relative_to(staged)
        move(one, there)
        folders.add(there.parent)
    settle(sorted(folders))
