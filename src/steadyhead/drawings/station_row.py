"""The line of a station in a list: inlet, duty, alarm, trip and limit on the one rule of all stations.

Lengths are shares of the width, so that one drawing fits every screen while its lettering keeps its size; the
small shapes are drawn once for the whole list (`row_shapes`). Labels stand as ``{0}`` and ``{1}``: they are
filled in with the figures of `RowDrawing.labels` in the reader's units.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

TOP = 16e5
"""Upper end of the rule of all stations. [Pa]"""
STEP = 2e5
"""From one stroke of the rule to the next. [Pa]"""
LEFT, SPAN = 9.0, 80.0
"""Where the rule begins, and how long it is. [% of the width]"""
BEYOND = 3.0
"""How far a bar goes on past the rule where its pressure does. [% of the width]"""
FIGURE, HATCH = 7.0, 3.4
"""Room for a figure, and for the hatch of a limit. [% of the width]"""
HEIGHT, AXIS = 48, 24
"""Height of the drawing and of its line. [px]"""


@dataclass(frozen=True, slots=True)
class RowFacts:
    """What the line of a station shows. Pressures Pa gauge at datum; None: not stated.

    inlet: lowest, typical, highest static; duty: what the outlet is held at; read: last reading of the
    outlet, shown with a ring; is_down: tripped or shut, the line ends in the blade; is_known: whether it
    stands as drawn as far as anybody knows, else the line is dotted.
    """

    inlet: tuple[float, float, float]
    duty: float | None
    alarm: float | None = None
    trip: float | None = None
    limit: float | None = None
    read: float | None = None
    is_down: bool = False
    is_known: bool = True


@dataclass(frozen=True, slots=True)
class RowDrawing:
    """The drawing with places for its labels, and the pressures [Pa] they tell."""

    svg: str
    labels: tuple[float, ...]


def place_of(pressure: float) -> float:
    """Return where a pressure [Pa] stands on the rule. [% of the width]"""
    return LEFT + SPAN * min(max(pressure, 0.0), TOP) / TOP


def draw_row(facts: RowFacts) -> RowDrawing:
    """Return the line of a station; the same facts give the same bytes."""
    outlet = facts.duty if facts.read is None else facts.read
    labels = (facts.inlet[2],) if outlet is None else (facts.inlet[2], outlet)
    shapes = "".join((*_inlet(facts), *_walls(facts), *_line(facts, outlet)))
    svg = (
        f'<svg class="row-line" width="100%" height="{HEIGHT}" aria-hidden="true" focusable="false">'
        f'<use href="#row-rule"/>{shapes}</svg>'
    )
    return RowDrawing(svg, labels)


def row_shapes() -> str:
    """Return the shapes all rows are drawn with, once for a page."""
    strokes = "".join(
        f'<line x1="{_at(step * STEP)}" x2="{_at(step * STEP)}" y1="0" y2="{HEIGHT}"/>'
        for step in range(round(TOP / STEP) + 1)
    )
    return (
        '<svg class="row-shapes" width="0" height="0" aria-hidden="true" focusable="false">'
        f'<g id="row-rule" class="row-grid">{strokes}</g>'
        '<g id="row-limit"><path class="row-hatch" d="M0-8L7-15M0 0L12-12M0 8L12-4M0 16L12 4M7 16L12 11"/>'
        '<path class="row-wall" d="M0-16V16"/></g>'
        '<path id="row-trip" class="row-trip" d="M0-15V15"/>'
        '<path id="row-alarm" class="row-alarm" d="M0-13V13"/>'
        '<path id="row-usual" class="row-ink" d="M0-9V9"/>'
        '<path id="row-arrow" class="row-grade" d="M14-5L6 0L14 5"/>'
        '<circle id="row-ring" class="row-ring" r="5"/>'
        '<path id="row-duty" class="row-duty" d="M0-7V7"/>'
        '<path id="row-blade" class="row-blade" d="M-7-9H7L0 5Z"/>'
        '<path id="row-cut" class="row-cut" d="M-3 8L0 2L-3-2L0-8M2 8L5 2L2-2L5-8"/></svg>'
    )


def row_rule(figures: Sequence[str]) -> str:
    """Return the head of the rule: a figure over each stroke, in the reader's units, from 0 up."""
    strokes = "".join(
        f'<text class="row-scale" x="{_at(step * STEP)}" y="14">{escape(figure)}</text>'
        f'<line class="row-ink-fine" x1="{_at(step * STEP)}" x2="{_at(step * STEP)}" y1="20" y2="28"/>'
        for step, figure in enumerate(figures)
    )
    return (
        f'<svg class="row-head" width="100%" height="28" aria-hidden="true" focusable="false">{strokes}</svg>'
    )


