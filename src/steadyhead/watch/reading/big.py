"""Long text files: the interpretation found on samples, then executed lazily; rows that do not fit are read
by the thorough path and counted.
"""

from __future__ import annotations

import errno
import hashlib
import os
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from uuid import uuid4

import numpy as np
import polars as pl

from steadyhead.records.logger import (
    MARKED_BY_LOGGER,
    SAMPLES,
    Channel,
    Context,
    Fact,
    ReadFiles,
)
from steadyhead.watch.counting import counted
from steadyhead.watch.reading import clock_set, lost_clock
from steadyhead.watch.reading.asking import Meant
from steadyhead.watch.reading.clock_long import righted_in, set_back, without_first_days
from steadyhead.watch.reading.columns import (
    columns_used,
    is_plain,
    plain,
    plain_kinds,
    scan,
    stated,
    wall_clock,
    without_sentinels,
)
from steadyhead.watch.reading.formats import in_words
from steadyhead.watch.reading.gather import Gathered, Raw, gather
from steadyhead.watch.reading.in_time import TWICE, ordered, other_facts, steps_of
from steadyhead.watch.reading.joining import FILE_BITS, Timed, join, order_facts, timed
from steadyhead.watch.reading.narrowing import as_given, narrowed
from steadyhead.watch.reading.numbers import MISSING
from steadyhead.watch.reading.own_units import into_unit
from steadyhead.watch.reading.parting import part
from steadyhead.watch.reading.profile import profile_of
from steadyhead.watch.reading.sampling import Plan, plan, samples_of
from steadyhead.watch.reading.sources import Grid
from steadyhead.watch.reading.stamps import US
from steadyhead.watch.reading.straight import Keeper, straight
from steadyhead.watch.reading.symbols import symbol
from steadyhead.watch.reading.telling import event_words, how, of_future, table_facts
from steadyhead.watch.reading.unfit import decimals_of_rows, has_other_headings, has_samples, has_undated
from steadyhead.watch.reading.wider import MOST_BROKEN, set_aside, wider_facts

MOST_UNFIT = 3_000_000
"""Rows that do not fit, read by the thorough path at most; more of them: the interpretation is wrong."""


def read_long(
    files: Sequence[Path],
    context: Context,
    into: Path,
    keeper: Keeper | None = None,
    checksum: Callable[[Path], str] | None = None,
) -> ReadFiles | None:
    """Read long files of one logger lazily and put their channels together; None: one cannot be read so.

    keeper: takes the samples of a single file straight away, where that can be; checksum: gives the SHA-256
    of a file, and is asked when all else of it is read.
    """
    parts = []
    for path in files:
        with narrowed(path, into) as (plain, encoding):
            straight_to = keeper if len(files) == 1 and not encoding else None
            found = read_big(plain, context, into, path, straight_to, checksum or _digest)
        if found is None:
            return None
        parts.append(as_given(found, path.name, encoding) if encoding else found)
    return parts[0] if len(parts) == 1 else _together(parts)


def _together(parts: Sequence[ReadFiles]) -> ReadFiles:
    groups: dict[str, list[tuple[Channel, pl.LazyFrame]]] = {}
    for number, one in enumerate(parts):
        for channel, lazy in one.channels:
            shifted = lazy.with_columns((pl.col("row") + (number << FILE_BITS)).cast(pl.UInt64))
            groups.setdefault(channel.id, []).append((channel, shifted))
    left = Counter[str]()
    for one in parts:
        left.update(one.rows_left_out)
    channels, dropped, other = [], [], set[int]()
    facts = [fact for one in parts for fact in one.facts]
    for group in groups.values():
        shas = tuple(dict.fromkeys(sha for channel, _ in group for sha in channel.source_sha256))
        joined = pl.concat([lazy for _, lazy in group])
        in_order, more, gone, rows = ordered(joined, steps_of(joined), len(group) > 1)
        dropped.append(gone)
        other |= rows
        facts += more
        channels.append((replace(group[0][0], source_sha256=shas), in_order))
    again = min(dropped, default=0)
    if again:
        unlike = min(again, len(other))
        left.update({"duplicate": again - unlike, "same stamp, other value": unlike})
        words = f"{counted(again, 'row')} of times that another file has; left out."
        facts += [Fact("overlap", words), *other_facts(other)]
    return ReadFiles(
        tuple(reading for one in parts for reading in one.readings),
        tuple(channels),
        tuple(dict.fromkeys(doubt for one in parts for doubt in one.doubts)),
        tuple({(fact.code, fact.words): fact for fact in facts}.values()),
        tuple(line for one in parts for line in one.words),
        sum(one.rows_total for one in parts),
        sum(one.rows_used for one in parts) - again,
        dict(left),
    )


