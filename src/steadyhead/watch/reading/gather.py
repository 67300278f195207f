"""One table to raw series: values as stated, local times, rows, marks; and what became of each row."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from steadyhead.records.logger import Choice, Context, Doubt, Reading
from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading import lost_clock
from steadyhead.watch.reading.aligned import aligned
from steadyhead.watch.reading.carried import Carried, note
from steadyhead.watch.reading.channel_names import spelt_heads
from steadyhead.watch.reading.clock import Begun, begun, header_stamps, row_times, stamps_of
from steadyhead.watch.reading.decimals import decimals_of
from steadyhead.watch.reading.elapsed import in_seconds
from steadyhead.watch.reading.factors import with_factors
from steadyhead.watch.reading.headings import Said, has, plain, said
from steadyhead.watch.reading.legend import header_units
from steadyhead.watch.reading.numbers import Cell, is_missing, marked, number, sentinels, with_unit
from steadyhead.watch.reading.order import Decided, key_of
from steadyhead.watch.reading.own_units import settle_own
from steadyhead.watch.reading.parting import Parted, Segment, lone_heading, names_stated, part
from steadyhead.watch.reading.plainer import plainer
from steadyhead.watch.reading.roles import Roles, find_roles, flag_of, not_good
from steadyhead.watch.reading.scaled import unscaled
from steadyhead.watch.reading.sheet_days import dated
from steadyhead.watch.reading.sizes import with_sizes
from steadyhead.watch.reading.sources import Grid, Row
from steadyhead.watch.reading.stamps import Stamp
from steadyhead.watch.reading.symbols import Symbol, symbol
from steadyhead.watch.reading.times import Source, Times, as_stamp, find
from steadyhead.watch.reading.wider import set_aside

_REMARK = re.compile(r"([^\s#/]+)\s+(?:#|//|;)\s*\S")
"""A number with a remark behind it."""


@dataclass
class Raw:
    """One series of a table, as stated. Times: local µs; offset of the stamp in s, None: none.

    own: numbers with a unit of their own beside them, by their place; `v` has them in the series' unit.
    """

    heading: str
    said: Said
    unit: Symbol | None
    column: int
    source: int
    state: bool = False
    v: list[float | None] = field(default_factory=list)
    row: list[int] = field(default_factory=list)
    local: list[int] = field(default_factory=list)
    offset: list[int | None] = field(default_factory=list)
    bad: list[bool] = field(default_factory=list)
    blank: list[bool] = field(default_factory=list)
    own: dict[int, tuple[float, Symbol]] = field(default_factory=dict)


@dataclass
class Structure:
    """How a table lies, before dates are decided."""

    grid: Grid
    times: Times
    parted: Parted
    roles: list[Roles]
    decimals: dict[int, str]
    decimal: str
    decimal_open: bool


@dataclass
class Gathered:
    """The series of a table and what became of its rows: reason to row numbers.

    after: the last local time so far of each source of times. [µs]
    """

    structure: Structure
    series: list[Raw]
    begins: Begun
    left_out: dict[str, list[int]]
    used: set[int]
    missing_marks: Counter[str]
    formats: list[tuple[int, str]]
    sentinels: set[float]
    carried: Carried = field(default_factory=Carried)
    after: dict[int, int] = field(default_factory=dict)


def decimal_doubt(tables: Sequence[Structure], context: Context) -> list[Doubt]:
    """Return the question for the decimal mark, where nothing in a table tells it."""
    if not any(one.decimal_open for one in tables) or context.profile is not None:
        return []
    choices = (
        Choice(",", "a comma before three digits is a decimal comma"),
        Choice(".", "it parts the thousands"),
    )
    return [Doubt("decimal mark", "Is the comma in the numbers a decimal comma?", choices, ",")]


def structure(grid: Grid, profile: Reading | None = None) -> Structure | None:
    """Return how a table lies; None where it holds no samples.

    profile: of its source; gives the decimal mark where nothing in the table tells it.
    """
    if not grid.rows:
        return None
    grid = in_seconds(with_factors(plainer(dated(grid))))
    named = grid.container in ("json lines", "parquet")
    times = find(grid.rows, [str(one) for one in grid.rows[0][1]] if named else [])
    parted = part(grid.rows, times)
    if parted.segments and parted.segments[0].heads:
        again = find(grid.rows, parted.segments[0].heads)
        if again != times:
            times, parted = again, part(grid.rows, again)
    parted.segments = [one for one in parted.segments if one.rows]
    if times.kind == "seconds since start" and parted.segments and _only_counts(parted.segments[0], times):
        times = Times("start and interval", ())
        parted = part(grid.rows, times)
    if not parted.segments or (times.kind == "start and interval" and not _believable(grid, parted)):
        return None
    for one in parted.segments:
        one.heads = with_sizes(spelt_heads(aligned(one, times), one.header), one.header)
    if times.kind == "start and interval" and (longer := _unwrapped(grid, parted)) is not None:
        grid, parted = longer
    if times.kind != "start and interval":
        set_aside(parted)
    roles = [find_roles(one.rows, one.heads, times) for one in parted.segments]
    for number_, one in enumerate(parted.segments):
        if number_ and one.heads == parted.segments[0].heads:
            roles[number_] = _richer(roles[0], roles[number_])
    if not any(one.values for one in roles):
        return None
    _name_by_header(parted, roles, grid.sheet)
    decimals, decimal, is_open = decimals_of(grid, parted, roles)
    if is_open and profile is not None:
        decimal = profile.decimal
    return Structure(grid, times, parted, roles, decimals, decimal, is_open)


def _unwrapped(grid: Grid, parted: Parted) -> tuple[Grid, Parted] | None:
    """Return one value a row where the lines of a single channel hold several; None where that is not so."""
    first = parted.segments[0]
    wide = max(len(cells) for _, cells in first.rows)
    clean = [[str(one) for one in cells if one != ""] for _, cells in first.header]
    heading = lone_heading(clean)
    if wide < 2 or any(first.heads) or not heading or len(names_stated(first.header)) > 1:
        return None
    for one in parted.segments:
        one.rows = [(at, [cell]) for at, cells in one.rows for cell in cells if cell != ""]
        one.heads = [lone_heading([[str(c) for c in cells if c != ""] for _, cells in one.header]) or heading]
    return grid, parted


def _name_by_header(parted: Parted, roles: list[Roles], sheet: str) -> None:
    """Name columns that say nothing by the channels that the header lists; a lone one also by its sheet."""
    for one, role in zip(parted.segments, roles, strict=True):
        columns = sorted(role.values)
        if role.layout != "wide" or any(_tells(one.heads[at]) for at in columns if at < len(one.heads)):
            continue
        names = names_stated(one.header)
        if len(columns) == 1 and not names:
            clean = [[str(cell) for cell in cells if cell != ""] for _, cells in one.header]
            names = [each for each in (lone_heading(clean), sheet) if _tells(each)][:1]
        if names and len(names) == len(columns):
            one.heads = one.heads + [""] * (max(columns) + 1 - len(one.heads))
            for at, name in zip(columns, names, strict=True):
                one.heads[at] = name if said(name).unit or not one.heads[at] else f"{name} {one.heads[at]}"


def _tells(heading: str) -> bool:
    """Return whether a heading names a quantity."""
    return said(heading).quantity is not None or (said(heading).pressure and bool(said(heading).number))


def _only_counts(one: Segment, times: Times) -> bool:
    """Return whether what seems to count seconds only numbers the rows: the header states an interval."""
    stated = begun(one.header, {}).interval
    at = times.sources[0].at
    heading = plain(one.heads[at]) if at < len(one.heads) else ""
    timely = has(heading, tuple(each for each in words.TIME if len(each) > 1)) or heading.split()[-1:] == [
        "s"
    ]
    return stated is not None and not timely


def _believable(grid: Grid, parted: Parted) -> bool:
    """Return whether bare numbers may be samples: a start is stated, or little else stands there."""
    header = [row for one in parted.segments for row in one.header]
    found = begun(header, {})
    rows = sum(len(one.rows) for one in parted.segments)
    return ((found.start is not None or found.interval is not None) and rows >= 2) or rows >= 0.8 * len(
        grid.rows
    ) >= 8


def _richer(first: Roles, other: Roles) -> Roles:
    return first if set(first.values) >= set(other.values) else other


def date_runs(found: Structure) -> list[list[Stamp]]:
    """Return the stamps of a table as runs in its order, for the question which number is the day."""
    runs = []
    if found.times.kind == "text":
        for one in found.times.sources:
            runs.append(
                [stamp for segment in found.parted.segments for stamp in stamps_of(segment.rows, one)]
            )
            if one.clock is not None:
                runs[-1] = _with_clock(found, one.at, one.clock)
    shapes = {key_of(one) for run in runs for one in run if one.order == "?"}
    undated = not any(one.parts is not None for run in runs for one in run)
    ahead = header_stamps([row for each in found.parted.segments for row in each.header])
    ahead += header_stamps(found.parted.events) if undated else []
    runs.extend([one] for one in ahead if undated or key_of(one) in shapes)
    return [one for one in runs if one]


def _with_clock(found: Structure, at: int, clock: int) -> list[Stamp]:
    out = []
    for segment in found.parted.segments:
        for _, cells in segment.rows:
            first = as_stamp(cells[at]) if at < len(cells) else None
            second = as_stamp(cells[clock]) if clock < len(cells) else None
            if first is not None and first.parts is not None:
                out.append(Stamp(first.parts, first.order, second.clock if second else 0, None, first.form))
    return out


def gather(found: Structure, decided: dict[str, Decided], context: Context) -> Gathered:
    """Return the series of a table."""
    parted = found.parted
    header = [row for one in parted.segments for row in one.header]
    begins = begun(header, decided)
    out = Gathered(found, [], begins, {}, set(), Counter(), [], set())
    units = header_units(header)
    last_row = found.grid.rows[-1][0] if found.grid.rows else 0
    for segment, roles in zip(parted.segments, found.roles, strict=True):
        local_begin = begun(segment.header, decided) if found.times.kind == "start and interval" else begins
        if local_begin.start is None and local_begin.interval is None:
            local_begin = begins
        _segment(out, segment, roles, decided, (local_begin, context), last_row)
    lost_clock.drop(out)
    for one in out.series:
        out.missing_marks += settle_own(one, units.get(one.said.quantity or ""))
    for one in out.series:
        _take_sentinels(one, out, sentinels(one.v, one.said.quantity in ("meter index", "other")))
    for one in out.series:
        rest = [value for value in one.v if value is not None and value not in out.sentinels]
        if rest:
            _take_sentinels(one, out, {each for each in out.sentinels if not min(rest) <= each <= max(rest)})
    _count_rest(out)
    return out


def _lone(found: Structure, segment: Segment) -> list[Row]:
    """Return rows that may give a date to those below: between the samples, or ahead of a part of them."""
    if segment is found.parted.segments[0]:
        return found.parted.events
    return sorted([*found.parted.events, *segment.header], key=lambda row: row[0])


def _segment(
    out: Gathered, segment: Segment, roles: Roles, decided: dict[str, Decided],
    given: tuple[Begun, Context], last_row: int,
) -> None:  # fmt: skip
    found, (begins, context) = out.structure, given
    rows = segment.rows
    if found.grid.cut and rows and rows[-1][0] == last_row:
        rows = _without_cut(rows, out)
    elif rows and rows[-1][0] == last_row:
        rows = _without_short(rows, roles, out)
    decimal = found.decimals.get(rows[0][0], found.decimal) if rows else found.decimal
    per_source = []
    for at, each in enumerate(found.times.sources or (Source(0),)):
        got = row_times(
            rows,
            found.times,
            each,
            decided,
            begins,
            context,
            decimal,
            _lone(found, segment),
            out.after.get(at),
        )
        per_source.append(got)
        if (last := next((one for one in reversed(got[0]) if one is not None), None)) is not None:
            out.after[at] = last
        if found.times.kind == "text":
            note(out.carried, rows, each, got[0])
    _note_formats(out, rows)
    if roles.layout == "long" and roles.name is not None:
        _long(out, rows, segment.heads, roles, per_source[0])
        return
    for at, source in roles.values.items():
        heading = segment.heads[at] if at < len(segment.heads) else ""
        series = _series_for(out, heading, at, source, at in roles.states)
        locals_, offsets = per_source[source]
        for (number_, cells), local, offset in zip(rows, locals_, offsets, strict=True):
            if local is None:
                continue
            cell = cells[at] if at < len(cells) else ""
            if at >= len(cells) and found.times.kind == "start and interval":
                continue
            flags = [
                flag_of(cells[flag], flag, roles) for flag in roles.flags.get(at, ()) if flag < len(cells)
            ]
            _put(out, series, (number_, local, offset), cell, flags)


def _long(
    out: Gathered, rows: Sequence[Row], heads: Sequence[str], roles: Roles,
    times_: tuple[list[int | None], list[int | None]],
) -> None:  # fmt: skip
    at = next(iter(roles.values))
    name = roles.name or 0
    for (number_, cells), local, offset in zip(rows, *times_, strict=True):
        if local is None or name >= len(cells):
            continue
        heading = str(cells[name]) if not isinstance(cells[name], float) else f"{cells[name]:g}"
        unit = cells[roles.unit] if roles.unit is not None and roles.unit < len(cells) else ""
        series = _series_for(out, heading, at, 0, at in roles.states, str(unit))
        flags = [flag_of(cells[flag], flag, roles) for flag in roles.flags.get(at, ()) if flag < len(cells)]
        own = symbol(str(unit)) if unit else None
        _put(out, series, (number_, local, offset), cells[at] if at < len(cells) else "", flags, own)


def _series_for(out: Gathered, heading: str, at: int, source: int, state: bool, unit: str = "") -> Raw:
    is_long = any(one.layout == "long" for one in out.structure.roles)
    for one in out.series:
        if one.heading == heading and one.source == source and (is_long or one.column == at or heading):
            if not is_long and heading == "" and one.column != at:
                continue
            if is_long or one.column == at or not _twice(out, heading):
                return one
    known, beside = said(unscaled(heading)), symbol(unit) if unit else None
    if beside is not None and (known.unit is None or known.unit.kind != beside.kind):
        known = said(f"{heading} [{unit}]")
    found = known.unit or beside
    made = Raw(heading, known, found, at, source, state)
    out.series.append(made)
    return made


def _twice(out: Gathered, heading: str) -> bool:
    return any(one.heads.count(heading) > 1 for one in out.structure.parted.segments)


def _put(
    out: Gathered, series: Raw, where: tuple[int, int, int | None], cell: Cell, flags: Sequence[Cell],
    own: Symbol | None = None,
) -> None:  # fmt: skip
    number_, local, offset = where
    decimal = out.structure.decimals.get(number_, out.structure.decimal)
    if isinstance(cell, str) and (both := with_unit(cell, decimal)) is not None:
        cell, own = both
    value, mark = _value(cell, decimal, series.state or series.said.quantity == "shut-off closed")
    if value is None:
        out.missing_marks["" if cell == "" else str(cell).strip()[:12]] += 1
    if value is not None and own is not None and own != series.unit:
        series.own[len(series.v)] = (value, own)
    series.v.append(value)
    series.row.append(number_)
    series.local.append(local)
    series.offset.append(offset)
    series.bad.append(bool(mark) or any(not_good(one) for one in flags))
    series.blank.append(cell == "")
    out.used.add(number_)


def _value(cell: Cell, decimal: str, state: bool) -> tuple[float | None, str]:
    value = number(cell, decimal)
    if value is None and isinstance(cell, str) and cell and decimal == "." and cell.count(",") == 1:
        value = number(cell, ",")
    if value is not None:
        return value, ""
    if state and isinstance(cell, str):
        flat = plain(cell)
        if flat in words.CLOSED_WORDS:
            return 1.0, ""
        if flat in words.OPEN_WORDS:
            return 0.0, ""
    if is_missing(cell) or isinstance(cell, datetime):
        return None, ""
    if isinstance(cell, str) and (remark := _REMARK.match(cell)) is not None:
        return number(remark.group(1), decimal), ""
    found = marked(cell, decimal)
    return (None, "") if found is None or found[1].casefold().endswith("ma") else found


def _without_cut(rows: list[Row], out: Gathered) -> list[Row]:
    """Leave out a last row that ends within itself: too few cells, or fewer digits than its column has."""
    at, cells = rows[-1]
    before = rows[-2][1] if len(rows) > 1 else cells
    short = len(cells) < len(before)
    if not short and isinstance(cells[-1], str) and cells[-1]:
        lengths = {len(str(one[-1]).rpartition(mark)[2]) for _, one in rows[-200:-1] if one for mark in ".,"
                   if mark in str(one[-1])}  # fmt: skip
        text = cells[-1]
        places = len(text) - 1 - max(text.rfind("."), text.rfind(",")) if ("." in text or "," in text) else 0
        short = bool(lengths) and places < min(lengths)
    if short or (cells and cells[-1] == "" and before[-1] != ""):
        out.left_out.setdefault("cut off", []).append(at)
        return rows[:-1]
    return rows


def _without_short(rows: list[Row], roles: Roles, out: Gathered) -> list[Row]:
    """Leave out a last row that lacks cells which the rows before it have."""
    at, cells = rows[-1]
    if len(rows) < 3 or roles.layout == "pairs" or out.structure.grid.container != "text":
        return rows
    if len(cells) < min(len(one) for _, one in rows[-20:-1]):
        out.left_out.setdefault("cut off", []).append(at)
        return rows[:-1]
    return rows


def _cut_stamp(row: Row, grid: Grid) -> bool:
    """Return whether the last row of a file that ends without an end of line is the start of a sample."""
    at, cells = row
    usual = max(len(one) for _, one in grid.rows[-50:])
    return at == grid.rows[-1][0] and len(cells) < usual and str(cells[0])[:1].isdigit()


def _note_formats(out: Gathered, rows: Sequence[Row]) -> None:
    """Note where stamps change their shape: row and shape, without regard to seconds."""
    if out.structure.times.kind != "text" or not out.structure.times.sources:
        return
    source = out.structure.times.sources[0]
    for number_, cells in rows:
        found = as_stamp(cells[source.at]) if source.at < len(cells) else None
        if found is None or found.parts is None:
            continue
        shape = found.form.split("hh")[0].replace("T", " ").strip() + (" AM" if "AM" in found.form else "")
        shape += " zone" if found.offset is not None else ""
        if not out.formats or out.formats[-1][1] != shape:
            out.formats.append((number_, shape))


def _take_sentinels(one: Raw, out: Gathered, found: set[float]) -> None:
    """Turn numbers that stand for *no value* into none; what is one in a column is one in the others, too."""
    if not found:
        return
    out.sentinels |= found
    for at, value in enumerate(one.v):
        if value in found:
            one.v[at] = None
            one.own.pop(at, None)
            out.missing_marks[f"{value:g}"] += 1


def _count_rest(out: Gathered) -> None:
    grid, parted = out.structure.grid, out.structure.parted
    for listed_rows in (parted.footer, parted.events):
        if grid.cut and listed_rows and _cut_stamp(listed_rows[-1], grid):
            out.left_out.setdefault("cut off", []).append(listed_rows.pop()[0])
    rows_ = [at for one in parted.segments for at, _ in one.rows]
    if unclear := [at for at in dict.fromkeys(out.carried.unclear) if at not in out.used]:
        out.left_out.setdefault("day not clear", []).extend(unclear)
    noted = {at for rows in out.left_out.values() for at in rows}
    for reason, rows in (
        ("header", [at for one in parted.segments for at, _ in one.header if at]),
        ("event", [at for at, _ in parted.events]), ("footer", [at for at, _ in parted.footer]),
        ("no time", [at for at, _ in parted.untimed]), ("more cells", [at for at, _ in parted.wider]),
        ("no time", [at for at in rows_ if at not in out.used and at not in noted]),
    ):  # fmt: skip
        if rows:
            out.left_out.setdefault(reason, []).extend(rows)
    listed = {at for rows in out.left_out.values() for at in rows}
    numbered = {at for at, _ in grid.rows if at}  # the names of JSON lines and Parquet are no row
    out.used -= listed
    blank = grid.rows_total - len(numbered)
    if blank > 0:
        out.left_out["blank"] = [0] * blank
