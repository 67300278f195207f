"""Entries of a visit that goes as it is planned: every step in order, every reading where it is expected."""

from __future__ import annotations

import random
import re
import uuid
from collections.abc import Iterator, Mapping
from typing import Any, cast

from steadyhead.findings import Amount
from steadyhead.procedure.expression import Context, Taken, holds
from steadyhead.procedure.graph import on_way, order
from steadyhead.procedure.steps import bands_of
from steadyhead.records.entry import Entry
from steadyhead.records.procedure import Input, Node, Procedure

START = "2027-04-14T{:02d}:{:02d}:{:02d}+01:00"
GAUGE = {"name": "TG-1", "what": "gauge", "low": 0.0, "high": 1.6e6, "class": 0.001, "due": "2027-09-30"}


FIRST = {"flow": 4e-4, "flow.after": 0.0, "step": 5e3}
"""What is tried first for some inputs. [SI]"""


QUIET = 3000
"""Tries to find answers of which nothing at all is told."""
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
        seconds = int(self.clock)
        day, seconds = divmod(seconds, 86400)
        clock = (
            f"2027-04-{14 + day:02d}T{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}+01:00"
        )
        id_ = str(uuid.uuid5(uuid.NAMESPACE_OID, f"{self.name}/{self.number}"))
        fields = {"who": "Ilse Marrow", "t_device": clock, "t_mono": self.clock, **more}
        return Entry(id_, self.run, node, self.name, self.number, kind, dict(payload), **fields)


def walk(procedure: Procedure, way: Mapping[str, str], device: Device | None = None) -> list[Entry]:
    """Return the entries of one clean visit on one way."""
    device = device or Device()
    made = [device.make("run", {"plan": "", "kind": procedure.kind})]
    made.append(device.make("instrument", GAUGE))
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
    made: dict[str, float] = {}
    for one in node.inputs:
        if one.name not in values:
            continue
        value = values[one.name]
        seen.append(Taken(node.id, one.name, value))
        first, seconds = pauses.get(one.name, ("", 0.0))
        if first in made:
            device.clock = max(device.clock, made[first] + seconds)
        if one.quantity == "time_of_day":
            value = of_day(made.get("act" if "act" in made else _last(made, "act."), device.clock))
        kind, payload = noted(one, value)
        if "flow" in payload and (node.id.startswith(("H2", "Y7L")) or one.name == "lockup"):
            payload["flow"] = 0.0
        yield device.make(kind, payload, node.id)
        made[one.name] = device.clock
    yield device.make("action", {"do": "tick"}, node.id)


def of_day(seconds: float) -> str:
    """Return a clock of a device as a time of day."""
    second = int(seconds) % 86400
    return f"{second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}"


def _last(made: Mapping[str, float], start: str) -> str:
    return max((name for name in made if name.startswith(start)), key=lambda name: made[name], default="")


def noted(one: Input, value: Any) -> tuple[str, dict[str, Any]]:
    """Return kind and payload by which an input is answered."""
    if one.quantity == "photo":
        return "photo", {"of": one.name, "name": f"{one.name}.jpg", "sha256": "0" * 64}
    if isinstance(value, bool | str):
        return "observation", {"input": one.name, "value": value}
    payload: dict[str, Any] = {"input": one.name, "quantity": one.quantity, "value": value, "flow": 4e-4}
    payload |= {"tap": one.tap, "instrument": "TG-1"}
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
    node: Node, way: Mapping[str, str], seen: list[Taken], limits: Mapping[str, float] | None = None
) -> dict[str, Any]:
    """Return an answer to each input under which the plan sees nothing amiss."""
    bands = bands_of(node, dict(way))
    draws = random.Random(node.id)
    middle = {one.name: bands[one.name]["nominal"] for one in node.inputs if one.name in bands}
    values: dict[str, Any] = {}
    written = [*(o.when for o in node.otherwise), *(o.when for o in node.refuses)]
    told = [*_numbers(written), *FIRST.values()]
    for attempt in range(6000):
        for one in node.inputs:
            likely = _likely(one, node, middle, seen, limits or {})
            values[one.name] = (
                _answer(one, node, middle, draws if attempt else None, told) if likely is None else likely
            )
        taken = [*seen, *(Taken(node.id, name, value) for name, value in values.items())]
        context = Context(node.id, taken, bands, limits or {})
        quiet = attempt < QUIET
        amiss = [o.when for o in node.otherwise if quiet or not o.tells]
        amiss += [one.when for one in node.refuses]
        if not any(holds(when, context) for when in amiss):
            return values
    raise AssertionError(f"no fine answers found for {node.id}")


