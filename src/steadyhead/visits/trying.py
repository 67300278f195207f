"""Which readings of a plan are trials of what protects: outside, they count as found also once read again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from steadyhead.design.limits import component_limits, weakest_normal
from steadyhead.procedure.grammar import is_number
from steadyhead.records.minding import Trial
from steadyhead.records.parts import Tap
from steadyhead.records.procedure import Expression, Node, Procedure
from steadyhead.records.quantities import STANDARD_ATMOSPHERE_PA
from steadyhead.records.station import Station
from steadyhead.station.elevation import to_level
from steadyhead.station.layout import read_layout
from steadyhead.station.streams import views
from steadyhead.visits.plausible import ranges
from steadyhead.visits.several.ways import has_several
from steadyhead.water import properties

TRIED = ("acts", "trip", "as_found", "closing", "overshoot", "crack", "stands_in")
"""Aspects that a trial of what protects proves."""
RUN, CRACK, PEAK, HOLD, MIDDLE = "act", "crack", "peak", "hold", "mid"
HELD = ("T3", "lockup")
"""What a monitor holds, where it is tried."""
TIMED, WATCHED, FLOWED, ENDED = "closing", "T3.watch", "flow.after", "T3"
"""What is read of a closing: its time, what stands after it, what still runs."""
FIRST = "F1"
"""Step of the run whose closing is read at a step of its own."""
SET_AT = "E0"
ANYWAY = ("*",)
"""A monitor's step raises the reducer that works up to it: what the outlet reads below is on the way."""
SET = "set"
CAUSES = (
    "raised too fast", "raised in too large steps", "read too late", "gauge misread", "gauge not steady",
    "air in the line", "pilot stuck at first", "closing medium slow", "dirt on the pilot seat",
    "watch started late", "water still drawn", "cause not found",
)  # fmt: skip
"""Words by which a note says what was found of a reading outside."""
STOPS = ("J2", "R7R", "R8")
"""Steps of a restart at which a second trip is told (handbook 7.4)."""
ACTED = "trips"
"""Question whether the shut-off acted while flows were stepped, or consumers fed."""
SERVED = ("T4", "critical")
"""Readings on the consumers' side."""
ANSWERS = ("words", "operator", "told", "seals", "who", "accepted")
"""Fields in words by which somebody says who was told, who watches or agreed, and how it is sealed."""
TEST_LIMIT = "test_limit"
RESPONSE = "response"
OUTLET = "outlet"


def trials(procedure: Procedure, station: Station) -> Iterator[Trial]:
    """Yield the readings by which the plan tries what protects: runs, lifts, what a monitor holds."""
    rated, heights = dict(_rated(station)), _heights(station)
    density = _density(station)

    def read(rating: float | None, tap: str) -> float | None:
        if rating is None:
            return None
        return to_level(rating, level=heights.get(tap, 0.0), datum=0.0, density=density)

    yield from _acted(procedure)
    for node in procedure.nodes:
        if not {name.partition("@")[0].rpartition(".")[2] for name in node.proves} & set(TRIED):
            continue
        taps = {one.name: one.tap for one in node.inputs}
        wide = dict(_widths(node))
        edges = _edges(node)
        rating = rated.get(procedure.streams.get(node.id, ""))
        sets = _set_here(node, procedure)
        for name, band, beside in _tried(node, edges):
            bears = read(rating, taps.get(name, ""))
            edge = edges.get(name, edges.get(PEAK) if name in HELD else None)
            yield Trial(
                *(node.id, name, band, beside, edge, bears, wide.get(name)),
                sets=(ANYWAY if name == ENDED else sets) if name in HELD else (),
            )
        yield from _closing(node, procedure)
    yield from _alone(procedure, station, density)


def answers(procedure: Procedure) -> tuple[str, ...]:
    """Return the fields in words that no bare refusal answers: step and input."""
    return tuple(
        f"{node.id} {one.name}"
        for node in procedure.nodes
        for one in node.inputs
        if one.quantity == "text" and one.name in ANSWERS
    )


