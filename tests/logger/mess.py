"""The files that loggers and desks hand over (design handbook 6.3), drawn by a seed, with their truth.

`written` turns a logger's view into one or more files in a dialect and says what each channel's rows are:
stamps in UTC, the numbers as printed, which are missing. Names, units and junk lines are invented.
"""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import openpyxl
import polars as pl

from tests.logger.measuring import Seen, Trace
from tests.logger.truth import BAR, HOUR

Rng = np.random.Generator
MISSING = ("", "-", "---", "NaN", "#N/A", "9999", "-999.9", "Err")
ZONES = ("UTC", "Europe/Vienna", "Europe/Lisbon", "America/Chicago", "Asia/Kolkata")
EPOCH_OF_SHEETS = datetime(1899, 12, 30, tzinfo=UTC)

UNITS: dict[str, tuple[tuple[str, float, int], ...]] = {
    "inlet pressure": (("bar", BAR, 3), ("kPa", 1e3, 1), ("psi", 6894.757293168361, 1), ("mH2O", 9806.65, 2)),
    "flow": (("m³/h", 1 / HOUR, 2), ("L/s", 1e-3, 3), ("L/min", 1e-3 / 60.0, 0)),
    "travel": (("%", 0.01, 1),),
    "shut-off closed": (("0/1", 1.0, 0),),
}
"""Unit as printed, SI of one of it, decimals."""
UNITS["outlet pressure"] = UNITS["inlet pressure"]
HEADINGS = {
    "inlet pressure": ("P inlet", "T1 pressure", "Upstream", "Vordruck", "Pression amont"),
    "outlet pressure": ("P outlet", "T3 pressure", "Downstream", "Nachdruck", "Pression aval"),
    "flow": ("Flow", "Q", "Durchfluss", "Débit"),
    "travel": ("Valve travel", "Pos", "Hub", "Course"),
    "shut-off closed": ("Shut-off closed", "SO switch", "SAV zu"),
}
EXTREMES = {"spot": "", "mean": "", "minimum": " min", "maximum": " max"}
STAMPS: dict[str, Callable[[datetime], str]] = {
    "iso": lambda t: t.strftime("%Y-%m-%d %H:%M:%S"),
    "iso T": lambda t: t.isoformat(),
    "dots": lambda t: t.strftime("%d.%m.%Y %H:%M:%S"),
    "no seconds": lambda t: t.strftime("%d.%m.%Y %H:%M"),
    "month first, 12 h": lambda t: t.strftime("%m/%d/%Y %I:%M:%S %p"),
    "day first, slashes": lambda t: t.strftime("%d/%m/%Y %H:%M:%S"),
    "24:00": lambda t: (
        (t - timedelta(days=1)).strftime("%d.%m.%Y 24:00")
        if (t.hour, t.minute) == (0, 0)
        else t.strftime("%d.%m.%Y %H:%M")
    ),
    "epoch s": lambda t: f"{t.timestamp():.0f}",
    "epoch ms": lambda t: f"{t.timestamp() * 1e3:.0f}",
    "serial day": lambda t: f"{(t.replace(tzinfo=UTC) - EPOCH_OF_SHEETS) / timedelta(days=1):.6f}",
}
LAYOUTS = ("wide", "pairs", "long", "date and clock", "sheet", "json lines", "parquet")


@dataclass(frozen=True, slots=True)
class Dialect:
    """How one kind of file looks."""

    layout: str = "wide"
    separator: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    ending: str = "\n"
    stamp: str = "iso"
    zone: str = "UTC"
    junk: int = 0
    units: str = "in the heading"
    quoted: bool = False
    missing: str = ""
    marks: bool = False
    events: int = 0
    second_heading: bool = False
    footer: bool = False
    order: str = "rising"
    cut: bool = False
    parts: int = 1
    set_back: float = 0.0


@dataclass(slots=True)
class Row:
    """One channel as it stands in the files: stamps [s since 1970 UTC], numbers as printed (NaN: missing)."""

    quantity: str
    statistic: str
    heading: str
    unit: str
    t: list[float] = field(default_factory=list)
    v: list[float] = field(default_factory=list)


@dataclass(slots=True)
class Written:
    """Files and what they hold; `facts`: peculiarities that a report of the reading may name."""

    files: dict[str, bytes]
    dialect: Dialect
    rows: dict[str, Row]
    facts: set[str]


