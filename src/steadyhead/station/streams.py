"""Take a station with several streams apart: each way a station of one line, the others isolated."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import zip_longest

from steadyhead.records.parts import Branch, IsolatingValve, LinePart, Parallel, Reducer, ShutOff, flat
from steadyhead.records.station import Station
from steadyhead.station.layout import FIRST, Layout, read_layout, ways_of


@dataclass(frozen=True, slots=True)
class View:
    """One way through a station, as a station of its own.

    Parameters
    ----------
    id
        The branches that make the way, joined by ``+``; empty where the station has one way only.
    role
        ``main``, ``duty``, ``standby`` or ``low flow``: the last in that order of the branches taken; of
        all streams together `ALL`.
    branches
        Branch taken in each group, by group id.
    station
        The station with only this way; the very same record where there is no other way.
    layout
        Its layout: one line, never ``several streams``.
    own
        Reducers and shut-offs met on this way and on none before it, in walking order.
    shared
        Reducers and shut-offs on this way that an earlier way has too.
    beside
        Branches of the groups on this way that it does not take, manual bypasses left out.
    """

    id: str
    role: str
    branches: Mapping[str, str]
    station: Station
    layout: Layout
    own: tuple[str, ...]
    shared: tuple[str, ...]
    beside: tuple[str, ...]

    @property
    def words(self) -> str:
        """The way in words; empty where there is only one."""
        if self.role == ALL:
            return "all streams together"
        return stream_words(self.role, self.id) if self.id else ""


TOGETHER = "together"
"""Id of the view of all streams together."""
ALL = "all"


def together(station: Station) -> View | None:
    """Return a station of several streams as it runs, all of them at once; None where there is one way.

    Branches locked shut are gone, manual bypasses too. None where a stream holds several streams again. Of
    its layout only the isolating valves of the line are read; those of a stream are none of the station's.
    """
    line = tuple(_unlocked(station.line))
    groups = [part for part in line if isinstance(part, Parallel)]
    inner = (part for group in groups for branch in group.branches for part in branch.line)
    if not groups or any(isinstance(part, Parallel) and len(ways_of(part)) > 1 for part in inner):
        return None
    whole = station.model_copy(update={"line": line})
    layout = replace(
        read_layout(whole), inlet_valve=_first_valve(line), outlet_valve=_first_valve(tuple(reversed(line)))
    )
    valves = tuple(part.id for part in flat(line) if isinstance(part, Reducer | ShutOff))
    return View(TOGETHER, ALL, {}, whole, layout, valves, (), ())


def _unlocked(line: tuple[LinePart, ...]) -> Iterator[LinePart]:
    """Yield a line with the branches that run; a group of which one is left in line."""
    for part in line:
        if not isinstance(part, Parallel):
            yield part
            continue
        running = tuple(branch for branch in ways_of(part) if not branch.locked_shut)
        if len(running) > 1:
            yield part.model_copy(update={"branches": running})
        else:
            for branch in running or tuple(ways_of(part))[:1]:
                yield from branch.line


def stream_words(role: str, name: str) -> str:
    """Return a stream in words; its id only where that is not a word of the role already.

    Examples
    --------
    >>> stream_words("duty", "A"), stream_words("low flow", "low"), stream_words("main", "main")
    ('duty stream A', 'low-flow stream', 'main stream')
    """
    words = f"{role.replace(' ', '-')} stream"
    return words if name.casefold() in (role, *role.split()) else f"{words} {name}"


def views(station: Station) -> tuple[View, ...]:
    """Return the ways through a station, each branch on at least one: main and duty first, low flow last.

    A station of one way gives one view that is the station itself. On each way the branches beside it are
    gone, as if isolated and tight; manual bypasses stay. Never fails.
    """
    choices = list(_choices(station.line))
    choices.sort(key=lambda choice: FIRST.index(_role(station.line, choice)))
    seen: set[str] = set()
    found = []
    for choice in choices:
        one = station if len(choices) == 1 else _only(station, choice)
        valves = [part.id for part in flat(one.line) if isinstance(part, Reducer | ShutOff)]
        found.append(
            View(
                id="+".join(choice.values()) if len(choices) > 1 else "",
                role=_role(station.line, choice),
                branches=choice,
                station=one,
                layout=read_layout(one),
                own=tuple(valve for valve in valves if valve not in seen),
                shared=tuple(valve for valve in valves if valve in seen),
                beside=tuple(_beside(station.line, choice)),
            )
        )
        seen.update(valves)
    return tuple(found)


def isolating_valves(station: Station, branch_id: str) -> tuple[IsolatingValve | None, IsolatingValve | None]:
    """Return the valves that isolate a branch at its upstream and its downstream end; None where missing.

    A valve counts where no reducer or shut-off stands between it and that end.
    """
    branch = next((b for b in _branches(station.line) if b.id == branch_id), None)
    if branch is None:
        return None, None
    return _first_valve(branch.line), _first_valve(tuple(reversed(branch.line)))


def _first_valve(line: tuple[LinePart, ...]) -> IsolatingValve | None:
    for part in line:
        if isinstance(part, IsolatingValve):
            return part
        if isinstance(part, Reducer | ShutOff | Parallel):
            return None
    return None


def _branches(line: tuple[LinePart, ...]) -> Iterator[Branch]:
    for group in (part for part in line if isinstance(part, Parallel)):
        for branch in group.branches:
            yield branch
            yield from _branches(branch.line)


def _choices(line: tuple[LinePart, ...]) -> Iterator[dict[str, str]]:
    """Yield choices of a branch in each group that meet every branch, the others at their first."""
    groups = [list(_choices_of(part)) for part in line if isinstance(part, Parallel) and ways_of(part)]
    if not groups:
        yield {}
        return
    for row in zip_longest(*groups):
        choice: dict[str, str] = {}
        for one, all_ways in zip(row, groups, strict=True):
            choice |= all_ways[0] if one is None else one
        yield choice


def _choices_of(group: Parallel) -> Iterator[dict[str, str]]:
    for branch in sorted(ways_of(group), key=lambda b: FIRST.index(b.role)):
        for inside in _choices(branch.line):
            yield {group.id: branch.id, **inside}


def _role(line: tuple[LinePart, ...], choice: Mapping[str, str]) -> str:
    taken = {branch.id: branch.role for branch in _branches(line) if branch.id in choice.values()}
    return max(taken.values(), key=FIRST.index, default="main")


def _beside(line: tuple[LinePart, ...], choice: Mapping[str, str]) -> Iterator[str]:
    for group in (part for part in line if isinstance(part, Parallel)):
        for branch in ways_of(group):
            if branch.id != choice.get(group.id):
                yield branch.id
            else:
                yield from _beside(branch.line, choice)


def _only(station: Station, choice: Mapping[str, str]) -> Station:
    return station.model_copy(update={"line": tuple(_way(station.line, choice))})


def _way(line: tuple[LinePart, ...], choice: Mapping[str, str]) -> Iterator[LinePart]:
    for part in line:
        if not isinstance(part, Parallel) or part.id not in choice:
            yield part
            continue
        taken = next(b for b in part.branches if b.id == choice[part.id])
        inside = tuple(_way(taken.line, choice))
        bypasses = tuple(b for b in part.branches if b.role == "manual bypass")
        if bypasses:
            main = taken.model_copy(update={"line": inside, "role": "main"})
            yield part.model_copy(update={"branches": (main, *bypasses)})
        else:
            yield from inside
