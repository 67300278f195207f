"""A window of a station's logger data: buckets of its channels, how they stand, what is told of it."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from urllib.parse import quote, urlencode

import numpy as np

from steadyhead.errors import InputError
from steadyhead.records.logger import Channel
from steadyhead.records.logger_pictures import (
    Bucket,
    Level,
    LevelKind,
    LoggerFrame,
    LoggerPicture,
    Shown,
    Spot,
)
from steadyhead.register import Register
from steadyhead.register.logs import KeptChannel, LogsFolder, channels_of
from steadyhead.register.logs.buckets import Buckets, buckets, width_for
from steadyhead.services.logs.heights import heights_of
from steadyhead.services.logs.known import Bounds, all_known
from steadyhead.services.logs.spells import Happened, Spell, happened, marks, micros, spells
from steadyhead.services.logs.spoken import exact_of, spoken
from steadyhead.services.logs.views import View, moment
from steadyhead.services.page_words import dated
from steadyhead.services.stations.days import today
from steadyhead.services.stations.kept import head_file
from steadyhead.services.visits_kept.twin import chosen
from steadyhead.units import METRIC, UnitSet
from steadyhead.units.table import find
from steadyhead.watch.counting import counted, signed
from steadyhead.watch.defects.defaults import GAP_BY_EXCEPTION, GAP_LEAST, GAP_STEPS
from steadyhead.watch.defects.saying import lasting
from steadyhead.watch.gauge_height import height_words

US = 1_000_000
MOST, FEWEST = 2000, 50
"""Most buckets of a channel in one answer, and fewest that may be asked for."""
TOLD = 300
"""Most events and defects of one answer. Own estimate."""
LEADS = ("outlet pressure", "inlet pressure", "flow", "pressure between the valves", "travel")
"""Quantities shown first, where nobody chose."""
CHOSEN = 3
KINDS = {
    "inlet pressure": "pressure", "pressure between the valves": "pressure", "outlet pressure": "pressure",
    "flow": "flow", "travel": "ratio", "temperature": "temperature", "chamber level": "length",
    "meter index": "volume",
}  # fmt: skip
DIGITS = {"pressure": 2, "flow": 2, "ratio": 0, "temperature": 1, "length": 2, "volume": 2}
FINER, COARSER = ("MPa",), ("kPa", "psi", "m head", "ft head", "US gpm", "imp gpm", "m³/h", "L/min", "m³/d")
"""Units whose figures have one decimal more or less than those of metric readers."""


class SeenBuckets(View):
    """Buckets of a channel, column by column, those without a value left out.

    at, until: first and last value of each, milliseconds after the begin of the window; low, high, first,
    last: SI; stands: 0 unseen, 1 believed, 2 doubted, 3 refused, the worst of it; gaps: pairs of such
    milliseconds between which there is no value; inside: how many more gaps lie within buckets.
    """

    at: tuple[float, ...]
    until: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    first: tuple[float, ...]
    last: tuple[float, ...]
    count: tuple[int, ...]
    stands: tuple[int, ...]
    gaps: tuple[tuple[float, float], ...]
    inside: int


class SeenLevel(View):
    """A line a channel is held against, SI: its words and kind (trip, alarm or edge)."""

    value: float
    words: str
    kind: LevelKind


class SeenChannel(View):
    """A channel of a window. Shown figure = (SI − offset) / factor, in `unit`, with `digits` decimals."""

    name: str
    quantity: str
    statistic: str
    place: str
    unit: str
    factor: float
    offset: float
    digits: int
    holds: bool
    is_pressure: bool
    levels: tuple[SeenLevel, ...]
    buckets: SeenBuckets


class SeenWords(View):
    """Something told of the window: its number in the picture, code, times, channels, words.

    kind: event or defect; near: its window; rows: the samples it comes from; more: the page of the event, or
    of the judgement.
    """

    number: int
    kind: str
    code: str
    start: str
    end: str
    channels: tuple[str, ...]
    words: str
    confidence: str
    near: str
    rows: str
    more: str


class WindowView(View):
    """A window of logger data. Times ISO UTC; width_s: of a bucket; first, last: of all data; words: short.

    names: every channel there is; told_more: how many events and defects are not listed; carried: which
    levels were carried to a gauge off the datum.
    """

    format: str = "steadyhead/logs-window/1"
    station: str
    start: str
    end: str
    start_ms: int
    end_ms: int
    first: str
    last: str
    width_s: float
    names: tuple[str, ...]
    channels: tuple[SeenChannel, ...]
    told: tuple[SeenWords, ...]
    told_more: int
    judged: str
    words: str
    carried: str = ""


@dataclass(frozen=True, slots=True)
class Window:
    """What is asked for: the channels there are and those chosen, the window and that of all data. [µs]"""

    every: tuple[KeptChannel, ...]
    chosen: tuple[KeptChannel, ...]
    start: int
    end: int
    first: int
    last: int


def window(
    register: Register, key: str, start: int | None, end: int | None, names: Sequence[str] = ()
) -> Window:
    """Return a window: where nothing is said all the data, and the channels that say most.

    Raises
    ------
    NotKept
        No such station.
    InputError
        No data, no such channel, or a window that ends before it begins.
    """
    head_file(register, key)
    with register.reading() as connection:
        every = tuple(channels_of(connection, key))
    if not every:
        raise InputError(
            "logger data", "are none of this station yet.", "Hand the files of a logger over first."
        )
    by_name = {one.name: one for one in every}
    unknown = [name for name in names if name not in by_name]
    if unknown:
        raise InputError("channel", f"got {unknown[0]!r:.60}, which is none.", f"Use: {'; '.join(by_name)}.")
    chosen = tuple(by_name[name] for name in dict.fromkeys(names)) or _leading(every)
    first, last = min(one.first for one in every), max(one.last for one in every)
    start = first - first % US if start is None else start
    end = last - last % US + US if end is None else end
    if end <= start:
        raise InputError("end", f"lies {lasting((start - end) / US)} before the start.", "Name a later end.")
    return Window(every, chosen, start, end, first, last)


def _leading(every: Sequence[KeptChannel]) -> tuple[KeptChannel, ...]:
    def rank(one: KeptChannel) -> tuple[int, bool, str]:
        quantity = one.channel.quantity
        place = LEADS.index(quantity) if quantity in LEADS else len(LEADS)
        return place, one.channel.statistic not in ("spot", "mean"), one.name

    best: dict[str, KeptChannel] = {}
    for one in sorted(every, key=rank):
        best.setdefault(one.channel.quantity, one)
    return tuple(best.values())[:CHOSEN]


def shown_as(channel: Channel, units: UnitSet = METRIC) -> Shown:
    """Return how values of a channel are shown: in the reader's units, else as the file states them."""
    kind = KINDS.get(channel.quantity)
    if kind is not None:
        unit = find(kind, units.first.unit(kind))
        if unit is not None:
            digits = DIGITS[kind] + (unit.symbol in FINER) - (unit.symbol in COARSER)
            return Shown(unit.symbol, unit.factor, unit.offset, max(digits, 0))
    if channel.quantity == "shut-off closed":
        return Shown("", 1.0, 0.0, 0)
    return Shown(channel.unit_as_found, channel.factor or 1.0, channel.offset, 3)


