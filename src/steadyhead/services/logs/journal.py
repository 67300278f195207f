"""Messages on the disk before their broker hears so: one journal a station and source, taken in by and by.

A journal is a file of JSON lines, written with everything that came, in order. Where it is old enough it is
closed; its samples are read as files of loggers are, and it is kept with the import as it is.
"""

from __future__ import annotations

import base64
import contextlib
import hashlib
import json
import os
import re
import shutil
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from steadyhead.register.logs.layout import settle
from steadyhead.watch.messages import Topic, Unreadable, as_file, decoded

OPEN, LAST, CLOSED = "open.jsonl", "last.jsonl", "closed"
RECENT = 70_000
"""Messages against which a further one is held, to see whether it came before; a broker numbers to 65 535."""


@dataclass(frozen=True, slots=True)
class Came:
    """A message as it came.

    Parameters
    ----------
    at
        When it came.
    name, payload
        Its topic and what it holds.
    number
        The broker's number of it, 0 for one that needs no word back.
    is_again, is_old
        Whether the broker says that it sent it before; that it kept it from before we asked.
    """

    at: datetime
    name: str
    payload: bytes
    number: int = 0
    is_again: bool = False
    is_old: bool = False

    def line(self, why: str = "") -> bytes:
        """Return it as a line of a journal."""
        told: dict[str, Any] = {"at": self.at.isoformat(), "topic": self.name, "number": self.number}
        try:
            told["payload"] = self.payload.decode("utf-8")
        except UnicodeDecodeError:
            told["base64"] = base64.b64encode(self.payload).decode()
        if self.is_again:
            told["again"] = True
        if why:
            told["why"] = why
        return json.dumps(told, ensure_ascii=False).encode() + b"\n"

    def mark(self) -> bytes:
        """Return what is the same in every sending of it."""
        return hashlib.sha256(self.name.encode() + b"\0" + self.payload).digest()


def of_line(line: bytes) -> Came:
    """Return the message of a line that `Came.line` wrote.

    Raises
    ------
    ValueError
        It is none.
    """
    told = json.loads(line)
    try:
        payload = told["payload"].encode() if "payload" in told else base64.b64decode(told["base64"])
        return Came(
            datetime.fromisoformat(told["at"]), told["topic"], payload, told["number"], "again" in told
        )
    except (KeyError, TypeError, AttributeError):
        raise ValueError("no message") from None


@dataclass(slots=True)
class Appended:
    """A file that only grows; what `add` wrote is on the disk once `settle` returns."""

    path: Path
    _out: Any = None

    def add(self, line: bytes) -> None:
        """Write a line."""
        if self._out is None:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            is_new = not self.path.exists()
            self._out = self.path.open("ab")
            if is_new:
                settle([self.path.parent, self.path.parent.parent])
        self._out.write(line)

    def settle(self) -> None:
        """Wait until all of it is on the disk."""
        if self._out is not None:
            self._out.flush()
            os.fsync(self._out.fileno())

    def close(self) -> None:
        """Let go of it."""
        if self._out is not None:
            self._out.close()
            self._out = None