def read_big(
    path: Path,
    context: Context,
    into: Path,
    given: Path | None = None,
    keeper: Keeper | None = None,
    checksum: Callable[[Path], str] | None = None,
) -> ReadFiles | None:
    """Read a long file lazily; the samples lie in a Parquet file in the folder `into`. None: not possible so.

    `given`: the file whose checksum counts, where `path` is a copy of it. `t`, `v`, `flag` and `row` of each
    channel are views of that file: nothing is held in memory. Where nothing stands in the way the samples go
    to the `keeper` straight away instead. `checksum`: gives the SHA-256 of the file whose counts.
    """
    made = plan(samples_of(path), context)
    if made is None:
        return None

    def sha() -> str:
        return (checksum or _digest)(given or path)

    if keeper is not None and (kept := straight(path, made, sha, context, keeper)) is not None:
        return _told(
            path, made, kept[0], of_future(made.series, context.now), (kept[1], kept[1]), 0, None, (0, 0)
        )
    sunk = into / f"{uuid4().hex}.parquet"
    clean = _sink(path, made, sunk, strict=True)
    if not clean and not _sink(path, made, sunk, strict=False):
        return None
    return _result(path, made, sunk, sha(), context, clean)


def _digest(path: Path) -> str:
    with path.open("rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()


def _sink(path: Path, made: Plan, sunk: Path, strict: bool) -> bool:
    """Write local times, stated values, marks and rows; False where a cell does not fit (`strict`)."""
    lies = made.lies
    if strict and not is_plain(made):
        return False
    frame = scan(path, made, plain_kinds(made) if strict else {})
    times = [
        wall_clock(made, number).alias(f"t{number}") for number in range(len(lies.times.sources))
    ]  # fmt: skip
    values, odd = [], []
    for at in columns_used(made):
        text = pl.col(f"c{at}")
        value = plain(made, at) if strict else stated(text, made, at)
        values.append(without_sentinels(value, made, at).alias(f"v{at}"))
        if not strict:
            odd.append(pl.when(value.is_null()).then(text).alias(f"x{at}"))
        flags = lies.roles[0].flags.get(at, [])
        marks = [
            ~pl.col(f"c{flag}")
            .fill_null("")
            .str.strip_chars()
            .str.to_lowercase()
            .is_in(lies.roles[0].good_flags(flag))
            for flag in flags
        ]
        if marks:
            values.append(pl.any_horizontal(marks).alias(f"m{at}"))
    made_columns = [*times, *values, pl.col("row").cast(pl.UInt64)]
    if lies.roles[0].name is not None:
        made_columns.append(pl.col(f"c{lies.roles[0].name}").alias("name"))
        if lies.roles[0].unit is not None:
            made_columns.append(pl.col(f"c{lies.roles[0].unit}").alias("unit"))
    made_columns += odd
    try:
        frame.select(made_columns).sink_parquet(sunk, compression="lz4", row_group_size=600_000)
    except pl.exceptions.PolarsError as problem:
        sunk.unlink(missing_ok=True)
        if os.strerror(errno.ENOSPC).lower() in str(problem).lower():
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)) from None
        return False
    except OSError:
        sunk.unlink(missing_ok=True)
        raise
    return True


def _result(path: Path, made: Plan, sunk: Path, sha: str, context: Context, clean: bool) -> ReadFiles | None:
    frame = pl.scan_parquet(sunk)
    sources = range(len(made.lies.times.sources))
    no_time = pl.all_horizontal([pl.col(f"t{number}").is_null() for number in sources])
    odd = no_time if clean else no_time | pl.any_horizontal(
        [_unread(pl.col(f"x{at}")) for at in columns_used(made)]
    )  # fmt: skip
    total = _height(frame)
    if made.cut:
        frame = frame.filter(pl.col("row") < pl.col("row").max())
    frame, began, rows_begun = without_first_days(frame, made)
    counts = frame.select(
        pl.len().alias("n"),
        odd.sum().alias("odd"),
        pl.col("row").filter(~odd).max().alias("good"),
    ).collect(engine="streaming")
    rows, unfit, good_last = counts.row(0)
    if unfit > min(MOST_UNFIT, 0.5 * rows):
        return None
    if made.lies.roles[0].name is not None and _height(frame.filter(~odd)) != _height(
        frame.filter(~odd & pl.col("name").is_in([one.raw.heading for one in made.series]))
    ):
        return None  # channels that the samples do not show
    if _has_units_changed(frame.filter(~odd), made):
        return None
    rescued = _rescue(path, made, frame.filter(odd), context, good_last) if unfit else None
    if unfit and rescued is None:
        return None
    channels, facts, dropped, backs = _channels(frame.filter(~odd), made, rescued, sha, context)
    asked = clock_set.doubts(backs, context, "" if made.rule.info else made.rule.zone)
    made = replace(made, doubts=(*made.doubts, *asked))
    facts += of_future(made.series, context.now)
    facts += [lost_clock.fact(began, rows_begun)] if began else []
    read = _told(path, made, channels, facts, (total, rows), unfit, rescued, dropped)
    left = {**read.rows_left_out, lost_clock.REASON: began} if began else read.rows_left_out
    return replace(read, rows_left_out=left)