def gap_limit(found: Buckets, channel: Channel) -> float:
    """Return the time between two values from which it is a gap; as the judgement of the data has it. [µs]"""
    if channel.hold == "step":
        return max(GAP_BY_EXCEPTION.si * found.far, 7200.0 * US)
    return max(GAP_STEPS.si * found.usual - 1000.0, GAP_LEAST.si * US)


def seen_buckets(
    logs: LogsFolder, told: Sequence[Spell], one: KeptChannel, span: tuple[int, int], most: int
) -> SeenBuckets:
    """Return the buckets of a channel between two times; see `SeenBuckets`. [µs]"""
    start, end = span
    found = buckets(logs, one, start, end, width_for(start, end, most))
    frame, limit = found.frame, gap_limit(found, one.channel)
    begins, ends = frame["from"].to_numpy(), frame["to"].to_numpy()
    open_at = np.flatnonzero((begins[1:] - ends[:-1]) > limit)
    ms = [(float(ends[at] - start) / 1e3, float(begins[at + 1] - start) / 1e3) for at in open_at.tolist()]
    stands = marks(told, one, begins, ends, frame["high"].to_numpy())
    values = {name: tuple(map(_short, frame[name].to_list())) for name in ("low", "high", "first", "last")}
    return SeenBuckets(
        at=tuple(((begins - start) / 1e3).tolist()), until=tuple(((ends - start) / 1e3).tolist()), **values,
        count=tuple(frame["count"].to_list()), stands=tuple(stands.tolist()), gaps=tuple(ms),
        inside=int((frame["longest"] > limit).sum()),
    )  # fmt: skip


