"""The graph of a restart after a trip, for one line."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from steadyhead.findings import Finding, Severity
from steadyhead.records.procedure import Choice, Message, Node
from steadyhead.visits.restarting import told, worked_out
from steadyhead.visits.tables import restart, restart_line
from steadyhead.visits.tables.desk import FITS, Desk


def refused(desk: Desk) -> tuple[Finding, ...]:
    """Return why there is nothing to restart: no shut-off stands on this line."""
    if desk.facts.shut_off is not None:
        return ()
    return (Finding("RUN-80", "line", Severity.STOP),)


def findings(desk: Desk) -> tuple[Finding, ...]:
    """Return what a restart of this line is told with, beside what every plan is."""
    return told(worked_out(desk.facts, desk.numbers))


def steps(desk: Desk) -> tuple[tuple[Node, ...], tuple[Choice, ...], tuple[Message, ...]]:
    """Return the steps, choices and notes of a restart; of a line with a shut-off.

    Raises
    ------
    ValueError
        No shut-off stands on this line.
    """
    shut_off = desk.facts.shut_off
    if shut_off is None:
        raise ValueError("nothing trips on a line without a shut-off")
    trip = restart.Trip(desk, shut_off, worked_out(desk.facts, desk.numbers))
    line, opened = restart_line.nodes(trip, (trip,))
    nodes = tuple(as_it_stands(node) for node in (*restart.nodes(trip), *line))
    return nodes, restart.choices(trip, opened), tuple(notes(trip))


def as_it_stands(node: Node) -> Node:
    """Return a step with the bands of pilots that are left as they stand: nothing is set in a restart."""
    kept = tuple(
        replace(one, where=None)
        for one in node.expect
        if one.where is None or not one.where[0].startswith("E0.") or one.where[1] == FITS
    )
    return replace(node, expect=kept)


def notes(trip: restart.Trip) -> Iterator[Message]:
    """Yield what stands on the face of a restart."""
    yield trip.desk.say("note.restart")
    if trip.restart.refill is not None:
        yield trip.desk.say("note.refill")
