"""What a logger's file amounts to: channels, how the file is to be read, doubts, facts. SI; times are UTC.

The value a file states never changes: a correction is a dated record beside it. The samples of a channel are
a polars frame with the columns `SAMPLES`.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    import polars

FORMAT = "steadyhead/reading/1"

Quantity = Literal[
    "inlet pressure", "pressure between the valves", "outlet pressure", "flow", "travel", "shut-off closed",
    "temperature", "battery", "meter index", "chamber level", "other",
]  # fmt: skip
"""What a channel measures; ``meter index``: a counter that only rises; ``other``: kept, not used."""
Statistic = Literal["spot", "mean", "minimum", "maximum"]
Hold = Literal["step", "linear", "mean"]
"""Between two samples: the value holds (``step``), runs to the next one, or is the mean of the interval."""
Layout = Literal["wide", "pairs", "long", "start and interval"]
TimeKind = Literal["text", "serial day", "epoch s", "epoch ms", "seconds since start", "start and interval"]
Use = Literal["time", "date", "clock", "value", "name", "flag", "unit", "unused"]
"""What a column is for; ``name``: the channel's name in a long file; ``clock``: time of day."""

SAMPLES = ("t", "v", "flag", "row")
"""Columns of a channel's frame: time [µs, UTC], value [SI; null: a missing mark stood there], bits of the
defects (0: unseen), line or row of the source file (from 1)."""
MARKED_BY_LOGGER = 1 << 31
"""Bit of `flag`: the logger's own mark beside the sample says it is not in order."""


@dataclass(frozen=True, slots=True)
class Channel:
    """One column of samples.

    Parameters
    ----------
    id
        Unique among the channels read together.
    place
        Tap of the station (``T0`` … ``T4``); None where it is not known.
    quantity, statistic
        What it measures, and what of each interval.
    unit_as_found
        Symbol of `steadyhead.units`, ``state`` for 0/1, "" for none.
    factor, offset
        SI value = stated number · factor + offset.
    absolute
        The file says that the pressure is counted from vacuum; `v` is then so, too.
    elevation
        Of the sensor; None: not known. [m]
    zone
        Zone its stamps were read in.
    hold
        What holds between samples.
    source_sha256
        Checksums of the files it came from.
    heading
        Its name in the file.
    """

    id: str
    place: str | None
    quantity: Quantity
    statistic: Statistic
    unit_as_found: str
    factor: float
    offset: float
    absolute: bool
    elevation: float | None
    zone: str
    hold: Hold
    source_sha256: tuple[str, ...]
    heading: str


