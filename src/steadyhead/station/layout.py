"""Read the layout out of a line: which valves in which order, which sections between them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from steadyhead.records.parts import (
    Branch,
    CheckValve,
    Drain,
    ExpansionVessel,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    Relief,
    ShutOff,
    Strainer,
    Tap,
    Vent,
)
from steadyhead.records.station import Station

Code = Literal[
    "reducer alone",
    "shut-off upstream",
    "shut-off downstream",
    "two reducers in series",
    "two reducers in series, shut-off upstream",
    "two reducers in series, shut-off downstream",
    "monitor and reducer",
    "monitor and reducer, shut-off upstream",
    "monitor and reducer, shut-off downstream",
    "several streams",
    "not yet covered",
]
CHAINS: tuple[Code, ...] = (
    "reducer alone",
    "shut-off upstream",
    "shut-off downstream",
    "two reducers in series",
    "two reducers in series, shut-off upstream",
    "two reducers in series, shut-off downstream",
    "monitor and reducer",
    "monitor and reducer, shut-off upstream",
    "monitor and reducer, shut-off downstream",
)
"""Layouts of one line."""
COVERED: tuple[Code, ...] = (*CHAINS, "several streams")
"""Layouts whose ladder and sizing can be worked out; of several streams each way must be one of `CHAINS`."""
Place = Literal["upstream", "between", "downstream", "none"]
Pairing = Literal["", "staged", "monitor"]


@dataclass(frozen=True, slots=True)
class Section:
    """A length of pipe between two parts that can hold water back.

    Parameters
    ----------
    name
        ``inlet``, ``between``, ``outlet``, ``supply`` or ``consumer``; a second length between gets a number.
    taps, drains, vents
        Parts on this length, in walking order.
    above, below
        Ids of the holding parts at its two ends; empty at the ends of the line.
    """

    name: str
    taps: tuple[Tap, ...]
    drains: tuple[Drain, ...]
    vents: tuple[Vent, ...]
    above: str
    below: str


@dataclass(frozen=True, slots=True)
class Stream:
    """One way through a parallel group: its valves in walking order and the sections between them.

    Parameters
    ----------
    id, group, role
        The branch, its group, what it is for.
    line
        Its parts; where it splits again, those of the first way.
    locked_shut
        Whether it stands locked shut in service.
    """

    id: str
    group: str
    role: str
    line: tuple[LinePart, ...]
    reducers: tuple[Reducer, ...]
    shut_offs: tuple[ShutOff, ...]
    sections: tuple[Section, ...]
    locked_shut: bool


@dataclass(frozen=True, slots=True)
class Layout:
    """A station's main line, read: parts by role, sections, and the bypass if there is one.

    Of several isolating valves before or after the valves the nearest counts: on a stream its own.

    Where several ways lead through, `main` takes the first (main before duty before the others), and
    `streams` lists all of them, those of groups inside branches too.
    """

    code: Code
    main: tuple[LinePart, ...]
    inlet_valve: IsolatingValve | None
    outlet_valve: IsolatingValve | None
    strainer: Strainer | None
    reducers: tuple[Reducer, ...]
    shut_offs: tuple[ShutOff, ...]
    sections: tuple[Section, ...]
    bypasses: tuple[tuple[Parallel, Branch], ...]
    streams: tuple[Stream, ...] = ()

    @property
    def shut_off(self) -> ShutOff | None:
        """The one shut-off, where there is exactly one."""
        return self.shut_offs[0] if len(self.shut_offs) == 1 else None

    @property
    def pairing(self) -> Pairing:
        """How two reducers stand in series: staged (each its own section), monitor (both sense one place)."""
        if len(self.reducers) != 2:
            return ""
        first, second = self.reducers
        return "monitor" if at_one_place(self.main, first.senses, second.senses) else "staged"

    @property
    def shut_off_place(self) -> Place:
        """Where the one shut-off stands, seen from the reducers; none where there is not exactly one."""
        if self.shut_off is None or not self.reducers:
            return "none"
        at = [self.position(reducer.id) for reducer in self.reducers]
        here = self.position(self.shut_off.id)
        return "upstream" if here < min(at) else "downstream" if here > max(at) else "between"

    @property
    def reliefs(self) -> tuple[Relief, ...]:
        """Relief valves on the main line."""
        return tuple(part for part in self.main if isinstance(part, Relief))

    @property
    def check_valves(self) -> tuple[CheckValve, ...]:
        """Check valves on the main line."""
        return tuple(part for part in self.main if isinstance(part, CheckValve))

    @property
    def vessels(self) -> tuple[ExpansionVessel, ...]:
        """Expansion vessels on the main line."""
        return tuple(part for part in self.main if isinstance(part, ExpansionVessel))

    def position(self, part_id: str) -> int:
        """Return the place of a part along the main line; −1 where it is not on it."""
        for index, part in enumerate(self.main):
            if part.id == part_id:
                return index
        return -1

    def section_of(self, tap_id: str) -> Section | None:
        """Return the section a tap or drain stands on."""
        for section in self.sections:
            if any(part.id == tap_id for part in (*section.taps, *section.drains)):
                return section
        return None

    def section_below(self, part_id: str) -> Section | None:
        """Return the section just after a holding part."""
        return next((s for s in self.sections if s.above == part_id), None)

    def section_above(self, part_id: str) -> Section | None:
        """Return the section just before a holding part."""
        return next((s for s in self.sections if s.below == part_id), None)


def read_layout(station: Station) -> Layout:
    """Return the layout of a station; branches of a parallel group other than main are listed apart.

    Never fails: what later rooms cannot work with gets the code ``not yet covered`` and is judged there.
    """
    main, bypasses = _main_line(station.line)
    reducers = tuple(p for p in main if isinstance(p, Reducer))
    shut_offs = tuple(p for p in main if isinstance(p, ShutOff))
    valves = [p for p in main if isinstance(p, IsolatingValve)]
    active = [i for i, p in enumerate(main) if isinstance(p, Reducer | ShutOff)]
    first, last = (active[0], active[-1]) if active else (len(main), -1)
    inlet = next((v for v in reversed(valves) if main.index(v) < first), None)
    outlet = next((v for v in valves if main.index(v) > last), None) if active else None
    return Layout(
        code=_code(reducers, shut_offs, main, station.line),
        main=main,
        inlet_valve=inlet,
        outlet_valve=outlet,
        strainer=next((p for p in main if isinstance(p, Strainer)), None),
        reducers=reducers,
        shut_offs=shut_offs,
        sections=_sections(main),
        bypasses=bypasses,
        streams=tuple(_streams(station.line)),
    )


def _main_line(
    line: tuple[LinePart, ...],
) -> tuple[tuple[LinePart, ...], tuple[tuple[Parallel, Branch], ...]]:
    main: list[LinePart] = []
    bypasses: list[tuple[Parallel, Branch]] = []
    for part in line:
        if not isinstance(part, Parallel):
            main.append(part)
            continue
        ways = sorted(ways_of(part), key=lambda branch: FIRST.index(branch.role))
        bypasses += [(part, b) for b in part.branches if b.role == "manual bypass"]
        if ways:
            inner, more = _main_line(ways[0].line)
            main += inner
            bypasses += more
    return tuple(main), tuple(bypasses)


_WITHOUT_LOSS = (Tap, Drain, Vent, Relief, ExpansionVessel)
"""Parts beside which the pressure is the same, as long as they let nothing off."""


def at_one_place(line: tuple[LinePart, ...], one: str, other: str) -> bool:
    """Return whether two taps, by id, read one pressure: one tap, or two with nothing between that resists.

    Taps on a line and on the branches of a group in it are told apart, whatever stands between them.
    """
    if one == other:
        return True
    places = [index for index, part in enumerate(line) if part.id in (one, other)]
    if len(places) == 2:
        first, last = places
        return all(isinstance(part, _WITHOUT_LOSS) for part in line[first + 1 : last])
    inner = (branch.line for part in line if isinstance(part, Parallel) for branch in part.branches)
    return any(at_one_place(branch, one, other) for branch in inner)


FIRST = ("main", "duty", "standby", "low flow")
"""Roles of the ways through a group, in the order they are looked at and brought into service."""


def ways_of(group: Parallel) -> list[Branch]:
    """Return the branches of a group that are no manual bypass."""
    return [branch for branch in group.branches if branch.role != "manual bypass"]


def _streams(line: tuple[LinePart, ...]) -> Iterator[Stream]:
    """Yield every way through the groups of a line that have more than one besides bypasses."""
    for group in (part for part in line if isinstance(part, Parallel)):
        ways = ways_of(group)
        for branch in ways:
            if len(ways) > 1:
                main, _ = _main_line(branch.line)
                yield Stream(
                    id=branch.id,
                    group=group.id,
                    role=branch.role,
                    line=main,
                    reducers=tuple(p for p in main if isinstance(p, Reducer)),
                    shut_offs=tuple(p for p in main if isinstance(p, ShutOff)),
                    sections=_sections(main),
                    locked_shut=branch.locked_shut,
                )
            yield from _streams(branch.line)


def _more_than_one_way(line: tuple[LinePart, ...]) -> bool:
    groups = [p for p in line if isinstance(p, Parallel)]
    return any(len(ways_of(g)) != 1 or any(_more_than_one_way(b.line) for b in g.branches) for g in groups)


def _code(
    reducers: tuple[Reducer, ...],
    shut_offs: tuple[ShutOff, ...],
    main: tuple[LinePart, ...],
    line: tuple[LinePart, ...],
) -> Code:
    if _more_than_one_way(line):
        return "several streams"
    place = _place(reducers, shut_offs, main)
    if len(shut_offs) > 1 or place == "between" or len(reducers) not in (1, 2):
        return "not yet covered"
    if len(reducers) == 1:
        return _ALONE[place]
    return (_MONITOR if at_one_place(main, reducers[0].senses, reducers[1].senses) else _STAGED)[place]


_ALONE: dict[str, Code] = {
    "": "reducer alone", "upstream": "shut-off upstream", "downstream": "shut-off downstream",
}  # fmt: skip
_STAGED: dict[str, Code] = {
    "": "two reducers in series",
    "upstream": "two reducers in series, shut-off upstream",
    "downstream": "two reducers in series, shut-off downstream",
}
_MONITOR: dict[str, Code] = {
    "": "monitor and reducer",
    "upstream": "monitor and reducer, shut-off upstream",
    "downstream": "monitor and reducer, shut-off downstream",
}


def _place(reducers: tuple[Reducer, ...], shut_offs: tuple[ShutOff, ...], main: tuple[LinePart, ...]) -> str:
    if not shut_offs or not reducers:
        return ""
    at = [main.index(reducer) for reducer in reducers]
    here = main.index(shut_offs[0])
    return "upstream" if here < min(at) else "downstream" if here > max(at) else "between"


def _sections(main: tuple[LinePart, ...]) -> tuple[Section, ...]:
    holders = [i for i, p in enumerate(main) if isinstance(p, IsolatingValve | Reducer | ShutOff)]
    edges = [-1, *holders, len(main)]
    lengths = [main[a + 1 : b] for a, b in pairwise(edges)]
    active = [i for i in holders if isinstance(main[i], Reducer | ShutOff)]
    between = 0
    found = []
    for (a, b), length in zip(pairwise(edges), lengths, strict=True):
        name = _section_name(a, b, active, len(main))
        if name == "between":
            between += 1
            name = "between" if between == 1 else f"between {between}"
        found.append(
            Section(
                name=name,
                taps=tuple(p for p in length if isinstance(p, Tap)),
                drains=tuple(p for p in length if isinstance(p, Drain)),
                vents=tuple(p for p in length if isinstance(p, Vent)),
                above=main[a].id if a >= 0 else "",
                below=main[b].id if b < len(main) else "",
            )
        )
    return tuple(found)


def _section_name(a: int, b: int, active: list[int], size: int) -> str:
    if a < 0:
        return "supply"
    if b >= size:  # nothing isolates the outlet from the consumers where the last valve is the last holder
        return "outlet" if active and a == active[-1] else "consumer"
    if not active or b <= active[0]:
        return "inlet"
    return "outlet" if a >= active[-1] else "between"


def carries_fire_water(station: Station) -> bool:
    """Return whether fire water passes through a station: said outright, a fire main, or a fire demand."""
    told = station.station.fire_water or station.station.kind == "fire main"
    return bool(told or station.demand.fire is not None)
