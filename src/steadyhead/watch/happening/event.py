"""What is told of a station: events with time, size and grounds; and what the record cannot show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from steadyhead.watch.defects.episode import Confidence


class Event(StrEnum):
    """Events of a station, in plain words of the trade. New ones go to the end."""

    TRIP = "trip"
    TRIPPED_AGAIN = "tripped again after the reset"
    SUPPLY_LOSS = "supply loss"
    BURST = "downstream burst"
    SURGE = "surge"
    HUNTING = "hunting"
    CREEP = "night creep"
    STRAINER = "strainer blinding"
    SETTING = "setting moved"
    DEMAND = "demand changed"
    THERMAL = "thermal rise"
    BACKFEED = "backfeed"
    PARTLY_SHUT = "shut-off not fully open"
    SHUT_OFF = "resistance of the shut-off grows"
    RAISED = "outlet raised for a while"
    OVER_TRIP = "outlet over the trip"


@dataclass(frozen=True, slots=True)
class Happening:
    """One event of the station; the shape of an `Episode` of the data.

    Parameters
    ----------
    code
        Which event.
    start, end
        First and last sample it touches, UTC; for one that stays (setting, demand) the end is that of the
        new level.
    channels
        Ids of the channels that show it, the leading one first.
    magnitude
        Its size: highest outlet (trip, outlet over the trip), lowest inlet (supply loss), extra flow (burst),
        inlet over before (surge), peak to peak of the outlet (hunting), rise (creep, thermal rise, backfeed,
        outlet raised), step (setting) [Pa, m³/s]; end over start of the resistance (strainer, shut-off), new
        over old flow (demand) [ratio]; None: the record does not show it.
    unit
        ``Pa``, ``m3/s``, ``ratio`` or "".
    words
        One or two sentences for people.
    evidence
        What it rests on, one phrase each.
    confidence
        How sure it is.
    times
        Moments within it: for a trip first sign, closing and reset, as far as seen.
    """

    code: Event
    start: datetime
    end: datetime
    channels: tuple[str, ...]
    magnitude: float | None
    unit: str
    words: str
    evidence: tuple[str, ...] = ()
    confidence: Confidence = "certain"
    times: tuple[datetime, ...] = ()


@dataclass(frozen=True, slots=True)
class NotSeen:
    """An event that this record cannot show, and why: silence about it proves nothing."""

    code: Event
    words: str


@dataclass(frozen=True, slots=True)
class Told:
    """Events in order of time, and what the record could not have shown."""

    happenings: tuple[Happening, ...]
    not_seen: tuple[NotSeen, ...]
