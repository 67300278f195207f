"""An import under way: a folder of its own, held by its process; what killed ones left is cleared away."""

from __future__ import annotations

import shutil
import threading
import time
import uuid
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from pathlib import Path

import polars as pl
from sqlalchemy import select

from steadyhead.errors import InputError
from steadyhead.records.logger import Channel
from steadyhead.register.core import Register
from steadyhead.register.holding import Hold, hold
from steadyhead.register.logs.layout import (
    LogsFolder,
    channel_key,
    channel_name,
    copied,
    remove,
    settle,
    unfinished,
    write_durably,
)
from steadyhead.register.logs.manifest import ChannelParts, KeptFile, Manifest, manifest_of
from steadyhead.register.logs.parts import named, write_parts
from steadyhead.register.tables import logger_file, logger_import, logger_undo
from steadyhead.work import Cancel, never_cancel

AT_ONCE = 2
"""Channels written at a time; each holds one part at most."""
WAITS = 60.0
"""Longest wait for another process that begins or clears away. [s]"""


class Stopped(InputError):
    """Somebody stopped the import; nothing was changed."""


@dataclass(slots=True)
class Staged:
    """What is being brought in; nothing of it is seen before `imports.commit`.

    Parameters
    ----------
    logs, token
        Folder of logger data, and the name this import has there.
    files, paths
        Files taken, and where their copies lie; in the order given.
    written
        Where the file of each part lies until it is moved, by the part's name.
    """

    logs: LogsFolder
    token: str
    files: tuple[KeptFile, ...] = ()
    paths: tuple[Path, ...] = ()
    written: dict[str, Path] = field(default_factory=dict)

    @property
    def place(self) -> Path:
        """Its folder."""
        return self.logs.staged / self.token

    @property
    def work(self) -> Path:
        """Folder for what is needed while reading."""
        return self.place / "work"

    def take(self, files: Sequence[Path]) -> tuple[KeptFile, ...]:
        """Copy files, so that what is read is what is kept; each content once.

        Raises
        ------
        InputError
            One cannot be read, or there is no room.
        """
        kept: dict[str, tuple[KeptFile, Path]] = {}
        for number, one in enumerate(files):
            folder = self.place / "raw" / str(number)
            folder.mkdir(parents=True, exist_ok=True)
            digest, size = copied(one, folder / one.name)
            if digest in kept:
                (folder / one.name).unlink()
                continue
            kept[digest] = (KeptFile(len(kept), digest, one.name, size), folder / one.name)
        self.files = tuple(file for file, _ in kept.values())
        self.paths = tuple(path for _, path in kept.values())
        return self.files

    def leave_out(self, digests: set[str]) -> None:
        """Let go of files that are kept already."""
        left = [
            (one, path) for one, path in zip(self.files, self.paths, strict=True) if one.sha256 not in digests
        ]
        self.files = tuple(replace(one, place=place) for place, (one, _) in enumerate(left))
        self.paths = tuple(path for _, path in left)

    def write(
        self,
        station: str,
        channels: Sequence[tuple[Channel, pl.LazyFrame]],
        cancel: Cancel = never_cancel,
    ) -> tuple[ChannelParts, ...]:
        """Write the samples of channels as parts and return what came of them.

        Raises
        ------
        NotInOrder
            Times of a channel step back.
        InputError
            There is no room, or `cancel` said stop; nothing is changed.
        """
        folder = self.place / "parts"
        folder.mkdir(parents=True, exist_ok=True)
        taken: set[str] = set()
        named_as = [_free(channel_name(channel), taken) for channel, _ in channels]
        stopped = threading.Event()

        def one(number: int) -> ChannelParts:
            channel, frame = channels[number]
            parts = []
            for path, part in write_parts(frame, folder, f"{self.token}-{number}"):
                kept = named(part, station, channel_key(named_as[number]))
                self.written[kept.name] = path
                parts.append(kept)
                if stopped.is_set() or cancel():
                    raise Stopped("import", "was stopped.", "Nothing was changed.")
            return ChannelParts(named_as[number], channel, tuple(parts))

        # Encoding leaves the interpreter free, so two channels are written at a time.
        with ThreadPoolExecutor(AT_ONCE) as pool:
            under_way = [pool.submit(one, number) for number in range(len(channels))]
            try:
                return tuple(each.result() for each in under_way)
            except OSError as problem:
                raise _no_room(self.logs, problem) from None
            finally:
                stopped.set()
                for each in under_way:
                    each.cancel()

    def note(self, manifest: Manifest) -> None:
        """Leave word of everything that will lie elsewhere, for whoever clears away after a kill."""
        write_durably(self.place / "manifest.json", manifest.content())


