"""What is said of a reading, an import, the imports of a station: typed, for a terminal and for programs."""

from __future__ import annotations

from datetime import UTC, datetime

import polars as pl
from pydantic import BaseModel, ConfigDict

from steadyhead.records.logger import Channel
from steadyhead.register.logs import Import, KeptFile, Overlap
from steadyhead.services.logs.answering import Question
from steadyhead.services.logs.proposing import Proposal
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


class ImportsView(View):
    """The imports of a station in their order, and the channels they give."""

    format: str = "steadyhead/logs-list/1"
    station: str
    imports: tuple[ImportLine, ...]
    channels: tuple[ChannelView, ...]


def moment(micros: int) -> str:
    """Return a time, ISO, UTC. [µs since 1970]"""
    when = datetime.fromtimestamp(micros // US, UTC).replace(microsecond=micros % US)
    return when.isoformat(timespec="milliseconds" if micros % US else "seconds").replace("+00:00", "Z")


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


def channel_view(name: str, channel: Channel, frame: pl.LazyFrame) -> ChannelView:
    """Return a channel of a reading to be shown, with its first and last samples."""
    micros = pl.col("t").dt.epoch("us")
    counted = frame.select(
        pl.len().alias("n"), pl.col("v").null_count().alias("missing"), micros.min().alias("first"),
        micros.max().alias("last"),
    ).collect(engine="streaming")  # fmt: skip
    count, missing, first, last = counted.row(0)
    head = frame.head(SHOWN).collect()
    tail = frame.tail(min(SHOWN, max(count - SHOWN, 0))).collect()
    few = pl.concat([head, tail])
    stated = as_stated(channel, few.lazy()).collect()["v"].to_list()
    rows = zip(few["t"].dt.epoch("us"), few["v"], stated, few["row"], strict=True)
    return ChannelView(
        name=name,
        quantity=channel.quantity,
        statistic=channel.statistic,
        place=channel.place or "",
        unit=channel.unit_as_found,
        heading=channel.heading,
        count=count,
        missing=missing,
        first="" if first is None else moment(first),
        last="" if last is None else moment(last),
        shown=tuple(
            SampleView(at=moment(at), si=si, stated=as_found, row=row & ((1 << 40) - 1))
            for at, si, as_found, row in rows
        ),
    )


def overlap_view(one: Overlap) -> OverlapView:
    """Return an overlap to be shown, in words."""
    first, last = moment(one.first), moment(one.last)
    differ = f"{one.other} of them have another value" if one.other else "all of them are equal"
    words = (
        f"{one.channel}: {one.count} samples stand at times that import {one.number} has, {first} to {last}; "
        f"{differ}. Both are kept; where both have a value, import {one.number} is shown."
    )
    return OverlapView(
        number=one.number, channel=one.channel, count=one.count, other=one.other, first=first, last=last,
        words=words,
    )  # fmt: skip


def proposal_view(one: Proposal) -> ProposalView:
    """Return how files would be read, with the first and last samples of each channel."""
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
    return base.model_copy(
        update={
            "words": found.words,
            "facts": tuple(FactView(code=f.code, words=f.words, rows=f.rows) for f in found.facts),
            "channels": tuple(channel_view(c.id, c, frame) for c, frame in found.channels),
            "rows": rows_view(found.rows_total, found.rows_used, found.rows_left_out),
        }
    )


def rows_view(total: int, used: int, left_out: dict[str, int]) -> RowsView:
    """Return what became of the rows; rows without a reason are told as such, none is dropped silently."""
    untold = total - used - sum(left_out.values())
    told = left_out | ({"for no reason told": untold} if untold else {})
    return RowsView(total=total, used=used, left_out=told)
