"""Entries of a visit that goes as it is planned: every step in order, every reading where it is expected."""

from __future__ import annotations

import random
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, cast

from steadyhead.findings import Amount
from steadyhead.procedure.expression import Context, Taken, holds
from steadyhead.procedure.graph import order
from steadyhead.procedure.steps import bands_of
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Input, Node, Procedure
from steadyhead.services.example_year.device import Device

GAUGE = {
    "name": "TG-07",
    "what": "test gauge",
    "quantity": "pressure",
    "low": 0.0,
    "high": 1.6e6,
    "class": 0.001,
}
FIRST = {"flow": 4e-4, "flow.after": 0.0, "step": 5e3}
"""What is tried first for some inputs. [SI]"""
TRICKLE, COLD = 4e-4, 284.0
"""Flow beside a reading where none is asked [m³/s]; temperature of a wall in a chamber [K]."""
TRIES, QUIET = 6000, 3000
"""Tries to find answers, and those of them of which nothing at all is to be told. [1]"""
_PLAIN = {"pressure": 3.0e5, "temperature": COLD, "turns": 2.0, "length": 0.02, "time": 6.0}


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
    made.append(device.make("instrument", {**GAUGE, "due": by}))
    seen = [Taken(choice, "@choice", option) for choice, option in way.items()]
    for name in order(procedure, way):
        made += list(step_entries(procedure, procedure.node(name), way, device, seen))
    return made


def step_entries(
    procedure: Procedure, node: Node, way: Mapping[str, str], device: Device, seen: list[Taken]
) -> Iterator[Entry]:
    """Yield what is entered at one step when all is well."""
    if node.id in way and any(choice.id == node.id for choice in procedure.choices):
        yield device.make("choice", {"choice": node.id, "option": way[node.id]}, node.id)
    values = fine(node, way, seen, procedure.limits)
    pauses = _pauses(node)
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
            value = f"{_acted(made, device.clock):%H:%M:%S}"
        kind, payload = noted(one, value)
        if "flow" in payload and (node.id.startswith(("H2", "Y7L")) or one.name == "lockup"):
            payload["flow"] = 0.0
        yield device.make(kind, payload, node.id)
        made[one.name] = device.clock
    yield device.make("action", {"do": "tick"}, node.id)


def _acted(made: Mapping[str, datetime], now: datetime) -> datetime:
    """Return when the valve of a step acted, by what was noted of it."""
    last = max((name for name in made if name.startswith("act.")), key=lambda name: made[name], default="")
    return made.get("act" if "act" in made else last, now)


def noted(one: Input, value: Any) -> tuple[str, dict[str, Any]]:
    """Return kind and payload by which an input is answered."""
    if one.quantity == "photo":
        return "photo", {"of": one.name, "name": f"{one.name}.jpg", "sha256": "0" * 64}
    if isinstance(value, bool | str):
        return "observation", {"input": one.name, "value": value}
    payload: dict[str, Any] = {"input": one.name, "quantity": one.quantity, "value": value, "flow": TRICKLE}
    payload |= {"tap": one.tap, "instrument": GAUGE["name"]}
    if one.stable_for > 0.0:
        payload |= {"steady_for": one.stable_for, "steady_within": one.stable_within}
    return "reading", payload


def _pauses(node: Node) -> dict[str, tuple[str, float]]:
    """Return for each reading at the end of a watch the one it began with, and how long it lasts. [s]"""
    found = {}
    for refusal in node.refuses:
        for part in refusal.when.get("all", ()):
            if isinstance(part, Mapping) and "lt" in part and "time" in str(part["lt"][0]):
                last, first = (time["time"] for time in part["lt"][0]["sub"])
                found[last] = (first, part["lt"][1] / 0.9)
    return found


def fine(
    node: Node, way: Mapping[str, str], seen: Sequence[Taken], limits: Mapping[str, float]
) -> dict[str, Any]:
    """Return an answer to each input under which the plan sees nothing amiss.

    Raises
    ------
    ValueError
        None was found: the step asks for what no reading gives.
    """
    bands = bands_of(node, dict(way))
    draws = random.Random(node.id)
    middle = {one.name: bands[one.name]["nominal"] for one in node.inputs if one.name in bands}
    values: dict[str, Any] = {}
    written = [*(one.when for one in node.otherwise), *(one.when for one in node.refuses)]
    told = [*_numbers(written), *FIRST.values()]
    for attempt in range(TRIES):
        for one in node.inputs:
            likely = _likely(one, node, middle, seen, limits)
            drawn = draws if attempt else None
            values[one.name] = _answer(one, node, middle, drawn, told) if likely is None else likely
        taken = [*seen, *(Taken(node.id, name, value) for name, value in values.items())]
        context = Context(node.id, taken, bands, limits)
        amiss = [one.when for one in node.otherwise if attempt < QUIET or not one.tells]
        amiss += [one.when for one in node.refuses]
        if not any(holds(when, context) for when in amiss):
            return values
    raise ValueError(f"no fine answers found for {node.id}")