def row_key() -> str:
    """Return how a row is read: one line with a word at each of its marks."""
    facts = RowFacts((8.4e5, 10.6e5, 11.8e5), 4.0e5, alarm=4.8e5, trip=5.3e5, limit=6.4e5, read=4.0e5)
    words = (
        ("duty, ringed where read", 4.0e5, 66, "end"),
        ("alarm", 4.8e5, 84, "end"),
        ("trip", 5.3e5, 66, "start"),
        ("pipes bear", 6.4e5, 84, "start"),
        ("inlet, least", 8.4e5, 66, "middle"),
        ("usual", 10.6e5, 84, "middle"),
        ("no flow", 11.8e5, 66, "start"),
    )
    told = "".join(
        f'<line class="row-ink-fine" x1="{_at(pressure)}" x2="{_at(pressure)}" y1="{HEIGHT - 4}" '
        f'y2="{y - 14}"/><text class="row-scale {anchor}" x="{_at(pressure)}" y="{y}">{word}</text>'
        for word, pressure, y, anchor in words
    )
    shapes = (
        "".join((*_inlet(facts), *_walls(facts), *_line(facts, 4.0e5))).replace("{0}", "").replace("{1}", "")
    )
    return (
        '<svg class="row-line row-key" width="100%" height="92" role="img" aria-label="A row from left to '
        "right: duty or last reading, alarm, trip, what the pipes bear, inlet from least over usual to no "
        f'flow.">{shapes}{told}</svg>'
    )


def _at(pressure: float) -> str:
    return f"{place_of(pressure):.4g}%"


def _use(shape: str, pressure: float, y: int = AXIS) -> str:
    return f'<use href="#row-{shape}" x="{_at(pressure)}" y="{y}"/>'


def _inlet(facts: RowFacts) -> Iterator[str]:
    low, usual, high = facts.inlet
    start, beyond = place_of(low), high > TOP
    end = place_of(high) + (BEYOND if beyond else 0.0)
    yield (
        f'<rect class="row-water" x="{start:.4g}%" y="{AXIS - 5}" width="{max(end - start, 0.5):.4g}%" '
        'height="10"/>'
    )
    if usual <= TOP:
        yield _use("usual", usual)
    if beyond:
        yield f'<use href="#row-cut" x="{end - 1.4:.4g}%" y="{AXIS}"/>'
    if _is_near(facts.limit, end):
        yield f'<text class="row-said end" x="{end:.4g}%" y="{AXIS - 8}">{{0}}</text>'
    else:
        yield f'<text class="row-said" x="{end + 1.2:.4g}%" y="{AXIS + 5}">{{0}}</text>'


def _is_near(limit: float | None, end: float) -> bool:
    """Return whether a limit stands where the figure of the inlet would; it then goes over its bar."""
    return limit is not None and limit <= TOP and end - HATCH < place_of(limit) < end + FIGURE


def _walls(facts: RowFacts) -> Iterator[str]:
    for shape, pressure in (("limit", facts.limit), ("trip", facts.trip), ("alarm", facts.alarm)):
        if pressure is not None and pressure <= TOP:
            yield _use(shape, pressure)


def _line(facts: RowFacts, outlet: float | None) -> Iterator[str]:
    """Yield the pressure line from the inlet down to the outlet, or to the blade that stopped it."""
    if outlet is None:
        return
    stop = outlet
    if facts.is_down and facts.trip is not None:
        stop = facts.trip
    kind = "row-grade" if facts.is_known or facts.is_down else "row-grade row-dotted"
    start, end = place_of(stop), place_of(facts.inlet[0])
    yield f'<line class="{kind}" x1="{start:.4g}%" x2="{end:.4g}%" y1="{AXIS}" y2="{AXIS}"/>'
    if facts.is_down:
        yield _use("blade", stop)
    else:
        yield _use("arrow", outlet)
    yield _use("duty" if facts.read is None else "ring", outlet)
    yield f'<text class="row-told" x="{place_of(outlet):.4g}%" dx="-11" y="{AXIS + 5}">{{1}}</text>'