def _has_units_changed(frame: pl.LazyFrame, made: Plan) -> bool:
    """Return whether the unit beside the samples of a channel changes within a long file."""
    roles = made.lies.roles[0]
    if roles.name is None or roles.unit is None:
        return False
    pairs = frame.select("name", "unit").unique().collect(engine="streaming").rows()
    stated = {(name, symbol(unit)) for name, unit in pairs if unit}
    return len({name for name, _ in stated}) < len(stated)


def _told(
    path: Path,
    made: Plan,
    channels: tuple[tuple[Channel, pl.LazyFrame], ...],
    facts: list[Fact],
    counts: tuple[int, int],
    unfit: int,
    rescued: Gathered | None,
    dropped: tuple[int, int],
) -> ReadFiles:
    """Return what was read with its report; counts: all rows, and those but one that is cut off."""
    total, rows = counts
    used, left, more = _counted(made, rows, unfit, rescued)
    left.update({"duplicate": dropped[0] - dropped[1], "same stamp, other value": dropped[1]})
    used -= dropped[0]
    header = made.lies.parted.segments[0].rows[0][0] - 1
    tables = [(made.gathered, list(zip(made.series, made.meant, strict=True)))]
    reading = profile_of(tables, made.decided, made.rule)
    stamps = " · ".join(in_words(one) for one in made.formats) or made.lies.times.kind
    told = (
        f"{path.name}: {how(reading)}",
        f"{path.name}: {stamps}, as looked up in its head, in places between and at its end.",
        f"{counted(unfit, 'row')} of another form, read one by one." if unfit else "Every row fits.",
    )
    merged = {(fact.code, fact.words): fact for fact in (*more, *facts, *order_facts(list(made.series)))}
    doubts = made.doubts + tuple(one.doubt for one in made.decided.values() if one.doubt is not None)
    doubts += tuple(dict.fromkeys(one.doubt for one in made.meant if one.doubt is not None))
    counts_left = {reason: count for reason, count in left.items() if count}
    return ReadFiles(
        (reading,), channels, doubts, tuple(merged.values()), told, total + header, used, counts_left
    )  # fmt: skip


def _unread(text: pl.Expr) -> pl.Expr:
    """Return whether a cell that is no number is no mark for *no value* either."""
    return text.is_not_null() & ~text.str.strip_chars().str.to_lowercase().is_in(sorted(MISSING))


def _channels(
    fitting: pl.LazyFrame, made: Plan, rescued: Gathered | None, sha: str, context: Context
) -> tuple[tuple[tuple[Channel, pl.LazyFrame], ...], list[Fact], tuple[int, int], list[clock_set.Back]]:
    """Return the channels, what was met of their order, rows at times of others, where a clock was set.

    Rows at times of others: how many, and how many of them with another value.
    """
    parts = [(0, 0, one, each) for one, each in zip(made.series, made.meant, strict=True)]
    joined = join(parts, (sha,), made.rule.zone)
    facts: list[Fact] = []
    channels: list[tuple[Channel, pl.LazyFrame]] = []
    steps: dict[int, tuple[int, int]] = {}
    dropped: list[int] = []
    other: set[int] = set()
    frames = [
        _channel_frame(fitting, made, s, m, context) for s, m in zip(made.series, made.meant, strict=True)
    ]
    keys = [
        s.raw.source if made.lies.roles[0].name is None and not s.exception else -1 - n
        for n, s in enumerate(made.series)
    ]
    for key, one, lazy in zip(keys, made.series, frames, strict=True):
        if key not in steps:
            steps[key] = steps_of(lazy, one.descending)
    backs = set_back(fitting, made, frames, [steps[key][0] for key in keys])
    wrong = clock_set.wrong(backs, context.clock_set)
    facts += clock_set.facts(backs, wrong)
    for key, one, each, found, lazy in zip(keys, made.series, made.meant, joined, frames, strict=True):
        if wrong:
            lazy = righted_in(lazy, wrong)
            steps[key] = steps_of(lazy, one.descending)
        extra = None if rescued is None else _extra(rescued, one, each, made, context)
        if extra is not None:
            lazy = pl.concat([lazy, righted_in(extra, wrong)])
        in_order, order, gone, rows = ordered(lazy, steps[key], extra is not None or one.descending)
        if order or extra is not None:
            dropped.append(gone)
        facts += order or TWICE[:gone]
        other |= rows
        channels.append((found.channel, in_order))
    least = min(dropped) if len(dropped) == len(channels) and dropped else 0
    return tuple(channels), facts + other_facts(other), (least, min(least, len(other))), backs


