"""The flow test of the design handbook's story of station A (10.2, H4), as entries."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from steadyhead.procedure.ledger import gathered
from steadyhead.records.baseline import Baseline
from steadyhead.records.entry import Entry
from steadyhead.records.station import Station
from steadyhead.visits.fitting.baseline import fit_baseline
from tests.procedure.walking import Device
from tests.visits.fitting.sites import all_done, plain, plan
from tests.visits.plan_stations import UP

TABLE = (
    (0.4, 11.40, 11.40, 11.40, 4.20, 4.19),
    (2.0, 11.38, 11.38, 11.38, 4.17, 4.16),
    (5.0, 11.33, 11.31, 11.30, 4.03, 4.03),
    (10.0, 11.24, 11.16, 11.13, 3.99, 3.98),
    (16.0, 11.10, 10.91, 10.83, 3.95, 3.94),
    (22.0, 10.92, 10.56, 10.41, 3.90, 3.90),
)
"""Q [L/s], T0, T1, T2, T3 rising, T3 falling [bar]; the handbook's own table."""
LOGGERS = {"name": "loggers", "low": 0.0, "high": 16e5, "class": 0.001, "division": 0.01e5}
GAUGE = {"name": "TG-07", "low": 0.0, "high": 10e5, "class": 0.006, "division": 0.01e5}
METER = {"name": "MT", "quantity": "flow", "low": 0.0, "high": 0.03, "class": 0.01}


def entries(changes: dict[tuple[str, int], float] | None = None) -> list[Entry]:
    """Return the table as entries; changes: another figure by tap and row. [bar]"""
    changed = changes or {}
    device = Device()
    made = [device.make("run", {"plan": ""})]
    made += [device.make("instrument", tool) for tool in (LOGGERS, GAUGE, METER)]

    def read(name: str, quantity: str, value: float, tool: str, **more: Any) -> None:
        payload = {"input": name, "quantity": quantity, "value": value, "instrument": tool, **more}
        made.append(device.make("reading", payload, "H4"))

    for row, (flow, *taps, rising, _) in enumerate(TABLE, 1):
        read(f"flow.{row}", "flow", flow * 1e-3, "MT")
        for tap, bar in zip(("T0", "T1", "T2"), taps, strict=True):
            told = changed.get((tap, row), bar)
            read(f"{tap}.{row}", "pressure", told * 1e5, "loggers", tap=tap, steady_within=0.01e5)
        read(f"T3.{row}", "pressure", rising * 1e5, "TG-07", tap="T3", steady_within=0.02e5)
    for number, (flow, *_, falling) in enumerate(reversed(TABLE), len(TABLE) + 1):
        read(f"flow.{number}", "flow", flow * 1e-3, "MT")
        read(f"T3.{number}", "pressure", falling * 1e5, "TG-07", tap="T3", steady_within=0.02e5)
    return made


def fitted(made: Iterable[Entry], of: Station | None = None) -> Baseline:
    """Return the fit of these entries, with the example of the same layout."""
    procedure = plan(UP)
    return fit_baseline(
        of or plain(UP),
        procedure,
        all_done(procedure),
        gathered(made).standing,
        station_sha256="0" * 64,
        plan_sha256="1" * 64,
        engine_version="0",
    )
