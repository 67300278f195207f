"""What is said of a reading, an import, the imports of a station: typed, for a terminal and for programs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import polars as pl
from pydantic import BaseModel, ConfigDict

from steadyhead.records.logger import Channel
from steadyhead.register.logs import Import, KeptFile, Overlap, Part, read_part
from steadyhead.register.logs.parts import no_samples
from steadyhead.services.logs.answering import Question
from steadyhead.services.logs.proposing import Proposal
from steadyhead.watch.counting import counted
from steadyhead.watch.defects.episode import Episode
from steadyhead.watch.happening import Happening, NotSeen
from steadyhead.watch.reading import as_stated

SHOWN = 3
"""Samples shown from the beginning and the end of each channel."""
US = 1_000_000


class View(BaseModel):
    """Frozen; knows every field."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class ChoiceView(View):
    """An answer: its value, in words, and what speaks for it."""

    value: str
    words: str
    evidence: str


class QuestionView(View):
    """A question, its choices, and what is taken where nobody answers; empty: it must be answered."""

    name: str
    question: str
    taken: str
    choices: tuple[ChoiceView, ...]


class SampleView(View):
    """A sample: time, value in SI and as the file states it (None: no value), row of the file."""

    at: str
    si: float | None
    stated: float | None
    row: int


class ChannelView(View):
    """A channel: what it measures, how many samples, from when to when, the first and last ones."""

    name: str
    quantity: str
    statistic: str
    place: str
    unit: str
    heading: str
    count: int
    missing: int
    first: str
    last: str
    shown: tuple[SampleView, ...] = ()


class RowsView(View):
    """Rows of all files: total = used + left out."""

    total: int
    used: int
    left_out: dict[str, int]


class FileView(View):
    """A file as it was given. size: bytes; number: import that holds it, 0: none yet."""

    name: str
    sha256: str
    size: int
    number: int = 0
    station: str = ""


class FactView(View):
    """Something met while reading, with rows as examples."""

    code: str
    words: str
    rows: tuple[int, ...]


class OverlapView(View):
    """Samples at times for which another import has samples of the channel; that one's are shown.

    count, other: how many, and how many of them have another value.
    """

    number: int
    channel: str
    count: int
    other: int
    first: str
    last: str
    words: str


class ProposalView(View):
    """How files would be read, or were."""

    format: str = "steadyhead/logs/1"
    station: str
    source: str
    number: int = 0
    files: tuple[FileView, ...] = ()
    known: tuple[FileView, ...] = ()
    elsewhere: tuple[FileView, ...] = ()
    words: tuple[str, ...] = ()
    facts: tuple[FactView, ...] = ()
    channels: tuple[ChannelView, ...] = ()
    rows: RowsView = RowsView(total=0, used=0, left_out={})
    open: tuple[QuestionView, ...] = ()
    assumed: tuple[QuestionView, ...] = ()
    answers: dict[str, str] = {}
    overlaps: tuple[OverlapView, ...] = ()


class ImportLine(View):
    """An import of a station, in its list."""

    number: int
    station: str
    source: str
    begins: str
    ends: str
    at: str
    who: str
    files: tuple[FileView, ...] = ()
    samples: int = 0
    undone_at: str = ""
    undone_by: str = ""
    reason: str = ""


class JudgementLine(View):
    """A kept judgement in the list of a station.

    since: imports that came since and hold samples of its period; those samples are unseen.
    undone: imports it rests on that were undone; it says nothing any more.
    events: codes of what happened at the station, each with how often, as it was told first.
    """

    id: str
    first: str
    last: str
    at: str
    who: str
    words: str
    channels: tuple[str, ...]
    since: tuple[int, ...]
    undone: tuple[int, ...] = ()
    events: tuple[tuple[str, int], ...] = ()


class ImportsView(View):
    """The imports of a station in their order, the channels they give, and what was judged of them."""

    format: str = "steadyhead/logs-list/1"
    station: str
    imports: tuple[ImportLine, ...]
    channels: tuple[ChannelView, ...]
    judgements: tuple[JudgementLine, ...] = ()


class EpisodeView(View):
    """A defect of the data: when, on which channels (none: all), its size in SI, in words, its grounds."""

    code: str
    start: str
    end: str
    channels: tuple[str, ...]
    magnitude: float | None
    unit: str
    words: str
    evidence: tuple[str, ...]
    confidence: str


class EventView(View):
    """An event of the station: when, on which channels, its size in SI, in words, its grounds."""

    code: str
    start: str
    end: str
    channels: tuple[str, ...]
    magnitude: float | None
    unit: str
    words: str
    evidence: tuple[str, ...]
    confidence: str


class NotSeenView(View):
    """What the record could not have shown."""

    code: str
    words: str


