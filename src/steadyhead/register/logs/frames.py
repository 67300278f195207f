"""Samples read back lazily: of several imports the earliest that has a value at a time is shown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import polars as pl
from sqlalchemy import Connection

from steadyhead.errors import InputError
from steadyhead.records.logger import Channel
from steadyhead.register.core import Register
from steadyhead.register.logs.imports import manifests
from steadyhead.register.logs.layout import LogsFolder
from steadyhead.register.logs.manifest import ChannelParts, Overlap, Part
from steadyhead.register.logs.parts import US, no_samples, read_part


@dataclass(frozen=True, slots=True)
class KeptChannel:
    """A channel of a station over all its imports: its record as the last one has it, and its parts.

    parts: number of the import with each.
    """

    name: str
    channel: Channel
    parts: tuple[tuple[int, Part], ...]

    @property
    def count(self) -> int:
        """Samples of all imports."""
        return sum(part.count for _, part in self.parts)

    @property
    def first(self) -> int:
        """Time of the first sample. [µs since 1970 UTC]"""
        return min(part.first for _, part in self.parts)

    @property
    def last(self) -> int:
        """Time of the last sample. [µs since 1970 UTC]"""
        return max(part.last for _, part in self.parts)


def channels_of(connection: Connection, key: str) -> list[KeptChannel]:
    """Return the channels of a station that hold samples, by name."""
    found: dict[str, KeptChannel] = {}
    for number, manifest in manifests(connection, key):
        for one in manifest.channels:
            if not one.parts:
                continue
            before = found.get(one.name)
            sources = one.channel.source_sha256
            parts = tuple((number, part) for part in one.parts)
            if before is not None:
                sources = tuple(dict.fromkeys((*before.channel.source_sha256, *sources)))
                parts = (*before.parts, *parts)
            channel = replace(one.channel, id=one.name, source_sha256=sources)
            found[one.name] = KeptChannel(one.name, channel, parts)
    return [found[name] for name in sorted(found)]


def frames(
    register: Register,
    logs: LogsFolder,
    key: str,
    start: datetime | None = None,
    end: datetime | None = None,
) -> list[tuple[Channel, pl.LazyFrame]]:
    """Return the channels of a station with their samples from `start` up to, not with, `end`, lazily.

    Raises
    ------
    InputError
        A file of samples that should be there is not.
    """
    return [
        (channel, _between(shown(logs, parts), start, end))
        for channel, parts in _within(register, key, start, end)
    ]


def stretches(
    register: Register,
    logs: LogsFolder,
    key: str,
    start: datetime | None = None,
    end: datetime | None = None,
) -> list[tuple[Channel, list[tuple[float, float, pl.LazyFrame]]]]:
    """Return what `frames` returns, by stretches of time with first and last [s since 1970] of each.

    Raises
    ------
    InputError
        A file of samples that should be there is not.
    """
    out = []
    for channel, parts in _within(register, key, start, end):
        some = [
            (
                min(part.first for _, part in group) / US,
                max(part.last for _, part in group) / US,
                _between(_one_of(logs, group), start, end),
            )
            for group in groups(parts)
        ]
        out.append((channel, some))
    return out


def _within(
    register: Register, key: str, start: datetime | None, end: datetime | None
) -> Iterator[tuple[Channel, list[tuple[int, Part]]]]:
    """Yield the channels that have parts which meet a period, with these parts."""
    with register.reading() as connection:
        channels = channels_of(connection, key)
    low, high = _micros(start), _micros(end)
    for one in channels:
        parts = [
            (number, part)
            for number, part in one.parts
            if (low is None or part.last >= low) and (high is None or part.first < high)
        ]
        if parts:
            yield one.channel, parts


def _micros(when: datetime | None) -> int | None:
    return None if when is None else round(when.timestamp() * US)


def _between(frame: pl.LazyFrame, start: datetime | None, end: datetime | None) -> pl.LazyFrame:
    for when, is_start in ((start, True), (end, False)):
        if when is not None:
            edge = pl.lit(_micros(when)).cast(pl.Datetime("us", "UTC"))
            frame = frame.filter(pl.col("t") >= edge if is_start else pl.col("t") < edge)
    return frame


def shown(logs: LogsFolder, parts: Sequence[tuple[int, Part]]) -> pl.LazyFrame:
    """Return the samples of parts in order of time; only where parts meet in time are they sorted."""
    if not parts:
        return no_samples()
    return pl.concat([_one_of(logs, group) for group in groups(parts)])


def groups(parts: Iterable[tuple[int, Part]]) -> list[list[tuple[int, Part]]]:
    """Return parts by stretches of time: parts of different groups do not meet."""
    out: list[list[tuple[int, Part]]] = []
    last = 0
    for number, part in sorted(parts, key=lambda one: (one[1].first, one[0])):
        if out and part.first <= last:
            out[-1].append((number, part))
            last = max(last, part.last)
        else:
            out.append([(number, part)])
            last = part.last
    return out


def _one_of(logs: LogsFolder, group: Sequence[tuple[int, Part]]) -> pl.LazyFrame:
    if len({number for number, _ in group}) == 1:
        return pl.concat([_there(logs, part) for _, part in group])
    together = pl.concat(
        [_there(logs, part).with_columns(pl.lit(number).alias("import")) for number, part in group]
    )
    in_order = together.sort("t", pl.col("v").is_null(), "import", "row", maintain_order=True)
    first = (pl.col("t") != pl.col("t").shift(1)).fill_null(True)
    return in_order.filter(first).drop("import")


def _there(logs: LogsFolder, part: Part) -> pl.LazyFrame:
    path = logs.part(part.name)
    if not path.is_file():
        raise InputError(
            "logger data", f"lacks {path}.",
            "Put the folder of logger data back from a copy; the files as they were given lie in its raw.",
        )  # fmt: skip
    return read_part(path, part)


def overlaps(
    kept: Iterable[KeptChannel],
    new: Iterable[ChannelParts],
    logs: LogsFolder,
    read_new: dict[str, pl.LazyFrame],
) -> list[Overlap]:
    """Return where new samples stand at times for which kept ones stand, by import and channel.

    read_new: the samples of each new part, by its name.
    """
    before = {one.name: one for one in kept}
    out: list[Overlap] = []
    for one in new:
        there = before.get(one.name)
        if there is None:
            continue
        found: dict[int, list[pl.DataFrame]] = {}
        for part in one.parts:
            for number, other in there.parts:
                if other.first <= part.last and part.first <= other.last:
                    found.setdefault(number, []).append(
                        _at_once(read_new[part.name], _there(logs, other), part, other)
                    )
        out += [line for number, some in found.items() if (line := _overlap(number, one.name, some))]
    return out


def _at_once(mine: pl.LazyFrame, theirs: pl.LazyFrame, part: Part, other: Part) -> pl.DataFrame:
    """Return count, those with another value, and first and last of the times that both have."""
    low, high = max(part.first, other.first), min(part.last, other.last)
    within = pl.col("t").dt.epoch("us").is_between(low, high)
    both = mine.filter(within).join(theirs.filter(within), on="t", suffix="_there")
    differ = pl.col("v").ne_missing(pl.col("v_there"))
    micros = pl.col("t").dt.epoch("us")
    counted = both.select(
        pl.len().alias("count"), differ.sum().alias("other"), micros.min().alias("first"),
        micros.max().alias("last"),
    )  # fmt: skip
    return counted.collect(engine="streaming")


def _overlap(number: int, name: str, some: Sequence[pl.DataFrame]) -> Overlap | None:
    table = pl.concat(some).filter(pl.col("count") > 0)
    if table.is_empty():
        return None
    count, other = int(table["count"].sum()), int(table["other"].sum())
    first, last = table["first"].min(), table["last"].max()
    assert isinstance(first, int)
    assert isinstance(last, int)
    return Overlap(number, name, count, other, first, last)
