"""What the station card says of several streams: who leads, how each is isolated, what closes how fast."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf
from typing import Any

from steadyhead.design.window_checks import asked, caveat
from steadyhead.records.design import DesignSheet
from steadyhead.records.parts import Reducer, Relief, ShutOff
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.protection import NeedleWindow
from steadyhead.records.station import Station
from steadyhead.reports import card_restart
from steadyhead.reports.figures import turns
from steadyhead.reports.ladders import capital
from steadyhead.reports.protection_tables import edges
from steadyhead.station.layout import Layout
from steadyhead.station.streams import View, isolating_valves, views
from steadyhead.units import UnitSet, say
from steadyhead.visits.several.ways import ways_of_visit

NOT_PROVED = "none: not proved tight, treat it as alive"


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
        return {"leads": [], "isolate": [], "isolate_title": "", "watches": [], "back_in": ""}
    alone = any(card_restart.stands_alone(station, view) for view in found)
    return {
        "leads": leads(sheet, units),
        "isolate_title": "To take one stream out" if alone else "Valves and drain of each stream",
        "isolate": [_isolated(station, view, numbers) for view in found],
        "watches": list(_watches(station, sheet, units)),
        "back_in": _back_in(station, found),
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
    """Return name, valves to shut in order, its drain, and how far its inlet valve may stand open to refill.

    The opening holds for this stream alone, so it is left blank where another cannot be shut off.
    """
    shut = []
    for branch in view.branches.values():
        shut += [valve.id for valve in isolating_valves(station, branch) if valve is not None]
    alone = all(None not in isolating_valves(station, branch) for branch in view.beside)
    own = numbers.streams.get(view.id) if numbers and alone else None
    drains = card_restart.own_drains(station, view)
    whole = card_restart.isolable(station, view)
    layout = _tested(station, view, numbers)
    at_most = opening(layout, own)
    inlet = layout.inlet_valve
    shared = at_most and (inlet is None or inlet.id not in shut)
    taken = card_restart.stands_alone(station, view)
    return [
        capital(view.words),
        _shut(list(dict.fromkeys(shut)), whole),
        ", ".join(drains) if drains and whole else NOT_PROVED,
        f"{'' if taken else 'station out, '}{at_most}, the others shut" if shared else at_most,
    ]


def _back_in(station: Station, found: tuple[View, ...]) -> str:
    """Return how a stream that is out comes back: alone with all of its own, else with the station."""
    bound = [view for view in found if not card_restart.stands_alone(station, view)]
    if not bound:
        return (
            "The other stays in service and alive: tell the desk which one is out. Back in: the outlet valve "
            "first, then the inlet valve, slowly; read the outlet."
        )
    every = len(bound) == len(found)
    named = "No stream here" if every else "Not alone: " + card_restart.listed(view.words for view in bound)
    return (
        f"{named}{' is taken out alone' if every else ''}: shut-off, drain or valves are shared. Tell "
        "the desk: the whole station goes out first, and comes back one stream at a time, as after a trip."
    )


def _tested(station: Station, view: View, numbers: PlanNumbers | None) -> Layout:
    """Return the line between the valves for which the figures of a stream are worked out."""
    if numbers is None or numbers.together is None:
        return view.layout
    ways = ways_of_visit(station, numbers.together.mode).ways
    return next((way.layout for way in ways if way.view.id == view.id), view.layout)


def _shut(valves: list[str], whole: bool) -> str:
    if whole:
        return ", then ".join(valves)
    found = f"{card_restart.listed(valves)} ONLY" if valves else "NO VALVES OF ITS OWN"
    return f"{found}: take the station out"


def opening(layout: Layout, numbers: PlanNumbers | None) -> str:
    """Return the smallest opening of a line's inlet valve at which every section is held by its drain.

    Empty where it is not worked out.
    """
    openings = list(numbers.inlet_opening.values()) if numbers and layout.inlet_valve else []
    least = min(openings, key=lambda each: each.share, default=None)
    if least is None or layout.inlet_valve is None:
        return ""
    if least.share >= 1.0:
        return f"{layout.inlet_valve.id} fully open"
    if least.turns is None:
        return f"{layout.inlet_valve.id} to {least.share * 100:.0f} % of its travel"
    return f"{layout.inlet_valve.id} to {turns(least.turns)} turns"


def window_of(sheet: DesignSheet | None, part: ShutOff) -> NeedleWindow | None:
    """Return the window of a shut-off's closing time that can be set, the narrowest of its ways."""
    found = [one.window for one in (sheet.protection if sheet else ()) if one.shut_off == part.id]
    if not found or any(one.state not in ("open", "no trip") for one in found):
        return None
    known = [one for one in found if one.state == "open"]
    return min(known, key=lambda one: one.ratio or inf, default=None)


def stroke_words(window: NeedleWindow, units: UnitSet) -> str:
    """Return the state a window by stopwatch belongs to."""
    stroke = window.stroke
    flow = say(stroke.flow, "flow", units)
    ahead, behind = (say(one, "pressure", units) for one in (stroke.inlet, stroke.outlet))
    return f"timed at {flow}, {ahead} ahead, {behind} behind"


def caveat_of(sheet: DesignSheet | None, window: NeedleWindow) -> str:
    """Return what a window is printed with while questions of the proof are open, after a semicolon."""
    told = caveat(window, asked(sheet.findings if sheet else ()))
    return f"; {told}" if told else ""


def is_empty(sheet: DesignSheet | None, part: ShutOff) -> bool:
    """Return whether no closing time of a shut-off holds every limit."""
    proofs = sheet.protection if sheet else ()
    return any(one.shut_off == part.id and one.window.state == "empty" for one in proofs)


def stopwatch_edges(sheet: DesignSheet | None, parts: Sequence[ShutOff]) -> tuple[str, str]:
    """Return from and to of the first shut-off's window by stopwatch; empty where none is known."""
    return edges(window_of(sheet, parts[0])) if parts else ("", "")


def _watches(station: Station, sheet: DesignSheet | None, units: UnitSet) -> Iterator[list[str]]:
    """Yield shut-off, what is known of its closing time, and its window by stopwatch: from, to."""
    for part in shut_offs(station):
        window = window_of(sheet, part)
        says = "not yet measured"
        if part.closing is not None:
            at = f" at {say(part.closing.flow.si, 'flow', units)}" if part.closing.flow else ""
            says = f"design {say(part.closing.time.si, 'time', units)}{at}"
        state = ""
        if window is not None:
            state = f"; window {stroke_words(window, units)}{caveat_of(sheet, window)}"
        yield [part.id, f"{says}{state}", *edges(window)]
