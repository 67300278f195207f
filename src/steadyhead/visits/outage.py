"""How long consumers are without the station in a visit, held against what they store themselves."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from steadyhead.findings import Amount, Finding, Severity
from steadyhead.procedure.graph import covering, on_way
from steadyhead.records.procedure import Message, Node, Procedure
from steadyhead.records.station import Station
from steadyhead.station.layout import carries_fire_water
from steadyhead.visits.facts import Facts
from steadyhead.visits.rules import told

SHUT = "outlet_shut"
"""Restore item that stands while the outlet valve of the station is shut."""
ASKED = ("A3.stock", "A3.stock_known")
"""Lines that speak of the outage; a plan without one drops them."""


def lasts(procedure: Procedure) -> float:
    """Return how long the outlet valve of the station is shut: hands-on time of the longest way. [s]

    Nights between working days, travel and turning of valves come on top; 0 where no step shuts it.
    """
    return 60.0 * max((_minutes(on_way(procedure, way)) for way in covering(procedure)), default=0.0)


def _minutes(nodes: Iterable[Node]) -> float:
    total, shut = 0.0, False
    for node in nodes:
        shut = shut or SHUT in node.opens
        total += node.minutes if shut else 0.0
        shut = shut and SHUT not in node.restores
    return total


def in_words(seconds: float) -> str:
    """Return a time people plan with: minutes, from two hours on whole hours, rounded down.

    Examples
    --------
    >>> in_words(1800.0), in_words(58260.0)
    ('30 min', '16 h')
    """
    return f"{seconds // 3600.0:.0f} h" if seconds >= 7200.0 else f"{seconds // 60.0:.0f} min"


def cuts_off(station: Station) -> bool:
    """Return whether consumers have no water while the outlet valve is shut: no other feed holds the zone."""
    return not station.zone.other_feed


def stores(station: Station) -> bool:
    """Return whether there are consumers that must be asked how long their own stock lasts."""
    return bool(station.station.sensitive_consumers) or carries_fire_water(station)


def lines(facts: Facts) -> list[tuple[str, dict[str, Amount | str | int]]]:
    """Return what is said about the outage where consumers are told; the time is filled in at the end."""
    station, stock = facts.station, facts.station.zone.stock
    served = (facts.others_serve and not facts.none_serves) or not cuts_off(station)
    if served or not (stores(station) or stock is not None):
        return []
    shut = {"outage": in_words(0.0)}
    if stock is None:
        return [("A3.stock", dict(shut))]
    return [("A3.stock_known", {**shut, "stock": in_words(stock.si)})]


def told_of(procedure: Procedure, station: Station) -> Procedure:
    """Return the plan with its outage where consumers are told, and what follows from it as a note."""
    shut = lasts(procedure)
    nodes = tuple(_filled(node, shut) for node in procedure.nodes)
    found = tuple(told(finding) for finding in judged(station, shut))
    return replace(procedure, nodes=nodes, notes=(*procedure.notes, *found))


def _filled(node: Node, shut: float) -> Node:
    """Return a step with the outage in its words; without them where there is none."""
    if not any(message.id in ASKED for message in node.do):
        return node
    if shut <= 0.0:
        do = tuple(message for message in node.do if message.id not in ASKED)
        return replace(node, do=do, inputs=tuple(one for one in node.inputs if one.name != "stock"))
    return replace(node, do=tuple(_with(message, shut) for message in node.do))


def _with(message: Message, shut: float) -> Message:
    if message.id not in ASKED:
        return message
    return replace(message, params={**message.params, "outage": in_words(shut)})


def judged(station: Station, shut: float) -> tuple[Finding, ...]:
    """Return a finding where consumers are cut off longer than they hold out, or nobody knows how long.

    shut: how long the station is shut [s].
    """
    stock = station.zone.stock
    if shut <= 0.0 or not cuts_off(station):
        return ()
    if stock is None:
        if not stores(station):
            return ()
        return (Finding("PLAN-54", "zone.stock", Severity.HEED, params={"outage": in_words(shut)}),)
    if stock.si >= shut:
        return ()
    return (
        Finding(
            "PLAN-53",
            "zone.stock",
            Severity.HEED,
            params={"outage": in_words(shut), "stock": in_words(stock.si)},
            value=Amount("time", shut),
            limit=Amount("time", stock.si),
            margin=Amount("time", stock.si - shut),
        ),
    )