def dialect(rng: Rng) -> Dialect:
    """Return a random dialect in which nothing is left open that only a person could know.

    But for a clock that was set back amid a file, by so many intervals: which stamps are right must be asked.
    """
    layout = str(rng.choice(LAYOUTS, p=(0.4, 0.12, 0.12, 0.1, 0.1, 0.08, 0.08)))
    comma = rng.random() < 0.45
    text = layout in ("wide", "pairs", "long", "date and clock")
    made = Dialect(
        layout=layout,
        separator=str(rng.choice([";", "\t"])) if comma else str(rng.choice([",", ";", "\t"])),
        decimal="," if comma else ".",
        encoding=str(rng.choice(["utf-8", "utf-8-sig", "cp1252", "utf-16"], p=(0.5, 0.2, 0.2, 0.1))),
        ending=str(rng.choice(["\n", "\r\n"])),
        stamp=str(rng.choice([*STAMPS])),
        zone=str(rng.choice(ZONES)),
        junk=int(rng.choice([0, 0, 3, 12, 40])),
        units=str(rng.choice(["in the heading", "row below", "in the heading"])),
        quoted=bool(rng.random() < 0.15),
        missing=str(rng.choice(MISSING)),
        marks=bool(rng.random() < 0.4),
        events=int(rng.choice([0, 0, 0, 3])),
        second_heading=bool(rng.random() < 0.12),
        footer=bool(rng.random() < 0.15),
        order=str(rng.choice(["rising", "rising", "rising", "falling", "mixed"])),
        cut=bool(rng.random() < 0.08),
        parts=int(rng.choice([1, 1, 1, 2])) if text else 1,
    )
    if made.parts == 1 and made.order != "mixed" and rng.random() < 0.08:
        made = replace(made, set_back=float(rng.choice([3.4, 4.0, 60.0])))
    return (
        made if text else replace(made, decimal=".", events=0, second_heading=False, footer=False, cut=False)
    )


def written(rng: Rng, seen: Seen, how: Dialect) -> Written:
    """Return the files of a logger's view in a dialect; all channels must share their stamps."""
    first = next(iter(seen.traces.values()))
    assert all(np.array_equal(first.t, trace.t) for trace in seen.traces.values())
    rows = {name: _row(rng, trace, how) for name, trace in seen.traces.items()}
    order = np.arange(first.t.size)
    facts = {"missing marks"} if how.marks else set()
    if how.order == "falling":
        order = order[::-1]
        facts.add("descending")
    elif how.order == "mixed":
        block = int(rng.integers(5, 50))
        order = np.concatenate([order[-block:], order[:-block]])
        facts.add("rows out of order")
    if how.marks:
        for row in rows.values():
            for i in rng.integers(0, first.t.size, 4).tolist():
                row.v[i] = float("nan")
    true = rows
    if how.set_back:
        rows = _set_back(rng, rows, how.set_back)
        facts.add("clock set back")
    named = {"sheet": _sheet, "json lines": _json_lines, "parquet": _parquet}
    if how.layout in named:
        suffix = {"sheet": "xlsx", "json lines": "jsonl", "parquet": "parquet"}[how.layout]
        return Written({f"a.{suffix}": named[how.layout](rows, order, how)}, how, true, facts)
    files = {}
    for k, part in enumerate(np.array_split(order, how.parts)):
        overlap = part if k == 0 else np.concatenate([np.array_split(order, how.parts)[k - 1][-3:], part])
        lines = _lines(rng, rows, overlap, how, facts)
        if how.cut:
            facts.add("file cut off")
        files[f"{'ab'[k]}.csv"] = _encoded(lines, how)
    if how.parts > 1:
        facts.add("overlap")
    return Written(files, how, true, facts)


