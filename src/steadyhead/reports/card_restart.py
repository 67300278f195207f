"""What the station card says to do after a trip where several streams meet on one outlet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from steadyhead.records.parts import (
    Branch,
    Drain,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    ShutOff,
    Tap,
)
from steadyhead.records.station import Station
from steadyhead.reports.ladders import capital
from steadyhead.station.layout import ways_of
from steadyhead.station.streams import View, isolating_valves, views

HEATERS = "Heaters off and seen off first."
"""Water that is heated while it is shut in has nothing that takes up what it expands."""
_OFF_SITE = ("supply", "inlet", "consumer")


def restart(station: Station, opening: bool = True) -> list[str]:
    """Return what to do after a trip, or at too high an outlet, step by step; empty for one way.

    A stream is taken out alone only where its shut-off, valves at both ends and a drain are its own.
    Everywhere else the whole outlet is shut off first: a drain on a live header holds nothing.

    Parameters
    ----------
    station
        The station file's record.
    opening
        Whether the inlet valve's opening is worked out for each stream.
    """
    found = views(station)
    if len(found) < 2:
        return []
    taps = ", ".join(part.id for part in station.parts() if isinstance(part, Tap))
    read = f"Read {taps} and the clock, write them down, call the desk." if taps else "Call the desk."
    if not any(view.layout.shut_offs for view in found):
        return _nothing_shuts(station, found, read)
    if all(stands_alone(station, view) for view in found if view.layout.shut_offs):
        return _one_out(found, read)
    return [
        f"Do not reset yet. {read}",
        " ".join(_held(station, found, opening)),
        "Reset only when the desk agrees and the cause is known; refill by trickle. The other streams come "
        "back last, one by one. Second trip: stop, leave it shut.",
    ]


def stands_alone(station: Station, view: View) -> bool:
    """Say whether a stream has its shut-offs to itself, valves at both ends and a drain between them."""
    inside = {part.id for branch in taken(station, view) for part in branch.line}
    valves = [part.id for part in view.layout.shut_offs]
    return set(valves) <= inside and isolable(station, view) and bool(own_drains(station, view))


def isolable(station: Station, view: View) -> bool:
    """Say whether every branch of a stream has isolating valves at both ends."""
    return all(None not in isolating_valves(station, branch) for branch in view.branches.values())


def own_drains(station: Station, view: View) -> list[str]:
    """Return the drains of a stream that can be held between its own isolating valves."""
    return [part.id for branch in taken(station, view) for part in branch.line if isinstance(part, Drain)]


def taken(station: Station, view: View) -> list[Branch]:
    """Return the branches a way takes, nested ones too."""
    return [branch for branch in branches_of(station) if branch.id in view.branches.values()]


def branches_of(station: Station) -> Iterator[Branch]:
    """Yield every branch of a station, nested ones too."""
    for part in station.parts():
        if isinstance(part, Parallel):
            yield from part.branches


def _one_out(found: Sequence[View], read: str) -> list[str]:
    bare = [capital(view.words) for view in found if not view.layout.shut_offs]
    unguarded = f" {listed(bare)}: nothing there shuts by itself." if bare else ""
    return [
        f"See which shut-off is shut. Do not reset yet. {read}",
        "Take the stream that tripped out, as above. The other carries on only while its outlet "
        f"reads in order: a reducer that stands open raises the outlet of both.{unguarded}",
        "Reset only when the desk agrees and the cause is known: the stream shut off from the header, its "
        "inlet valve as above, its drain open, water seen; refill by trickle. "
        "Both tripped, or a second trip: stop, leave them shut.",
    ]


def _nothing_shuts(station: Station, found: Sequence[View], read: str) -> list[str]:
    inlet = _common(station.line)
    shut = [inlet.id] if inlet else _ends(station, found, 0)
    where = f"shut {listed(shut)} slowly, the last turns slowest" if shut else "have the feed shut"
    return [
        f"Nothing here shuts by itself. {read}",
        f"Outlet above its limit: {where}. The zone loses this feed.",
        "Open again only when the cause is known and the desk agrees.",
    ]


def _held(station: Station, found: Sequence[View], opening: bool) -> Iterator[str]:
    """Say how the outlet is shut off and held before a reset."""
    if station.hot_water is not None:
        yield HEATERS
    outlet = _common(tuple(reversed(station.line)))
    ends = [] if outlet else _ends(station, found, 1)
    closed = outlet is not None or len(ends) >= len(found)
    yield f"Shut {listed([outlet.id] if outlet else ends)}." if closed else _NO_OUTLET
    yield from bypasses_shut(station)
    inlet = next((view.layout.inlet_valve.id for view in found if view.layout.inlet_valve), "the inlet valve")
    if sum(not isolable(station, view) for view in found) > 1:
        yield f"These streams refill together: {inlet} to ____ turns."
    else:
        yield "Shut all streams but one at both ends, as above."
        yield (
            "Its inlet valve no further open than stated there."
            if opening
            else "Its inlet valve to ____ turns."
        )
    drains = list(dict.fromkeys(_drains(found, frozenset(ends))))
    yield f"{listed(drains)} open, water seen." if drains and closed else "No drain holds it: do not reset."


_NO_OUTLET = "No valve here shuts the outlet off: have the zone shut."


def bypasses_shut(station: Station) -> Iterator[str]:
    """Yield a sentence for each manual bypass, by the valve that shuts it."""
    for branch in branches_of(station):
        if branch.role == "manual bypass":
            valves = [part.id for part in branch.line if isinstance(part, IsolatingValve)]
            yield f"See that bypass {listed(valves or [branch.id])} is shut."


def _drains(found: Sequence[View], behind: frozenset[str]) -> Iterator[str]:
    """Yield the drains between the valves and the outlet's shut end, the outlet's first."""
    for view in found:
        for section in reversed(view.layout.sections):
            if section.name not in _OFF_SITE and section.above not in behind:
                yield from (drain.id for drain in section.drains)


def _ends(station: Station, found: Sequence[View], end: int) -> list[str]:
    """Return the isolating valve of each stream at its upstream (0) or downstream (1) end."""
    valves = (isolating_valves(station, branch)[end] for view in found for branch in view.branches.values())
    return list(dict.fromkeys(valve.id for valve in valves if valve is not None))


def _common(line: Sequence[LinePart]) -> IsolatingValve | None:
    """Return the first isolating valve met before anything holds or the line splits into streams."""
    for part in line:
        if isinstance(part, IsolatingValve):
            return part
        if isinstance(part, Reducer | ShutOff) or (isinstance(part, Parallel) and ways_of(part)):
            return None
    return None


def listed(items: Iterable[str]) -> str:
    """Return ids as a list in words.

    Examples
    --------
    >>> listed(["TD", "TD2", "TDA"])
    'TD, TD2 and TDA'
    """
    *most, last = items
    return f"{', '.join(most)} and {last}" if most else last
