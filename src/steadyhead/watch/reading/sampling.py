"""Samples of a long text file, and the plan they give to read all of it lazily."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from steadyhead.errors import InputError
from steadyhead.records.logger import Context, Doubt
from steadyhead.watch.reading import lost_clock
from steadyhead.watch.reading.across import laid_along
from steadyhead.watch.reading.asking import Meant
from steadyhead.watch.reading.clock import days_doubt, serial_zero
from steadyhead.watch.reading.evidence import settle
from steadyhead.watch.reading.formats import formats_for
from steadyhead.watch.reading.gather import Gathered, Structure, date_runs, decimal_doubt, gather, structure
from steadyhead.watch.reading.joining import (
    UTC,
    Timed,
    is_utc_beside_local,
    settle_rule,
    timed,
    zone_at_times,
    zone_in,
)
from steadyhead.watch.reading.letters import with_letters
from steadyhead.watch.reading.lost import is_of_strange_years
from steadyhead.watch.reading.order import Decided, decide
from steadyhead.watch.reading.several import refuse_unfit
from steadyhead.watch.reading.sources import Grid, text_grid
from steadyhead.watch.reading.stamps import US
from steadyhead.watch.reading.tables import refuse_days_across, refuse_hours_across, refuse_markup
from steadyhead.watch.reading.web_pages import is_web_page
from steadyhead.watch.reading.zones import Rule, rule_of, said_otherwise, unknown_zone

HEAD, PLACES, PIECE, TAIL = 120_000, 7, 10_000, 40_000
"""Bytes looked at ahead, at how many places between and how many bytes there, and at the end."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How a long file is read: the structure of its samples, formats of its stamps, its series.

    began: its samples show a clock that began anew.
    """

    lies: Structure
    decided: dict[str, Decided]
    rule: Rule
    series: tuple[Timed, ...]
    meant: tuple[Meant, ...]
    formats: tuple[str, ...]
    offset: int | None
    cut: bool
    grouped: tuple[str, ...]
    gathered: Gathered
    padded: bool
    zero: int
    doubts: tuple[Doubt, ...] = ()
    began: bool = False


def samples_of(path: Path) -> bytes:
    """Return whole lines from the head, from places spread over a file, and from its end."""
    size = path.stat().st_size
    if size <= 2 * (HEAD + PLACES * PIECE + TAIL):
        return path.read_bytes()
    with path.open("rb") as source:
        head = source.read(HEAD)
        out = [head[: head.rfind(b"\n") + 1]]
        for number in range(1, PLACES + 1):
            source.seek(size * number // (PLACES + 1))
            some = source.read(PIECE)
            out.append(some[some.find(b"\n") + 1 : some.rfind(b"\n") + 1])
        source.seek(size - TAIL)
        tail = source.read()
    return b"".join((*out, tail[tail.find(b"\n") + 1 :]))


def plan(content: bytes, context: Context) -> Plan | None:
    """Return how samples of a file are read; None where the lazy way cannot read it so."""
    grid = with_letters(text_grid(content), context.zone)
    if _is_laid_otherwise(content, grid):
        return None
    lies = structure(grid, context.profile)
    if lies is None or not grid.delimiter or grid.encoding.startswith("utf-16") or not _alike(lies):
        return None
    if lies.parted.came_in or lies.parted.joined or lies.grid.rewritten:
        return None
    try:
        refuse_unfit(lies, "")
    except InputError:
        return None  # refused by its name, where it is read as a whole
    roles = lies.roles[0]
    if roles.layout not in ("wide", "pairs", "long") or lies.times.kind == "seconds since start":
        return None
    decided = decide(date_runs(lies), context)
    found = gather(lies, decided, context)
    if is_of_strange_years(found):
        return None
    began = found.left_out.pop(lost_clock.REASON, []) != []  # counted where all rows are there
    told, stated = rule_of(context.zone, context.zone_note), rule_of(zone_in(lies), "")
    rule = stated if told is None or holds_against(stated, told, context) else told
    rule = UTC if is_utc_beside_local(lies) else rule or Rule("UTC", None, 0, False)
    rule, doubt, _ = settle_rule([found], rule, context)
    doubt = doubt or against_told(lies, context)
    rule = replace(rule, second=context.second_pass)
    series = [timed(raw, lies.times.kind, rule, context) for raw in found.series]
    if any(one.cut for one in series):
        return None
    meant = settle([(one.raw, one.utc) for one in series], context)
    padded = bool(re.search(rb"[;,\t|] +[-+\d]|\d +[;,\t|\r\n]|^ +\d", content[:60_000], re.MULTILINE))
    formats: tuple[str, ...] = ()
    offsets = {off for raw in found.series for off in raw.offset}
    if lies.times.kind == "text":
        if any(one.hours for one in lies.times.sources) or (len(offsets) > 1 and None in offsets):
            return None
        formats = _formats(lies, found, decided)
        if not formats:
            return None
    offset = None if None in offsets or not offsets else 0
    return Plan(
        lies,
        decided,
        rule,
        tuple(series),
        tuple(meant),
        formats,
        offset,
        "cut off" in found.left_out,
        _grouped(lies),
        found,
        padded,
        serial_zero(context),
        _doubts(lies, found, doubt, context),
        began,
    )


def _is_laid_otherwise(content: bytes, grid: Grid) -> bool:
    """Return whether a file is no text with a row for each time: it is read, or refused, as a whole."""
    if is_web_page(content) or content.lstrip(b"\xef\xbb\xbf \r\n\t")[:1] in (b"{", b"["):
        return True
    try:
        refuse_markup(grid.rows, "")
        refuse_hours_across(grid.rows, "")
        refuse_days_across(grid.rows, "")
    except InputError:
        return True
    return laid_along(grid) is not grid


def against_told(lies: Structure, context: Context) -> Doubt | None:
    """Return the question where a table names a zone without clock changes and one with them was told."""
    told, stated = rule_of(context.zone, context.zone_note), zone_in(lies)
    if context.profile is not None or told is None or not holds_against(rule_of(stated, ""), told, context):
        return None
    return said_otherwise(stated, told.zone)


def holds_against(stated: Rule | None, told: Rule, context: Context) -> bool:
    """Return whether the zone that a file states holds, and not the one with clock changes that was told."""
    return stated is not None and told.info is not None and not context.is_zone_answered


def _doubts(lies: Structure, found: Gathered, doubt: Doubt | None, context: Context) -> tuple[Doubt, ...]:
    """Return the questions of the zone and the decimal mark; those of the dates stand beside them."""
    counted = lies.times.kind in ("epoch s", "epoch ms")
    bare = not counted and any(off is None for raw in found.series for off in raw.offset)
    bare = bare and not is_utc_beside_local(lies)
    unknown = bare and rule_of(context.zone, context.zone_note) is None and not zone_at_times(lies)
    zone = [unknown_zone(zone_in(lies))] if unknown else []
    followed = [doubt] if bare and doubt is not None else []
    last = max((raw.local[-1] for raw in found.series if raw.local), default=None)
    return (
        *zone, *followed, *decimal_doubt([lies], context), *days_doubt(last, lies.times.kind, context),
    )  # fmt: skip


def _alike(lies: Structure) -> bool:
    """Return whether the headers within the sample all name the same columns."""
    first = lies.parted.segments[0].heads
    return all(one.heads == first for one in lies.parted.segments)


def _grouped(lies: Structure) -> tuple[str, ...]:
    """Return cells of the sample whose number has more than digits and a decimal mark."""
    out = set()
    for _, cells in lies.parted.segments[0].rows:
        for at in lies.roles[0].values:
            text = str(cells[at]).strip() if at < len(cells) else ""
            if any(one in text for one in " '\u00a0\u202f\u2019") or (text.count(",") + text.count(".") > 1):
                out.add(text)
    return tuple(sorted(out))[:200]


def _formats(lies: Structure, found: Gathered, decided: dict[str, Decided]) -> tuple[str, ...]:
    source = lies.times.sources[0]
    raw = next(one for one in found.series if one.source == 0)
    by_row = dict(zip(raw.row, zip(raw.local, raw.offset, strict=True), strict=True))
    texts, micros = [], []
    for number, cells in lies.parted.segments[0].rows:
        if number in by_row and source.at < len(cells):
            text = str(cells[source.at])
            if source.clock is not None:
                text = f"{text} {cells[source.clock]}"
            local, off = by_row[number]
            texts.append(text)
            micros.append(local - (off or 0) * US)
    orders = tuple(dict.fromkeys(one.order for one in decided.values()))
    return formats_for(texts, micros, orders)