def _likely(
    one: Input,
    node: Node,
    middle: Mapping[str, float | None],
    seen: Sequence[Taken],
    limits: Mapping[str, float],
) -> Any:
    """Return what an input reads because of another one; None where nothing tells."""
    if one.quantity == "temperature":
        return COLD
    if one.quantity == "turns":
        return _counted(one, node)
    part = one.name.partition(".")[0]
    if part == "T4" and node.id.startswith("ES3"):
        return next((value for name, value in limits.items() if name.partition("@")[0] == "duty"), None)
    if one.name == "flow" and node.id.partition(".")[0] in ("F1", "F2", "Y4"):
        return _trickle(node)
    if one.name == "T1" and node.id.startswith("F1"):
        each = (value for name, value in limits.items() if name.startswith("inlet@"))
        return next(each, limits.get("inlet"))
    if one.name == "T3.watch":
        return middle.get("T3")
    if part in ("hold", "act") and f"mid{one.name[len(part) :]}" in middle:
        return middle[f"mid{one.name[len(part) :]}"]
    if one.name == "T3.start" or (one.name == "peak" and node.id.startswith("F2")):
        acts = [each.value for each in seen if each.input == "act" and each.node[-3:] == node.id[-3:]]
        return middle.get("mid", cast(float, acts[-1]) if acts else None)
    return middle.get("at") if one.name == "shown" else None


def _counted(one: Input, node: Node) -> float | None:
    """Return the least count of turns that a step takes as fully open; None where it asks for none."""
    pattern = rf"'lt': \[{{'value': '{re.escape(one.name)}'}}, ([0-9.]+)\]"
    counts = re.findall(pattern, str([refusal.when for refusal in node.refuses]))
    return max(map(float, counts), default=None)


def _trickle(node: Node) -> float | None:
    """Return the trickle a step asks for: twice the least it takes."""
    for refusal in node.refuses:
        for part in refusal.when.get("any", ()):
            if isinstance(part, Mapping) and part.get("lt", [None])[0] == {"value": "flow"}:
                return 2.0 * float(part["lt"][1])
    return None


def _answer(
    one: Input,
    node: Node,
    middle: Mapping[str, float | None],
    draws: random.Random | None,
    told: Sequence[float],
) -> Any:
    if one.quantity in ("text", "photo", "time_of_day"):
        return "12:00" if one.quantity == "time_of_day" else "as planned"
    if one.quantity == "yes_no":
        return True if draws is None else draws.random() < 0.5
    if middle.get(one.name) is not None:
        return middle[one.name]
    if one.quantity == "flow" and one.name.partition(".")[2].isdigit():
        return _planned(one, node) or _point(one, node)
    if one.name in FIRST and draws is None:
        return FIRST[one.name]
    of_tap = [middle.get(each.name) for each in node.inputs if each.tap == one.tap and each.tap]
    alike = [middle.get(each.name) for each in node.inputs if each.quantity == one.quantity]
    pool = [value for value in (*of_tap, *alike, _PLAIN.get(one.quantity, 0.0)) if value is not None]
    return pool[0] if draws is None else draws.choice([*pool, 0.0, *told])


def _planned(one: Input, node: Node) -> float | None:
    """Return the flow of the plan at a point of the flow test; None where it names none."""
    points = [cast(Amount, said.params["point_flow"]).si for said in node.do if said.id == "H4.point"]
    listed = dict(enumerate((*points, *reversed(points)), 1))
    return listed.get(int(one.name.partition(".")[2]))


def _point(one: Input, node: Node) -> float:
    """Return a flow of a flow test: rising to half of its points, then falling. [m³/s]"""
    number = int(one.name.partition(".")[2])
    points = sum(each.name.startswith("flow.") and each.name[5:].isdigit() for each in node.inputs)
    return 1e-3 * min(number, points + 1 - number)


def _numbers(expression: Any) -> Iterator[float]:
    """Yield the numbers written into predicates."""
    parts: Iterable[Any] = ()
    if isinstance(expression, Mapping):
        parts = expression.values()
    elif isinstance(expression, list | tuple):
        parts = expression
    elif isinstance(expression, int | float) and not isinstance(expression, bool):
        yield float(expression)
    for part in parts:
        yield from _numbers(part)
