"""A restart at a station with several streams: the stream that tripped, or all behind a shared shut-off."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.errors import InputError
from steadyhead.findings import Finding, Severity
from steadyhead.records.plan_numbers import InletOpening, PlanNumbers, Together
from steadyhead.records.procedure import Message, Node
from steadyhead.records.station import Station
from steadyhead.visits.feasibility import Refused
from steadyhead.visits.restart_steps import as_it_stands, notes
from steadyhead.visits.restarting import told, worked_out
from steadyhead.visits.several.graph import serving
from steadyhead.visits.several.joining import isolated
from steadyhead.visits.several.naming import Built
from steadyhead.visits.several.ways import Way, ways_of_visit
from steadyhead.visits.tables import restart, restart_line
from steadyhead.visits.tables import streams as table
from steadyhead.visits.tables.desk import Needs
from steadyhead.visits.tables.restart_proof import Beside
from steadyhead.visits.tables.streams import Stream


def opened_alike(numbers: PlanNumbers, station: Station, item: str) -> PlanNumbers:
    """Return the figures of a restart as its steps have them: one opening for every stream that is tested.

    What a stream sees at the smaller opening is bounded by what it sees at the next larger one known.
    """
    mode = numbers.together.mode if numbers.together is not None else "station out"
    ways = ways_of_visit(station, mode).ways
    having = [way for way in ways if way.shut_off is not None]
    wanted = " ".join(item.casefold().replace("stream ", "").split())
    named = [way for way in having if wanted in ("", way.view.id.casefold(), way.key.casefold(), _id_of(way))]
    if not named or not numbers.streams:
        return numbers
    tested = [way for way in ways if way is named[0] or _is_behind(way, named[0])]
    own = [numbers.streams[way.key] for way in tested if way.key in numbers.streams]
    openings = [one for each in own for one in each.inlet_opening.values()]
    if not openings:
        return numbers
    least = min(openings, key=lambda one: one.share)
    found = {
        way.key: replace(
            numbers.streams[way.key],
            inlet_opening={
                name: _narrowed(one, least) for name, one in numbers.streams[way.key].inlet_opening.items()
            },
        )
        for way in tested
        if way.key in numbers.streams
    }
    return replace(numbers, streams={**numbers.streams, **found})


def _narrowed(one: InletOpening, least: InletOpening) -> InletOpening:
    known = min((row for row in one.rows if row.share >= least.share), key=lambda r: r.share, default=None)
    pressure = one.pressure if known is None else known.worst
    expected = one.expected if known is None else known.expected
    return replace(one, share=least.share, turns=least.turns, pressure=pressure, expected=expected)


def _id_of(way: Way) -> str:
    return way.shut_off.id.casefold() if way.shut_off is not None else ""


def find(streams: tuple[Stream, ...], item: str) -> Stream:
    """Return the stream whose shut-off tripped, by its name or that of the shut-off.

    Raises
    ------
    Refused
        No stream has a shut-off, or several have one and none is named.
    InputError
        A stream this station does not have, or one without a shut-off.
    """
    having = [stream for stream in streams if stream.way.shut_off is not None]
    if not having:
        raise Refused((Finding("RUN-80", "line", Severity.STOP),))
    wanted = " ".join(item.casefold().replace("stream ", "").split())
    if not wanted:
        if len(having) == 1:
            return having[0]
        known = ", ".join(f"{_shut_off(s)} of {s.way.view.words}" for s in having)
        raise Refused((Finding("RUN-81", "line", Severity.STOP, params={"known": known}),))
    for stream in having:
        if wanted in (stream.way.view.id.casefold(), stream.way.key.casefold(), _shut_off(stream).casefold()):
            return stream
    listed = ", ".join(stream.way.view.id for stream in having)
    raise InputError("item", f"got {item!r}, where nothing trips at this station.", f"Use one of: {listed}.")


def _shut_off(stream: Stream) -> str:
    shut_off = stream.way.shut_off
    return shut_off.id if shut_off is not None else ""


def build(
    streams: tuple[Stream, ...], together: Together, item: str
) -> tuple[Built, tuple[Message, ...], tuple[Finding, ...]]:
    """Return the steps of a restart, what stands on its face, and what is told.

    Behind a shut-off that streams share each reducer is tested alone, that of the shut-off's own stream last.
    """
    stream = find(streams, item)
    streams = _opened_alike(streams, stream)
    stream = find(streams, item)
    trip = _trip(stream, stream)
    others = [s for s in streams if s is not stream and _shares(s, stream)]
    tested = (*(_trip(other, stream) for other in others), trip)
    beside = _beside((*others, stream), together) if others else Beside()
    line, opened = restart_line.nodes(trip, tested, beside)
    built = Built()
    out = stream.way.mode == "station out"
    for node in (*restart.nodes(trip), *line):
        node = as_it_stands(node)
        if not out and node.id in ("R7", "R8C"):
            node = serving(node, stream, streams)
        key = stream.way.key if not out or node.id.split(".")[-1] == stream.way.key else ""
        key = next((s.way.key for s in others if node.id.endswith(f".{s.way.key}")), key)
        built.add(node, key)
    built.choices = list(restart.choices(trip, opened))
    for one in (*others, stream):
        built.labels |= one.desk.labels
    return built, tuple(notes(trip)), told(trip.restart)


def _opened_alike(streams: tuple[Stream, ...], tripped: Stream) -> tuple[Stream, ...]:
    """Return the streams with the inlet valve opened as little as the one asks that bears the least.

    Nobody knows through which of them the water comes when their shut-off opens; so one opening, the least,
    holds until the last of them is tested (design handbook R7).
    """
    tested = [one for one in streams if one is tripped or _shares(one, tripped)]
    openings = [one for each in tested for one in each.desk.numbers.inlet_opening.values()]
    if not openings:
        return streams
    least = min(openings, key=lambda one: one.share)
    return tuple(_with_opening(one, least) if one in tested else one for one in streams)


def _with_opening(stream: Stream, least: InletOpening) -> Stream:
    numbers = stream.desk.numbers
    opening = {
        name: replace(one, share=least.share, turns=least.turns)
        for name, one in numbers.inlet_opening.items()
    }
    sections = opening or dict.fromkeys(stream.desk.facts.sections, least)
    return replace(stream, desk=replace(stream.desk, numbers=replace(numbers, inlet_opening=sections)))


def _trip(stream: Stream, tripped: Stream) -> restart.Trip:
    shut_off = tripped.way.shut_off
    assert shut_off is not None
    desk = stream.desk
    name = "" if stream is tripped and stream.way.mode == "stream out" else stream.way.key
    return restart.Trip(desk, shut_off, worked_out(desk.facts, desk.numbers), name)


def _shares(other: Stream, tripped: Stream) -> bool:
    """Return whether another stream stands behind the shut-off that tripped, and serves."""
    return _is_behind(other.way, tripped.way)


def _is_behind(other: Way, tripped: Way) -> bool:
    shut_off = tripped.shut_off
    behind = {part.id for part in (*other.layout.shut_offs, *other.view.layout.shut_offs)}
    return shut_off is not None and shut_off.id in behind and not other.locked_shut


def _beside(tested: tuple[Stream, ...], together: Together) -> Beside:
    """Return S1 and S2 of each stream that is tested, and S3 of all of them."""
    alone: dict[str, tuple[Node, ...]] = {}
    for stream in tested:
        steps = [table.alone(stream, [], first=False, pressed=True)]
        if stream.way.beside:
            steps.append(table.others_tight(stream, []))
        alone[stream.way.key] = tuple(steps)
    desk, last = tested[-1].desk, tested[-1].way.branch

    def back(needs: Needs) -> tuple[Node, ...]:
        found: list[Node] = []
        for beside in isolated(tested):
            before: list[Needs] = [found[-1].id] if found else [needs]
            found.append(table.back(desk, beside, together, before, stands=beside.branch == last))
        return tuple(found)

    opened = (name for steps in alone.values() for node in steps for name in node.opens)
    return Beside(alone, back, tuple(dict.fromkeys(opened)))