def _short(value: float) -> float:
    return float(f"{value:.8g}")


def window_view(
    register: Register, logs: LogsFolder, key: str, asked: Window, units: UnitSet = METRIC, most: int = MOST
) -> WindowView:
    """Return a window with at most about `most` buckets of each channel; every extreme is in one of them.

    Raises
    ------
    InputError
        A number of buckets out of range; a file of samples that is not there.
    """
    if not FEWEST <= most <= MOST:
        raise InputError("most", f"got {most}.", f"Write {FEWEST} to {MOST} buckets.")
    span = (asked.start, asked.end)
    told = spells(register, key, *span)
    every = happened(told, *span)
    bounds, heights = bounds_of(register, key), heights_of(register, key)
    at = [heights.bounds_at(bounds, one.channel) for one in asked.chosen]
    channels = tuple(
        _channel(one, own, units, seen_buckets(logs, told, one, span, most))
        for one, own in zip(asked.chosen, at, strict=True)
    )
    carried = _carried(channels, at, units)
    return WindowView(
        station=key, start=moment(asked.start), end=moment(asked.end), start_ms=asked.start // 1000,
        end_ms=asked.end // 1000, first=moment(asked.first), last=moment(asked.last),
        width_s=width_for(*span, most) / US, names=tuple(one.name for one in asked.every), channels=channels,
        told=tuple(_told(key, number, one, asked, units) for number, one in enumerate(every[:TOLD], 1)),
        told_more=max(len(every) - TOLD, 0), judged=_judged(told), words=_words(asked, channels) + carried,
        carried=carried.strip(),
    )  # fmt: skip


def _channel(one: KeptChannel, bounds: Bounds, units: UnitSet, found: SeenBuckets) -> SeenChannel:
    shown, channel = shown_as(one.channel, units), one.channel
    return SeenChannel(
        name=one.name, quantity=channel.quantity, statistic=channel.statistic, place=channel.place or "",
        unit=shown.unit, factor=shown.factor, offset=shown.offset, digits=shown.digits,
        holds=channel.hold == "step", is_pressure=KINDS.get(channel.quantity) == "pressure",
        levels=_levels(channel, bounds), buckets=found,
    )  # fmt: skip


def _carried(channels: Sequence[SeenChannel], at: Sequence[Bounds], units: UnitSet) -> str:
    """Return which levels were carried to a gauge that stands off the datum; empty: none."""
    told = [(one.name, height_words(own.height)) for one, own in zip(channels, at, strict=True) if one.levels]
    every = [f" Levels of {name} are carried to the gauge, {words}." for name, words in told if words]
    return spoken("".join(every), units)


def _levels(channel: Channel, bounds: Bounds) -> tuple[SeenLevel, ...]:
    if channel.quantity != "outlet pressure" or channel.absolute:
        return ()
    told: tuple[tuple[float | None, str, LevelKind], ...] = (
        (bounds.trip, "lower edge of the trip", "trip"), (bounds.high, "highest normal", "edge"),
        (bounds.low, "lowest normal", "edge"),
    )  # fmt: skip
    return tuple(SeenLevel(value=v, words=words, kind=kind) for v, words, kind in told if v is not None)


def _told(key: str, number: int, one: Happened, asked: Window, units: UnitSet) -> SeenWords:
    here = f"/stations/{quote(key)}/logs"
    lead = next((name for name in one.one.channels if any(name == each.name for each in asked.every)), "")
    lead = lead or asked.chosen[0].name
    rows = urlencode({"channel": lead, "start": one.one.start})
    more = (
        f"{here}/event?{urlencode({'at': one.one.start})}"
        if one.is_event
        else f"{here}/judged/{one.judgement}"
    )
    return SeenWords(
        number=number, kind="event" if one.is_event else "defect", code=one.one.code, start=one.one.start,
        end=one.one.end, channels=one.one.channels, words=spoken(one.one.words, units, exact_of(one.one)),
        confidence=one.one.confidence,
        near=f"{here}/see?{near(one.start, one.end)}", rows=f"{here}/rows?{rows}", more=more,
    )  # fmt: skip


