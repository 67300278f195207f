"""A tablet of the example year: makes entries one after the other, their ids drawn from names."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from steadyhead.records.entry import Entry

CLOCK_WITHIN = 5.0
"""How well its clock is known. [s]"""


@dataclass
class Device:
    """A tablet in the hands of one person.

    Parameters
    ----------
    name, run, who
        Name of the tablet, id of the run, and who enters.
    clock
        Time of the last entry, with its zone.
    step
        From one entry to the next. [s]
    number
        Of the last entry.
    """

    name: str
    run: str
    who: str
    clock: datetime
    step: float = 48.0
    number: int = 0

    @property
    def now(self) -> datetime:
        """Time of the last entry, with its zone."""
        return self.clock

    def make(self, kind: str, payload: Mapping[str, Any], node: str = "", **more: Any) -> Entry:
        """Return the next entry, a step later than the last one."""
        self.number += 1
        self.clock += timedelta(seconds=self.step)
        told = self.clock.isoformat(timespec="seconds")
        id_ = entry_id(self.clock, f"{self.run}/{self.name}/{self.number}")
        fields: dict[str, Any] = {
            "who": self.who,
            "t_device": told,
            "t_mono": self.seconds(),
            "clock_within": CLOCK_WITHIN,
            **more,
        }
        return Entry(id_, self.run, node, self.name, self.number, kind, dict(payload), **fields)

    def seconds(self) -> float:
        """Return the running seconds of the tablet. [s]"""
        return round(self.clock.timestamp() % 1e7, 3)

    def wait_until(self, moment: datetime) -> None:
        """Let time pass up to a moment."""
        self.clock = max(self.clock, moment)


def entry_id(moment: datetime, name: str) -> str:
    """Return an id in the form of UUID version 7: its time, and a hash of a name in place of chance."""
    millis = int(moment.timestamp() * 1000) & (1 << 48) - 1
    digits = hashlib.sha256(name.encode()).hexdigest()
    variant = "89ab"[int(digits[3], 16) % 4]
    return f"{millis >> 16:08x}-{millis & 0xFFFF:04x}-7{digits[:3]}-{variant}{digits[4:7]}-{digits[7:19]}"
