"""Series of all files to channels: local times to UTC, the same channel of several files, duplicates."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np

from steadyhead.records.logger import (
    MARKED_BY_LOGGER,
    Channel,
    Context,
    Doubt,
    Fact,
    Hold,
    Statistic,
)
from steadyhead.watch.counting import often
from steadyhead.watch.reading import clock_set
from steadyhead.watch.reading.asking import Meant
from steadyhead.watch.reading.clock import uncut
from steadyhead.watch.reading.gather import Gathered, Raw, Structure
from steadyhead.watch.reading.headings import TAP_OF, has, plain
from steadyhead.watch.reading.stamps import US
from steadyhead.watch.reading.zones import Rule, changes, follows, standard_offset, stated_zone, to_utc

FILE_BITS = 40
"""`row` of a sample = number of its file << FILE_BITS | line or row of that file."""


@dataclass
class Timed:
    """A raw series with its times in UTC [µs], and what was met on the way."""

    raw: Raw
    utc: np.ndarray
    twice: bool = False
    absent: int = 0
    cut: bool = False
    one_pass: bool = False
    spring: bool = False
    descending: bool = False
    unordered: int = 0
    exception: bool = False


@dataclass
class Joined:
    """A channel with its samples as arrays, and what was dropped: rows by reason.

    also: further headings it comes from, those in another unit, each with it.
    """

    channel: Channel
    utc: np.ndarray
    v: np.ndarray
    bad: np.ndarray
    row: np.ndarray
    same: list[int] = field(default_factory=list)
    other: list[int] = field(default_factory=list)
    across: bool = False
    evidence: str = ""
    also: tuple[str, ...] = ()


def rhythm(local: np.ndarray) -> float:
    """Return the commonest step between samples; 0 where there is none. [s]"""
    steps = np.abs(np.diff(local))
    steps = steps[steps > 0]
    if not len(steps):
        return 0.0
    return float(Counter(steps.tolist()).most_common(1)[0][0]) / US


def zone_in(lies: Structure) -> str:
    """Return the fixed zone that a table names at its times, or ahead of them; "" for none."""
    segment = lies.parted.segments[0] if lies.parted.segments else None
    if segment is None or not segment.rows:
        return ""
    heads = _heads_of_times(lies)
    ahead = itertools.takewhile(lambda row: row[0] < segment.rows[0][0], lies.grid.rows)
    lines = [" ".join(one for one in cells if isinstance(one, str)) for _, cells in ahead]
    return stated_zone(heads, lines)


def zone_at_times(lies: Structure) -> str:
    """Return the zone that the headings of the times themselves count from UTC or GMT; "" for none."""
    heads = [one for one in _heads_of_times(lies) if "utc" in one.casefold() or "gmt" in one.casefold()]
    return stated_zone(heads, [])


def _heads_of_times(lies: Structure) -> list[str]:
    segment = lies.parted.segments[0] if lies.parted.segments else None
    if segment is None:
        return []
    return [segment.heads[one.at] for one in lies.times.sources if one.at < len(segment.heads)]


LOCAL = ("local", "lokal", "ortszeit", "locale", "lokale", "ora locale", "hora local", "heure locale")
"""Words of a column that tells the time of the place beside one in UTC."""


def is_utc_beside_local(lies: Structure) -> bool:
    """Return whether a table tells each time in UTC and on the clock of the place: UTC is read then."""
    segment = lies.parted.segments[0] if lies.parted.segments else None
    if segment is None or lies.times.kind != "text":
        return False
    read = [segment.heads[one.at] for one in lies.times.sources if one.at < len(segment.heads)]
    beside = [segment.heads[at] for at in lies.times.spare if at < len(segment.heads)]
    return (
        bool(read)
        and all(stated_zone([one], []) == "UTC" for one in read)
        and any(has(plain(one), LOCAL) for one in beside)
    )


UTC = Rule("UTC", None, 0, True)


def settle_rule(gathered: list[Gathered], rule: Rule, context: Context) -> tuple[Rule, Doubt | None, str]:
    """Return the rule that fits what the files show of the clock changes, a doubt, and a sentence."""
    from steadyhead.records.logger import Choice

    if rule.info is None and not (rule.told and rule.zone and "/" in rule.zone):
        return rule, None, ""
    from zoneinfo import ZoneInfo

    info = rule.info or ZoneInfo(rule.zone)
    shown: bool | None = None
    for one in gathered:
        if one.structure.times.kind not in ("text", "serial day"):
            continue
        for raw in one.series:
            if any(off is not None for off in raw.offset) or len(raw.local) < 3:
                continue
            local = np.array(raw.local, dtype=np.int64)
            local = local[::-1] if np.mean(np.diff(local) < 0) > 0.5 else local
            found = follows(local, info, context.interval or rhythm(local) or 300.0)
            shown = found if found is not None else shown
    if shown is None or shown == (rule.info is not None):
        return rule, None, ""
    if rule.info is not None and rule.told and not _spring_filled(gathered, info):
        return rule, None, ""
    if rule.info is None and not _twice(gathered, info):
        return rule, None, ""
    year = 2024
    taken = (
        Rule(rule.zone, info, 0, False)
        if shown
        else Rule(rule.zone, None, standard_offset(info, year), False)
    )
    words_ = (
        "The stamps follow the clock changes."
        if shown
        else "The stamps keep standard time: they pass the change of the clocks without a step."
    )
    choices = (
        Choice("followed", "the clocks were put forward and back", words_ if shown else ""),
        Choice("standard", "standard time all year", "" if shown else words_),
    )
    doubt = Doubt(
        "zone",
        f"Do the stamps follow the clock changes of {rule.zone}?",
        choices,
        "followed" if shown else "standard",
    )
    return taken, doubt, words_


def _spring_filled(gathered: list[Gathered], info: object) -> bool:
    return any(inside for inside in (_inside(one, info, spring=True) for one in gathered))


def _twice(gathered: list[Gathered], info: object) -> bool:
    return any(inside for inside in (_inside(one, info, spring=False) for one in gathered))


def _inside(one: Gathered, info: object, spring: bool) -> bool:
    for raw in one.series:
        if not raw.local:
            continue
        local = np.array(raw.local, dtype=np.int64)
        for at, before, after in changes(info, int(local.min()), int(local.max())):  # type: ignore[arg-type]
            low, high = sorted((at + before * US, at + after * US))
            within = local[(local >= low) & (local < high)]
            full = len(within) > 1 if spring else len(within) > len(set(within.tolist())) * 1.5
            if (after > before) == spring and full:
                return True
    return False


def timed(raw: Raw, kind: str, rule: Rule, context: Context) -> Timed:
    """Return a series with its times in UTC, in the order of the file."""
    local = np.array(raw.local, dtype=np.int64)
    out = Timed(raw, local)
    if not len(local):
        return out
    if kind == "text" and (spread := uncut(raw.local, context.interval)) is not None:
        local, out.cut = np.array(spread[0], dtype=np.int64), True
    given = np.array([off is not None for off in raw.offset])
    offsets = np.array([off or 0 for off in raw.offset], dtype=np.int64)
    if given.all():
        out.utc = local - offsets * US
    elif kind in ("seconds since start", "start and interval"):
        start = to_utc(local[:1], rule, None).utc[0]
        out.utc = start + (local - local[0])
    else:
        bare = ~given
        turned = to_utc(local[bare], rule, context.interval or rhythm(local))
        out.utc = local - offsets * US
        out.utc[bare] = turned.utc
        out.twice, out.absent = bool(turned.twice.any()), int(turned.absent.sum())
        if rule.info is not None:
            found = changes(rule.info, int(local.min()), int(local.max()))
            inner = [(at, b, a) for at, b, a in found if out.utc.min() < at < out.utc.max()]
            out.spring = any(a > b for _, b, a in inner)
            out.twice = out.twice and any(a < b for _, b, a in inner)
            shifts = (local[bare] - turned.utc)[turned.twice]
            out.one_pass = out.twice and len(np.unique(shifts)) == 1 and len(found) == 1
    steps = np.diff(out.utc)
    if len(steps):
        out.descending = bool((steps < 0).sum() > 0.5 * len(steps))
        out.unordered = int((steps < 0).sum()) if not out.descending else 0
    out.exception = irregular(np.sort(np.unique(out.utc)), context.interval)
    return out


def set_right(series: list[Timed], context: Context) -> tuple[list[clock_set.Back], list[Fact]]:
    """Return where the clock of a table was set back, and what was done; times are put right in place."""
    for one in series:
        row = np.array(one.raw.row, dtype=np.int64)
        v = np.array([np.nan if value is None else value for value in one.raw.v], dtype=np.float64)
        if one.exception or not (backs := clock_set.found(clock_set.logged(one.utc, row, v))):
            continue
        every = [np.array(each.raw.row, dtype=np.int64) for each in series]
        backs = clock_set.whole(backs, np.concatenate(every), np.concatenate([s.utc for s in series]))
        parts = clock_set.wrong(backs, context.clock_set)
        for each in series if parts else ():
            each.utc = clock_set.righted(each.utc, np.array(each.raw.row, dtype=np.int64), parts)
            steps = np.diff(each.utc)
            each.unordered = 0 if each.descending else int((steps < 0).sum())
        return backs, clock_set.facts(backs, parts)
    return [], []


def irregular(utc: np.ndarray, interval: float | None) -> bool:
    """Return whether samples come when something changes and not by a clock."""
    steps = np.diff(utc) / US
    if len(steps) < 15:
        return False
    own = rhythm(utc)
    usual = interval if interval and interval > 0 else own
    if usual <= 0 or np.mean(np.abs(steps - own) <= max(2.0, 0.1 * own)) >= 0.6:
        return False
    off = np.abs(steps / usual - np.round(steps / usual)) * usual
    near = max(2.0, 0.1 * usual) if usual >= 20 else 0.25 * usual
    on_beat = (off <= near) & (steps > 0.5 * usual)
    single = on_beat & (steps < 1.5 * usual)
    return bool(on_beat.mean() < 0.6 or single.mean() < 0.25)


def join(parts: list[tuple[int, int, Timed, Meant]], shas: tuple[str, ...], zone: str) -> list[Joined]:
    """Return the channels: the same quantity and statistic of several files is one channel.

    Each part: number of its file, number of its table, the series and what it is.
    """
    groups: dict[tuple[str, str, str, int], list[tuple[int, Timed, Meant]]] = {}
    seen: dict[tuple[int, str, str, str], list[list[tuple[int, int]]]] = {}
    for number, table, one, meant in parts:
        statistic = _statistic(one.raw, meant)
        place = one.raw.said.place or TAP_OF.get(meant.quantity, "")
        label = plain(one.raw.heading) if meant.quantity == "other" else place
        count = _nth(seen.setdefault((table, meant.quantity, statistic, label), []), one)
        groups.setdefault((meant.quantity, statistic, label, count), []).append((number, one, meant))
    ids: Counter[str] = Counter()
    return [_joined(key[1], group, ids, shas, zone) for key, group in groups.items()]  # type: ignore[arg-type]


def _nth(before: list[list[tuple[int, int]]], one: Timed) -> int:
    """Return which channel of its name a series belongs to: one that it goes on from, or a further one."""
    span = (int(one.utc.min()), int(one.utc.max())) if len(one.utc) else (0, 0)
    for at, spans in enumerate(before):
        if all(span[0] > end or span[1] < start for start, end in spans):
            spans.append(span)
            return at
    before.append([span])
    return len(before) - 1


def _statistic(raw: Raw, meant: Meant) -> Statistic:
    if raw.said.statistic is not None:
        return raw.said.statistic
    return "mean" if meant.quantity == "flow" else "spot"


def _joined(
    statistic: Statistic,
    group: list[tuple[int, Timed, Meant]],
    ids: Counter[str],
    shas: tuple[str, ...],
    zone: str,
) -> Joined:
    first, meant = group[0][1].raw, group[0][2]
    place = first.said.place or TAP_OF.get(meant.quantity)
    name = f"{meant.quantity}, {statistic}"
    ids[name] += 1
    held: Hold = "linear"
    if any(one.exception for _, one, _ in group) or meant.quantity == "shut-off closed" or first.state:
        held = "step"
    elif statistic == "mean":
        held = "mean"
    inverted = first.said.inverted
    factor, offset = (-1.0, 1.0) if inverted else (meant.unit.factor, meant.unit.offset)
    numbers = tuple(sorted({number for number, _, _ in group}))
    channel = Channel(
        name if ids[name] == 1 else f"{name}, {ids[name]}", place, meant.quantity, statistic, meant.unit.name,
        factor, offset, meant.unit.absolute, None, zone, held, tuple(shas[number] for number in numbers),
        first.heading,
    )  # fmt: skip
    pieces = [_piece(number, one, each, inverted) for number, one, each in group]
    utc, v, bad, row = (np.concatenate(each) for each in zip(*pieces, strict=True))
    others = {one.raw.heading: each.unit.name for _, one, each in group if each.unit.name != meant.unit.name}
    also = tuple(f"{heading!r} in {unit}" for heading, unit in others.items())
    return _single(Joined(channel, utc, v, bad, row, evidence=meant.evidence, also=also))


def _piece(number: int, one: Timed, meant: Meant, inverted: bool) -> tuple[np.ndarray, ...]:
    raw = one.raw
    v = np.array([np.nan if value is None else value for value in raw.v], dtype=np.float64)
    factor, offset = (-1.0, 1.0) if inverted else (meant.unit.factor, meant.unit.offset)
    keep = np.ones(len(v), dtype=bool)
    if one.exception and np.mean(raw.blank) > 0.3:
        keep = ~np.array(raw.blank)
    row = np.array(raw.row, dtype=np.uint64) | np.uint64(number << FILE_BITS)
    return one.utc[keep], (v * factor + offset)[keep], np.array(raw.bad)[keep], row[keep]


def _single(one: Joined) -> Joined:
    """Put samples in order of time; duplicates are dropped; of several values at a time the first stays."""
    order = np.lexsort((one.row, np.isnan(one.v), one.utc))
    utc, v, bad, row = one.utc[order], one.v[order], one.bad[order], one.row[order]
    again = np.zeros(len(utc), dtype=bool)
    again[1:] = utc[1:] == utc[:-1]
    if again.any():
        heads = np.maximum.accumulate(np.where(again, 0, np.arange(len(utc))))
        first = v[heads]
        equal = (v == first) | np.isnan(v)
        files = row >> np.uint64(FILE_BITS)
        one.across = bool((again & (files != files[heads])).any())
        one.same = row[again & equal].tolist()
        one.other = row[again & ~equal].tolist()
    keep = ~again
    return replace(one, utc=utc[keep], v=v[keep], bad=bad[keep], row=row[keep])


def flags_of(bad: np.ndarray) -> np.ndarray:
    """Return the column `flag`: the logger's own mark, nothing judged yet."""
    return np.where(bad, np.uint32(MARKED_BY_LOGGER), np.uint32(0)).astype(np.uint32)


def order_facts(series: list[Timed]) -> list[Fact]:
    """Return what was met of the order and the clock in the series of one table."""
    out = []
    if any(one.descending for one in series):
        out.append(Fact("descending", "The newest sample stands first."))
    worst = max((one.unordered for one in series), default=0)
    if worst:
        out.append(
            Fact("out of order", f"The times step back {often(worst)}; samples are put in order of time.")
        )
    if any(one.twice for one in series):
        out.append(
            Fact("hour twice", "The hour when the clocks go back is there; its second pass is read as such.")
        )
    if any(one.spring for one in series):
        out.append(Fact("hour missing", "The hour that the clocks skip lies in the file; it is no gap."))
    if any(one.cut for one in series):
        out.append(
            Fact(
                "stamps cut",
                "Several samples share each stamp; they are spread evenly over the time between.",
            )
        )
    if any(one.exception for one in series):
        out.append(
            Fact("by exception", "Samples come when the value changes; a value holds until the next one.")
        )
    return out
