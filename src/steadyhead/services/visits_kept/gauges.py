"""Gauges of the station file that a visit has not described yet, in the words that describe them."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import Connection, select

from steadyhead.errors import InputError, InputErrors
from steadyhead.register.tables import blob, revision
from steadyhead.services.visits_kept.views import GaugeView
from steadyhead.station.load import load

MOST_FILES = 64
"""Station files whose gauges are held at hand. Own estimate."""
_HELD: dict[str, tuple[GaugeView, ...]] = {}


def gauges_left(connection: Connection, key: str, described: Collection[str]) -> tuple[GaugeView, ...]:
    """Return the gauges of today's station file that a visit describes nowhere yet."""
    newest = select(revision.c.file).where(revision.c.station == key).order_by(revision.c.number.desc())
    digest = str(connection.execute(newest.limit(1)).scalar_one())
    if digest not in _HELD:
        content = connection.execute(select(blob.c.bytes).where(blob.c.hash == digest)).scalar_one()
        if len(_HELD) >= MOST_FILES:
            _HELD.clear()
        _HELD[digest] = _gauges(bytes(content))
    return tuple(one for one in _HELD[digest] if one.name not in described)


def _gauges(content: bytes) -> tuple[GaugeView, ...]:
    """Return the gauges of a station file; a file of an older format that cannot be read names none."""
    try:
        station = load(content).station
    except (InputError, InputErrors):
        return ()
    found = []
    for one in station.gauges:
        unit = one.span.text.lstrip("0123456789., \u2009\u00a0")
        found.append(
            GaugeView(
                name=one.id, low=f"0 {unit}", high=one.span.text, accuracy=one.accuracy.text, due=one.due
            )
        )
    return tuple(found)
