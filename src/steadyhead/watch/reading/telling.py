"""The report of a reading in words, and the facts of a table."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from steadyhead.records.logger import Doubt, Fact, Reading
from steadyhead.watch.counting import counted
from steadyhead.watch.reading import lost_clock
from steadyhead.watch.reading.gather import Gathered
from steadyhead.watch.reading.joining import Joined, Timed, is_utc_beside_local
from steadyhead.watch.reading.numbers import UNRECKONED
from steadyhead.watch.reading.order import IN_WORDS, Decided
from steadyhead.watch.reading.own_units import own_facts
from steadyhead.watch.reading.several import spare_times, unread_facts
from steadyhead.watch.reading.sources import Grid
from steadyhead.watch.reading.stamps import DAY, US
from steadyhead.watch.reading.wider import wider_facts

MARKS = {";": "semicolons", ",": "commas", "\t": "tabs", "|": "bars"}
LAYOUTS = {
    "wide": "one time column with a column for each channel", "pairs": "a time column for each channel",
    "long": "one sample in each row, with its channel's name",
    "start and interval": "a start, an interval and bare values",
}  # fmt: skip


def table_facts(one: Gathered, of_several: bool = False) -> list[Fact]:
    """Return what was met in one table; of_several: other sheets of its book hold samples, too."""
    out: list[Fact] = []
    grid, parted = one.structure.grid, one.structure.parted

    def add(code: str, words: str, rows: Sequence[int] = ()) -> None:
        out.append(Fact(code, words, tuple(rows[:5])))  # type: ignore[arg-type]

    shapes = [shape for _, shape in one.formats]
    if len(set(shapes)) > 1:
        rows = [at for at, _ in one.formats[1:]]
        add("change of format", f"The stamps change their shape: {' · '.join(dict.fromkeys(shapes))}.", rows)
    if one.structure.decimals:
        marks = list(one.structure.decimals.items())
        rows = [at for (_, a), (at, b) in itertools.pairwise(marks) if a != b]
        add("change of format", "The decimal mark changes within the file.", rows)
    if len(grid.odd) > 1:
        add("change of format", "The separator changes within the file.", grid.odd)
    if parted.second:
        add("second header", f"{counted(len(parted.second), 'more header')} within the file.", parted.second)
    if parted.events:
        add(
            "event rows",
            event_words(len(parted.events)),
            [at for at, _ in parted.events],
        )
    if parted.footer:
        add(
            "footer",
            f"{counted(len(parted.footer), 'row')} after the last sample.",
            [at for at, _ in parted.footer],
        )
    marks_ = [f"{mark or 'empty'} ({count})" for mark, count in one.missing_marks.most_common(6)]
    if marks_:
        add("missing marks", f"Read as no value: {', '.join(marks_)}.")
    flagged = sorted({row for raw in one.series for row, bad in zip(raw.row, raw.bad, strict=True) if bad})
    if flagged:
        add("flagged samples", f"The logger marks {counted(len(flagged), 'row')} as not in order.", flagged)
    if "cut off" in one.left_out:
        add("file cut off", "The last row ends within itself; it is left out.", one.left_out["cut off"])
    if began := one.left_out.get(lost_clock.REASON):
        out.append(lost_clock.fact(len(began), began))
    out += _carried(one)
    out += unread_facts(parted.segments, one.structure.roles)
    if not is_utc_beside_local(one.structure):
        out += spare_times(parted.segments, one.structure.times)
    out += [*own_facts(one.series), *wider_facts(parted)]
    if grid.hidden:
        add(
            "hidden rows",
            f"{counted(len(grid.hidden), 'row')} hidden in the spreadsheet; read like the rest.",
            grid.hidden,
        )
    out += [Fact("change of format", one, ()) for one in grid.told]
    if grid.turned:
        add(
            "change of format",
            f"{counted(len(grid.turned), 'date')} with day and month exchanged beside others that are text, "
            "as a spreadsheet program of another country leaves them; the rows run on only with them put "
            "right.",
            grid.turned,
        )
    if grid.replaced:
        add("undecodable", f"{counted(grid.replaced, 'character')} that could not be read.")
    if (
        any(off is not None for raw in one.series for off in raw.offset)
        and one.structure.times.kind == "text"
    ):
        add("offset in stamps", "The stamps carry their offset to UTC.")
    out += sheet_facts(grid)
    if of_several and grid.sheet:
        out = [_of_sheet(each, grid) for each in out]
    return out


def event_words(number: int) -> str:
    """Return what is told of rows of words."""
    return f"{counted(number, 'row')} of words between the samples."


def _of_sheet(fact: Fact, grid: Grid) -> Fact:
    """Return a fact with the sheet it is of: two sheets count their rows alike."""
    return fact if fact.code == "hidden sheet" else replace(fact, words=f"Sheet {grid.sheet!r}: {fact.words}")


def sheet_facts(grid: Grid, has_samples: bool = True) -> list[Fact]:
    """Return what is told of a sheet as such."""
    out = []
    if grid.formulas:
        cells = "1 cell holds a formula" if grid.formulas == 1 else f"{grid.formulas} cells hold a formula"
        words = f"{cells} whose result the file does not keep; read as no value."
        out.append(Fact("formulas", words, tuple(at for at, row in grid.rows if UNRECKONED in row)[:5]))
    if grid.is_hidden:
        words = "it is read like the others" if has_samples else "it holds no samples"
        out.append(Fact("hidden sheet", f"The sheet {grid.sheet!r} is hidden in the spreadsheet; {words}."))
    return out if has_samples else [_of_sheet(each, grid) for each in out]


def of_future(joined: Sequence[Joined] | Sequence[Timed], now: datetime | None) -> list[Fact]:
    """Return what is told of samples later than the day after `now`."""
    last = max((int(one.utc.max()) for one in joined if len(one.utc)), default=0)
    if now is None or last <= round(now.timestamp() * US) + DAY:
        return []
    when = datetime.fromtimestamp(last / US, UTC)
    words = (
        f"The last sample is of {when:%Y-%m-%d}, which is to come: the year, the order of the date or the "
        "logger's clock is wrong."
    )
    return [Fact("in the future", words)]


def _carried(one: Gathered) -> list[Fact]:
    """Return what became of rows that state a time and no date."""
    same, later, unclear = (
        tuple(dict.fromkeys(rows))
        for rows in (one.carried.same, one.carried.after_midnight, one.carried.unclear)
    )
    out = []
    if same or later:
        words = f"Rows with a time and no date: {len(same) + len(later)}. They take the date of the row above"
        if later:
            words += f"; {len(later)} of them lie past a midnight without a new date: a day further"
        out.append(Fact("date of the row above", f"{words}.", (later or same)[:5]))
    if unclear:
        words = (
            f"Rows with a time and no date, of a day that is not clear: {len(unclear)}. They are left out."
        )
        out.append(Fact("date of the row above", words, unclear[:5]))
    return out


def report(
    readings: Sequence[Reading | None], names: Sequence[str], joined: Sequence[Joined],
    doubts: Sequence[Doubt], facts: Sequence[Fact], decided: dict[str, Decided], words: Sequence[str],
    rows: tuple[int, int, dict[str, int]],
) -> tuple[str, ...]:  # fmt: skip
    """Return the report: how each file was read, what was found and is doubtful, what became of the rows."""
    out = [f"{name}: {how(one)}" for name, one in zip(names, readings, strict=True)]
    out += [
        f"Dates {shape}: {IN_WORDS[one.order]}; {one.evidence}."
        for shape, one in decided.items() if one.open or one.doubt
    ]  # fmt: skip
    out += words
    for one in joined:
        out.append(_channel(one))
    out += [fact.words for fact in facts if fact.code != "date order open"]  # it is said by shape
    for doubt in doubts:
        taken = next((each.words for each in doubt.choices if each.value == doubt.taken), "")
        out.append(
            f"Doubtful: {doubt.question} {'Taken: ' + taken + '.' if taken else 'It must be answered.'}"
        )
    total, used, left = rows
    reasons = ", ".join(f"{count} {reason}" for reason, count in left.items())
    out.append(f"{counted(total, 'row')}: {used} used" + (f", left out: {reasons}." if reasons else "."))
    return tuple(out)


def how(one: Reading | None) -> str:
    """Return the sentence on how a file was read."""
    if one is None:
        return "no samples in it."
    parts = [LAYOUTS[one.layout]]
    if one.container == "text":
        mark = MARKS.get(one.delimiter, "fixed columns" if one.widths else "blanks")
        parts.append(f"{mark}, decimal {'comma' if one.decimal == ',' else 'point'}, {one.encoding}")
    else:
        parts.append(one.container)
    kind = {
        "text": "stamps",
        "serial day": "days of a spreadsheet",
        "epoch s": "seconds since 1970",
        "epoch ms": "milliseconds since 1970",
    }
    shown = f" {' · '.join(one.time.forms)}" if one.time.forms else ""
    zone = f"in {one.time.zone}" + (
        ""
        if one.time.zone == "UTC"
        else ", clock changes followed"
        if one.time.follows
        else ", one offset all year"
    )
    parts.append(f"{kind.get(one.time.kind, one.time.kind)}{shown} {zone}")
    return "read as " + "; ".join(parts) + "."


def _channel(one: Joined) -> str:
    channel = one.channel
    if not len(one.utc):
        return f"{channel.id}: no samples."
    first, last = (str(np.datetime64(int(each) // US, "s")) for each in (one.utc[0], one.utc[-1]))
    missing = int(np.isnan(one.v).sum())
    gone = f", {missing} without a value" if missing else ""
    why = f" ({one.evidence})" if one.evidence else ""
    unit = channel.unit_as_found or "no unit"
    source = repr(channel.heading) if channel.heading else "a column without heading"
    samples = counted(len(one.utc), "sample")
    also = "".join(f" and {each}" for each in one.also)
    return f"{channel.id} from {source} in {unit}{why}{also}: {samples}{gone}, {first} to {last} UTC."
