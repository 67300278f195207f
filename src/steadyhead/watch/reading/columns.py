"""Columns of a long text file as expressions: cells, times on the wall clock, numbers as they are stated."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import numpy as np
import polars as pl

from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.formats import parse
from steadyhead.watch.reading.numbers import SENTINELS
from steadyhead.watch.reading.sampling import Plan
from steadyhead.watch.reading.stamps import US

FIRST_YEAR = datetime(1900, 1, 1)
"""No stamp of a logger is older."""


def columns_used(made: Plan) -> list[int]:
    """Return the columns that hold values."""
    return sorted({one.raw.column for one in made.series})


def marked_columns(made: Plan) -> set[int]:
    """Return the columns of values whose samples have the file's decimal mark."""
    rows, mark = made.lies.parted.segments[0].rows, made.lies.decimal
    return {
        at
        for at in columns_used(made)
        if any(at < len(cells) and mark in str(cells[at]) for _, cells in rows)
    }


def plain_kinds(made: Plan) -> dict[int, type[pl.DataType]]:
    """Return the columns that the scan itself reads as numbers, where `is_plain`.

    Beside a decimal comma none: it would take a point that parts thousands for a decimal one.
    """
    return {} if made.lies.decimal == "," else dict.fromkeys(columns_used(made), pl.Float64)


def plain(made: Plan, at: int, *, guarded: bool = True) -> pl.Expr:
    """Return the expression of a column's numbers, where `is_plain`; it fails at a cell that is none.

    guarded: beside a decimal comma it fails at a point, too; else `has_point` must be looked at.
    """
    value = pl.col(f"c{at}")
    if made.lies.decimal == ",":
        marked = value.str.replace(",", ".", literal=True)
        if guarded:
            marked = pl.when(value.str.contains(".", literal=True)).then(pl.lit("none")).otherwise(marked)
        value = marked.cast(pl.Float64)
    return pl.when(value.is_finite()).then(value)


def has_point(made: Plan) -> pl.Expr:
    """Return the expression of rows in which a number has a point beside a decimal comma: thousands."""
    if made.lies.decimal != ",":
        return pl.lit(False)
    return pl.any_horizontal([pl.col(f"c{at}").str.contains(".", literal=True) for at in columns_used(made)])


def width_of(made: Plan) -> int:
    """Return the cells of the widest row of the samples."""
    return max(len(cells) for _, cells in made.lies.parted.segments[0].rows)


def uses_all(made: Plan) -> bool:
    """Return whether times and values take all columns: only then does a scan see a wider row."""
    sources = made.lies.times.sources
    times = {one.at for one in sources} | {one.clock for one in sources if one.clock is not None}
    return times | set(columns_used(made)) == set(range(width_of(made)))


def scan(
    path: Path, made: Plan, kinds: dict[int, type[pl.DataType]], *, strict: bool = False
) -> pl.LazyFrame:
    """Return the cells of a file, `c` and the number of their column; `kinds`: those that are no text.

    There is one column more than the samples have, for rows that are wider than they.

    strict: fail where the file is UTF-8 by its samples and is not so throughout, and where all columns are
    used at a wider row, without that further column: which reads faster.
    """
    lies = made.lies
    width, fails = width_of(made), strict and uses_all(made)
    first = lies.parted.segments[0].rows[0][0]
    quoted = any('"' in line for line in _head_lines(path))
    schema = {f"c{at}": kinds.get(at, pl.String) for at in range(width if fails else width + 1)}
    return pl.scan_csv(
        path, separator=lies.grid.delimiter, has_header=False, skip_rows=first - 1, schema=schema,
        quote_char='"' if quoted else None,
        decimal_comma=bool(kinds) and lies.decimal == ",", truncate_ragged_lines=not fails,
        missing_columns="insert",
        encoding="utf8" if strict and lies.grid.encoding in ("utf-8", "ascii") else "utf8-lossy",
        row_index_name="row", row_index_offset=first, infer_schema=False,
    )  # fmt: skip


def _head_lines(path: Path) -> list[str]:
    with path.open("rb") as source:
        return source.read(20_000).decode("latin-1").splitlines()


def wall_clock(made: Plan, number: int, *, guarded: bool = True) -> pl.Expr:
    """Return the expression of a source's times: local, or UTC where stamps carry an offset.

    guarded: a row with a cell beyond those of the samples has no time, as its cells may be shifted; else the
    scan must be strict and take all columns.
    """
    if not guarded:
        return _wall_clock(made, number)
    beyond = pl.col(f"c{width_of(made)}").fill_null("").str.strip_chars() != ""
    return pl.when(~beyond).then(_wall_clock(made, number))


