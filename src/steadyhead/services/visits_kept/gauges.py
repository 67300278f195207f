"""Gauges of the station file: those a visit has not described yet, and the days they are due as known now."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import Connection, select

from steadyhead.errors import InputError, InputErrors
from steadyhead.records.station import Gauge
from steadyhead.register.tables import blob, revision
from steadyhead.services.field.gauge_dates import agreed
from steadyhead.services.field.known import described
from steadyhead.services.visits_kept.views import GaugeView
from steadyhead.station.load import load

MOST_FILES = 64
"""Station files whose gauges are held at hand. Own estimate."""
_HELD: dict[str, tuple[Gauge, ...]] = {}


def gauges_left(connection: Connection, key: str, told: Collection[str]) -> tuple[GaugeView, ...]:
    """Return the gauges of today's station file that a visit describes nowhere yet."""
    return tuple(_shown(one) for one in _of_file(connection, key) if one.id not in told)


def days_known(connection: Connection, key: str) -> tuple[tuple[str, str], ...]:
    """Return gauges and the days they are due, of station file and visits, whichever is later."""
    files, _ = agreed(_of_file(connection, key), described(connection, key)[0])
    return tuple((str(one["name"]), str(one["due"])) for one in files)


def _of_file(connection: Connection, key: str) -> tuple[Gauge, ...]:
    """Return the gauges of today's station file."""
    newest = select(revision.c.file).where(revision.c.station == key).order_by(revision.c.number.desc())
    digest = str(connection.execute(newest.limit(1)).scalar_one())
    if digest not in _HELD:
        content = connection.execute(select(blob.c.bytes).where(blob.c.hash == digest)).scalar_one()
        if len(_HELD) >= MOST_FILES:
            _HELD.clear()
        _HELD[digest] = _gauges(bytes(content))
    return _HELD[digest]


def _gauges(content: bytes) -> tuple[Gauge, ...]:
    """Return the gauges of a station file; a file of an older format that cannot be read names none."""
    try:
        return tuple(load(content).station.gauges)
    except (InputError, InputErrors):
        return ()


def _shown(one: Gauge) -> GaugeView:
    unit = one.span.text.lstrip("0123456789., \u2009\u00a0")
    return GaugeView(
        name=one.id, low=f"0 {unit}", high=one.span.text, accuracy=one.accuracy.text, due=one.due
    )
