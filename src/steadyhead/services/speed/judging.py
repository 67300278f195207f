"""A record of any length and a plan of one step, to measure the judge of a run."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache

from steadyhead.procedure.judging import judge
from steadyhead.procedure.ledger import Ledger, gathered
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Expect, Input, Message, Node, Procedure

_NO = Message("")
_START = datetime(2027, 4, 14, 8, tzinfo=UTC)


def plan() -> Procedure:
    """Return a plan of one step that proves something by one reading."""
    asked = Input("T3", "pressure", "T3", "gauge", 60.0, 2e3, traced=True)
    step = Node(
        "A", _NO, {"all": []}, (), (asked,), (Expect("T3", 3e5, 4e5, _NO),), proves=("a",), depends_on=("b",)
    )
    return Procedure("speed", "visit", "", "", "", 0.0, "", "", "", (step,))


@cache
def record(count: int) -> Ledger:
    """Return so many readings of that step, a second apart, and the gauge they were read with."""
    gauge = {
        "name": "G",
        "quantity": "pressure",
        "low": 0.0,
        "high": 1e6,
        "class": 0.006,
        "due": "2028-01-01",
    }
    made = [_entry(0, "instrument", "", gauge)]
    payload = {"input": "T3", "quantity": "pressure", "value": 3.5e5, "tap": "T3", "instrument": "G"}
    still = {"steady_for": 60.0, "steady_within": 1e3}
    made += [_entry(number, "reading", "A", {**payload, **still}) for number in range(1, count + 1)]
    return gathered(made)


def _entry(number: int, kind: str, node: str, payload: dict[str, object]) -> Entry:
    clock = (_START + timedelta(seconds=number)).isoformat()
    return Entry(f"{number:08d}", "r", node, "d", number + 1, kind, payload, "Ilse Marrow", clock)


def judged(count: int) -> object:
    """Judge a record of so many readings."""
    return judge(plan(), record(count), None)
