"""Stations, days and lines that the tests of upkeep share."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import Any

from steadyhead.records.station import Station
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.upkeep.history import Beginning, Deferral, Done
from steadyhead.upkeep.tasks import Task, tasks

BEGAN = Beginning(date(2020, 5, 4), "the day it went into service")


@cache
def example(name: str = "fenwarren-gate") -> Station:
    return load(read(name)).station


def with_changes(name: str = "fenwarren-gate", **blocks: Any) -> Station:
    """Return an example with values of its blocks replaced: ``zone={"other_feed": True}``."""
    found = example(name)
    for block, values in blocks.items():
        part = getattr(found, block)
        found = found.model_copy(update={block: part.model_copy(update=values)})
    return found


def task(activity: str, place: str, station: Station | None = None) -> Task:
    for one in tasks(station or example()):
        if (one.activity.key, one.place) == (activity, place):
            return one
    raise KeyError((activity, place))


def done(day: str, **more: Any) -> Done:
    return Done(date.fromisoformat(day), "Ilse Marrow", **more)


def deferred(on: str, until: str) -> Deferral:
    return Deferral(
        date.fromisoformat(on), date.fromisoformat(until), "no second feed", "an unproved shut-off",
        "watched by telemetry", "R. Tamblyn",
    )  # fmt: skip
