"""What was done, deferred and put in, as far as upkeep asks: plain records, by day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

Found = Literal["", "clean", "some", "much"]
FOUND_WORDS = {"clean": "found clean", "some": "some debris", "much": "much debris"}


@dataclass(frozen=True, slots=True)
class Done:
    """One time an activity was done.

    Parameters
    ----------
    on
        The day, as it was at the station.
    who
        Who entered or signed it.
    by
        ``certificate``: a final run proves it; ``entry``: somebody says so.
    name
        Number of the certificate, else empty.
    piece
        Id of the piece that stood there, where one is known.
    found
        What a strainer held.
    ratio
        Loss of a strainer over that when clean; None: not read. [1]
    moved
        As found less as left last time, over the tolerance; None: not known. [1]
    id
        Of the line it comes from.
    """

    on: date
    who: str = ""
    by: Literal["certificate", "entry"] = "entry"
    name: str = ""
    piece: str = ""
    found: Found = ""
    ratio: float | None = None
    moved: float | None = None
    id: str = ""

    @property
    def source(self) -> str:
        """Where it is known from, in words."""
        if self.by == "certificate":
            return f"certificate {self.name}" if self.name else "a final certificate"
        return f"entered by {self.who}" if self.who else "entered by hand"


@dataclass(frozen=True, slots=True)
class Deferral:
    """Something put off: decided on a day, to another, with reason, risk, interim measure and approver."""

    on: date
    until: date
    reason: str
    risk: str
    measure: str
    approver: str
    who: str = ""
    id: str = ""


@dataclass(frozen=True, slots=True)
class Stay:
    """The piece that stands in a place now.

    Parameters
    ----------
    piece, words
        Its id; its kind and serial number in words.
    since
        Day it was put in here.
    first
        Day it was first put in anywhere.
    """

    piece: str
    words: str
    since: date
    first: date


@dataclass(frozen=True, slots=True)
class Beginning:
    """The day from which things count that were never done, and what it is."""

    on: date
    words: str


@dataclass(frozen=True, slots=True)
class Habit:
    """An interval the owner set, with the reason. [months]"""

    months: float
    reason: str
    who: str = ""
    at: str = ""


@dataclass(frozen=True, slots=True)
class Crossing:
    """A measure of loggers over its limit: judged on a day, of data until another one.

    One that will be met stands on the earliest day on which it may be.

    code: the measure; words: value, limit, whose limit, and both days; href: the rows it comes from.
    """

    code: str
    on: date
    until: date
    words: str
    href: str


@dataclass(frozen=True, slots=True)
class Past:
    """Everything known of one activity at one place, lines struck out left away; newest last.

    done: of the place, and of the piece standing there at other places; stay: that piece, None where none is
    known; readings: of the strainer, where its loss decides.
    """

    done: tuple[Done, ...] = ()
    deferrals: tuple[Deferral, ...] = ()
    stay: Stay | None = None
    habit: Habit | None = None
    readings: tuple[Done, ...] = ()
    reliefs: tuple[date, ...] = ()
    """Days until which each relief valve of the station is in date by its own interval."""
    crossings: tuple[Crossing, ...] = ()
    """Limits crossed by measures of loggers that ask for it."""
    foreseen: tuple[Crossing, ...] = ()
    """Limits that measures of loggers will meet."""