def _no_room(logs: LogsFolder, problem: OSError) -> InputError:
    reason = problem.strerror or str(problem)
    return InputError(str(logs.root), f"cannot be written: {reason}.", "Give the right and the room to.")


def _free(name: str, taken: set[str]) -> str:
    """Return a name that no other channel of the import has."""
    tried, count = name, 1
    while tried in taken:
        count += 1
        tried = f"{name}, {count}"
    taken.add(tried)
    return tried


@contextmanager
def staged(register: Register, logs: LogsFolder) -> Iterator[Staged]:
    """Give the folder of a new import; afterwards it is gone, with all that was not committed.

    Raises
    ------
    InputError
        The folder cannot be written.
    """
    sweep(register, logs)
    token = uuid.uuid4().hex[:12]
    one = Staged(logs, token)
    try:
        with turn(logs):
            one.work.mkdir(parents=True)
            held = hold(one.place)
    except OSError as problem:
        raise _no_room(logs, problem) from None
    try:
        yield one
    finally:
        _clear(register, logs, one.place, held)


@contextmanager
def turn(logs: LogsFolder) -> Iterator[None]:
    """Keep others from beginning or clearing away meanwhile."""
    until = time.monotonic() + WAITS
    while True:
        try:
            held = hold(logs.staged)
            break
        except InputError:
            if time.monotonic() > until:
                raise
            time.sleep(0.05)
    try:
        yield
    finally:
        held.let_go()


def sweep(register: Register, logs: LogsFolder) -> None:
    """Clear away what killed processes left: imports never committed, undone ones not yet taken away."""
    if not logs.root.is_dir():
        return
    left = [one for one in logs.staged.glob("*") if one.is_dir()]
    if left:
        with turn(logs):
            for one in left:
                with suppress(InputError):  # it is held: under way
                    _clear(register, logs, one, hold(one) if one.is_dir() else None)
    with register.reading() as connection:
        asked = select(logger_import.c.token).join(
            logger_undo, logger_undo.c.number == logger_import.c.number
        )
        for token in connection.execute(asked).scalars():
            if logs.manifest(token).exists():
                take_away(logs, token)


def _clear(register: Register, logs: LogsFolder, place: Path, held: Hold | None) -> None:
    """Take an import's folder away; where it was not committed, all else of it, too."""
    if held is None:
        return
    try:
        noted = place / "manifest.json"
        if noted.exists():
            # Whoever writes waits for a commit that a server may still be at.
            with register.writing("steadyhead") as writing:
                asked = select(logger_import.c.number).where(logger_import.c.token == place.name)
                if writing.connection.execute(asked).first() is None:
                    manifest = manifest_of(noted.read_bytes())
                    kept = select(logger_file.c.sha256).where(
                        logger_file.c.sha256.in_([one.sha256 for one in manifest.files])
                    )
                    _take_back(logs, manifest, set(writing.connection.execute(kept).scalars()))
    finally:
        held.let_go()
    shutil.rmtree(place, ignore_errors=True)


def _take_back(logs: LogsFolder, manifest: Manifest, kept: set[str]) -> None:
    logs.manifest(manifest.token).unlink(missing_ok=True)
    unfinished(logs.manifest(manifest.token)).unlink(missing_ok=True)
    for part in manifest.parts:
        remove(logs.part(part.name), logs.samples)
    for one in manifest.files:
        if one.sha256 not in kept:
            remove(logs.raw_file(one.sha256), logs.raw)


def take_away(logs: LogsFolder, token: str) -> None:
    """Take the samples of an undone import away, then put its manifest apart; may be begun again."""
    place = logs.manifest(token)
    manifest = manifest_of(place.read_bytes())
    for part in manifest.parts:
        remove(logs.part(part.name), logs.samples)
    logs.undone.mkdir(parents=True, exist_ok=True)
    place.replace(logs.manifest(token, is_undone=True))
    settle([logs.imports, logs.undone])
