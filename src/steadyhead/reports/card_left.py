"""What a certificate left at a station, for its card: figures, screw heights, bar per turn found."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from steadyhead.reports.figures import half_mm
from steadyhead.reports.foot import day_in_words
from steadyhead.units import METRIC, UnitSet, say


@dataclass(frozen=True, slots=True)
class AsLeft:
    """As-left values of a certificate, in words.

    Parameters
    ----------
    certificate, day
        Number with revision, and day of signing; ``provisional`` stands behind the number where it is one.
    values
        By setting, e.g. ``SO.trip``; what is not proved is not there.
    heights, per_turn
        By valve.
    taps
        Where each value was read, by setting.
    """

    certificate: str = ""
    day: str = ""
    values: Mapping[str, str] = field(default_factory=dict)
    heights: Mapping[str, str] = field(default_factory=dict)
    per_turn: Mapping[str, str] = field(default_factory=dict)
    taps: Mapping[str, str] = field(default_factory=dict)


NOTHING = AsLeft()
"""A station of which no certificate is at hand."""


def as_left(record: Mapping[str, Any], units: UnitSet = METRIC) -> AsLeft:
    """Return what the record of a certificate left, in words.

    Parameters
    ----------
    record
        The record as plain data.
    units
        Display units.
    """
    values, heights, taps = {}, {}, {}
    for one in record["settings"]:
        noted, height = one["as_left"], one["height"]
        if noted is not None and isinstance(noted["value"], int | float):
            flow = noted.get("flow")
            at = (
                f" at {say(flow, 'flow', units)}" if one["key"].endswith(".duty") and flow is not None else ""
            )
            taps[one["key"]] = str(noted.get("tap") or one.get("tap") or "")
            values[one["key"]] = f"{say(noted['value'], one['quantity'], units)}{at}"
        if height is not None and isinstance(height["value"], int | float):
            heights[one["key"].partition(".")[0]] = f"{half_mm(height['value']):g}"
    turns = {
        one["valve"]: say(one["value"], "pressure_per_turn", units) for one in record.get("per_turn", ())
    }
    kind = "" if record["standing"] == "final" else ", provisional"
    return AsLeft(
        f"{record['number']}, record r{record['revision']}{kind}",
        day_in_words(date.fromisoformat(record["day"])),
        values,
        heights,
        turns,
        taps,
    )
