"""The list of what is due as a paper: why before when, by station and isolation, with places to sign."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from steadyhead.drawings import draw_mark, paper
from steadyhead.drawings.marks import Mark
from steadyhead.reports.foot import DEFERRING, MADE_BY, TITLE_ROOM, day_in_words, shortened
from steadyhead.reports.paper import Drawing, render

WORDS: dict[Mark, str] = {"holds": "in order", "due": "due", "slipped": "overdue"}


@dataclass(frozen=True, slots=True)
class ListedLine:
    """One thing due: state mark, reason, what and where, what waiting costs, when, done last, interval."""

    mark: Mark
    why: str
    what: str
    costs: str
    when: str
    last: str
    interval: str


@dataclass(frozen=True, slots=True)
class ListedStation:
    """A station and its lines by section: words of the section that is shut off, empty where none is."""

    key: str
    name: str
    zone: str
    sections: tuple[tuple[str, tuple[ListedLine, ...]], ...]


def pdf(
    stations: Sequence[ListedStation],
    *,
    day: date,
    until: date,
    what: str,
    note: str,
    cautions: Sequence[tuple[str, str]],
    defers: str,
    no_claim: str,
    version: str,
) -> bytes:
    """Return the list as a PDF.

    Parameters
    ----------
    day, until
        As of when, and the end of the span.
    what
        Which stations, in words.
    note
        What is left out; empty for nothing.
    cautions
        Hazard and care, of all that stands on the list.
    defers
        What comes first, in one sentence.
    no_claim
        What the figures of waiting are and are not; empty where there are none.
    version
        Of the program.
    """
    data = _frame(day, until, what, version)
    data |= {
        "note": note,
        "cautions": [list(one) for one in cautions],
        "defers": defers,
        "no_claim": no_claim,
        "stations": [_station(one) for one in stations],
    }
    return render("upkeep", data, date=day)


def _station(one: ListedStation) -> dict[str, Any]:
    return {
        "key": one.key,
        "name": one.name,
        "zone": one.zone,
        "sections": [
            {"words": words, "lines": [_line(line) for line in lines]} for words, lines in one.sections
        ],
    }


def _line(line: ListedLine) -> dict[str, Any]:
    return {
        "mark": _mark(line.mark), "why": line.why, "what": line.what, "costs": line.costs, "when": line.when,
        "last": line.last, "interval": line.interval,
    }  # fmt: skip


def _mark(kind: Mark) -> Drawing:
    word = WORDS.get(kind, kind)
    return Drawing(draw_mark(kind, word, paper()), word)


def _frame(day: date, until: date, what: str, version: str) -> dict[str, Any]:
    name = shortened(what, TITLE_ROOM)
    return {
        "title": f"Upkeep due by {day_in_words(until)}: {name}",
        "title-words": "Upkeep due",
        "place": name,
        "running": f"Upkeep due by {day_in_words(until)}",
        "running-place": shortened(what),
        "about": "What is due at which station, why, and what waiting costs, with places to tick and sign",
        "head": [f"as of {day_in_words(day)}", f"due by {day_in_words(until)}"],
        "foot": {
            "defer": DEFERRING,
            "made-by": MADE_BY,
            "facts": [
                f"Upkeep, {shortened(what, 16.0)}",
                f"listed by {MADE_BY} {version}, {day_in_words(day)}",
            ],
        },
    }