def near(start: int, end: int) -> str:
    """Return the query of a window about something, with half its length on either side. [µs since 1970]

    Examples
    --------
    >>> near(1_798_416_000_000_000, 1_798_416_000_000_000)
    'start=2026-12-27T23%3A59%3A30Z&end=2026-12-28T00%3A00%3A30Z'
    """
    side = max((end - start) // 2, 30 * US)
    return urlencode({"start": moment(start - side), "end": moment(end + side)})


def said(words: str) -> str:
    """Return words with their days and moments as pages tell them, for drawings and programs too."""
    return dated(words).replace("\u00a0", " ")


def _judged(told: Sequence[Spell]) -> str:
    if not told:
        return "Nothing in this window is judged yet: all of it is unseen."
    spans = [f"{moment(one.first)[:10]} to {moment(one.last)[:10]} on {one.view.at[:10]}" for one in told]
    words = said(f"Judged: {'; '.join(spans)}.")
    since = sorted({number for one in told for number in one.since})
    return words + (f" Unseen: what came since with import {', '.join(map(str, since))}." if since else "")


def _words(asked: Window, channels: Sequence[SeenChannel]) -> str:
    parts = []
    for one in channels:
        found = one.buckets
        if not found.low:
            parts.append(f"{one.name}: no values")
            continue
        low, high = ((v - one.offset) / one.factor for v in (min(found.low), max(found.high)))
        gaps = len(found.gaps) + found.inside
        open_ = "" if not gaps else ", 1 gap" if gaps == 1 else f", {gaps} gaps"
        figures = " to ".join(signed(f"{v:.{one.digits}f}") for v in (low, high))
        figures = f"{figures} {one.unit}".rstrip()
        parts.append(f"{one.name}: {figures}, {counted(sum(found.count), 'sample')}{open_}")
    return said(f"{moment(asked.start)[:16]} to {moment(asked.end)[:16]} UTC. ") + "; ".join(parts) + "."


def picture_of(view: WindowView, name: str, decimal: str = ".") -> LoggerPicture:
    """Return a window as what its drawing shows. name: of the station."""
    start = view.start_ms * 1000
    frames = tuple(_frame(one, start) for one in view.channels)

    spots = tuple(
        Spot(one.number, micros(one.start), micros(one.end), one.kind == "event") for one in view.told
    )
    width = view.width_s
    grain = (
        f"{width / 3600:g} h" if width >= 3600 else f"{width / 60:g} min" if width >= 60 else f"{width:g} s"
    )
    caption = (
        f"Strokes reach from the least to the most of each {grain}; hatched: no samples. {view.judged}",
        "Line below a frame: long dashes refused, dots doubted, solid believed, sparse dashes unseen. "
        "Nothing is corrected or smoothed; times UTC.",
        *([view.carried] if view.carried else []),
    )
    title = f"{name}, {said(f'{view.start[:16]} to {view.end[:16]}')}"
    return LoggerPicture(title, caption, start, view.end_ms * 1000, frames, spots, decimal)


def _frame(one: SeenChannel, start: int) -> LoggerFrame:
    b = one.buckets
    rows = zip(b.at, b.until, b.low, b.high, b.first, b.last, b.stands, strict=True)
    return LoggerFrame(
        name=one.name,
        shown=Shown(one.unit, one.factor, one.offset, one.digits),
        buckets=tuple(
            Bucket(start + round(at * 1e3), start + round(until * 1e3), *rest) for at, until, *rest in rows
        ),
        gaps=tuple((start + round(a * 1e3), start + round(z * 1e3)) for a, z in b.gaps),
        levels=tuple(Level(each.value, each.words, each.kind) for each in one.levels),
        holds=one.holds,
        is_pressure=one.is_pressure,
    )


def edges_of(register: Register, key: str) -> tuple[float, ...]:
    """Return the edges that sentences on a station's data name: of the band, and of the trip. [Pa]

    At the datum, and as each gauge of the outlet reads them.
    """
    with register.reading() as connection:
        channels = [one.channel for one in channels_of(connection, key)]
    return heights_of(register, key).edges(bounds_of(register, key), channels)


_BOUNDS: OrderedDict[tuple[str, str, str], Bounds] = OrderedDict()


def bounds_of(register: Register, key: str) -> Bounds:
    """Return what measures are held against, at the datum; worked out once a day, file and baseline."""
    with register.reading() as connection:
        baseline = chosen(connection, key)
    chosen_one = baseline.digest if baseline is not None else ""
    name = (head_file(register, key).file_hash, chosen_one, today().isoformat())
    if name not in _BOUNDS:
        _BOUNDS[name] = all_known(register, key)[1]
        while len(_BOUNDS) > 64:
            _BOUNDS.popitem(last=False)
    return _BOUNDS[name]