def _set_back(rng: Rng, rows: dict[str, Row], intervals: float) -> dict[str, Row]:
    """Return rows as a clock gives them that goes back at one of them, by so many intervals."""
    t = next(iter(rows.values())).t
    k, off = int(rng.integers(len(t) // 4, 3 * len(t) // 4)), float(round(intervals * (t[1] - t[0])))
    off = max(off - off % 60.0, 60.0)  # whole minutes: some dialects print no seconds
    return {
        name: replace(row, t=[x - off * (i >= k) for i, x in enumerate(row.t)]) for name, row in rows.items()
    }


def _row(rng: Rng, trace: Trace, how: Dialect) -> Row:
    unit, size, decimals = UNITS[trace.quantity][int(rng.integers(len(UNITS[trace.quantity])))]
    heading = str(rng.choice(HEADINGS[trace.quantity])) + EXTREMES[trace.statistic]
    if how.encoding == "cp1252":
        heading.encode("cp1252")
    v = [float("nan") if np.isnan(x) else round(x / size, decimals) for x in trace.v.tolist()]
    return Row(trace.quantity, trace.statistic, heading, unit, trace.t.tolist(), v)


def _number(x: float, how: Dialect) -> str:
    if np.isnan(x):
        return how.missing
    text = f"{x:.10g}".replace(".", how.decimal)
    return f'"{text}"' if how.quoted else text


def _stamp(t: float, how: Dialect) -> str:
    when = datetime.fromtimestamp(t, tz=UTC).astimezone(ZoneInfo(how.zone))
    return STAMPS[how.stamp](when)


def _title(row: Row, how: Dialect) -> str:
    return f"{row.heading} [{row.unit}]" if how.units == "in the heading" else row.heading


def _junk(rng: Rng, how: Dialect) -> list[str]:
    told = ("Site: Quernhollow Lane", "Serial: 004417", "Firmware: 2.11", "Battery: 3.58 V",
            "Kommentar: Zone Ost", "Remarque: chambre 4", "Interval 300", "----------", "")  # fmt: skip
    return [str(rng.choice(told)) for _ in range(how.junk)]


def _heading(rows: dict[str, Row], how: Dialect) -> list[str]:
    time = {"date and clock": ["Date", "Time"]}.get(how.layout, ["Time"])
    if how.layout == "long":
        return [how.separator.join(["Time", "Channel", "Value", "Unit"])]
    if how.layout == "pairs":
        cells = [cell for row in rows.values() for cell in ("Time", _title(row, how))]
        below = [cell for row in rows.values() for cell in ("", row.unit)]
    else:
        cells = [*time, *(_title(row, how) for row in rows.values())]
        below = [*("" for _ in time), *(row.unit for row in rows.values())]
    head = [how.separator.join(cells)]
    return [*head, how.separator.join(below)] if how.units == "row below" else head


def _data(rows: dict[str, Row], i: int, how: Dialect) -> list[str]:
    t = next(iter(rows.values())).t[i]
    stamp = _stamp(t, how)
    if how.layout == "long":
        return [
            how.separator.join([stamp, row.heading, _number(row.v[i], how), row.unit])
            for row in rows.values()
        ]
    if how.layout == "pairs":
        return [how.separator.join(cell for row in rows.values() for cell in (stamp, _number(row.v[i], how)))]
    time = stamp.replace("T", " ").split(" ", 1) if how.layout == "date and clock" else [stamp]
    return [how.separator.join([*time, *(_number(row.v[i], how) for row in rows.values())])]


def _lines(rng: Rng, rows: dict[str, Row], order: np.ndarray, how: Dialect, facts: set[str]) -> list[str]:
    body = [line for i in order.tolist() for line in _data(rows, i, how)]
    per = len(rows) if how.layout == "long" else 1
    for _ in range(how.events):
        at = per * int(rng.integers(1, len(order)))
        body.insert(
            at,
            how.separator.join(
                [_stamp(next(iter(rows.values())).t[int(order[at // per])], how), "door open"]
            ),
        )
        facts.add("event rows")
    if how.second_heading:
        at = per * (len(order) // 2)
        body[at:at] = _heading(rows, how)
        facts.add("second header")
    if how.footer:
        body += ["", "End of data", f"Rows: {len(order)}"]
        facts.add("footer")
    return [*_junk(rng, how), *_heading(rows, how), *body]


def _encoded(lines: list[str], how: Dialect) -> bytes:
    text = how.ending.join(lines) + how.ending
    if how.cut:
        text = text[: -len(lines[-1]) // 2]
    return text.encode(how.encoding, errors="replace")


def _table(rows: dict[str, Row], order: np.ndarray) -> list[list[object]]:
    first = next(iter(rows.values()))
    return [
        [
            datetime.fromtimestamp(first.t[i], tz=UTC),
            *(None if np.isnan(r.v[i]) else r.v[i] for r in rows.values()),
        ]
        for i in order.tolist()
    ]


def _sheet(rows: dict[str, Row], order: np.ndarray, how: Dialect) -> bytes:
    book = openpyxl.Workbook()
    page = book.active
    page.append(["Time", *(_title(row, how) for row in rows.values())])
    if how.units == "row below":
        page.append(["", *(row.unit for row in rows.values())])
    zone = ZoneInfo(how.zone)
    for when, *values in _table(rows, order):
        page.append([when.astimezone(zone).replace(tzinfo=None), *values])  # type: ignore[attr-defined]
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def _names(rows: dict[str, Row]) -> list[str]:
    return [f"{row.heading} [{row.unit}]" for row in rows.values()]


def _json_lines(rows: dict[str, Row], order: np.ndarray, how: Dialect) -> bytes:
    lines = [
        json.dumps({"time": when.isoformat(), **dict(zip(_names(rows), values, strict=True))})  # type: ignore[attr-defined]
        for when, *values in _table(rows, order)
    ]
    return ("\n".join(lines) + "\n").encode()


def _parquet(rows: dict[str, Row], order: np.ndarray, how: Dialect) -> bytes:
    out = io.BytesIO()
    columns = ["time", *_names(rows)]
    pl.DataFrame(_table(rows, order), schema=columns, orient="row").write_parquet(out)
    return out.getvalue()
