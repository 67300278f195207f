"""Entries of a visit that goes as it is planned: every step in order, every reading where it is expected."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Protocol

from steadyhead.procedure.expression import Taken
from steadyhead.procedure.graph import order
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Input, Node, Procedure
from steadyhead.services.example_year.clean_answers import fine, flow_beside
from steadyhead.services.example_year.device import Device

GAUGE = {
    "name": "TG-07",
    "what": "test gauge",
    "quantity": "pressure",
    "low": 0.0,
    "high": 1.6e6,
    "class": 0.001,
}

SECOND = "TG-08"
"""Gauge that the first is compared with, like it."""
COMPARED_WITH = ("A6", "second")
"""Step and input that another gauge reads than the rest of the visit."""


class Tablet(Protocol):
    """What makes entries one after the other, and whose clock can be let run on."""

    @property
    def now(self) -> datetime:
        """Time of the last entry."""
        ...

    def make(self, kind: str, payload: Mapping[str, Any], node: str = "", **more: Any) -> Entry:
        """Return the next entry."""
        ...

    def wait_until(self, moment: datetime) -> None:
        """Let time pass up to a moment."""
        ...


def clean_visit(
    procedure: Procedure,
    way: Mapping[str, str],
    device: Device,
    people: Sequence[tuple[str, str]],
    *,
    plan: str,
    purpose: str = "",
    due: str = "",
) -> list[Entry]:
    """Return the entries of one visit on one way through its plan, without a signature.

    Parameters
    ----------
    procedure, way
        The plan as read from its file, and the option taken at each choice.
    device
        Tablet that makes them; its clock says when the visit begins.
    people
        Names and roles of those who take part.
    plan
        SHA-256 of the plan.
    purpose
        Why the visit is made.
    due
        Day by which the gauge is due again; half a year after the visit where left out.
    """
    begins = {"plan": plan, "kind": procedure.kind, **({"purpose": purpose} if purpose else {})}
    made = [device.make("run", begins)]
    made += [device.make("person", {"name": name, "role": role}) for name, role in people]
    by = due or (device.clock.date() + timedelta(days=183)).isoformat()
    gauges = ({**GAUGE, "name": name, "due": by} for name in (GAUGE["name"], SECOND))
    made += [device.make("instrument", gauge) for gauge in gauges]
    seen = [Taken(choice, "@choice", option) for choice, option in way.items()]
    for name in order(procedure, way):
        made += list(step_entries(procedure, procedure.node(name), way, device, seen))
    return made


def step_entries(
    procedure: Procedure,
    node: Node,
    way: Mapping[str, str],
    device: Tablet,
    seen: list[Taken],
    gauge: str = str(GAUGE["name"]),
    second: str = SECOND,
) -> Iterator[Entry]:
    """Yield what is entered at one step when all is well.

    Parameters
    ----------
    procedure, node, way
        The plan, the step, and the option taken at each choice.
    device
        What makes the entries.
    seen
        What was answered before; the answers of this step are added.
    gauge, second
        Instrument of the readings; the one it is compared with.
    """
    if node.id in way and any(choice.id == node.id for choice in procedure.choices):
        yield device.make("choice", {"choice": node.id, "option": way[node.id]}, node.id)
    values = fine(node, way, seen, procedure.limits)
    pauses = pauses_of(node)
    made: dict[str, datetime] = {}
    for one in node.inputs:
        if one.name not in values:
            continue
        value = values[one.name]
        seen.append(Taken(node.id, one.name, value))
        first, seconds = pauses.get(one.name, ("", 0.0))
        if first in made:
            device.wait_until(made[first] + timedelta(seconds=seconds))
        if one.quantity == "time_of_day":
            value = f"{_acted(made, device.now):%H:%M:%S}"
        flow = flow_beside(procedure, node, one, values)
        by = second if (node.id, one.name) == COMPARED_WITH else gauge
        yield device.make(*noted(one, value, flow, by), node.id)
        made[one.name] = device.now
    yield device.make("action", {"do": "tick"}, node.id)


def noted(one: Input, value: Any, flow: float, gauge: str) -> tuple[str, dict[str, Any]]:
    """Return kind and payload by which an input is answered.

    Parameters
    ----------
    one, value
        The input and its answer. [SI]
    flow
        What runs at that time. [m³/s]
    gauge
        Instrument of a reading.
    """
    if one.quantity == "photo":
        return "photo", {"of": one.name, "name": f"{one.name}.jpg", "sha256": "0" * 64}
    if isinstance(value, bool | str):
        return "observation", {"input": one.name, "value": value}
    payload: dict[str, Any] = {"input": one.name, "quantity": one.quantity, "value": value, "flow": flow}
    payload |= {"tap": one.tap, "instrument": gauge}
    if one.stable_for > 0.0:
        payload |= {"steady_for": one.stable_for, "steady_within": one.stable_within}
    return "reading", payload


def _acted(made: Mapping[str, datetime], now: datetime) -> datetime:
    """Return when the valve of a step acted, by what was noted of it."""
    last = max((name for name in made if name.startswith("act.")), key=lambda name: made[name], default="")
    return made.get("act" if "act" in made else last, now)


def pauses_of(node: Node) -> dict[str, tuple[str, float]]:
    """Return for each reading at the end of a watch the one it began with, and how long it lasts. [s]"""
    found = {}
    for refusal in node.refuses:
        for part in refusal.when.get("all", ()):
            if isinstance(part, Mapping) and "lt" in part and "time" in str(part["lt"][0]):
                last, first = (time["time"] for time in part["lt"][0]["sub"])
                found[last] = (first, part["lt"][1] / 0.9)
    return found
