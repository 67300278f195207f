"""Tell the event about a time: what happened in which order, how it may be read, what was not seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import polars as pl

from steadyhead.errors import InputError
from steadyhead.records.logger import Channel, Context
from steadyhead.register import Register
from steadyhead.register.logs import LogsFolder, manifests
from steadyhead.services.logs.heights import heights_of
from steadyhead.services.logs.held import held_before
from steadyhead.services.logs.importing import period
from steadyhead.services.logs.known import known_of
from steadyhead.services.logs.lasting import with_lasting
from steadyhead.services.logs.order import may_precede, order_words
from steadyhead.services.logs.views import (
    EpisodeView,
    EventView,
    NotSeenView,
    View,
    episode_view,
    event_view,
    not_seen_view,
    row_number,
    text,
)
from steadyhead.services.logs.visited import visits_of
from steadyhead.watch.defects.episode import Episode
from steadyhead.watch.defects.judging import judge
from steadyhead.watch.happening import Happening, tell
from steadyhead.watch.happening.event import Event
from steadyhead.watch.incident import AROUND, Incident, Reading, Step, incident

CAUTION = (
    "Read from logger data alone. Before a reset or any work: find the cause, or run the reducer with the "
    "consumers isolated, and refill slowly. The owner's rules and the suppliers' instructions come first."
)
_DAY = 86_400.0
ABOUT = timedelta(hours=6)
"""How far from a time an event is told; files of these hours are named."""


class StepView(View):
    """A step: it happened after the one and by the other; in_order False: maybe before steps above it.

    before: places of those, the first step is 0; order: the same in words, and how close the times are known.
    """

    after: str
    by: str
    channel: str
    words: str
    value: float
    unit: str
    in_order: bool
    before: tuple[int, ...] = ()
    order: str = ""


class ClauseView(View):
    """A sign of a signature: yes, no, or not to be told."""

    sign: str
    seen: str
    words: str


class ReadingView(View):
    """A row of the table of signatures held against the event. sure: likely, possible, ruled out."""

    name: str
    sure: str
    clauses: tuple[ClauseView, ...]
    next: str


class RowsView(View):
    """Rows of a channel about the event: first and last row in the file, samples, checksums."""

    channel: str
    start: str
    end: str
    samples: int
    first_row: int | None
    last_row: int | None
    sources: tuple[str, ...]


class IncidentView(View):
    """An event in full; `event` None: none is told within six hours of the time."""

    format: str = "steadyhead/logs-incident/1"
    station: str
    name: str
    at: str
    start: str
    end: str
    event: EventView | None = None
    words: str
    steps: tuple[StepView, ...] = ()
    readings: tuple[ReadingView, ...] = ()
    clocks: tuple[str, ...] = ()
    not_seen: tuple[NotSeenView, ...] = ()
    defects: tuple[EpisodeView, ...] = ()
    others: tuple[EventView, ...] = ()
    rows: tuple[RowsView, ...] = ()
    caution: str = CAUTION


def tell_at(register: Register, logs: LogsFolder, key: str, when: datetime) -> IncidentView:
    """Tell the event of a station about a time, from the two weeks before and the two days after it.

    Raises
    ------
    NotKept
        No such station.
    InputError
        No samples about that time.
    """
    start, end = when - AROUND[0], when + AROUND[1]
    channels = period(register, logs, key, start, end)
    if not channels:
        raise InputError(
            "--at", f"got {when:%Y-%m-%dT%H:%M:%SZ}; there are no samples of {key} about that time.",
            f"steadyhead logs list {key} says when there are.",
        )  # fmt: skip
    held = held_before(register, logs, key, start, channels)
    channels = [(channel, held.get(channel.id, frame)) for channel, frame in channels]
    known = heights_of(register, key).known(known_of(register, key), [channel for channel, _ in channels])
    context = Context(zone=channels[0][0].zone, known=known, visits=visits_of(register, key, start, end))
    found = judge(channels, context)
    told = tell(channels, context, found)
    channels = _of_files(register, key, channels, _hours_of(told.happenings, when))
    one = incident(channels, context, when, told, found)
    base = IncidentView(
        station=key, name=name_of(register, key), at=text(when), start=text(start), end=text(end),
        words="No event is told within six hours of that time. Not told is not proved.",
        not_seen=tuple(not_seen_view(each) for each in told.not_seen),
        defects=_near(found.episodes, when, when),
        others=tuple(event_view(each) for each in told.happenings),
    )  # fmt: skip
    return base if one is None else _full(base, one, channels, found.episodes)


def _hours_of(every: Sequence[Happening], when: datetime) -> tuple[datetime, datetime]:
    """Return the hours about a time, and those of the events that meet them."""
    low, high = when - ABOUT, when + ABOUT
    met = [one for one in every if one.start <= high and one.end >= low]
    return min([low, *(one.start for one in met)]), max([high, *(one.end for one in met)])


def _of_files(
    register: Register,
    key: str,
    channels: Sequence[tuple[Channel, pl.LazyFrame]],
    span: tuple[datetime, datetime],
) -> list[tuple[Channel, pl.LazyFrame]]:
    """Return channels that name the files of a span only, not those of the other weeks."""
    low, high = (round(each.timestamp() * 1e6) for each in span)
    about: dict[str, tuple[str, ...]] = {}
    with register.reading() as connection:
        for _, manifest in manifests(connection, key):
            for one in manifest.channels:
                if any(part.first <= high and part.last >= low for part in one.parts):
                    before = about.get(one.name, ())
                    about[one.name] = tuple(dict.fromkeys((*before, *one.channel.source_sha256)))
    return [
        (replace(channel, source_sha256=about.get(channel.id, channel.source_sha256)), frame)
        for channel, frame in channels
    ]


def name_of(register: Register, key: str) -> str:
    """Return the name of a station as the list shows it."""
    from steadyhead.services.stations.kept import station_row

    with register.reading() as connection:
        return str(station_row(connection, key).name)


def _full(
    base: IncidentView,
    one: Incident,
    channels: Sequence[tuple[Channel, pl.LazyFrame]],
    episodes: Sequence[Episode],
) -> IncidentView:
    event = event_view(one.event)
    steps = with_lasting(one, channels, episodes)
    return base.model_copy(
        update={
            "event": event.model_copy(update={"words": _kept_words(event)}),
            "words": one.words,
            "steps": tuple(_step(steps, place) for place in range(len(steps))),
            "readings": tuple(_reading(each) for each in one.readings),
            "clocks": one.clocks,
            "defects": _near(episodes, one.event.start, one.event.end),
            "others": tuple(
                each for each in base.others if (each.code, each.start) != (event.code, event.start)
            ),
            "rows": tuple(_rows(channel, frame, one) for channel, frame in channels),
        }
    )


def _kept_words(event: EventView) -> str:
    """Return what of an event's words stands beside the table: its guesses do not, a warning does."""
    return event.words if event.code == Event.OVER_TRIP.value else first_sentence(event.words)


