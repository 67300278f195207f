"""The foot block of every sheet: station, datum, file, what worked it out, when, and to whom it defers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from steadyhead.drawings.text_width import SERIF
from steadyhead.reports.glyphs import covered
from steadyhead.units import UnitSet, say_typed

MADE_BY = "steadyhead"
SHORT_HASH = 12
LETTERS_TO_AN_EM = 8
"""The narrowest letters that go into one em; longer words are cut before they are measured."""
RUNNING_ROOM, FOOT_ROOM, TITLE_ROOM = 26.0, 16.0, 44.0
"""Room for a name in head, foot and title; longer ones are shortened there and stand whole in the text.
[em]"""
NOT_RELEASED = "not released"

DEFERRING = (
    "This paper supports planning, calculation and records. It permits no work. It replaces no permit, no "
    "risk assessment, no instructions of the equipment supplier and not the judgement of a competent, "
    "locally licensed person. Local codes and the rules of the water undertaker, the fire authority and "
    "the authority having jurisdiction come first."
)


@dataclass(frozen=True, slots=True)
class Origin:
    """What a paper was made from.

    Parameters
    ----------
    station_id, station_name
        Which station.
    datum
        Level of the station datum. [m]
    station_hash
        SHA-256 of the stored station file.
    engine_version
        Version that worked the figures out.
    date
        Date printed on the paper.
    revision
        Released revision, e.g. ``r3``; empty where the file is not released.
    datum_text
        The datum as it was typed, for readers of that unit; empty: the figure alone.
    """

    station_id: str
    station_name: str
    datum: float
    station_hash: str
    engine_version: str
    date: date
    revision: str = ""
    datum_text: str = ""

    @property
    def file_words(self) -> str:
        """Revision and short hash of the station file."""
        return f"station file {self.revision or NOT_RELEASED}, {self.station_hash[:SHORT_HASH]}"


def shortened(words: str, room: float = RUNNING_ROOM) -> str:
    """Return words that fit into head and foot of a sheet; the full name stands on the first sheet.

    Measured as printed: what the faces do not show takes the room of its code point.

    Parameters
    ----------
    words
        Any text.
    room
        Width there is. [em]

    Examples
    --------
    >>> shortened("Quillenby Row"), shortened("Quillenby Row", 3.0)
    ('Quillenby Row', 'Quill…')
    >>> shortened("中" * 40, 9.0)
    '[U+4E2D]…'
    """
    printed = covered(words)
    if SERIF.width(printed, 1.0) <= room:
        return printed
    kept = words[: int(room * LETTERS_TO_AN_EM)]
    while kept and SERIF.width(f"{covered(kept)}…", 1.0) > room:
        kept = kept[:-1]
    return f"{covered(kept).rstrip()}…"


def day_in_words(day: date) -> str:
    """Return a date nobody can misread.

    Examples
    --------
    >>> day_in_words(date(2027, 4, 5))
    '5 April 2027'
    """
    months = "January February March April May June July August September October November December"
    return f"{day.day} {months.split()[day.month - 1]} {day.year}"


def frame(origin: Origin, units: UnitSet, *, paper: str, about: str) -> dict[str, Any]:
    """Return what every template needs around its own content.

    Parameters
    ----------
    origin
        What the paper was made from.
    units
        Display units.
    paper
        What it is, e.g. ``Test plan``.
    about
        One sentence for the document's properties.
    """
    name = shortened(origin.station_name)
    place = f"{name} ({origin.station_id})"
    datum = f"datum {say_typed(origin.datum, origin.datum_text, 'length', units)}"
    return {
        "title": f"{paper}: {place}",
        "title-words": paper,
        "place": shortened(origin.station_name, TITLE_ROOM),
        "running": paper,
        "running-place": name,
        "about": about,
        "head": [origin.station_id, day_in_words(origin.date), origin.file_words],
        "foot": {
            "defer": DEFERRING,
            "made-by": MADE_BY,
            "facts": [
                f"{shortened(origin.station_name, FOOT_ROOM)} ({origin.station_id}), {datum}",
                f"{origin.file_words}",
                f"worked out by {MADE_BY} {origin.engine_version}, {day_in_words(origin.date)}",
            ],
        },
    }
