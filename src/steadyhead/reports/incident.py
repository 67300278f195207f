"""One event of a station on paper: steps in order, how it may be read, what the record does not show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from steadyhead.reports.foot import DEFERRING, MADE_BY, TITLE_ROOM, day_in_words, shortened
from steadyhead.reports.paper import render


@dataclass(frozen=True, slots=True)
class StepLine:
    """A step: after and by which time, what, of which channel; mark: said where its order is not known."""

    after: str
    by: str
    words: str
    channel: str
    mark: str


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """A reading of the event: name, how sure, its signs in words, what to look at."""

    name: str
    sure: str
    signs: tuple[str, ...]
    next: str


@dataclass(frozen=True, slots=True)
class Told:
    """What the paper holds, in words.

    Parameters
    ----------
    key, name, when
        Station, and the time of the event.
    event, words, caution
        What happened, the first classification, what comes before any work.
    steps, readings, ruled_out
        As told; names of the readings that are ruled out, each with its reason.
    rests
        What the order rests on, and what is wrong with the data about it.
    others
        What else happened in the days about it, one sentence each.
    not_seen
        What the record could not have shown.
    rows
        Where it comes from: channel, rows, checksum of the file.
    """

    key: str
    name: str
    when: str
    event: str
    words: str
    caution: str
    steps: Sequence[StepLine]
    readings: Sequence[ReadingLine]
    ruled_out: Sequence[str]
    rests: Sequence[str]
    others: Sequence[str]
    not_seen: Sequence[str]
    rows: Sequence[str]


def pdf(told: Told, *, day: date, version: str) -> bytes:
    """Return the event as a PDF; day: of the paper, version: of the program."""
    name = shortened(f"{told.name} ({told.key})", TITLE_ROOM)
    data: dict[str, Any] = {
        "title": f"Event at {name}, {told.when}",
        "title-words": "Event told from logger data",
        "place": name,
        "running": f"Event of {told.when}",
        "running-place": shortened(told.name),
        "about": "What happened in which order by the loggers, how it may be read, and what they do not show",
        "head": [told.when, "times are UTC"],
        "event": told.event,
        "words": told.words,
        "cautions": [["Hazard", told.caution]],
        "steps": [[s.after, s.by, s.words, s.channel, s.mark] for s in told.steps],
        "readings": [
            {"name": r.name, "sure": r.sure, "signs": list(r.signs), "next": r.next} for r in told.readings
        ],
        "ruled": list(told.ruled_out),
        "rests": list(told.rests),
        "others": list(told.others),
        "unseen": list(told.not_seen),
        "rows": list(told.rows),
        "foot": {
            "defer": DEFERRING,
            "made-by": MADE_BY,
            "facts": [
                f"Event, {shortened(told.name, 16.0)}",
                f"told by {MADE_BY} {version}, {day_in_words(day)}",
            ],
        },
    }
    return render("incident", data, date=day)
