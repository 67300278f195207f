"""The last strokes on the steps of a plan: what is left as found, litres of this plan, its id."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from steadyhead.findings.model import Amount
from steadyhead.records.procedure import DrainUse, Node, TurnTable
from steadyhead.records.station import Station
from steadyhead.visits.drains import by_place
from steadyhead.visits.tables import e_settings, f_trip
from steadyhead.visits.tables.desk import Desk


def plan_id(station: Station, kind: str, item: str, station_hash: str) -> str:
    """Return the id of a plan: station, kind, item, beginning of the file's hash."""
    parts = [station.station.id, kind, item.replace(" ", "-"), station_hash[:12]]
    return ".".join(part for part in parts if part)


def at_taps(table: TurnTable, taps: Mapping[str, str]) -> TurnTable:
    """Return a turn table with the station's own ids of its taps in place of their roles."""
    return replace(table, readings={taps.get(role, role): row for role, row in table.readings.items()})


def untouched(desk: Desk, nodes: tuple[Node, ...]) -> tuple[Node, ...]:
    """Return the steps, EF1 read as found where no D2 of this plan turns the screw before it."""
    if any(node.id == "D2" for node in nodes):
        return nodes
    found = []
    for node in nodes:
        reducer = next((r for r in desk.facts.reducers if node.id == f"EF1.{r.id}"), None)
        if reducer is not None:
            node = replace(e_settings.as_it_stands(desk, reducer, turned=False), needs=node.needs)
        found.append(node)
    return tuple(found)


def on_paper(desk: Desk, node: Node) -> Node:
    """Return F5 judged on paper, where only the design has changed; any other step as it is."""
    shut_off = desk.facts.shut_off
    if shut_off is None or node.id != f"F5.{shut_off.id}":
        return node
    return replace(
        f_trip.judged(desk, shut_off, needs=[], paper=True), needs=node.needs, restores=node.restores
    )


def finished(node: Node, opened: set[str], budget: Iterable[DrainUse]) -> Node:
    """Return a step with the litres of this plan, and without restoring what no step opens."""
    listed = tuple(budget)
    uses = [use for use in listed if use.node in (node.id, node.id.split(".")[0])]
    restores = tuple(name for name in node.restores if name in opened)
    total = Amount("volume", sum((use.litres for use in listed), 0.0) / 1e3)
    more: dict[str, Amount | str] = {"litres": total}
    places = [one.place for one in by_place(listed) if one.place]
    if places:
        more["runs_to"] = ", ".join(places)
    do = tuple(
        replace(message, params={**message.params, **{k: v for k, v in more.items() if k in message.params}})
        if "litres" in message.params
        else message
        for message in node.do
    )
    if not any(name.endswith(".out_of_way") for name in opened):
        do = tuple(message for message in do if message.id not in _OUT_OF_WAY)
    return replace(node, do=do, restores=restores, litres=sum((use.litres for use in uses), 0.0))


_OUT_OF_WAY = ("D2.out_of_way", "D2r.out_of_way")
"""How far the outlet goes up with the shut-off away: left out of a plan that never moves it away."""
_LETTERS = {"DS": "E", "IN": "F", "TS": "F", "MN": "F", "R1": "F", "R2": "F", "R4": "F"}
"""Letter of the drain budget under which other tables run."""
_DRY = {"E0", "F5", "G5"}
"""Steps at which nothing runs to the drain."""


def budget_of(ids: Iterable[str], uses: Iterable[DrainUse]) -> tuple[DrainUse, ...]:
    """Return the rows whose steps stand in the plan: a step, all of a position, or a letter of the tables."""
    listed = set(ids)
    bases = {node_id.split(".")[0] for node_id in listed} - _DRY
    letters = {_LETTERS.get(base[:2], base[0]) for base in bases}
    return tuple(use for use in uses if use.node in listed | bases | letters)
