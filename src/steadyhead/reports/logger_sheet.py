"""A picture of logger data on paper, with the words that go with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from steadyhead.reports.foot import DEFERRING, MADE_BY, TITLE_ROOM, day_in_words, shortened
from steadyhead.reports.paper import Drawing, render


@dataclass(frozen=True, slots=True)
class TellingLine:
    """A line below the picture: its number in it, when, what, how sure."""

    number: str
    when: str
    words: str
    sure: str


@dataclass(frozen=True, slots=True)
class LoggerSheet:
    """What the paper holds: station, what is shown, its picture, sentences, and what is told of it."""

    key: str
    name: str
    title: str
    head: Sequence[str]
    drawing: Drawing
    words: Sequence[str]
    told: Sequence[TellingLine] = ()
    more: str = ""


def pdf(sheet: LoggerSheet, *, day: date, version: str) -> bytes:
    """Return the picture as a PDF; day: of the paper, version: of the program."""
    name = shortened(f"{sheet.name} ({sheet.key})", TITLE_ROOM)
    data: dict[str, Any] = {
        "title": f"{sheet.title}, {name}",
        "title-words": sheet.title,
        "place": name,
        "running": sheet.title,
        "running-place": shortened(sheet.name),
        "about": "Logger data of a station as a picture, with what was told of them",
        "head": list(sheet.head),
        "drawing": sheet.drawing,
        "words": list(sheet.words),
        "told": [[one.number, one.when, one.words, one.sure] for one in sheet.told],
        "more": sheet.more,
        "foot": {
            "defer": DEFERRING,
            "made-by": MADE_BY,
            "facts": [
                f"Logger data, {shortened(sheet.name, 16.0)}",
                f"drawn by {MADE_BY} {version}, {day_in_words(day)}",
            ],
        },
    }
    return render("logger", data, date=day)
