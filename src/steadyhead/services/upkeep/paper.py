"""The list of what is due on paper."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from sqlalchemy import func, select

from steadyhead import __version__
from steadyhead.register import Register
from steadyhead.register.tables import due
from steadyhead.reports import upkeep as report
from steadyhead.services.stations.kept import station_row
from steadyhead.services.upkeep.all_due import _COLUMNS, Asked
from steadyhead.services.upkeep.lines import line_of
from steadyhead.upkeep.cautions import CAUTIONS, DEFERS
from steadyhead.upkeep.days import told
from steadyhead.upkeep.places import isolation_words
from steadyhead.upkeep.waiting import NO_CLAIM

MOST_LINES = 400
"""Lines of one list; a longer one says how many it leaves out. Own estimate."""


def due_paper(register: Register, wanted: Asked, *, station: str = "") -> bytes:
    """Return what is due in a span as a PDF list, by station and isolation, with places to tick and sign.

    station: key of one station; empty: all.

    Raises
    ------
    NotKept
        No such station.
    """
    c = due.c
    with register.reading() as connection:
        named = station_row(connection, station).name if station else ""
        where = [*wanted.where(), c.weighs.in_(wanted.classes)]
        if station:
            where.append(c.station == station)
        total = int(connection.execute(select(func.count()).select_from(due).where(*where)).scalar_one())
        order = (c.zone, c.name, c.station, c.isolation, c.weighs.desc(), c.on, c.place, c.activity)
        rows = connection.execute(select(*_COLUMNS).where(*where).order_by(*order).limit(MOST_LINES)).all()
    left = total - len(rows)
    return report.pdf(
        _stations(rows, wanted),
        day=wanted.day,
        until=wanted.until,
        what=f"{named} ({station})" if station else "all stations",
        note=f"{left} more lines are left out: choose a shorter span or find fewer stations." if left else "",
        cautions=_cautions(rows),
        defers=DEFERS,
        no_claim=NO_CLAIM if any(row.activity == "trip_proof" for row in rows) else "",
        version=__version__,
    )


def _stations(rows: Sequence[Any], wanted: Asked) -> list[report.ListedStation]:
    found: dict[str, dict[str, list[report.ListedLine]]] = {}
    heads: dict[str, tuple[str, str]] = {}
    for row in rows:
        line = line_of(row, wanted.day)
        heads[row.station] = (row.name, row.zone)
        sections = found.setdefault(row.station, {})
        sections.setdefault(row.isolation, []).append(
            report.ListedLine(
                mark=line.mark, why=line.why, what=line.title, costs=line.costs,
                when=line.state, last=f"last {told_day(line.last)}" if line.last else "never on record",
                interval=f"interval {line.interval}",
            )
        )  # fmt: skip
    return [
        report.ListedStation(
            key, *heads[key],
            tuple((isolation_words(path) if path else "", tuple(lines)) for path, lines in sections.items()),
        )
        for key, sections in found.items()
    ]  # fmt: skip


def told_day(iso: str) -> str:
    """Return a day kept as text in words."""
    from datetime import date

    return told(date.fromisoformat(iso))


def _cautions(rows: Sequence[Any]) -> list[tuple[str, str]]:
    names: dict[str, None] = {}
    for row in rows:
        names |= dict.fromkeys(json.loads(row.body)["cautions"])
    return [CAUTIONS[name] for name in CAUTIONS if name in names]
