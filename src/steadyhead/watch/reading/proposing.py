"""Files of one logger to channels: the interpretation, its doubts, and the report in words."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import polars as pl

from steadyhead.records.logger import (
    Channel,
    Choice,
    Context,
    Doubt,
    Fact,
    ReadFiles,
    Reading,
)
from steadyhead.watch.counting import counted
from steadyhead.watch.reading import clock_set, telling
from steadyhead.watch.reading.across import laid_along
from steadyhead.watch.reading.agreeing import agree
from steadyhead.watch.reading.asking import Meant
from steadyhead.watch.reading.big import read_long
from steadyhead.watch.reading.books import book_grids, is_book, json_grid, parquet_grid
from steadyhead.watch.reading.clock import days_doubt
from steadyhead.watch.reading.coarser import leave_out
from steadyhead.watch.reading.elapsed import refuse_unclear
from steadyhead.watch.reading.evidence import settle
from steadyhead.watch.reading.flat import is_too_much, refuse_too_much
from steadyhead.watch.reading.gather import Gathered, date_runs, decimal_doubt, gather, structure
from steadyhead.watch.reading.joining import (
    FILE_BITS,
    UTC,
    Joined,
    Timed,
    flags_of,
    is_utc_beside_local,
    join,
    order_facts,
    set_right,
    settle_rule,
    timed,
    zone_at_times,
    zone_in,
)
from steadyhead.watch.reading.letters import with_letters
from steadyhead.watch.reading.lost import refuse_same_times, refuse_years
from steadyhead.watch.reading.nested import refuse_other_json
from steadyhead.watch.reading.order import IN_WORDS, Decided, decide
from steadyhead.watch.reading.packages import refuse_packed
from steadyhead.watch.reading.profile import profile_of
from steadyhead.watch.reading.several import refuse_unfit
from steadyhead.watch.reading.sources import Grid, decode, text_grid
from steadyhead.watch.reading.stamps import US
from steadyhead.watch.reading.straight import Keeper
from steadyhead.watch.reading.tables import refuse_days_across, refuse_hours_across, refuse_markup
from steadyhead.watch.reading.web_pages import is_web_page, web_grids
from steadyhead.watch.reading.zones import Rule, rule_of, said_otherwise, unknown_zone

LONG = 6_000_000
"""Size above which a text file is read by samples and then lazily. [bytes]"""


def read(files: list[Path], reading: Reading, context: Context, into: Path | None = None) -> ReadFiles:
    """Read more files of a source whose profile is known: what was answered once is not asked again."""
    return propose(files, replace(context, profile=reading), into)


@dataclass
class _File:
    """One file on its way: its grids, what they hold, and what was met."""

    path: Path
    sha: str
    grids: list[Grid]
    gathered: list[Gathered] = field(default_factory=list)
    empty: list[Grid] = field(default_factory=list)
    facts: list[Fact] = field(default_factory=list)


def propose(
    files: list[Path],
    context: Context,
    into: Path | None = None,
    keeper: Keeper | None = None,
    checksum: Callable[[Path], str] | None = None,
) -> ReadFiles:
    """Read files of one logger and say how: the whole of each file is looked at.

    Text files above `LONG` bytes are read by samples and then lazily, where their shape allows; what
    they hold then lies in a Parquet file in the folder `into` (None: never so), or with the `keeper`, to
    which samples of a clean file are handed as they are parsed. checksum: gives the SHA-256 of a file that
    is read lazily, asked when it is read.

    Raises
    ------
    InputError
        A file that cannot be opened as what it is (a damaged or locked spreadsheet), or that is too long for
        its shape.
    """
    if into is not None and files and (all(one.stat().st_size > LONG for one in files) or is_too_much(files)):
        lazily = read_long(files, context, into, keeper, checksum)
        if lazily is not None:
            return lazily
        refuse_too_much(files)
    loaded = [_File(path, hashlib.sha256(content).hexdigest(), grids_of(content, path.name))
              for path in files for content in (path.read_bytes(),)]  # fmt: skip
    for one in loaded:
        one.grids = [with_letters(grid, context.zone) for grid in one.grids]
    found = [[(grid, structure(grid, context.profile)) for grid in one.grids] for one in loaded]
    runs = [run for each in found for _, one in each if one is not None for run in date_runs(one)]
    decided = decide(runs, context)
    for one, tables in zip(loaded, found, strict=True):
        for grid, lies in tables:
            if lies is None:
                one.empty.append(grid)
            else:
                refuse_unclear(grid, one.path.name)
                refuse_unfit(lies, one.path.name)
                one.gathered.append(gather(lies, decided, context))
                refuse_years(one.gathered[-1], one.path.name)
        for each in leave_out(one.gathered):
            told = f"The sheet {each.structure.grid.sheet!r} repeats another one in longer intervals"
            one.facts.append(Fact("overlap", f"{told}; it is left out."))
    everything = [each for one in loaded for each in one.gathered]
    rule, doubts, words = _rule(everything, context)
    rule = replace(rule, second=context.second_pass)
    parts: list[tuple[int, int, Timed, Meant]] = []
    backs: list[clock_set.Back] = []
    metas: dict[int, list[tuple[Timed, Meant]]] = {}
    for number, one in enumerate(loaded):
        for each in one.gathered:
            series = [timed(raw, each.structure.times.kind, rule, context) for raw in each.series]
            met, done = set_right(series, context)
            backs += met
            one.facts += [*done, *order_facts(series)]
            means = settle([(s.raw, s.utc) for s in series], context)
            metas[id(each)] = list(zip(series, means, strict=True))
            table = len(metas)
            parts += [(number, table, s, m) for s, m in zip(series, means, strict=True) if len(s.utc)]
    shas = tuple(one.sha for one in loaded)
    joined = join(parts, shas, rule.zone)
    doubts += [one.doubt for one in decided.values() if one.doubt is not None]
    doubts += list(dict.fromkeys(m.doubt for _, _, _, m in parts if m.doubt is not None))
    if context.second_pass is None:
        doubts += _pass_doubt([one for _, _, one, _ in parts], rule)
    doubts += clock_set.doubts(backs, context, "" if rule.info else rule.zone)
    doubts += _start_doubt(everything, context)
    doubts += decimal_doubt([each.structure for each in everything], context)
    doubts += _days_doubt(loaded, context)
    facts = _facts(loaded, joined, decided) + telling.of_future(joined, context.now)
    readings = tuple(
        profile_of([(each, metas[id(each)]) for each in one.gathered], decided, rule) for one in loaded
    )
    total, used, left = _count(loaded, joined)
    if len(files) == 1:
        refuse_same_times(total, left, files[0].name)
    channels = tuple((one.channel, _frame(one)) for one in joined)
    report = telling.report(
        readings, [p.name for p in files], joined, doubts, facts, decided, words, (total, used, left)
    )
    return ReadFiles(readings, channels, tuple(doubts), tuple(facts), report, total, used, left)


def grids_of(content: bytes, name: str) -> list[Grid]:
    """Return the tables that the bytes of a file hold."""
    if not content.strip(b"\x00 \r\n\t"):
        return []
    if content.startswith(b"PAR1"):
        return [parquet_grid(content, name)]
    refuse_packed(content, name)
    if is_book(content):
        return book_grids(content, name)
    if is_web_page(content):
        return [laid_along(one) for one in web_grids(content, name)]
    if (
        content.lstrip(b"\xef\xbb\xbf \r\n\t")[:1] in (b"{", b"[")
        and (objects := json_grid(content)) is not None
    ):
        return [objects]
    if content.lstrip(b"\xef\xbb\xbf \r\n\t")[:1] in (b"{", b"["):
        refuse_other_json(decode(content)[0], name)
    found = laid_along(text_grid(content))
    refuse_markup(found.rows, name)
    refuse_hours_across(found.rows, name)
    refuse_days_across(found.rows, name)
    return [found]


def _rule(gathered: list[Gathered], context: Context) -> tuple[Rule, list[Doubt], list[str]]:
    """Return the rule of the zone, doubts on it and sentences."""
    bare = any(off is None for one in gathered for raw in one.series for off in raw.offset)
    if gathered and all(is_utc_beside_local(one.structure) for one in gathered):
        return UTC, [], ["Each time stands in UTC and on the clock of the place; the one in UTC is read."]
    rule = rule_of(context.zone, context.zone_note)
    stated = next((zone for one in gathered if (zone := zone_in(one.structure))), "")
    if rule is None:
        rule = rule_of(stated, "") or Rule("UTC", None, 0, False)
        at_times = bool(stated) and all(zone_at_times(one.structure) == stated for one in gathered)
        if not bare or at_times:
            return (
                rule,
                [],
                [f"The heading of the times says {stated}; they are read so."] if at_times else [],
            )
        return rule, [unknown_zone(stated)], []
    if not bare:
        return (
            rule,
            [],
            ["No stamp needs the zone that is told: each carries its offset, or counts from a time in UTC."]
            if gathered
            else [],
        )
    taken, doubt, words = settle_rule(gathered, rule, context)
    own = rule_of(stated, "")
    if own is not None and not agree(own, taken, gathered):
        if taken.info is not None and not context.is_zone_answered:
            also = f"The file itself says {stated}, and its stamps are read so; told was {taken.zone}."
            return own, [] if context.profile else [said_otherwise(stated, taken.zone)], [also]
        also = f"The file itself says {stated}; its stamps are read as {taken.zone}, as is told of them."
        return taken, [doubt] if doubt else [], [one for one in (words, also) if one]
    return taken, [doubt] if doubt else [], [words] if words else []


def _pass_doubt(series: list[Timed], rule: Rule) -> list[Doubt]:
    """Return the doubt where only one pass of the hour that comes twice is in the files."""
    if not any(one.one_pass for one in series) or any(one.twice and not one.one_pass for one in series):
        return []
    choices = (
        Choice("first", "it is the hour ahead of the change", "it joins on to the samples before"),
        Choice("second", "it is the hour after the change, or the clock did not change"),
    )
    question = (
        f"When the clocks of {rule.zone} go back, one hour comes twice; the file has it once. Which is it?"
    )
    return [Doubt("zone", question, choices, "first")]


def _start_doubt(gathered: list[Gathered], context: Context) -> list[Doubt]:
    for one in gathered:
        kind = one.structure.times.kind
        counted = kind in ("seconds since start", "start and interval")
        dateless = kind == "text" and any(
            raw.local and max(raw.local) < 400 * 86_400 * US for raw in one.series
        )
        if (counted or dateless) and one.begins.start is None and context.start is None:
            return [Doubt("start", "When did this record start? The file gives no date.", (), None)]
    return []


def _days_doubt(loaded: list[_File], context: Context) -> list[Doubt]:
    """Return the doubt from when days of a text count; a book says so itself."""
    counted = [
        each for one in loaded for each in one.gathered
        if each.structure.times.kind == "serial day" and each.structure.grid.container == "text"
    ]  # fmt: skip
    last = max((max(raw.local) for each in counted for raw in each.series if raw.local), default=None)
    return days_doubt(last, "serial day", context)


def _facts(loaded: list[_File], joined: list[Joined], decided: dict[str, Decided]) -> list[Fact]:
    facts = [fact for one in loaded for fact in one.facts]
    for one in loaded:
        for each in one.gathered:
            facts += telling.table_facts(each, len(one.gathered) > 1)
        facts += [fact for grid in one.empty for fact in telling.sheet_facts(grid, has_samples=False)]
        if not one.gathered:
            facts.append(Fact("nothing in it", _nothing(one)))
        elif all(value is None for each in one.gathered for raw in each.series for value in raw.v):
            facts.append(Fact("nothing in it", f"{one.path.name} holds stamps and no values."))
    again = [row for one in joined for row in one.same]
    mask = (1 << FILE_BITS) - 1
    shown = 0 if any(len(one.gathered) > 1 for one in loaded) else 5  # two sheets count their rows alike
    if again:
        told = f"{counted(len(set(again)), 'row')} of samples that are there already; left out."
        facts.append(Fact("overlap", told, tuple(sorted({row & mask for row in again})[:shown])))
    other = sorted({row for one in joined for row in one.other})
    if other:
        facts.append(
            Fact(
                "same stamp, other value",
                f"{counted(len(other), 'row')} with another value for a time that has one; the first is "
                "kept.",
                tuple(row & mask for row in other[:shown]),
            )
        )
    if any(one.open and one.doubt is None and "." not in shape for shape, one in decided.items()) or any(
        one.doubt for one in decided.values()
    ):
        facts.append(
            Fact(
                "date order open",
                "; ".join(f"{shape}: {one.evidence}" for shape, one in decided.items() if one.open),
            )
        )
    merged: dict[tuple[str, str], Fact] = {}
    for fact in facts:
        merged.setdefault((fact.code, fact.words), fact)
    return list(merged.values())


def _nothing(one: _File) -> str:
    """Return what is told of a file in which no samples are found, with a row of it."""
    rows = [row for grid in one.grids for row in grid.rows]
    if not rows:
        return f"{one.path.name} holds no samples."
    at, cells = rows[len(rows) // 2]
    shown = " ".join(str(cell) for cell in cells)[:60]
    return f"{one.path.name} holds no samples that can be read: no time is seen, as in row {at}: {shown!r}."


def _count(loaded: list[_File], joined: list[Joined]) -> tuple[int, int, dict[str, int]]:
    """Return rows of all files, rows that gave a sample, and the rest by reason."""
    kept: Counter[int] = Counter()
    rows_kept = (
        np.unique(np.concatenate([one.row for one in joined])) if joined else np.array([], dtype=np.uint64)
    )
    for number in (rows_kept >> np.uint64(FILE_BITS)).tolist():
        kept[int(number)] += 1
    total, used, left = 0, 0, Counter[str]()
    other = {row for one in joined for row in one.other}
    alive = set(rows_kept.tolist())
    for number, one in enumerate(loaded):
        for grid in one.empty:
            total += grid.rows_total
            left["no samples in it"] += grid.rows_total
        for each in one.gathered:
            total += each.structure.grid.rows_total
            for reason, rows in each.left_out.items():
                left[reason] += len(rows)
            for row in each.used:
                key = row | number << FILE_BITS
                if key in alive:
                    used += 1
                else:
                    left["same stamp, other value" if key in other else "duplicate"] += 1
    return total, used, {reason: count for reason, count in left.items() if count}


def _frame(one: Joined) -> pl.LazyFrame:
    values = pl.Series("v", one.v).fill_nan(None)
    times_ = pl.Series("t", one.utc.astype(np.int64)).cast(pl.Datetime("us", "UTC"))
    return pl.DataFrame(
        [times_, values, pl.Series("flag", flags_of(one.bad)), pl.Series("row", one.row.astype(np.uint64))]
    ).lazy()


def as_stated(channel: Channel, frame: pl.LazyFrame) -> pl.LazyFrame:
    """Return a channel's samples with `v` as the file states it, in `unit_as_found`."""
    return frame.with_columns(((pl.col("v") - channel.offset) / channel.factor).round_sig_figs(12).alias("v"))


__all__ = ["IN_WORDS", "as_stated", "grids_of", "propose", "read"]
