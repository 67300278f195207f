"""Which readings of a step are weighed, and in which state of the line each is taken."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Expect, Input, Node
from steadyhead.records.signature import Reads
from steadyhead.station.layout import Layout
from steadyhead.visits import spans
from steadyhead.visits.questions import tap_of_role
from steadyhead.visits.signatures.beside import LOSSES, PLAIN, RELIEFS, TIMES
from steadyhead.visits.signatures.states import EARLY, QUIET, RUNNING, STILL, TWIN

FOUND = ("Y1",)
"""Steps at which a station in service is read as found, without bands."""
_WHY = "why."
_ROLES = ("T0", "T1", "T2", "T2a", "T2b", "T3", "T4")


@dataclass(frozen=True)
class Line:
    """What names mean on one line: roles of taps, flows, bands."""

    layout: Layout
    numbers: PlanNumbers
    demand: float
    """Average demand. [m³/s]"""

    @property
    def roles(self) -> Mapping[str, str]:
        """Role by tap id."""
        return {tap: role for role, tap in tap_of_role(self.layout).items()}


def reads_of(node: Node, line: Line) -> tuple[Reads, ...]:
    """Return what is weighed at a step; empty where nothing is."""
    inputs = {one.name: one for one in node.inputs}
    found = [
        _read(node, inputs[expect.input], expect, line) for expect in node.expect if expect.input in inputs
    ]
    banded = [one for one in found if one is not None]
    if not banded and node.id.partition("@")[0] in FOUND:
        return _found(node, line)
    return (*banded, *_unbanded(node, banded, line), *_last(node, banded))


def _found(node: Node, line: Line) -> tuple[Reads, ...]:
    """Return what is read in service before any hand moves: no band, and yet it has causes."""
    carrier = "flow" if any(one.name == "flow" for one in node.inputs) else ""
    return tuple(
        Reads(one.name, "served", one.name, carrier, line.demand)
        for one in node.inputs
        if one.quantity == "pressure" and one.name in _ROLES
    )


def _read(node: Node, asked: Input, expect: Expect, line: Line) -> Reads | None:
    state = expect.why.id.removeprefix(_WHY)
    place = _place(state, asked, line)
    if place is None or expect.why.id == state:
        return None
    if state == "flow":
        number = asked.name.rpartition(".")[2]
        usual = _point(number, line.numbers.flow_points)
        return Reads(asked.name, state, place, f"flow.{number}", usual, expect.where)
    if state in RELIEFS:
        state = f"{state}.{node.id.partition('.')[2].partition('@')[0]}"
    if state in STILL and asked.name.partition(".")[0] == "first":
        state += EARLY
    usual = _usual(state, place, line)
    return Reads(asked.name, state, place, _carrier(node, asked, state), usual, expect.where)


def _place(state: str, asked: Input, line: Line) -> str | None:
    if state in TIMES:
        return "time"
    if state in LOSSES:
        return "loss"
    if state == "turns":
        return spans.worker(line.layout).id if line.layout.reducers else None
    if state in (*RELIEFS, "alarm") or state.startswith("trip"):
        return "T3"
    role = line.roles.get(asked.tap, asked.tap)
    if role not in _ROLES:
        return None
    return role if state in TWIN or state in PLAIN else None


def _point(number: str, points: tuple[float, ...]) -> float:
    """Return the flow of a point of the flow test, on the way up or down again. [m³/s]"""
    if not number.isdigit() or not points:
        return 0.0
    at = int(number) - 1
    return points[at] if at < len(points) else points[max(2 * len(points) - 1 - at, 0)]


def _carrier(node: Node, asked: Input, state: str) -> str:
    """Return the input that carries the flow at that time."""
    names = {one.name for one in node.inputs if one.quantity == "flow"}
    suffix = asked.name.partition(".")[2]
    if suffix and f"flow.{suffix}" in names:
        return f"flow.{suffix}"
    own = "flow" in names and (state == "duty" or "flow" not in asked.carries)
    return "flow" if own and (state in RUNNING or state == "duty") else ""


def _usual(state: str, place: str, line: Line) -> float:
    if state in RUNNING:
        return line.numbers.trickle_flow
    if state == "served":
        return line.demand
    if state == "duty":
        own = [r for r in spans.judged(line.layout) if spans.role_of(line.layout, r.id) == place]
        return (own[0] if own else spans.worker(line.layout)).duty.flow.si
    return 0.0


def _last(node: Node, banded: Collection[Reads]) -> tuple[Reads, ...]:
    """Return the reading at the end of a watch whose band stands at its beginning."""
    names = {one.name: one for one in node.inputs}
    found = []
    for one in banded:
        if one.state.endswith(EARLY) and one.input == "first" and "last" in names:
            found.append(replace(one, input="last", state=one.state.removesuffix(EARLY)))
    taken = {one.input for one in banded}
    return tuple(found) if "last" not in taken else ()


def _unbanded(node: Node, banded: Collection[Reads], line: Line) -> tuple[Reads, ...]:
    """Return readings without a band that are taken in the same state as one that has one."""
    taken = {one.input for one in banded}
    found = []
    for asked in node.inputs:
        role = line.roles.get(asked.tap, asked.tap)
        head, _, suffix = asked.name.partition(".")
        if asked.name in taken or asked.quantity != "pressure" or head != role or role not in _ROLES:
            continue
        near = next((one for one in banded if _same_time(one, suffix)), None)
        if near is None or near.state not in TWIN or (near.state in QUIET and role == "T3"):
            continue
        found.append(Reads(asked.name, near.state, role, near.flow, near.usual, near.choice))
    return tuple(found)


def _same_time(one: Reads, suffix: str) -> bool:
    head, _, own = one.input.partition(".")
    return head in _ROLES and own == suffix
