"""Answers to the questions of a step under which a plan sees nothing amiss."""

from __future__ import annotations

import random
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, cast

from steadyhead.findings import Amount
from steadyhead.procedure.expression import Context, Taken, holds
from steadyhead.procedure.steps import bands_of
from steadyhead.records.procedure import Input, Node, Procedure

FIRST = {"flow": 4e-4, "flow.after": 0.0, "step": 5e3}
"""What is tried first for some inputs. [SI]"""
TRICKLE, COLD = 4e-4, 284.0
"""Trickle of a plan that names none [m³/s]; temperature of a wall in a chamber [K]."""
TRIES, QUIET = 6000, 3000
"""Tries to find answers, and those of them of which nothing at all is to be told. [1]"""
LOCKED = ("H2", "Y7L")
"""Starts of the steps at which nothing flows."""
DUTY, AT_DUTY = "duty_flow", ("flow", "before", "duty")
"""What a step calls the flow that belongs to duty; what is read at it there."""
_PLAIN = {"pressure": 3.0e5, "temperature": COLD, "turns": 2.0, "length": 0.02, "time": 6.0}


def fine(
    node: Node, way: Mapping[str, str], seen: Sequence[Taken], limits: Mapping[str, float] | None = None
) -> dict[str, Any]:
    """Return an answer to each input under which the plan sees nothing amiss.

    Raises
    ------
    ValueError
        None was found: the step asks for what no reading gives.
    """
    limits, bands = limits or {}, bands_of(node, dict(way))
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
    if one.name == "words":
        return _on_screen(node)
    if one.name == "late":
        return _later(node, seen)
    part = one.name.partition(".")[0]
    if part == "T4" and node.id.startswith("ES3"):
        return next((value for name, value in limits.items() if name.partition("@")[0] == "duty"), None)
    if one.name == "flow":
        by_step = _trickle(node) if node.id.partition(".")[0] in ("F1", "F2", "Y4") else None
        return by_step or _said(node, DUTY) or _said(node, "trickle_flow")
    if one.name in ("T0", "T1", "T2") and node.id in ("J3", "Y1", "Y8"):
        return _in_service(one.name, seen, limits)
    if one.name == "T1" and node.id.startswith("F1"):
        return _inlet(limits)
    if one.name == "T3.watch":
        return middle.get("T3")
    if one.name == "peak" and node.id == "R6":
        return _tripped(node)
    if part in ("hold", "act", "peak") and f"mid{one.name[len(part) :]}" in middle:
        return middle[f"mid{one.name[len(part) :]}"]
    if one.name == "T3.start" or (one.name == "peak" and node.id.startswith("F2")):
        acts = [each.value for each in seen if each.input == "act" and each.node[-3:] == node.id[-3:]]
        return middle.get("mid", cast(float, acts[-1]) if acts else None)
    return middle.get("at") if one.name == "shown" else None


def _on_screen(node: Node) -> str | None:
    """Return the words that the station file lets the control room see, where a step holds them."""
    held = re.search(r"'says': \[\{'value': 'words'\}, '([^']*)'\]", str([one.when for one in node.refuses]))
    return held[1] if held is not None else None


def _tripped(node: Node) -> float | None:
    """Return what a log shows of a trip: a little above its lower edge, where the step tells that. [Pa]"""
    told = [one.when for one in node.otherwise if "'peak'" in str(one.when)]
    return next((1.02 * edge for edge in _numbers(told)), None)


def _inlet(limits: Mapping[str, float]) -> float | None:
    each = (value for name, value in limits.items() if name.startswith("inlet@"))
    return next(each, limits.get("inlet"))


def _in_service(tap: str, seen: Sequence[Taken], limits: Mapping[str, float]) -> float | None:
    """Return what a tap before the outlet reads in service: as at the last point of the flow test. [Pa]"""
    tested = [each.value for each in seen if each.node.startswith("H4") and each.input.startswith(f"{tap}.")]
    return cast(float, tested[-1]) if tested else _inlet(limits) if tap != "T2" else None


def _later(node: Node, seen: Sequence[Taken]) -> float | None:
    """Return the last proved trip of the stream that acts second: well above the one proved today. [Pa]"""
    mids = [float(each.value) for each in seen if each.input == "mid" and isinstance(each.value, int | float)]
    apart = max(_numbers([one.when for one in node.otherwise]), default=0.0)
    return mids[-1] + 1.5 * apart if mids else None


def flow_beside(procedure: Procedure, node: Node, one: Input, values: Mapping[str, Any]) -> float:
    """Return the flow that runs while an input of a step is read, its other answers known. [m³/s]"""
    if node.id.startswith(LOCKED) or one.name == "lockup":
        return 0.0
    duty = _said(node, DUTY)
    if duty is not None and one.name in AT_DUTY:
        return duty
    point = values.get(f"flow.{one.name.rpartition('.')[2]}")
    if point is not None and one.name.rpartition(".")[2].isdigit():
        return float(point)
    stream = procedure.streams.get(node.id, "")
    told = [procedure.limits.get(f"trickle_flow@{stream}"), procedure.limits.get("trickle_flow")]
    return next((flow for flow in told if flow is not None), TRICKLE)


def _said(node: Node, name: str) -> float | None:
    """Return an amount that a step tells people; None where it tells none of that name. [SI]"""
    told = (said.params[name] for said in node.do if name in said.params)
    return next((one.si for one in told if isinstance(one, Amount)), None)


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
