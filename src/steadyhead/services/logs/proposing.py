"""How files would be read, in words with doubts as questions; nothing is taken in yet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection

from steadyhead.errors import InputError
from steadyhead.records.logger import Context, ReadFiles, Reading
from steadyhead.register import Register
from steadyhead.register.logs import (
    Import,
    KeptFile,
    LogsFolder,
    Staged,
    Stopped,
    has_size,
    known_files,
    last_profile,
    staged,
)
from steadyhead.services.logs.answering import (
    REMEMBERED,
    Question,
    check_answers,
    questions_of,
    told_after,
    told_before,
)
from steadyhead.services.names import one_line
from steadyhead.services.stations.kept import station_row
from steadyhead.watch.reading import propose
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

LONGEST_SOURCE = 60
"""Most characters of the name of a source. Own estimate."""
AHEAD = 100_000
"""Bytes from which the rows of a file are reckoned. Own estimate."""
MUCH = 32_000_000
"""Size above which a text is read while it is copied. Own estimate. [bytes]"""


@dataclass(frozen=True, slots=True)
class Given:
    """What a person hands over.

    Parameters
    ----------
    station
        Key of the station.
    files
        Files of one logger, in any order.
    source
        Which logger or log they come from; how its files are read is remembered under it.
    answers
        Answers to questions, by their names; see `answering.NAMES`.
    interval
        Nominal interval, where it is known. [s]
    beside
        Files kept with them that are not read: the messages from which they were gathered.
    """

    station: str
    files: tuple[Path, ...]
    source: str = ""
    answers: Mapping[str, str] = field(default_factory=dict)
    interval: float | None = None
    beside: tuple[Path, ...] = ()


@dataclass(slots=True)
class Proposal:
    """How files are read as far as it is known.

    Parameters
    ----------
    given, staged
        What was handed over, and the copies that were read.
    known
        Files that are kept for this station already, and by which imports; they are not read again.
    elsewhere
        Files of other stations' imports with the same content.
    found
        The reading; None: nothing is left to read.
    open, assumed
        Questions that must be answered; questions that have an answer if nobody gives another.
    answers
        Answers used: those given, and those remembered of this source.
    """

    given: Given
    staged: Staged
    known: tuple[tuple[KeptFile, Import], ...]
    elsewhere: tuple[tuple[KeptFile, Import], ...]
    found: ReadFiles | None = None
    open: tuple[Question, ...] = ()
    assumed: tuple[Question, ...] = ()
    answers: Mapping[str, str] = field(default_factory=dict)
    context: Context = field(default_factory=Context)

    def answer(self, more: Mapping[str, str]) -> None:
        """Read again with more answers.

        Raises
        ------
        InputErrors
            An answer that no question takes.
        InputError
            A file that cannot be opened as what it is.
        """
        check_answers(more)
        self.answers = {**self.answers, **more}
        if self.staged.itself is None and not self.staged.to_read:
            return
        context = told_before(self.context, self.answers)
        found = self._read(context)
        settled: set[str] = set()
        while todo := [
            one for one in questions_of(found) if one.name in self.answers and one.name not in settled
        ]:
            settled |= {one.name for one in todo}
            if all(one.doubt.taken == self.answers[one.name] for one in todo):
                continue
            context = told_after(context, self.answers, found, todo)
            found = self._read(context)
        left = [one for one in questions_of(found) if one.name not in settled]
        _refuse_unread(found, self.answers)
        self.found = found
        self.open = tuple(one for one in left if one.doubt.taken is None)
        self.assumed = tuple(one for one in left if one.doubt.taken is not None)

    def is_kept_meanwhile(self, connection: Connection) -> bool:
        """Return whether others have taken all the files in meanwhile; nothing is left of them then."""
        there = known_files(connection, [file.sha256 for file in self.staged.files])
        mine, theirs = _told_apart(self.staged, there, self.given.station)
        if len(mine) < len(self.staged.files):
            return False
        self.known, self.elsewhere, self.found = (*self.known, *mine), theirs, None
        self.open = self.assumed = ()
        self.staged.leave_out({file.sha256 for file, _ in mine})
        return True

    def _read(self, context: Context) -> ReadFiles:
        one = self.staged
        if one.itself is not None and (found := self._read_itself(one.itself, context)) is not None:
            return found
        try:
            return propose(list(one.to_read), context, one.work, one.fresh(), one.checksum)
        except OSError as problem:
            reason = problem.strerror or str(problem)
            raise InputError(
                str(one.logs.root), f"cannot be written: {reason}.", "Give the right and the room to."
            ) from None

    def _read_itself(self, file: Path, context: Context) -> ReadFiles | None:
        """Read a file while it is copied; None: it changed meanwhile or went, so its copy must be read."""
        one, found = self.staged, None
        refused: Exception | None = None
        try:
            found = propose([file], context, one.work, one.fresh(), one.checksum)
        except OSError:
            pass  # met again with its copy, unless it went
        except Exception as problem:  # whatever a reader meets that is written under its hands
            refused = problem
        one.finish()
        if not one.is_as_copied():
            return None
        if refused is not None:
            raise refused
        return found


def _refuse_unread(found: ReadFiles, answers: Mapping[str, str]) -> None:
    """Refuse an answer that the reading could not follow."""
    for one in questions_of(found):
        value = answers.get(one.name)
        if value is not None and one.doubt.taken is not None and one.doubt.taken != value:
            if one.name.startswith("zone"):
                continue  # any zone that is known answers it
            raise InputError(
                one.name, f"is {value!r:.40} by the answer, and these files read {one.doubt.taken!r:.40}.",
                "See whether the answer is meant for these files.",
            )  # fmt: skip


@contextmanager
def proposed(
    register: Register,
    logs: LogsFolder,
    given: Given,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> Iterator[Proposal]:
    """Give the reading of files; when it ends without `importing.take_in` nothing of them is left.

    progress, cancel: told and asked while a long clean file is read.

    Raises
    ------
    InputError
        No such station, a file that cannot be read or opened, or `cancel` said stop.
    InputErrors
        Answers that no question takes.
    """
    given = _checked(given)
    progress(0, 1, "files read")
    with register.reading() as connection:
        station_row(connection, given.station)
        is_read_itself = _is_read_itself(connection, given)
        profile = last_profile(connection, given.station, given.source)
    with staged(register, logs) as one:
        one.heed = _heeding(given, progress, cancel)
        one.begin(given.files, given.beside, itself=is_read_itself)
        # Copying and its checksum leave the interpreter free for what the register knows of the station.
        from steadyhead.services.logs.heights import heights_of
        from steadyhead.services.logs.known import known_of

        known = heights_of(register, given.station).known(known_of(register, given.station))
        context = Context(interval=given.interval, known=known, now=datetime.now(UTC))
        before: dict[str, str] = {}
        if profile is not None:
            context = replace(context, profile=Reading.from_plain(profile["reading"]))
            before = {name: value for name, value in profile["answers"].items() if name in REMEMBERED}
        made = Proposal(given, one, (), (), context=context, answers=before)
        if one.itself is None:
            one.finish()
            with register.reading() as connection:
                there = known_files(connection, [file.sha256 for file in one.files])
            made.known, made.elsewhere = _told_apart(one, there, given.station)
            one.leave_out({file.sha256 for file, _ in made.known})
        made.answer(given.answers)
        yield made


def _heeding(given: Given, progress: Progress, cancel: Cancel) -> Callable[[int], None]:
    """Return what is told how many rows were read: it tells the share of all, and heeds a stop."""
    try:
        with given.files[0].open("rb") as source:
            head = source.read(AHEAD)
        whole = given.files[0].stat().st_size
    except OSError:  # copying tells why
        head, whole = b"", 0
    rows = max(1, round(whole * head.count(b"\n") / max(len(head), 1)))

    def heed(count: int) -> None:
        progress(min(count, rows), rows, "rows read")
        if cancel():
            raise Stopped("import", "was stopped.", "Nothing was changed.")

    return heed


def _is_read_itself(connection: Connection, given: Given) -> bool:
    """Return whether a file is read while it is copied: one long text that cannot be kept already."""
    if len(given.files) + len(given.beside) > 1:
        return False
    try:
        size = given.files[0].stat().st_size
        with given.files[0].open("rb") as source:
            head = source.read(4)
    except OSError:
        return False  # copying tells why
    return size > MUCH and head not in (b"PAR1", b"PK\x03\x04") and not has_size(connection, size)


def _told_apart(
    one: Staged, there: Mapping[str, Sequence[Import]], key: str
) -> tuple[tuple[tuple[KeptFile, Import], ...], tuple[tuple[KeptFile, Import], ...]]:
    mine: list[tuple[KeptFile, Import]] = []
    theirs: list[tuple[KeptFile, Import]] = []
    for file in one.files:
        imports = there.get(file.sha256, ())
        mine += [(file, each) for each in imports if each.station == key][:1]
        theirs += [(file, each) for each in imports if each.station != key]
    return tuple(mine), tuple(theirs)


def _checked(given: Given) -> Given:
    check_answers(given.answers)
    if not given.files:
        raise InputError("files", "are none.", "Name a file of a logger.")
    for path in (*given.files, *given.beside):
        if not path.is_file():
            raise InputError("file", f"got {str(path)!r:.120}, which is no file.", "Name a file of a logger.")
    if given.interval is not None and not 0 < given.interval < 1e7:
        raise InputError(
            "interval", f"got {given.interval:g} s; more than 0 s is needed, 1e7 s at most.", "Write it in s."
        )
    source = one_line("source", given.source, LONGEST_SOURCE) if given.source else ""
    return replace(given, source=source)
