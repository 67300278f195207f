"""A short record with known values, and the context a user would tell: our own numbers, no randomness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from math import sin

from steadyhead.records.logger import Context, GaugeVisit, Known

BAR = 1e5


@dataclass(frozen=True)
class Sample:
    """One row of the record: time in UTC, bar, bar, m³/h, %, 0 or 1."""

    t: datetime
    inlet: float
    outlet: float
    flow: float
    travel: float
    closed: int


@dataclass(frozen=True)
class Expected:
    """A channel that must come out: what it is, its unit, its samples (None: a missing mark)."""

    quantity: str
    unit: str
    samples: Sequence[tuple[datetime, float | None]]
    statistic: str = "spot"


@dataclass(frozen=True)
class Shape:
    """A file shape: its files and what must come out of them."""

    name: str
    files: dict[str, bytes]
    context: Context
    expected: list[Expected]
    facts: set[str] = field(default_factory=set)
    asked: set[str] = field(default_factory=set)
    order_told: bool = False


def record(n: int = 200, step: float = 300, start: str = "2027-03-03T23:00:00") -> list[Sample]:
    """Return a record of `n` rows, `step` seconds apart."""
    first = datetime.fromisoformat(start).replace(tzinfo=UTC)
    out = []
    for k in range(n):
        flow = round(30 + 12 * sin(k / 31) + 1.7 * sin(k * 1.3), 2)
        out.append(Sample(
            first + timedelta(seconds=k * step), round(9.8 - 0.02 * flow + 0.05 * sin(k * 0.7), 3),
            round(4.35 - 0.004 * flow + 0.008 * sin(k * 2.1), 3), flow,
            round(flow / 7 + 0.3 * sin(k * 3.3), 1), 0,
        ))  # fmt: skip
    return out


def context(
    rows: list[Sample], zone: str = "UTC", note: str = "stamps are UTC", interval: float = 300
) -> Context:
    """Return what a user would tell of the record, with two visits."""
    known = Known(4.6 * BAR, 5.8 * BAR, 9.0 * BAR, 32 / 3600)
    visits = tuple(
        GaugeVisit(one.t, (one.inlet + 0.01) * BAR, one.outlet * BAR, one.flow / 3600)
        for one in (rows[len(rows) // 5], rows[-len(rows) // 4])
    )  # fmt: skip
    return Context(zone, note, interval, known, visits)


def berlin(rows: list[Sample], interval: float = 300) -> Context:
    """Return what a user would tell of the record where the logger follows the clock of the place."""
    return context(
        rows, "Europe/Berlin", "station local time Europe/Berlin, clock changes followed", interval
    )


def channels(rows: list[Sample], *names: str) -> list[Expected]:
    """Return the channels named: ``in``, ``out``, ``flow``, ``travel``, ``closed``; none named: all."""
    made = {
        "in": Expected("inlet pressure", "bar", [(one.t, one.inlet) for one in rows]),
        "out": Expected("outlet pressure", "bar", [(one.t, one.outlet) for one in rows]),
        "flow": Expected("flow", "m³/h", [(one.t, one.flow) for one in rows], "mean"),
        "travel": Expected("travel", "%", [(one.t, one.travel) for one in rows]),
        "closed": Expected("shut-off closed", "state", [(one.t, float(one.closed)) for one in rows]),
    }
    return [made[name] for name in names or tuple(made)]
