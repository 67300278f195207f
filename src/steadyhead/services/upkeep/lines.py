"""One line of upkeep as pages, papers and calendars show it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from typing import Any

from pydantic import BaseModel, ConfigDict

from steadyhead.upkeep.activities import BY_KEY, Activity
from steadyhead.upkeep.waiting import costs
from steadyhead.upkeep.words import Mark, since_words, state_words


class DueLine(BaseModel):
    """One thing due.

    Parameters
    ----------
    title
        What is done and where.
    why
        Its reason, first: how long ago, or what is missing.
    costs
        What waiting costs.
    mark, state
        Where it stands, in words.
    on
        Day it comes up; was: day it is due by its interval; until: day it is deferred to, else empty.
    last
        Day it was done last; empty: never on record. source: where that is known from.
    weighs
        What waiting costs, 3 most.
    evidence
        Rows of loggers that ask for it; empty: none do.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    station: str
    name: str
    zone: str
    place: str
    activity: str
    does: str
    at: str
    title: str
    why: str
    costs: str
    mark: Mark
    state: str
    on: str
    was: str
    until: str
    last: str
    source: str
    interval: str
    interval_months: float
    is_own_interval: bool
    is_overdue: bool
    weighs: int
    isolation: str
    evidence: str = ""


def title_of(activity: Activity, at: str) -> str:
    """Return what is done and where; ``at`` is empty for the whole station."""
    return f"{activity.does}: {at}" if at else activity.does


def line_of(row: Any, day: date, body: Mapping[str, Any] | None = None) -> DueLine:
    """Return a row of `due` as a line, told as of a day."""
    told = json.loads(row.body) if body is None else body
    activity = BY_KEY[row.activity]
    last = date.fromisoformat(told["last"]) if told["last"] else None
    was = date.fromisoformat(told["was"])
    until = date.fromisoformat(row.until) if row.until else None
    mark, state = state_words(was, until, day)
    return DueLine(
        station=row.station,
        name=row.name,
        zone=row.zone,
        place=row.place,
        activity=row.activity,
        does=activity.does,
        at=told["at"],
        title=title_of(activity, told["at"]),
        why=since_words(
            told["noun"], last, date.fromisoformat(told["from"]), told["put_in"], told["because"], day
        ),
        costs=costs(activity, last, day),
        mark=mark,
        state=state,
        on=row.on,
        was=told["was"],
        until=row.until,
        last=told["last"],
        source=told["source"],
        interval=told["interval"],
        interval_months=told["months"],
        is_own_interval=told["own"],
        is_overdue=was < day,
        weighs=row.weighs,
        isolation=row.isolation,
        evidence=told.get("evidence", ""),
    )