def _height(lazy: pl.LazyFrame) -> int:
    return int(lazy.select(pl.len()).collect(engine="streaming").item())


def _counted(
    made: Plan, rows: int, unfit: int, rescued: Gathered | None
) -> tuple[int, Counter[str], list[Fact]]:
    """Return the rows used, the rows left out by reason, and what the rows that do not fit are."""
    header = made.lies.parted.segments[0].rows[0][0] - 1
    left = Counter({"header": header} if header else {})
    used, facts = rows - unfit, table_facts(made.gathered)
    if made.cut:
        left["cut off"] += 1
    if rescued is None:
        return used, left, facts
    used += len(rescued.used)
    reasons = {r: len(at) for r, at in rescued.left_out.items() if r not in ("header", "cut off", "blank")}
    left.update(reasons)
    left["blank or header again"] += unfit - len(rescued.used) - sum(reasons.values())
    if wider := wider_facts(rescued.structure.parted):
        facts = [one for one in facts if one.code != "more cells"] + wider
    events = len(rescued.structure.parted.events)
    if events:
        facts = [one for one in facts if one.code != "event rows"]
        facts.append(Fact("event rows", event_words(events)))
    return used, left, facts


def _rescue(path: Path, made: Plan, odd: pl.LazyFrame, context: Context, made_last: int) -> Gathered | None:
    """Read rows that do not fit by the thorough path; None where they are another layout."""
    numbers = odd.select("row").collect(engine="streaming")["row"]
    wanted = set(numbers.to_list())
    rows = []
    width = max(len(cells) for _, cells in made.lies.parted.segments[0].rows)
    texts = scan(path, made, {}).filter(pl.col("row").is_in(numbers.implode())).collect(engine="streaming")
    for row in texts.iter_rows():
        cells = [one or "" for one in row[1 : width + 2]]
        cells = cells if cells[-1:] != [""] or len(cells) <= width else cells[:-1]
        if row[0] in wanted and any(cells):
            rows.append((int(row[0]), cells))
    decimals = decimals_of_rows(rows, made)
    if decimals is None or has_other_headings(rows, made) or has_undated(rows, made):
        return None
    grid = Grid(rows, len(rows), "text", made.lies.grid.encoding, made.lies.grid.delimiter)
    parted = part(rows, made.lies.times)
    heads = made.lies.parted.segments[0].heads
    if any(one.heads != heads and any(one.heads) and number for number, one in enumerate(parted.segments)):
        return None
    if not parted.segments:
        parted.events, parted.footer = parted.footer, []
        beyond = [row for row in parted.events if row[0] > made_last]
        parted.footer = beyond
        parted.events = [row for row in parted.events if row[0] <= made_last]
    for one in parted.segments:
        one.heads = heads
    set_aside(parted, is_part=True)
    if len(parted.wider) > MOST_BROKEN:
        return None
    if has_samples([*parted.events, *parted.footer, *parted.untimed], grid.delimiter):
        return None
    lies = replace(
        made.lies, grid=grid, parted=parted, roles=[made.lies.roles[0]] * len(parted.segments),
        decimals=decimals,
    )  # fmt: skip
    return gather(lies, made.decided, context)


def _extra(rescued: Gathered, like: Timed, meant: Meant, made: Plan, context: Context) -> pl.LazyFrame | None:
    raw: Raw | None = next(
        (one for one in rescued.series if one.heading == like.raw.heading and one.column == like.raw.column),
        None,
    )
    if raw is None or not raw.v:
        return None
    one = timed(raw, made.lies.times.kind, made.rule, context)
    into_unit(raw, meant.unit)
    v = pl.Series("v", raw.v, dtype=pl.Float64) * meant.unit.factor + meant.unit.offset
    flag = pl.Series("flag", [MARKED_BY_LOGGER if bad else 0 for bad in raw.bad], dtype=pl.UInt32)
    t = pl.Series("t", one.utc).cast(pl.Datetime("us", "UTC"))
    return pl.DataFrame([t, v.alias("v"), flag, pl.Series("row", raw.row, dtype=pl.UInt64)]).lazy()


