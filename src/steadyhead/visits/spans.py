"""Lengths of a line between the valves that act, with the taps, drains and other parts on them, by role.

An isolating valve that stands open between two valves does not part a length here; the sections of
`steadyhead.station.layout` do. Roles of taps between the valves: ``T2``, or ``T2a`` and ``T2b`` where three
valves stand in a row.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from steadyhead.records.parts import (
    CheckValve,
    Drain,
    ExpansionVessel,
    LinePart,
    Reducer,
    Relief,
    ShutOff,
    Tap,
)
from steadyhead.station.layout import Layout
from steadyhead.station.mechanics import drain_kv

BETWEEN = ("T2", "T2a", "T2b")
"""Roles a tap between the valves may have."""


@dataclass(frozen=True, slots=True)
class Span:
    """A length between two valves that act, or from the last of them to the outlet isolating valve.

    role: of its tap; above, below: ids of the parts at its ends; tap, drain: those that are used on it.
    """

    role: str
    above: str
    below: str
    tap: Tap | None
    drain: Drain | None
    parts: tuple[LinePart, ...]

    @property
    def reliefs(self) -> tuple[Relief, ...]:
        """Relief valves on this length."""
        return tuple(part for part in self.parts if isinstance(part, Relief))


def between(layout: Layout) -> tuple[Span, ...]:
    """Return the lengths between the valves that act, in walking order."""
    active = [i for i, part in enumerate(layout.main) if isinstance(part, Reducer | ShutOff)]
    roles = ("T2",) if len(active) <= 2 else ("T2a", "T2b")
    return tuple(
        _span(role, layout.main, a, b) for role, (a, b) in zip(roles, pairwise(active), strict=False)
    )


def outlet(layout: Layout) -> Span | None:
    """Return the length from the last valve that acts to the outlet isolating valve, or to the end."""
    active = [i for i, part in enumerate(layout.main) if isinstance(part, Reducer | ShutOff)]
    if not active:
        return None
    valve = layout.outlet_valve
    end = layout.main.index(valve) if valve is not None else len(layout.main)
    return _span("T3", layout.main, active[-1], end)


def _span(role: str, main: tuple[LinePart, ...], a: int, b: int) -> Span:
    parts = main[a + 1 : b]
    drains = [part for part in parts if isinstance(part, Drain)]
    return Span(
        role=role,
        above=main[a].id,
        below=main[b].id if b < len(main) else "",
        tap=next((part for part in parts if isinstance(part, Tap)), None),
        drain=max(drains, key=lambda drain: drain_kv(drain).si, default=None),
        parts=parts,
    )


def between_roles(layout: Layout) -> tuple[str, ...]:
    """Return the roles of the taps this station has between its valves."""
    return tuple(span.role for span in between(layout) if span.tap is not None)


def staged(layout: Layout) -> bool:
    """Return whether two reducers stand in series, each holding a section of its own."""
    return layout.pairing == "staged"


def monitored(layout: Layout) -> bool:
    """Return whether two reducers in series sense one tap: a monitor and a worker."""
    return layout.pairing == "monitor"


def stage(layout: Layout) -> Span | None:
    """Return the length between two reducers that each hold a section of their own."""
    return _below(layout, layout.reducers[0].id) if staged(layout) else None


def beside(layout: Layout) -> Span | None:
    """Return the length between the one shut-off and the reducer next to it."""
    shut_off = layout.shut_off
    if shut_off is None:
        return None
    if layout.shut_off_place == "upstream":
        return _below(layout, shut_off.id)
    return next((span for span in between(layout) if span.below == shut_off.id), None)


def _below(layout: Layout, part_id: str) -> Span | None:
    return next((span for span in between(layout) if span.above == part_id), None)


def worker(layout: Layout) -> Reducer:
    """Return the reducer that holds the outlet: the last, or of two that sense one tap the lower set."""
    if not monitored(layout):
        return layout.reducers[-1]
    return min(reversed(layout.reducers), key=lambda reducer: reducer.duty.pressure.si)


def monitor(layout: Layout) -> Reducer | None:
    """Return the reducer that stands wide open until the other one, which senses the same tap, fails."""
    if not monitored(layout):
        return None
    return next(reducer for reducer in layout.reducers if reducer is not worker(layout))


def judged(layout: Layout) -> tuple[Reducer, ...]:
    """Return the reducers that hold a section in normal running: all but a monitor."""
    return (worker(layout),) if monitored(layout) else layout.reducers


def role_of(layout: Layout, reducer_id: str) -> str:
    """Return the role of the tap at which a reducer's duty and lock-up are judged."""
    span = stage(layout)
    return span.role if span is not None and span.above == reducer_id else "T3"


def reduced(layout: Layout) -> frozenset[str]:
    """Return the roles between the valves at which a reduced pressure stands in normal running."""
    found = set()
    for span in between(layout):
        ahead = [r for r in judged(layout) if layout.position(r.id) <= layout.position(span.above)]
        if ahead:
            found.add(span.role)
    return frozenset(found)


def held(layout: Layout) -> Mapping[str, Span]:
    """Return the lengths between the valves that their own drain must hold, by name of the section.

    ``between``: behind the first of two reducers, or else behind the reducer ahead of a shut-off;
    ``between 2``: the latter where the former is there too.
    """
    spans = []
    if (first := stage(layout)) is not None:
        spans.append(first)
    if layout.shut_off_place == "downstream" and (second := beside(layout)) is not None:
        spans.append(second)
    return dict(zip(("between", "between 2"), spans, strict=False))


def reliefs(layout: Layout) -> tuple[Relief, ...]:
    """Return the relief valves on the outlet section, ahead of the outlet isolating valve."""
    span = outlet(layout)
    return span.reliefs if span is not None else ()


def check_ahead_of_consumers(layout: Layout) -> CheckValve | None:
    """Return the check valve behind the test drain that keeps consumer water from running back."""
    span = outlet(layout)
    if span is None:
        return None
    drain = layout.position(span.drain.id) if span.drain is not None else layout.position(span.above)
    return next((part for part in layout.check_valves if layout.position(part.id) > drain), None)


def vessels(layout: Layout) -> tuple[ExpansionVessel, ...]:
    """Return the expansion vessels behind the last valve that acts."""
    span = outlet(layout)
    last = layout.position(span.above) if span is not None else -1
    return tuple(part for part in layout.vessels if layout.position(part.id) > last >= 0)
