"""Relief valves on the outlet: which lift first, how far off they may be, and what limits the test then."""

from __future__ import annotations

from steadyhead.design import defaults as dd
from steadyhead.records.parts import Relief
from steadyhead.station import defaults as sd
from steadyhead.station.layout import Layout
from steadyhead.station.mechanics import relief_full
from steadyhead.visits.spans import reliefs


def relief_error(relief: Relief) -> float:
    """Return how far the crack of a relief valve may lie from where it is stated. [Pa]"""
    if relief.error is not None:
        return relief.error.si
    return max(dd.RELIEF_ERROR.si, dd.RELIEF_ERROR_SHARE.si * relief.crack.si)


def relief_reseat(relief: Relief) -> float:
    """Return the falling pressure at which a relief valve is shut again: stated, else by default. [Pa]"""
    if relief.reseat is not None:
        return relief.reseat.si
    return relief.crack.si * (1.0 - sd.RELIEF_BLOWDOWN.si)


def lifts_first(layout: Layout) -> tuple[Relief, ...]:
    """Return the relief valves on the outlet that lift before the shut-off trips."""
    shut_off = layout.shut_off
    if shut_off is None or shut_off.trip is None:
        return ()
    return tuple(relief for relief in reliefs(layout) if relief.crack.si < shut_off.trip.si)


def lifts_late(layout: Layout) -> tuple[Relief, ...]:
    """Return the relief valves on the outlet that a rising pressure reaches after the trip only."""
    first = lifts_first(layout)
    return () if layout.shut_off is None else tuple(one for one in reliefs(layout) if one not in first)


def stands_in(layout: Layout) -> tuple[Relief, ...]:
    """Return the relief valves that protect the outlet in place of a shut-off."""
    return reliefs(layout) if not layout.shut_offs else ()


def full_lift(relief: Relief) -> float:
    """Return the most at which a relief valve stands wide open, its error added. [Pa at datum]"""
    return relief_full(relief).si + relief_error(relief)


def pump_stop(layout: Layout) -> float | None:
    """Return the lowest pressure at which a relief valve may lift; None without one on the outlet. [Pa]"""
    return min((one.crack.si - relief_error(one) for one in reliefs(layout)), default=None)