def _likely(
    one: Input,
    node: Node,
    middle: Mapping[str, float | None],
    seen: list[Taken],
    limits: Mapping[str, float],
) -> Any:
    """Return what an input reads because of another one; None where nothing tells."""
    if one.quantity == "temperature":
        return 284.0
    if one.quantity == "turns":
        return _counted(one, node)
    part = one.name.partition(".")[0]
    if part == "T4" and node.id.startswith("ES3"):
        return next((value for name, value in limits.items() if name.partition("@")[0] == "duty"), None)
    if one.name == "flow" and node.id.partition(".")[0] in ("F1", "F2", "Y4"):
        return _trickle(node)
    if one.name == "T1" and node.id.startswith("F1"):
        return next(
            (value for name, value in limits.items() if name.startswith("inlet@")), limits.get("inlet")
        )
    if one.name == "T3.watch":
        return middle.get("T3")
    if part in ("hold", "act") and f"mid{one.name[len(part) :]}" in middle:
        return middle[f"mid{one.name[len(part) :]}"]
    if one.name == "T3.start" or (one.name == "peak" and node.id.startswith("F2")):
        acts = [each.value for each in seen if each.input == "act" and each.node[-3:] == node.id[-3:]]
        return middle.get("mid", acts[-1] if acts else None)
    return middle.get("at") if one.name == "shown" else None


def _counted(one: Input, node: Node) -> float | None:
    """Return the least count of turns that a step takes as fully open; None where it asks for none."""
    counts = re.findall(
        rf"'lt': \[{{'value': '{re.escape(one.name)}'}}, ([0-9.]+)\]", str([r.when for r in node.refuses])
    )
    return max(map(float, counts), default=None)


def _trickle(node: Node) -> float | None:
    """Return the trickle a step asks for: the middle of what it does not refuse."""
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
    told: list[float],
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
    alike = [v for i in node.inputs if i.quantity == one.quantity and (v := middle.get(i.name)) is not None]
    same_tap = [
        v for i in node.inputs if i.tap == one.tap and i.tap and (v := middle.get(i.name)) is not None
    ]
    plain = {"pressure": 3.0e5, "temperature": 284.0, "turns": 2.0, "length": 0.02, "time": 6.0}
    pool = [*same_tap, *alike, plain.get(one.quantity, 0.0)]
    return pool[0] if draws is None else draws.choice([*pool, 0.0, *told])


def _planned(one: Input, node: Node) -> float | None:
    """Return the flow of the plan at a point of the flow test; None where it names none."""
    points = [cast(Amount, said.params["point_flow"]).si for said in node.do if said.id == "H4.point"]
    listed = dict(enumerate((*points, *reversed(points)), 1))
    return listed.get(int(one.name.partition(".")[2]))


def _point(one: Input, node: Node) -> float:
    """Return a flow of a flow test: rising to half of its points, then falling."""
    number = int(one.name.partition(".")[2])
    points = sum(i.name.startswith("flow.") and i.name[5:].isdigit() for i in node.inputs)
    return 1e-3 * min(number, points + 1 - number)


def _numbers(expression: Any) -> Iterator[float]:
    """Yield the numbers written into predicates."""
    if isinstance(expression, Mapping):
        expression = list(expression.values())
    if isinstance(expression, list | tuple):
        for part in expression:
            yield from _numbers(part)
    elif isinstance(expression, int | float) and not isinstance(expression, bool):
        yield float(expression)


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


def steps_of(procedure: Procedure, way: Mapping[str, str]) -> tuple[str, ...]:
    """Return the steps of a way."""
    return tuple(node.id for node in on_way(procedure, way))
