"""The channels about one event, as the table of signatures looks at them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steadyhead.records.logger import Context
from steadyhead.watch.defects.saying import value
from steadyhead.watch.happening.believing import Scene
from steadyhead.watch.happening.event import Event
from steadyhead.watch.incident import defaults as limits
from steadyhead.watch.incident.incident import Clause
from steadyhead.watch.incident.signs import Shown, Span, shown


@dataclass(frozen=True, slots=True)
class Seen:
    """The channels about one event, and what is known beside."""

    scene: Scene
    span: Span
    context: Context
    zone: str
    told: frozenset[Event]
    """Events told within the days about it."""
    inlet: Shown | None
    outlet: Shown | None
    flow: Shown | None
    travel: Shown | None


def seen_of(scene: Scene, span: Span, context: Context, zone: str, told: frozenset[Event]) -> Seen:
    """Return what the signs are looked for in."""
    usual = float(np.median(scene.flow.v)) if scene.flow is not None else 0.0
    return Seen(
        scene, span, context, zone, told,
        shown(scene.inlet, span, limits.LEAVES.si),
        shown(scene.outlet, span, limits.LEAVES.si),
        shown(scene.flow, span, limits.FLOW_RISES.si * usual),
        shown(scene.travel, span, limits.OPENS.si),
    )  # fmt: skip


def unknown(sign: str, what: str) -> Clause:
    """Return a sign that the record cannot show, for want of a channel."""
    return Clause(sign, None, f"no {what} is recorded about it")


def said_flow(s: Seen, si: float) -> str:
    """Return a flow in words."""
    return value(s.flow.one, si) if s.flow is not None else ""