@dataclass(slots=True)
class Journal:
    """Messages of one source of a station.

    folder: where it lies; what a killed process left in it is gone on with.
    """

    folder: Path
    station: str
    source: str
    began: datetime | None = None
    _file: Appended = field(init=False)
    _marks: dict[bytes, None] = field(default_factory=dict)
    _numbers: dict[int, bytes] = field(default_factory=dict)
    _first: int = 0

    def __post_init__(self) -> None:
        self._file = Appended(self.folder / OPEN)
        if (self.folder / OPEN).exists():
            _cut_torn(self.folder / OPEN)
            settle([self.folder])
        for path in (self.folder / LAST, *self.closed(), self.folder / OPEN):
            for one in came_in(path):
                self._remember(one)
                if path.name == OPEN:
                    self.began = self.began or one.at

    def _remember(self, one: Came) -> None:
        mark = one.mark()
        self._marks.pop(mark, None)
        self._marks[mark] = None
        self._numbers[one.number] = mark
        if len(self._marks) > RECENT:
            del self._marks[next(iter(self._marks))]

    def has(self, one: Came, *, is_stamped: bool) -> bool:
        """Return whether a message is here already: same words with their own time, or sent again."""
        mark = one.mark()
        if is_stamped:
            return mark in self._marks
        return one.is_again and one.number > 0 and self._numbers.get(one.number) == mark

    def add(self, one: Came) -> None:
        """Write a message; it counts once `settle` returns."""
        self._file.add(one.line())
        self._remember(one)
        self.began = self.began or one.at

    @property
    def size(self) -> int:
        """Size of its open part. [bytes]"""
        path = self.folder / OPEN
        return path.stat().st_size if path.exists() else 0

    def settle(self) -> None:
        """Wait until all messages are on the disk."""
        self._file.settle()

    def close(self) -> None:
        """Let go of its file."""
        self._file.close()

    def turn(self) -> None:
        """Close the open part, so that it can be taken in; a new one begins with the next message."""
        self._file.settle()
        self._file.close()
        if self.began is None:
            return
        closed = self.folder / CLOSED
        closed.mkdir(exist_ok=True)
        with (self.folder / OPEN).open("rb") as source:
            content = hashlib.file_digest(source, "sha256").hexdigest()[:8]
        target = closed / f"messages-{self.began:%Y%m%dT%H%M%S}-{content}.jsonl"
        (self.folder / OPEN).replace(target)
        settle([closed, self.folder])
        shutil.copyfile(target, self.folder / f".{LAST}")
        (self.folder / f".{LAST}").replace(self.folder / LAST)
        self.began = None

    def closed(self) -> list[Path]:
        """Return the parts that wait to be taken in, in the order of their times."""
        return sorted((self.folder / CLOSED).glob("messages-*.jsonl"))


def came_in(path: Path) -> Iterator[Came]:
    """Yield the messages of a journal; a line that is none is passed over."""
    if not path.exists():
        return
    with path.open("rb") as source:
        for line in source:
            with contextlib.suppress(ValueError):
                yield of_line(line)


def _cut_torn(path: Path) -> None:
    """Take off a last line that a kill cut: nobody was told that it is here, so it comes again."""
    with path.open("rb+") as file:
        content = file.read()
        whole = content.rfind(b"\n") + 1
        if whole < len(content):
            file.truncate(whole)
            file.flush()
            os.fsync(file.fileno())


def folder_of(above: Path, station: str, source: str) -> Path:
    """Return the folder of a journal: readable, and no two alike."""
    plain = re.sub(r"[^A-Za-z0-9-]+", "_", f"{station}--{source}")[:80]
    return above / f"{plain}-{hashlib.sha256(f'{station}/{source}'.encode()).hexdigest()[:6]}"


def gathered(
    path: Path, topics: Sequence[Topic], meets: Any, into: Path
) -> tuple[list[Path], Mapping[str, int]]:
    """Write the samples of a closed journal as text files, one for each topic of the broker's file.

    meets: says whether a pattern meets a topic's name.

    Returns the files, and how many messages no topic reads any more, by why.
    """
    rows: dict[int, list[tuple[datetime, tuple[str, ...]]]] = {}
    left: dict[str, int] = {}
    for one in came_in(path):
        number = next((at for at, each in enumerate(topics) if meets(each.filter, one.name)), None)
        try:
            if number is None:
                raise Unreadable("no topic of the broker's file meets it any more")
            for sample in decoded(topics[number], one.payload):
                when = (sample.at or one.at).astimezone(UTC)
                rows.setdefault(number, []).append((when, sample.values))
        except Unreadable as problem:
            left[str(problem)] = left.get(str(problem), 0) + 1
    into.mkdir(parents=True, exist_ok=True)
    files = []
    for number in sorted(rows):
        made = into / f"{path.stem}-{number + 1}.csv"
        made.write_bytes(as_file(topics[number], rows[number]))
        files.append(made)
    return files, left