def _alone(procedure: Procedure, station: Station, density: float) -> Iterator[Trial]:
    """Yield what is read of consumers and inner sections, whatever is done: it may stand above no limit.

    After a trip how they were found is not asked for, up to the reset. A critical point above the datum goes
    by the limit at the datum: how far above it the gauge hung is not known.
    """
    listed = stops(procedure)
    ids = [node.id for node in procedure.nodes]
    first = min((ids.index(name) for name in listed), default=0)
    heights, inner = _heights(station), dict(_inner(procedure, station))
    normal = weakest_normal(component_limits(station, density))
    levels = [need.level.si - station.station.datum.si for need in station.needs]
    lowest = min(0.0, *levels) if levels else 0.0
    tops = {(one.step, one.input): one.high for one in ranges(procedure, station)}
    for node in procedure.nodes[first:]:
        banded = {one.input for one in node.expect}
        for one in node.inputs:
            if one.quantity != "pressure":
                continue
            limit = inner.get((procedure.streams.get(node.id, ""), one.tap))
            level = heights.get(one.tap, 0.0)
            if one.name.partition(".")[0] in SERVED:
                limit = None if normal is None else normal.normal_at_datum
                level = level if one.tap else lowest
            elif limit is None:
                continue
            edge = tops.get((node.id, one.name))
            if limit is not None:
                edge = to_level(limit, level=level, datum=0.0, density=density)
            if edge is not None and node.raises:
                edge = max(edge, _highest(procedure, node.id))
            if edge is not None:
                yield Trial(node.id, one.name, edge=edge, alone=one.name not in banded)


def _highest(procedure: Procedure, step: str) -> float:
    """Return the test limit of the outlet of a step's stream; 0: the plan has none. [Pa at datum]"""
    stream = procedure.streams.get(step, "")
    return procedure.limits.get(TEST_LIMIT + (f"@{stream}" if stream else ""), 0.0)


def _inner(procedure: Procedure, station: Station) -> Iterator[tuple[tuple[str, str], float]]:
    """Yield the test limit of each inner section by its stream and the taps on it. [Pa at datum]

    Of a step of the whole station the lowest of any stream.
    """
    found: dict[tuple[str, str], float] = {}
    several = [(view.id, view.station) for view in views(station)] if has_several(station) else []
    for stream, part in several or [("", station)]:
        for section in read_layout(part).sections:
            name = f"{TEST_LIMIT}_{section.name}" + (f"@{stream}" if stream else "")
            for tap in section.taps if name in procedure.limits else ():
                limit = procedure.limits[name]
                found[stream, tap.id] = limit
                found["", tap.id] = min(limit, found.get(("", tap.id), limit))
    yield from found.items()


def _acted(procedure: Procedure) -> Iterator[Trial]:
    """Yield the questions whether a shut-off acted where it is not to; in a restart that is a stop."""
    listed = stops(procedure)
    for node in procedure.nodes:
        if node.id not in listed and any(one.name == ACTED for one in node.inputs):
            yield Trial(node.id, ACTED, yes=True)


def stops(procedure: Procedure) -> tuple[str, ...]:
    """Return the steps at which a second trip is told; of a restart alone."""
    if procedure.kind != "restart":
        return ()
    return tuple(node.id for node in procedure.nodes if node.id.partition(".")[0].partition("@")[0] in STOPS)


def _closing(node: Node, procedure: Procedure) -> Iterator[Trial]:
    """Yield what is read of a closing and stands or falls with its run."""
    banded = {one.input for one in node.expect}
    names = {one.name for one in node.inputs}
    stream = node.id.partition(".")[2]
    ids = {one.id for one in procedure.nodes}

    def run(end: str) -> tuple[str, ...]:
        if f"{RUN}{end}" in names:
            return node.id, f"{RUN}{end}"
        first = f"{FIRST}.{stream}"
        return (first, RUN) if first in ids else ()

    for name in (one.name for one in node.inputs):
        base, _, number = name.partition(".")
        if base == TIMED and name in banded:
            yield Trial(node.id, name, name, run=run(f".{number}" if number else ""))
    climbs = dict(_climbs(node))
    if WATCHED in names and climbs:
        yield Trial(node.id, WATCHED, above=ENDED, by=climbs[WATCHED], run=run(""))
    if FLOWED in names:
        yield Trial(node.id, FLOWED, edge=0.0, run=run(""))


