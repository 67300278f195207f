"""A plan of several streams on paper: its overview, restore list and inlet openings, stream by stream."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import groupby
from typing import Any

from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.station import Station
from steadyhead.reports.ladders import capital
from steadyhead.reports.plan_steps import Teller, course, restore_items
from steadyhead.station.streams import views
from steadyhead.visits.several.ways import ways_of_visit

WHOLE = "Whole station"
"""Heading of the steps that belong to no single stream."""
Openings = Callable[[PlanNumbers, Station], list[list[str]]]
OpeningTables = Callable[[PlanNumbers], list[dict[str, Any]]]


def stream_names(station: Station) -> dict[str, str]:
    """Return the name of each stream by its id; empty for a station of one way."""
    return {view.id: capital(view.words) for view in views(station) if view.id}


def courses(tell: Teller, names: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return the overview of the steps in runs of one stream; one run without a heading for one way."""
    of = tell.procedure.streams
    runs = groupby(course(tell), key=lambda row: of.get(row[0], ""))
    return [{"heading": _name(stream, of, names), "rows": list(rows)} for stream, rows in runs]


def restores(tell: Teller, names: Mapping[str, str]) -> list[dict[str, Any]]:
    """Return the restore list by the stream whose step opens an item, the whole station's first."""
    of = tell.procedure.streams
    found: dict[str, list[list[str]]] = {}
    for row in restore_items(tell):
        found.setdefault(of.get(row[1].partition(", ")[0], ""), []).append(row)
    known = list(names)
    order = sorted(found, key=lambda stream: known.index(stream) if stream in names else -1)
    return [{"heading": _name(stream, of, names), "rows": found[stream]} for stream in order]


def openings(station: Station, numbers: PlanNumbers, tell: Openings) -> list[list[str]]:
    """Return how far the valve that bounds the test of each stream may stand open, section by section.

    That valve is the station's own where the whole station is out, else the stream's.
    """
    rows = []
    mode = numbers.together.mode if numbers.together is not None else "station out"
    for way in ways_of_visit(station, mode).ways:
        own = numbers.streams.get(way.key)
        for section, words, *rest in tell(own, way.station) if own else ():
            rows.append([f"{section}, {way.view.id}", f"{way.ends[0]}: {words}", *rest])
    return rows


def opening_tables(numbers: PlanNumbers, tell: OpeningTables) -> list[dict[str, Any]]:
    """Return what each held section of each stream sees at other openings of the inlet valve."""
    return [
        {**table, "section": f"{table['section']}, {stream}"}
        for stream, own in numbers.streams.items()
        for table in tell(own)
    ]


def _name(stream: str, of: Mapping[str, str], names: Mapping[str, str]) -> str:
    if not of:
        return ""
    return names.get(stream, stream) or WHOLE
