"""One measure of a station: a value with its period, samples, assumptions, confidence, and its rows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Literal

Trust = Literal["good", "fair", "poor", "none"]
"""``none``: there is no value; ``poor``: few samples, or a spread as large as the value."""


class Measure(StrEnum):
    """What is measured, in plain words."""

    IN_BAND = "time in band"
    DROOP = "droop"
    HYSTERESIS = "outlet with falling over rising flow"
    DROOP_CHANGE = "change of the droop curve"
    DROOP_AS_LEFT = "droop over that as left"
    LOCKUP_AS_LEFT = "rise at the lowest flow over that as left"
    TWIN_LEVEL = "outlet over that of the twin"
    TWIN_DROOP = "droop over that of the twin"
    TWIN_LOCKUP = "rise at the lowest flow over that of the twin"
    LEVEL_TREND = "trend of the outlet at equal flow"
    LOCKUP = "outlet at the lowest flow"
    SENSITIVITY = "outlet over inlet"
    STRAINER = "strainer coefficient"
    STRAINER_TREND = "trend of the strainer coefficient"
    HUNTING = "hunting"
    SHUT_OFF = "resistance of the shut-off"
    SHUT_OFF_TREND = "trend of the resistance of the shut-off"
    CYCLES = "pressure cycles"
    LEAPS = "fast changes of pressure"
    TRIP_MARGIN = "margin to the trip"
    TRIP_MARGIN_TREND = "trend of the highest outlet of the day"
    CAVITATION = "time below the cavitation limit"
    DEMAND = "demand"


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of one channel, from `start` to before `end` (UTC): where a measure comes from."""

    channel: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Measured:
    """A measure of a station.

    Parameters
    ----------
    code
        What is measured.
    value, unit
        Its value in SI; None where the record does not give it.
    low, high
        Where the value may lie (90 %), where known.
    start, end
        Period, from the first to the end of the last day, UTC; None: no day.
    n_valid, n_total
        Samples used and samples there should be.
    channels
        Ids of the channels; with the period they say which rows it comes from.
    assumptions
        One phrase each.
    trust
        How far the value can be trusted.
    words
        A sentence for people.
    rows
        The rows it comes from.
    """

    code: Measure
    value: float | None
    unit: str
    low: float | None
    high: float | None
    start: datetime | None
    end: datetime | None
    n_valid: int
    n_total: int
    channels: tuple[str, ...]
    assumptions: tuple[str, ...]
    trust: Trust
    words: str
    rows: tuple[Rows, ...] = ()
