"""Entries of a visit that goes as it is planned: every step in order, every reading where it is expected."""

from __future__ import annotations

import uuid
from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta, timezone
from typing import Any

from steadyhead.procedure.expression import Taken
from steadyhead.procedure.graph import order
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Node, Procedure
from steadyhead.services.example_year import clean_visit

GAUGE = {"name": "TG-1", "what": "gauge", "low": 0.0, "high": 1.6e6, "class": 0.001, "due": "2027-09-30"}
SECOND = {**GAUGE, "name": "TG-2"}
"""The gauge it is compared with."""
MIDNIGHT = datetime(2027, 4, 14, tzinfo=timezone(timedelta(hours=1)))
"""From when the clock of a device counts."""
RESTARTS = (
    ("real", "to be tested", "trip proved"),
    ("real", "to be tested", "returns"),
    ("real", "to be tested", "returns watched"),
    ("real", "to be tested", "stays isolated"),
    ("real", "reducer failed", "stays isolated"),
    ("real", "shut-off passes", "stays isolated"),
    ("alarm only", "to be tested", "trip proved"),
)
"""Ways of a restart that fit together."""


class Device:
    """Makes entries one after the other, a minute apart, as one tablet would."""

    def __init__(
        self, name: str = "tab-1", run: str = "run-1", start: float = 8 * 3600.0, step: float = 60.0
    ):
        self.name, self.run, self.clock, self.step, self.number = name, run, start, step, 0

    def make(self, kind: str, payload: Mapping[str, Any], node: str = "", **more: Any) -> Entry:
        self.number += 1
        self.clock += self.step
        clock = (MIDNIGHT + timedelta(seconds=int(self.clock))).isoformat()
        id_ = str(uuid.uuid5(uuid.NAMESPACE_OID, f"{self.name}/{self.number}"))
        fields = {"who": "Ilse Marrow", "t_device": clock, "t_mono": self.clock, **more}
        return Entry(id_, self.run, node, self.name, self.number, kind, dict(payload), **fields)

    @property
    def now(self) -> datetime:
        """Time of the last entry."""
        return MIDNIGHT + timedelta(seconds=self.clock)

    def wait_until(self, moment: datetime) -> None:
        """Let time pass up to a moment."""
        self.clock = max(self.clock, (moment - MIDNIGHT).total_seconds())


def walk(procedure: Procedure, way: Mapping[str, str], device: Device | None = None) -> list[Entry]:
    """Return the entries of one clean visit on one way."""
    device = device or Device()
    made = [device.make("run", {"plan": "", "kind": procedure.kind})]
    made += [device.make("instrument", gauge) for gauge in (GAUGE, SECOND)]
    seen = [Taken(choice, "@choice", option) for choice, option in way.items()]
    for name in order(procedure, way):
        made += list(step_entries(procedure, procedure.node(name), way, device, seen))
    return made


def step_entries(
    procedure: Procedure, node: Node, way: Mapping[str, str], device: Device, seen: list[Taken]
) -> Iterator[Entry]:
    """Yield what is entered at one step when all is well."""
    names = (str(one["name"]) for one in (GAUGE, SECOND))
    return clean_visit.step_entries(procedure, node, way, device, seen, *names)


def of_day(seconds: float) -> str:
    """Return a clock of a device as a time of day."""
    second = int(seconds) % 86400
    return f"{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}"


def clean_ways(procedure: Procedure) -> list[dict[str, str]]:
    """Return a few ways: each option is taken once at least."""
    if procedure.kind == "restart":
        ids = [choice.id for choice in procedure.choices]
        return [dict(zip(ids, way, strict=True)) for way in RESTARTS]
    widest = max((len(choice.options) for choice in procedure.choices), default=1)
    return [
        {choice.id: choice.options[min(turn, len(choice.options) - 1)][0] for choice in procedure.choices}
        for turn in range(widest)
    ]