def moment(micros: int) -> str:
    """Return a time, ISO, UTC. [µs since 1970]"""
    when = datetime.fromtimestamp(micros // US, UTC).replace(microsecond=micros % US)
    return when.isoformat(timespec="milliseconds" if micros % US else "seconds").replace("+00:00", "Z")


def row_number(row: int | None) -> int | None:
    """Return the row of the file; the bits above it say which of several files."""
    return None if row is None else row & ((1 << 40) - 1)


def question_view(one: Question) -> QuestionView:
    """Return a question to be shown."""
    return QuestionView(
        name=one.name,
        question=one.doubt.question,
        taken=one.doubt.taken or "",
        choices=tuple(
            ChoiceView(value=each.value, words=each.words, evidence=each.evidence)
            for each in one.doubt.choices
        ),
    )


def file_view(file: KeptFile, there: Import | None = None) -> FileView:
    """Return a file to be shown, with the import that holds it."""
    number, station = (0, "") if there is None else (there.number, there.station)
    return FileView(name=file.name, sha256=file.sha256, size=file.size, number=number, station=station)


@dataclass(frozen=True, slots=True)
class Ends:
    """What is known of a channel: samples, those without a value, first and last time [µs], its few ends."""

    count: int
    missing: int
    first: int | None
    last: int | None
    few: pl.DataFrame


def ends_of(frame: pl.LazyFrame) -> Ends:
    """Return the ends of a channel, read through once."""
    micros = pl.col("t").dt.epoch("us")
    counted = frame.select(
        pl.len().alias("n"), pl.col("v").null_count().alias("missing"), micros.min().alias("first"),
        micros.max().alias("last"),
    ).collect(engine="streaming")  # fmt: skip
    count, missing, first, last = counted.row(0)
    head = frame.head(SHOWN).collect()
    tail = frame.tail(min(SHOWN, max(count - SHOWN, 0))).collect()
    return Ends(count, missing, first, last, pl.concat([head, tail]))


def ends_of_parts(parts: Sequence[tuple[Path, Part]]) -> Ends:
    """Return the ends of a channel from its written parts, whose counts are known."""
    if not parts:
        return ends_of(no_samples())
    every = [part for _, part in parts]
    count = sum(part.count for part in every)
    head = read_part(*parts[0]).head(SHOWN).collect()
    tail = read_part(*parts[-1]).tail(SHOWN).collect()
    if count < 2 * SHOWN or every[0].count < SHOWN or every[-1].count < SHOWN:
        return ends_of(pl.concat([read_part(*one) for one in parts]))
    missing = sum(part.missing for part in every)
    return Ends(count, missing, every[0].first, every[-1].last, pl.concat([head, tail]))


def channel_view(name: str, channel: Channel, ends: Ends) -> ChannelView:
    """Return a channel of a reading to be shown, with its first and last samples."""
    few = ends.few
    stated = as_stated(channel, few.lazy()).collect()["v"].to_list()
    rows = zip(few["t"].dt.epoch("us"), few["v"], stated, few["row"], strict=True)
    return ChannelView(
        name=name,
        quantity=channel.quantity,
        statistic=channel.statistic,
        place=channel.place or "",
        unit=channel.unit_as_found,
        heading=channel.heading,
        count=ends.count,
        missing=ends.missing,
        first="" if ends.first is None else moment(ends.first),
        last="" if ends.last is None else moment(ends.last),
        shown=tuple(
            SampleView(at=moment(at), si=si, stated=as_found, row=row_number(row) or 0)
            for at, si, as_found, row in rows
        ),
    )


def overlap_view(one: Overlap) -> OverlapView:
    """Return an overlap to be shown, in words."""
    first, last = moment(one.first), moment(one.last)
    differ = f"{one.other} of them have another value" if one.other else "all of them are equal"
    words = (
        f"{one.channel}: {counted(one.count, 'sample')} at times that import {one.number} has, {first} to "
        f"{last}; {differ}. Both are kept; where both have a value, import {one.number} is shown."
    )
    return OverlapView(
        number=one.number, channel=one.channel, count=one.count, other=one.other, first=first, last=last,
        words=words,
    )  # fmt: skip


def proposal_view(one: Proposal, ends: Sequence[Ends] | None = None) -> ProposalView:
    """Return how files would be read, with the first and last samples of each channel.

    ends: of the channels, where they are known already.
    """
    found = one.found
    base = ProposalView(
        station=one.given.station,
        source=one.given.source,
        files=tuple(file_view(file) for file in one.staged.files),
        known=tuple(file_view(file, there) for file, there in one.known),
        elsewhere=tuple(file_view(file, there) for file, there in one.elsewhere),
        open=tuple(question_view(each) for each in one.open),
        assumed=tuple(question_view(each) for each in one.assumed),
        answers=dict(one.answers),
    )
    if found is None:
        return base
    if ends is None:
        ends = [ends_of(frame) for _, frame in found.channels]
    return base.model_copy(
        update={
            "words": found.words,
            "facts": tuple(FactView(code=f.code, words=f.words, rows=f.rows) for f in found.facts),
            "channels": tuple(
                channel_view(c.id, c, known) for (c, _), known in zip(found.channels, ends, strict=True)
            ),
            "rows": rows_view(found.rows_total, found.rows_used, found.rows_left_out),
        }
    )


def rows_view(total: int, used: int, left_out: dict[str, int]) -> RowsView:
    """Return what became of the rows; rows without a reason are told as such, none is dropped silently."""
    untold = total - used - sum(left_out.values())
    told = left_out | ({"for no reason told": untold} if untold else {})
    return RowsView(total=total, used=used, left_out=told)


def text(when: datetime | None) -> str:
    """Return a time, ISO, UTC; empty for none."""
    return "" if when is None else when.isoformat().replace("+00:00", "Z")


def episode_view(one: Episode) -> EpisodeView:
    """Return a defect to be shown."""
    return EpisodeView(
        code=one.code.value, start=text(one.start), end=text(one.end), channels=one.channels,
        magnitude=one.magnitude, unit=one.unit, words=one.words, evidence=one.evidence,
        confidence=one.confidence,
    )  # fmt: skip


def event_view(one: Happening) -> EventView:
    """Return an event to be shown."""
    return EventView(
        code=one.code.value, start=text(one.start), end=text(one.end), channels=one.channels,
        magnitude=one.magnitude, unit=one.unit, words=one.words, evidence=one.evidence,
        confidence=one.confidence,
    )  # fmt: skip


def not_seen_view(one: NotSeen) -> NotSeenView:
    """Return what was not seen to be shown."""
    return NotSeenView(code=one.code.value, words=one.words)
