"""What the station card says of several streams: who leads, how each is isolated, what to do after a trip."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from steadyhead.records.design import DesignSheet
from steadyhead.records.parts import Branch, Drain, Parallel, Reducer, Relief, ShutOff, Tap
from steadyhead.records.plan_numbers import InletOpening, PlanNumbers
from steadyhead.records.station import Station
from steadyhead.reports.figures import turns
from steadyhead.reports.ladders import capital
from steadyhead.station.streams import View, isolating_valves, views
from steadyhead.units import UnitSet, say


def valves(station: Station) -> tuple[Reducer | ShutOff | Relief, ...]:
    """Return every reducer, shut-off and relief valve once, stream by stream."""
    parts = {part.id: part for part in station.parts() if isinstance(part, Reducer | ShutOff | Relief)}
    order = [part_id for view in views(station) for kind in (Reducer, ShutOff) for part_id in view.own
             if isinstance(parts[part_id], kind)]  # fmt: skip
    reliefs = [part_id for part_id, part in parts.items() if isinstance(part, Relief)]
    return tuple(parts[part_id] for part_id in dict.fromkeys((*order, *reliefs)))


def shut_offs(station: Station) -> tuple[ShutOff, ...]:
    """Return every shut-off once, stream by stream."""
    return tuple(part for part in valves(station) if isinstance(part, ShutOff))


def streams(
    station: Station, sheet: DesignSheet | None, numbers: PlanNumbers | None, units: UnitSet
) -> dict[str, Any]:
    """Return who leads, how each stream is isolated, its stopwatch window; empty for one way.

    Parameters
    ----------
    station
        The station file's record.
    sheet
        Its design sheet, for who leads; without one it is a blank.
    numbers
        For the inlet valve's opening of each stream.
    units
        Display units.
    """
    found = views(station)
    if len(found) < 2:
        return {"leads": [], "isolate": [], "watches": []}
    return {
        "leads": leads(sheet, units),
        "isolate": [_isolated(station, view, numbers) for view in found],
        "watches": list(_watches(station, units)),
    }


def leads(sheet: DesignSheet | None, units: UnitSet) -> list[list[str]]:
    """Return who carries the water from which flow on."""
    return [
        [
            "At no flow" if each.flow <= 0.0 else f"From {say(each.flow, 'flow', units)}",
            f"{' and '.join(each.carry) or 'none'}, outlet {say(each.outlet, 'pressure', units)}",
        ]
        for each in (sheet.handovers if sheet else ())
    ]


def _isolated(station: Station, view: View, numbers: PlanNumbers | None) -> list[str]:
    """Return name, valves to shut, its drain, and how far its inlet valve may stand open to refill."""
    shut = []
    for branch in view.branches.values():
        shut += [valve.id for valve in isolating_valves(station, branch) if valve is not None]
    taken = [branch for branch in branches_of(station) if branch.id in view.branches.values()]
    drains = [part.id for branch in taken for part in branch.line if isinstance(part, Drain)]
    own = numbers.streams.get(view.id) if numbers else None
    return [
        capital(view.words),
        " and ".join(dict.fromkeys(shut)) or "NO VALVES OF ITS OWN: take the station out",
        ", ".join(drains) or "none of its own",
        _opening(own.inlet_opening.values() if own else ()),
    ]


def branches_of(station: Station) -> Iterator[Branch]:
    """Yield every branch of a station, nested ones too."""
    for part in station.parts():
        if isinstance(part, Parallel):
            yield from part.branches


def _opening(openings: Iterable[InletOpening]) -> str:
    least = min(openings, key=lambda opening: opening.share, default=None)
    if least is None:
        return ""
    return f"{least.share * 100:.0f} %" if least.turns is None else f"{turns(least.turns)} turns"


def _watches(station: Station, units: UnitSet) -> Iterator[list[str]]:
    """Yield shut-off and what is known of its closing time."""
    for part in shut_offs(station):
        if part.closing is None:
            yield [part.id, "not yet measured"]
        else:
            at = f" at {say(part.closing.flow.si, 'flow', units)}" if part.closing.flow else ""
            yield [part.id, f"design {say(part.closing.time.si, 'time', units)}{at}"]


def restart(station: Station) -> list[str]:
    """Return what to do after a trip where each stream has a shut-off of its own; empty elsewhere."""
    found = [view for view in views(station) if any(_is_shut_off(view, valve) for valve in view.own)]
    if len(found) < 2:
        return []
    taps = ", ".join(part.id for part in views(station)[0].layout.main if isinstance(part, Tap))
    return [
        f"Do not reset yet. See which shut-off is shut. Read {taps} and the clock, write them down, "
        "call the desk.",
        "Take the stream that tripped out, as above. The other carries on only while its outlet "
        "reads in order: a reducer that stands open raises the outlet of both.",
        "Reset only when the desk agrees and the cause is known; its drain open, water seen; refill by "
        "trickle. Both tripped, or a second trip: stop, leave them shut.",
    ]


def _is_shut_off(view: View, valve: str) -> bool:
    return any(part.id == valve for part in view.layout.shut_offs)
