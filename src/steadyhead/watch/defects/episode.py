"""What a judgement of logger data says: defects with time, size and grounds, and the samples' bits."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from enum import StrEnum
from typing import Literal

Standing = Literal["unseen", "believed", "doubted", "refused"]
Confidence = Literal["certain", "likely"]
"""``certain``: the data or a visit show it; ``likely``: the best of several readings of the data."""


class Code(StrEnum):
    """Rows of the table of defects, in plain words."""

    CLOCK_OFFSET = "clock offset"
    CLOCK_DRIFT = "clock drift"
    CLOCK_CHANGE = "clock change hour"
    GAP = "gap"
    SPIKE = "spike"
    STUCK = "stuck"
    QUANTISATION = "quantisation"
    UNIT = "unit confusion"
    ABSOLUTE = "gauge or absolute"
    DATUM = "datum offset"
    DRIFT = "offset drift"
    CLIPPING = "clipping"
    SWAP = "channel swap"
    PULSES = "pulse scaling"
    COCK_SHUT = "sensor cock shut"
    CLOCK_WHILE = "clock offset for a time"


JUDGED = 1
"""Bit of `flag`: the sample was judged. Alone it means *believed*; without it the sample is *unseen*."""
BIT = {code: 1 << (place + 1) for place, code in enumerate(Code)}
"""Bit of `flag` of each defect. The order of `Code` is kept for good: new codes go to the end."""
REFUSED = BIT[Code.STUCK] | BIT[Code.SPIKE] | BIT[Code.COCK_SHUT]
"""Bits of defects whose samples cannot be true."""


def standing(flag: int) -> Standing:
    """Return the plain word for the bits of one sample."""
    if not flag & JUDGED:
        return "unseen"
    if flag & REFUSED:
        return "refused"
    return "doubted" if flag & ~JUDGED else "believed"


@dataclass(frozen=True, slots=True)
class Episode:
    """One defect.

    Parameters
    ----------
    code
        Which defect.
    start, end
        First and last sample it touches, UTC (for a gap: the samples on either side).
    channels
        Ids of the channels; empty: every channel.
    magnitude
        Its size, None where it has none: height, step, ceiling or offset [Pa, m³/s], clock less true time
        (at the end, for a drift) [s], recorded over true [ratio], time between neighbours (gap) [s].
    unit
        Unit of the magnitude: ``Pa``, ``m3/s``, ``s``, ``ratio`` or "".
    words
        One or two sentences for people.
    evidence
        What the judgement rests on, one phrase each.
    confidence
        How sure it is.
    times
        The single samples, where the defect is one of single samples.
    """

    code: Code
    start: datetime
    end: datetime
    channels: tuple[str, ...]
    magnitude: float | None
    unit: str
    words: str
    evidence: tuple[str, ...] = ()
    confidence: Confidence = "certain"
    times: tuple[datetime, ...] = field(default=())


def moment(seconds: float) -> datetime:
    """Return a time from seconds since 1970 UTC, to the microsecond."""
    return datetime.fromtimestamp(round(float(seconds), 6), tz=UTC)
