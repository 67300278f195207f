"""An import under way: a folder of its own, held by its process; what killed ones left is cleared away."""

from __future__ import annotations

import shutil
import threading
import time
import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path

import polars as pl
from sqlalchemy import select

from steadyhead.errors import InputError
from steadyhead.records.logger import Channel
from steadyhead.register.core import Register
from steadyhead.register.holding import Hold, hold
from steadyhead.register.logs.copying import State, copied, state_of_file
from steadyhead.register.logs.layout import (
    LogsFolder,
    channel_key,
    channel_name,
    on_disk,
    remove,
    settle,
    unfinished,
    write_durably,
)
from steadyhead.register.logs.manifest import ChannelParts, KeptFile, Manifest, Part, manifest_of
from steadyhead.register.logs.parts import AsTheyCome, named, write_parts
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
    beside
        How many of them, the last ones, are kept with the import and not read: what the others were made of.
    written
        Where the file of each part lies until it is moved, by the part's name.
    keeper
        What a reader hands samples to as it parses them; they are parts already and are not written again.
    heed
        Told how many samples came to the keeper; may stop the reading by what it raises.
    """

    logs: LogsFolder
    token: str
    files: tuple[KeptFile, ...] = ()
    paths: tuple[Path, ...] = ()
    beside: int = 0
    written: dict[str, Path] = field(default_factory=dict)
    keeper: AsTheyCome | None = None
    heed: Callable[[int], None] = lambda _: None
    _disk: ThreadPoolExecutor = field(default_factory=partial(ThreadPoolExecutor, 1))
    _awaited: list[Future[None]] = field(default_factory=list)
    _copying: Future[tuple[KeptFile, ...]] | None = None
    _copier: ThreadPoolExecutor = field(default_factory=partial(ThreadPoolExecutor, 1))
    _halted: threading.Event = field(default_factory=threading.Event)
    _itself: tuple[Path, State] | None = None

    def _to_disk(self, path: Path) -> None:
        """Let a file get to the disk while other work goes on; `note` waits for all of them."""
        self._awaited.append(self._disk.submit(on_disk, path))

    def let_go(self) -> None:
        """End what goes on in the background."""
        self._halted.set()
        self._copier.shutdown(cancel_futures=True)
        self._disk.shutdown(cancel_futures=True)

    def fresh(self) -> AsTheyCome:
        """Return a keeper for samples as they are read; what an earlier reading left with one is gone."""
        if self.keeper is not None:
            self.keeper.drop()
        self.keeper = AsTheyCome(self.place / "parts", self.token, self._to_disk, self.heed)
        return self.keeper

    @property
    def place(self) -> Path:
        """Its folder."""
        return self.logs.staged / self.token

    @property
    def work(self) -> Path:
        """Folder for what is needed while reading."""
        return self.place / "work"

    @property
    def to_read(self) -> tuple[Path, ...]:
        """Where the copies of the files lie that are read."""
        return self.paths[: len(self.paths) - self.beside]

    def take(self, files: Sequence[Path], beside: Sequence[Path] = ()) -> tuple[KeptFile, ...]:
        """Copy files, so that what is read is what is kept; each content once.

        beside: files that are kept with them and not read.

        Raises
        ------
        InputError
            One cannot be read, or there is no room.
        """
        self.begin(files, beside)
        return self.finish()

    def begin(self, files: Sequence[Path], beside: Sequence[Path] = (), *, itself: bool = False) -> None:
        """Begin to copy files in the background; `finish` waits for it.

        itself: the one file is read meanwhile, not its copy, where it can be seen that nobody changes it.
        """
        with suppress(OSError):
            told = state_of_file(files[0]) if itself else None
            self._itself = None if told is None else (files[0], told)
        self._copying = self._copier.submit(self._take, tuple(files), tuple(beside))

    def finish(self) -> tuple[KeptFile, ...]:
        """Wait until the files are copied and return them.

        Raises
        ------
        InputError
            One cannot be read, or there is no room.
        """
        return self._copying.result() if self._copying is not None else self.files

    @property
    def itself(self) -> Path | None:
        """The file that may be read while it is copied; `is_as_copied` tells afterwards."""
        return self._itself[0] if self._itself is not None else None

    def is_as_copied(self) -> bool:
        """Whether nobody changed the file while it was read and copied; from now on its copy is read."""
        given, self._itself = self._itself, None
        try:
            return given is not None and state_of_file(given[0]) == given[1]
        except OSError:
            return False

    def checksum(self, path: Path) -> str:
        """Return the SHA-256 of a file that is read, itself or its copy; waits until it is copied."""
        files = self.finish()
        if self._itself is not None and path == self._itself[0]:
            return files[0].sha256
        return next(file.sha256 for file, copy in zip(self.files, self.paths, strict=True) if copy == path)

    def _take(self, files: tuple[Path, ...], beside: tuple[Path, ...]) -> tuple[KeptFile, ...]:
        kept: dict[str, tuple[KeptFile, Path]] = {}
        for number, one in enumerate((*files, *beside)):
            self.beside = len(kept) if number == len(files) else self.beside
            folder = self.place / "raw" / str(number)
            folder.mkdir(parents=True, exist_ok=True)
            digest, size = copied(
                one, folder / one.name, is_past_memory=self._itself is not None,
                is_halted=self._halted.is_set,
            )  # fmt: skip
            if digest in kept:
                (folder / one.name).unlink()
                continue
            kept[digest] = (KeptFile(len(kept), digest, one.name, size), folder / one.name)
            self._to_disk(folder / one.name)
        self.beside = len(kept) - self.beside if beside else 0
        self.files = tuple(file for file, _ in kept.values())
        self.paths = tuple(path for _, path in kept.values())
        return self.files

    def leave_out(self, digests: set[str]) -> None:
        """Let go of files that are kept already."""
        read = len(self.files) - self.beside
        left = [
            (one, path) for one, path in zip(self.files, self.paths, strict=True) if one.sha256 not in digests
        ]
        self.beside = sum(one.place >= read for one, _ in left)
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
            for path, part in self._parts(frame, folder, number):
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

    def _parts(self, frame: pl.LazyFrame, folder: Path, number: int) -> Iterable[tuple[Path, Part]]:
        """Return the parts of a channel: those a reader has handed on, else written now."""
        for at, kept in enumerate(self.keeper.frames if self.keeper is not None else ()):
            if kept is frame and self.keeper is not None:
                return self.keeper.written[at]
        return write_parts(frame, folder, f"{self.token}-{number}", self._to_disk)

    def note(self, manifest: Manifest) -> None:
        """Leave word of everything that will lie elsewhere, for whoever clears away after a kill.

        All of it is on the disk by then.

        Raises
        ------
        InputError
            There is no room.
        """
        try:
            for one in self._awaited:
                one.result()
        except OSError as problem:
            raise _no_room(self.logs, problem) from None
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
        one.let_go()
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