def _channel_frame(
    frame: pl.LazyFrame, made: Plan, one: Timed, meant: Meant, context: Context
) -> pl.LazyFrame:
    raw, roles = one.raw, made.lies.roles[0]
    if roles.name is not None:
        frame = frame.filter(pl.col("name") == raw.heading)
    local = pl.col(f"t{raw.source}")
    sparse = one.exception and bool(np.mean(raw.blank) > 0.3)
    if len(made.lies.times.sources) > 1:
        frame = frame.filter(local.is_not_null())
    if sparse:
        frame = frame.filter(pl.col(f"v{raw.column}").is_not_null())
    factor, offset = (-1.0, 1.0) if raw.said.inverted else (meant.unit.factor, meant.unit.offset)
    flag = pl.lit(0, dtype=pl.UInt32)
    if roles.flags.get(raw.column):
        flag = (
            pl.when(pl.col(f"m{raw.column}")).then(pl.lit(MARKED_BY_LOGGER, dtype=pl.UInt32)).otherwise(flag)
        )
    utc = _utc(frame, local, made, context)
    value = pl.col(f"v{raw.column}") * factor + offset
    return frame.select(utc.alias("t"), value.alias("v"), flag.alias("flag"), pl.col("row")).select(SAMPLES)


def _utc(frame: pl.LazyFrame, local: pl.Expr, made: Plan, context: Context) -> pl.Expr:
    """Return the expression from wall clock to UTC; the hour that comes twice goes by rows."""
    if made.offset is not None or made.lies.times.kind in ("epoch s", "epoch ms"):
        return local.dt.replace_time_zone("UTC")
    if made.rule.info is None:
        return (local - pl.duration(seconds=made.rule.offset)).dt.replace_time_zone("UTC")
    from steadyhead.watch.reading.zones import changes, to_utc

    ends = (
        frame.select(local.min().alias("a"), local.max().alias("b"), pl.col("row").min().alias("r"))
        .collect(engine="streaming")
        .row(0)
    )
    low, high = (int(np.datetime64(each, "us").astype(np.int64)) for each in ends[:2])
    found = changes(made.rule.info, low, high)
    span_offsets = [to_utc(np.array([low]), made.rule, None).utc[0]]
    out = local - pl.duration(microseconds=int(low - span_offsets[0]))
    for at, before, after in found:
        wall = max(at + before * US, at + after * US)
        edge = pl.lit(wall).cast(pl.Datetime("us"))
        out = pl.when(local >= edge).then(local - pl.duration(seconds=after)).otherwise(out)
        start, end = sorted((at + before * US, at + after * US))
        near = frame.filter(
            local.is_between(
                pl.lit(start - 3 * 3600 * US).cast(pl.Datetime("us")),
                pl.lit(end + 3 * 3600 * US).cast(pl.Datetime("us")),
            )
        )
        part_ = near.select(local.alias("t"), "row").collect(engine="streaming").sort("row")
        if not part_.height:
            continue
        turned = to_utc(part_["t"].dt.epoch("us").to_numpy(), made.rule, context.interval)
        inside = turned.twice | turned.absent
        if inside.any():
            table = pl.DataFrame({"row": part_["row"].to_numpy()[inside], "u": turned.utc[inside]})
            out = _by_rows(out, table, local, part_["t"].dt.epoch("us").to_numpy()[inside])
    return out.dt.replace_time_zone("UTC")


def _by_rows(out: pl.Expr, table: pl.DataFrame, local: pl.Expr, stated: np.ndarray) -> pl.Expr:
    """Return the expression with the offsets found for runs of rows."""
    shift = stated - table["u"].to_numpy()
    rows = table["row"].to_numpy()
    starts = np.flatnonzero(np.diff(shift, prepend=shift[0] - 1))
    for number, at in enumerate(starts):
        end = rows[starts[number + 1] - 1] if number + 1 < len(starts) else rows[-1]
        within = pl.col("row").is_between(int(rows[at]), int(end))
        window = local.is_between(
            pl.lit(int(stated.min())).cast(pl.Datetime("us")),
            pl.lit(int(stated.max())).cast(pl.Datetime("us")),
        )  # fmt: skip
        out = pl.when(within & window).then(local - pl.duration(microseconds=int(shift[at]))).otherwise(out)
    return out


__all__ = ["Channel", "plan", "read_big", "samples_of"]