@dataclass(frozen=True, slots=True)
class GaugeVisit:
    """What a visit read beside the logger; None: not read. [Pa gauge, m³/s, s]

    Parameters
    ----------
    when
        Time of the reading, UTC.
    inlet, outlet, flow
        By test gauge and meter.
    clock
        Logger's clock less the true time.
    """

    when: datetime
    inlet: float | None = None
    outlet: float | None = None
    flow: float | None = None
    clock: float | None = None


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of the station beforehand; None: not known.

    Parameters
    ----------
    lockup
        Outlet at zero flow. [Pa]
    trip
        Pressure at which the shut-off closes. [Pa]
    trip_upper
        Upper edge of the trip: over it the shut-off must have closed. [Pa]
    inlet
        About the inlet pressure. [Pa]
    flow
        About the mean flow. [m³/s]
    height
        Of the gauge over the station datum to which lock-up and trip were carried. [m]
    """

    lockup: float | None = None
    trip: float | None = None
    inlet: float | None = None
    flow: float | None = None
    height: float = 0.0
    trip_upper: float | None = None


@dataclass(frozen=True, slots=True)
class Context:
    """What is told beside the files.

    Parameters
    ----------
    zone, zone_note
        Zone of the stamps (IANA name or ``UTC+1``; "" for unknown) and a sentence on it.
    interval
        Nominal interval; None: unknown. [s]
    known, visits
        Of the station, and what visits read.
    start
        Start for a file that counts from its start and does not say when; None: unknown.
    month_first
        Answer to the question of the date order; None: not asked yet.
    second_pass
        Answer to the question which pass of an hour that comes twice a file has; None: not asked yet.
    profile
        How files of this source were read before, with the answers given; None: a new source.
    now
        When the files are read; None: not told, and nothing is asked because of it.
    from_1904
        Answer to the question from when days of a spreadsheet count; None: not asked yet.
    clock_set
        Which stamps are right where a clock went back amid a file: ``after``, ``before`` or ``all``; None:
        not asked yet.
    is_zone_answered
        The zone is an answer to the question that a file raised by stating another one; it holds.
    """

    zone: str = ""
    zone_note: str = ""
    interval: float | None = None
    known: Known = field(default_factory=Known)
    visits: tuple[GaugeVisit, ...] = ()
    start: datetime | None = None
    month_first: bool | None = None
    profile: Reading | None = None
    second_pass: bool | None = None
    now: datetime | None = None
    from_1904: bool | None = None
    clock_set: str | None = None
    is_zone_answered: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """What one column of a file is.

    Parameters
    ----------
    index
        Position, from 0.
    heading, use
        Its name in the file, what it is for.
    quantity, statistic, place, unit
        Of a column of values; None and "" elsewhere.
    absolute, inverted
        Counted from vacuum; a state that says *open* where we say *closed*.
    time
        Index of the column that carries its time.
    evidence
        Why quantity or unit are taken so where the heading does not say.
    """

    index: int
    heading: str
    use: Use
    quantity: Quantity | None = None
    statistic: Statistic = "spot"
    place: str | None = None
    unit: str = ""
    absolute: bool = False
    inverted: bool = False
    time: int = 0
    evidence: str = ""


@dataclass(frozen=True, slots=True)
class TimeRule:
    """How stamps are read.

    Parameters
    ----------
    kind
        Text, days of a spreadsheet, seconds or milliseconds since 1970, since a start.
    forms
        Shapes met, in words: ``dd.mm.yyyy hh:mm``.
    order
        ``ymd``, ``dmy``, ``mdy`` or "" (a name or no order to tell).
    zone, follows
        Zone of stamps without an offset; whether the clock changes are followed.
    start, interval
        For a file of bare values or seconds since a start. [ISO text, s]
    """

    kind: TimeKind
    forms: tuple[str, ...] = ()
    order: str = ""
    zone: str = "UTC"
    follows: bool = True
    start: str = ""
    interval: float | None = None


@dataclass(frozen=True, slots=True)
class Reading:
    """How files of one source are read: the profile that is remembered. Plain JSON by `as_plain`.

    Parameters
    ----------
    container
        ``text``, ``spreadsheet``, ``json lines`` or ``parquet``.
    encoding, delimiter, widths
        Of text; delimiter "" for columns of fixed width, whose borders `widths` lists (characters).
    decimal, thousands
        Marks of numbers.
    header_rows
        Rows ahead of the first sample.
    layout, columns, time
        How samples lie, what the columns are, how stamps are read.
    missing
        Marks read as *no value*.
    sheets
        Sheets of a spreadsheet that hold samples.
    """

    container: str
    encoding: str
    delimiter: str
    widths: tuple[int, ...]
    decimal: str
    thousands: str
    header_rows: int
    layout: Layout
    columns: tuple[Column, ...]
    time: TimeRule
    missing: tuple[str, ...] = ()
    sheets: tuple[str, ...] = ()

    def as_plain(self) -> dict[str, Any]:
        """Return the profile as plain JSON values."""
        return {"format": FORMAT, **asdict(self)}

    @classmethod
    def from_plain(cls, plain: dict[str, Any]) -> Reading:
        """Return the profile that `as_plain` wrote."""
        given = {name: value for name, value in plain.items() if name != "format"}
        time = TimeRule(**(given.pop("time") | {"forms": tuple(plain["time"]["forms"])}))
        columns = tuple(Column(**one) for one in given.pop("columns"))
        lists: dict[str, Any] = {name: tuple(given.pop(name)) for name in ("widths", "missing", "sheets")}
        return cls(columns=columns, time=time, **lists, **given)


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to a doubt: its value, in words, and what speaks for it."""

    value: str
    words: str
    evidence: str = ""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A question the file leaves open.

    Parameters
    ----------
    field
        What it is about: ``date order``, ``unit``, ``zone``, ``zone stated``, ``start``, ``decimal mark``,
        ``quantity``.
    question, choices
        In words.
    taken
        Value of the choice assumed where nobody answers; None: it must be asked.
    """

    field: str
    question: str
    choices: tuple[Choice, ...]
    taken: str | None


FactCode = Literal[
    "overlap", "hour twice", "hour missing", "out of order", "descending", "clock set", "change of format",
    "second header", "event rows", "missing marks", "flagged samples", "stamps cut", "file cut off",
    "footer", "hidden rows", "nothing in it", "by exception", "date order open", "same stamp, other value",
    "offset in stamps", "no samples", "undecodable", "date of the row above", "formulas", "hidden sheet",
    "more cells", "column not read", "in the future",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fact:
    """Something met while reading: its code, a sentence, and rows as examples (line or row numbers)."""

    code: FactCode
    words: str
    rows: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadFiles:
    """What files of one logger amount to.

    Parameters
    ----------
    readings
        How each file (in the order given) was read; None: nothing in it.
    channels
        Channels with their samples, a lazy frame of the columns `SAMPLES` each.
    doubts, facts, words
        Questions, what was met, and the report in sentences.
    rows_total, rows_used, rows_left_out
        Rows of all files; those that gave a sample; the rest by reason. Total = used + left out.
    """

    readings: tuple[Reading | None, ...]
    channels: tuple[tuple[Channel, polars.LazyFrame], ...]
    doubts: tuple[Doubt, ...]
    facts: tuple[Fact, ...]
    words: tuple[str, ...]
    rows_total: int
    rows_used: int
    rows_left_out: dict[str, int]
