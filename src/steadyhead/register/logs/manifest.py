"""What an import brought: files, channels, the parts their samples lie in, and the report. Plain JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any

from steadyhead.errors import InputError
from steadyhead.records.logger import Channel
from steadyhead.station.canonical import canonical

FORMAT = "steadyhead/logger import/1"


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file as it was given: its place among the files of the import, checksum, name, size [bytes]."""

    place: int
    sha256: str
    name: str
    size: int


@dataclass(frozen=True, slots=True)
class Part:
    """Samples of one channel in one month, in order of time, in one Parquet file.

    Parameters
    ----------
    name
        Its place in the folder of samples.
    month
        Year and month, UTC.
    count, missing
        Samples, and how many of them are without a value.
    first, last
        Times of its first and last sample. [µs since 1970 UTC]
    row
        Row of its first sample.
    size, sha256
        Of the file. [bytes]
    step, rows
        Time [µs] and rows from each sample to the next where they are always the same and the file leaves
        them out; None: it holds them.
    """

    name: str
    month: str
    count: int
    missing: int
    first: int
    last: int
    row: int
    size: int
    sha256: str
    step: int | None = None
    rows: int | None = None


@dataclass(frozen=True, slots=True)
class ChannelParts:
    """A channel of an import: its name in the archive, its record, where its samples lie."""

    name: str
    channel: Channel
    parts: tuple[Part, ...]

    @property
    def count(self) -> int:
        """Number of samples."""
        return sum(one.count for one in self.parts)

    @property
    def missing(self) -> int:
        """Samples without a value."""
        return sum(one.missing for one in self.parts)


@dataclass(frozen=True, slots=True)
class Overlap:
    """Samples that stand at times for which another import has samples of the same channel.

    Parameters
    ----------
    number
        The other import.
    channel
        Name of the channel.
    count, other
        Samples at the same time, and how many of them have another value.
    first, last
        First and last such time. [µs since 1970 UTC]
    """

    number: int
    channel: str
    count: int
    other: int
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Manifest:
    """All of an import.

    Parameters
    ----------
    token
        Names its files in the folder of logger data.
    station, source
        Of which station, from which logger or log.
    files, channels
        What was given, and what came of it.
    readings
        How each file was read, plain; None: nothing in it.
    profile
        How more files of the source will be read, plain; None: nothing is remembered.
    answers
        Answers given to doubts, by their field.
    rows
        Rows of all files, those used, and those left out by reason.
    facts, words
        What was met, and the report in sentences.
    overlaps
        With imports that were there before.
    """

    token: str
    station: str
    source: str
    files: tuple[KeptFile, ...]
    channels: tuple[ChannelParts, ...]
    readings: tuple[Mapping[str, Any] | None, ...] = ()
    profile: Mapping[str, Any] | None = None
    answers: Mapping[str, str] = field(default_factory=dict)
    rows: Mapping[str, Any] = field(default_factory=dict)
    facts: Sequence[Mapping[str, Any]] = ()
    words: tuple[str, ...] = ()
    overlaps: tuple[Overlap, ...] = ()

    @property
    def first(self) -> int | None:
        """Time of the first sample; None where there is none. [µs since 1970 UTC]"""
        return min((part.first for one in self.channels for part in one.parts), default=None)

    @property
    def last(self) -> int | None:
        """Time of the last sample; None where there is none. [µs since 1970 UTC]"""
        return max((part.last for one in self.channels for part in one.parts), default=None)

    @property
    def parts(self) -> tuple[Part, ...]:
        """All its parts."""
        return tuple(part for one in self.channels for part in one.parts)

    def content(self) -> bytes:
        """Return it as canonical JSON."""
        return canonical({"format": FORMAT, **asdict(self)})


def manifest_of(content: bytes) -> Manifest:
    """Return the manifest that `Manifest.content` wrote, now or before parts were told how they run on.

    Raises
    ------
    InputError
        It is of another form.
    """
    plain = json.loads(content)
    if (found := plain.pop("format", None)) != FORMAT:
        raise InputError(
            "logger data", f"an import is told in the form {str(found)[:60]!r}; {FORMAT!r} is read.",
            "Use the version of steadyhead that took it in, or a later one.",
        )  # fmt: skip
    files = tuple(KeptFile(**one) for one in plain.pop("files"))
    channels = tuple(
        ChannelParts(one["name"], _channel(one["channel"]), tuple(Part(**part) for part in one["parts"]))
        for one in plain.pop("channels")
    )
    overlaps = tuple(Overlap(**one) for one in plain.pop("overlaps"))
    lists: dict[str, Any] = {name: tuple(plain.pop(name)) for name in ("readings", "facts", "words")}
    return Manifest(files=files, channels=channels, overlaps=overlaps, **lists, **plain)


def _channel(plain: dict[str, Any]) -> Channel:
    floats: dict[str, Any] = {name: float(plain.pop(name)) for name in ("factor", "offset")}
    if plain["elevation"] is not None:
        plain["elevation"] = float(plain["elevation"])
    return Channel(source_sha256=tuple(plain.pop("source_sha256")), **floats, **plain)