def first_sentence(words: str) -> str:
    """Return what was seen; what it is taken for stands in the readings."""
    head, dot, _ = words.partition(". ")
    return head + "." if dot else words


def _step(steps: Sequence[Step], place: int) -> StepView:
    one = steps[place]
    return StepView(
        after=text(one.after), by=text(one.by), channel=one.channel, words=one.words, value=one.value,
        unit=one.unit, in_order=one.in_order, before=may_precede(steps, place),
        order=order_words(steps, place),
    )  # fmt: skip


_SEEN = {True: "yes", False: "no", None: "not to be told"}


def _reading(one: Reading) -> ReadingView:
    clauses = tuple(ClauseView(sign=c.sign, seen=_SEEN[c.is_seen], words=c.words) for c in one.clauses)
    return ReadingView(name=one.name, sure=one.sure, clauses=clauses, next=one.next)


def _near(episodes: Sequence[Episode], start: datetime, end: datetime) -> tuple[EpisodeView, ...]:
    """Return the defects of the data that meet the day about an event."""
    low, high = start.timestamp() - _DAY, end.timestamp() + _DAY
    return tuple(
        episode_view(one) for one in episodes if one.start.timestamp() <= high and one.end.timestamp() >= low
    )


def _rows(channel: Channel, frame: pl.LazyFrame, one: Incident) -> RowsView:
    start, end = one.event.start.astimezone(UTC), one.event.end.astimezone(UTC)
    found = (
        frame.filter(pl.col("t").is_between(start, end))
        .select(pl.len().alias("n"), pl.col("row").first().alias("first"), pl.col("row").last().alias("last"))
        .collect()
        .row(0)
    )
    return RowsView(
        channel=channel.id, start=text(start), end=text(end), samples=found[0],
        first_row=row_number(found[1]), last_row=row_number(found[2]), sources=channel.source_sha256,
    )  # fmt: skip