def _wall_clock(made: Plan, number: int) -> pl.Expr:
    lies = made.lies
    source = lies.times.sources[number]
    first = pl.col(f"c{source.at}")
    if lies.times.kind == "text":
        text = first.str.strip_chars() if made.padded else first
        if source.clock is not None:
            text = pl.concat_str([text, pl.col(f"c{source.clock}")], separator=" ")
        out = parse(text, made.formats, repeats=lies.roles[0].name is not None)
        return pl.when(out >= FIRST_YEAR).then(out)  # a year of two digits is none of four
    value = _number(first, made)
    micros = {"epoch s": value * US, "epoch ms": value * 1000}.get(
        lies.times.kind, (value * 86_400).round() * US + made.zero
    )
    return micros.round().cast(pl.Int64).cast(pl.Datetime("us"))


_GROUPED_DOT, _GROUPED_COMMA = r"^[+-]?\d{1,3}(\.\d{3})+,\d+$", r"^[+-]?\d{1,3}(,\d{3})+(\.\d+)?$"
_ONLY_DOTS = r"^[+-]?\d{1,3}(\.\d{3})+$"


def _number(text: pl.Expr, made: Plan, at: int | None = None) -> pl.Expr:
    """Return the expression of a number with this file's marks; what is none becomes null.

    at: the column, where it is one of values. A mark that may be another one than the file's is left to be
    read row by row.
    """
    out = text.str.strip_chars() if made.padded else text
    if made.lies.decimal == "," or made.lies.decimals:
        if any(" " in one or "'" in one or "\u00a0" in one for one in made.grouped):
            out = out.str.replace_all(r"[ '\x{a0}\x{202f}\x{2019}]", "")
        if not made.lies.decimals and at is not None:
            grouped = _GROUPED_DOT if at in marked_columns(made) else f"{_GROUPED_DOT}|{_ONLY_DOTS}"
            both = out.str.contains(".", literal=True) & out.str.contains(",", literal=True)
            out = (
                pl.when(out.str.contains(grouped))
                .then(out.str.replace_all(".", "", literal=True))
                .when(~both & ~out.str.contains(_ONLY_DOTS))
                .then(out)
            )
        out = out.str.replace(",", ".", literal=True)
    elif made.grouped:
        out = out.str.replace_all(r"[ '\x{a0}\x{202f}\x{2019}]", "")
        out = (
            pl.when(out.str.contains(_GROUPED_COMMA))
            .then(out.str.replace_all(",", "", literal=True))
            .otherwise(out)
        )
    value = out.cast(pl.Float64, strict=False)
    return pl.when(value.is_finite()).then(value)


def stated(text: pl.Expr, made: Plan, at: int) -> pl.Expr:
    """Return the expression of a column's numbers; words of a state are 1 (closed) and 0 (open)."""
    value = _number(text, made, at)
    if not any(
        one.raw.column == at and (one.raw.state or one.raw.said.quantity == "shut-off closed")
        for one in made.series
    ):
        return value
    flat = text.str.strip_chars().str.to_lowercase()
    said = pl.when(flat.is_in(words.CLOSED_WORDS)).then(1.0).when(flat.is_in(words.OPEN_WORDS)).then(0.0)
    return pl.coalesce(value, said)


def without_sentinels(value: pl.Expr, made: Plan, at: int) -> pl.Expr:
    """Return the expression that drops runs of nines far off the samples' range."""
    rest = [v for one in made.series if one.raw.column == at for v in one.raw.v if v is not None]
    if not rest or any(
        one.raw.said.quantity in ("meter index", "other") for one in made.series if one.raw.column == at
    ):
        return value
    low, high, middle = min(rest), max(rest), float(np.median(rest))
    wide = max(high - low, abs(middle) * 0.2, 1e-9)
    far = {one for one in SENTINELS if one > high + 2 * wide or one < low - max(0.5 * wide, 0.5)}
    met = {one for one in made.gathered.sentinels if not low <= one <= high}
    nines = {one for one in far if one in (-9.0, -9.99)} if low >= 0 else set()
    off = sorted({one for one in far if abs(one) > 50} | nines | met)
    if low >= 1.0 and _in_bar(made, at):  # water under no pressure boils before it gets there
        off = sorted({*off, -1.0})
    return pl.when(value.is_in(off)).then(None).otherwise(value) if off else value


def _in_bar(made: Plan, at: int) -> bool:
    """Return whether a column is a pressure counted from that of the air, in bar."""
    meant = [each for one, each in zip(made.series, made.meant, strict=True) if one.raw.column == at]
    return any(
        "pressure" in one.quantity and one.unit.factor == 1e5 and not one.unit.absolute for one in meant
    )


def is_plain(made: Plan) -> bool:
    """Return whether every number of the samples can be read by the scan itself."""
    lies = made.lies
    if lies.decimals or made.grouped or made.padded or lies.roles[0].layout == "long":
        return False
    if lies.decimal == "," and lies.grid.delimiter == ",":
        return False
    return all(value is not None for one in made.series for value in one.raw.v) and not any(
        one.raw.state or any(one.raw.bad) for one in made.series
    )