def _climbs(node: Node) -> Iterator[tuple[str, float]]:
    """Yield how far the outlet may rise once it is shut, by what the step speaks against. [Pa]"""
    rise = {"sub": [{"value": WATCHED}, {"value": ENDED}]}
    for one in node.otherwise:
        parts = one.when.get("gt") if isinstance(one.when, Mapping) else None
        if isinstance(parts, list | tuple) and parts[0] == rise and is_number(parts[1]):
            yield WATCHED, float(parts[1])


def _widths(node: Node) -> Iterator[tuple[str, float]]:
    """Yield the interval beyond which a run tells no trip, by the reading at its action. [Pa]"""
    for when in (*(one.when for one in node.otherwise), *(one.when for one in node.refuses)):
        parts = when.get("gt") if isinstance(when, Mapping) else None
        if not isinstance(parts, list | tuple) or not is_number(parts[1]):
            continue
        apart = parts[0].get("sub") if isinstance(parts[0], Mapping) else None
        if isinstance(apart, list | tuple) and isinstance(apart[0], Mapping):
            name = apart[0].get("value")
            if isinstance(name, str) and name.partition(".")[0] == RUN:
                yield name, float(parts[1])


def _set_here(node: Node, procedure: Procedure) -> tuple[str, ...]:
    """Return the choice and option by which a step sets the screw of what it tries; ``*``: it always does."""
    valve = node.id.partition(".")[2]
    if f"{valve}.setting" not in node.touches:
        return ()
    choice = f"{SET_AT}.{valve}"
    return (choice, SET) if any(one.id == choice for one in procedure.choices) else ANYWAY


def _tried(node: Node, edges: Mapping[str, float]) -> Iterator[tuple[str, str, str]]:
    """Yield the readings of a step that are trials, with the inputs of their band and of the last hold."""
    names = [one.name for one in node.inputs if one.quantity == "pressure"]
    banded = {one.input for one in node.expect}
    is_monitor = {*HELD, PEAK} <= set(names) and any(one.name == RESPONSE for one in node.inputs)
    for name in names:
        base, _, run = name.partition(".")
        end = f".{run}" if run else ""
        if base == RUN and f"{MIDDLE}{end}" in banded:
            yield name, f"{MIDDLE}{end}", f"{HOLD}{end}"
        elif name in banded and (name == CRACK or (is_monitor and name in HELD)):
            yield name, name, ""
        elif base in (RUN, PEAK, HOLD) and name in edges:
            yield name, "", ""


def _edges(node: Node) -> dict[str, float]:
    """Return the highest each reading may be, by what the step itself speaks against. [Pa]"""
    found: dict[str, float] = {}
    for when in (*(one.when for one in node.otherwise), *(one.when for one in node.refuses)):
        for name, edge in _most(when):
            found[name] = min(found.get(name, edge), edge)
    return found


def _most(when: Expression) -> Iterator[tuple[str, float]]:
    """Yield the readings that a predicate holds against a number they are not to pass."""
    parts = when.get("gt") if isinstance(when, Mapping) else None
    if not isinstance(parts, list | tuple) or not is_number(parts[1]) or not isinstance(parts[0], Mapping):
        return
    listed = parts[0].get("max", (parts[0],))
    for one in listed if isinstance(listed, list | tuple) else ():
        name = one.get("value") if isinstance(one, Mapping) else None
        if isinstance(name, str):
            yield name, float(parts[1])


def _heights(station: Station) -> dict[str, float]:
    """Return the height of each tap above the datum. [m]"""
    taps = (part for part in station.parts() if isinstance(part, Tap))
    return {tap.id: tap.height.si for tap in taps if tap.height is not None}


def _density(station: Station) -> float:
    return properties(station.water.temperature.si, STANDARD_ATMOSPHERE_PA).density


def _rated(station: Station) -> Iterator[tuple[str, float]]:
    """Yield the rating of the outlet of each stream, at the height of the datum, where one is stated. [Pa]"""
    density = _density(station)
    several = [(view.id, view.station) for view in views(station)] if has_several(station) else []
    for stream, part in (("", station), *several):
        weakest = weakest_normal(component_limits(part, density), OUTLET)
        if weakest is not None and weakest.normal_at_datum is not None:
            yield stream, weakest.normal_at_datum
