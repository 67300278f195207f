"""How long consumers are without the station in a visit, held against what they store themselves."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from steadyhead.findings import Amount, Finding, Severity
from steadyhead.procedure.graph import covering, on_way
from steadyhead.records.procedure import Message, Node, Procedure
from steadyhead.records.station import Station
from steadyhead.station.layout import carries_fire_water
from steadyhead.visits.defaults import WORKING_DAY
from steadyhead.visits.facts import Facts
from steadyhead.visits.rules import told
from steadyhead.visits.tables.defaults import AFTER, BEFORE

SHUT = "outlet_shut"
"""Restore item that stands while the outlet valve of the station is shut."""
ASKED = ("A3.stock", "A3.stock_known")
"""Lines that speak of the outage; a plan without one drops them."""
COVERED = ("covered", "agreed")
"""What is asked where consumers' own stock is not known to last."""
_NIGHT = 86400.0 - WORKING_DAY.si


def lasts(procedure: Procedure) -> float:
    """Return how long the outlet valve of the station is shut: hands-on time of the longest way. [s]

    Nights between working days, travel and turning of valves come on top; 0 where no step shuts it.
    """
    return max((_shut(on_way(procedure, way))[0] for way in covering(procedure)), default=0.0)


def with_nights(procedure: Procedure) -> float:
    """Return how long the outlet valve is shut where the station stays isolated between working days. [s]

    The same as `lasts` where no working day ends while it is shut. Days are as the note of the plan counts
    them, hands-on time one after another.
    """
    found = (_shut(on_way(procedure, way)) for way in covering(procedure))
    return max((work + nights * _NIGHT for work, nights in found), default=0.0)


def _shut(nodes: Iterable[Node]) -> tuple[float, int]:
    """Return hands-on time with the outlet valve shut [s], and the nights that fall into it."""
    at, total, nights, shut = 0.0, 0.0, 0, False
    for node in nodes:
        shut = shut or SHUT in node.opens
        spent = 0.0 if node.id in (*BEFORE, *AFTER) else 60.0 * node.takes
        if shut:
            total += 60.0 * node.takes
            nights += int((at + spent) // WORKING_DAY.si - at // WORKING_DAY.si)
        at += spent
        shut = shut and SHUT not in node.restores
    return total, nights


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
    shut, overnight = lasts(procedure), with_nights(procedure)
    nodes = tuple(_filled(node, station, shut, overnight) for node in procedure.nodes)
    found = [told(finding) for finding in judged(station, shut)]
    if overnight > shut and cuts_off(station) and (stores(station) or station.zone.stock is not None):
        found.append(Message("note.overnight", {"overnight": in_words(overnight)}))
    return replace(procedure, nodes=nodes, notes=(*procedure.notes, *found))


def _filled(node: Node, station: Station, shut: float, overnight: float) -> Node:
    """Return a step with the outage in its words; without them where there is none."""
    if not any(message.id in ASKED for message in node.do):
        return node
    stock = station.zone.stock
    if shut <= 0.0:
        do = tuple(message for message in node.do if message.id not in ASKED)
        return _without(replace(node, do=do), "stock", *COVERED)
    do = tuple(one for message in node.do for one in _with(message, shut, overnight))
    node = replace(node, do=do)
    return _without(node, *COVERED) if stock is not None and stock.si >= overnight else node


def _without(node: Node, *asked: str) -> Node:
    """Return a step that does not ask for these, nor judges what is answered."""
    inputs = tuple(one for one in node.inputs if one.name not in asked)
    if "covered" not in asked:
        return replace(node, inputs=inputs)
    kept = tuple(one for one in node.otherwise if one.see.id != "A3.uncovered.see")
    return replace(node, inputs=inputs, otherwise=kept)


def _with(message: Message, shut: float, overnight: float) -> tuple[Message, ...]:
    if message.id not in ASKED:
        return (message,)
    found = replace(message, params={**message.params, "outage": in_words(shut)})
    night = Message("A3.overnight", {"overnight": in_words(overnight)})
    return (found, night) if overnight > shut else (found,)


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
