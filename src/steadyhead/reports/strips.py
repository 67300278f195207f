"""From station and design sheet to the facts a station strip shows; nothing is computed here."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from steadyhead.drawings.figures import Figures
from steadyhead.records.design import DesignCase, DesignSheet
from steadyhead.records.ladder import Ladder
from steadyhead.records.parts import (
    Branch,
    CheckValve,
    Drain,
    ExpansionVessel,
    FlowMeter,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    Relief,
    ShutOff,
    Tap,
    Vent,
)
from steadyhead.records.pictures import (
    PartKind,
    SensingLine,
    StripBranch,
    StripLimit,
    StripPart,
    StripPicture,
    StripSpan,
    TapPressure,
)
from steadyhead.records.station import Station
from steadyhead.records.steady import Steady
from steadyhead.reports.figures import turns, volume
from steadyhead.reports.strip_water import unknown_beyond
from steadyhead.station.layout import FIRST, ways_of
from steadyhead.station.streams import stream_words, views
from steadyhead.units import METRIC, UnitSet, say

_KINDS: dict[str, PartKind] = {
    "tap": "tap",
    "isolating_valve": "isolating",
    "strainer": "strainer",
    "flow_meter": "flow_meter",
    "drain": "drain",
    "vent": "vent",
    "reducer": "reducer",
    "shut_off": "shut_off",
    "relief": "relief",
    "check_valve": "check_valve",
    "expansion_vessel": "expansion_vessel",
}
SHOWN_CASE = ("average", "typical")
"""The case the strip shows where it is not told another: average flow at typical inlet pressure."""
OUTLET_LETTERS = 48
"""Longer names of a zone are cut in the strip; they stand whole in the paper's text. [characters]"""

BYPASS = "manual bypass"


@dataclass(frozen=True, slots=True)
class _Look:
    """What the parts of a station are drawn by."""

    units: UnitSet
    roots: dict[str, SensingLine]
    elsewhere: dict[str, str]
    steady: Steady | None = None
    isolated: frozenset[str] = frozenset()
    tripped: frozenset[str] = frozenset()
    monitors: frozenset[str] = frozenset()
    short: bool = False
    spans: list[StripSpan] = field(default_factory=list)


def strip_picture(
    station: Station,
    *,
    units: UnitSet = METRIC,
    sheet: DesignSheet | None = None,
    case: DesignCase | None = None,
    at_rest: Steady | None = None,
    isolated: frozenset[str] = frozenset(),
    tripped: frozenset[str] = frozenset(),
) -> StripPicture:
    """Return the strip of a station in one case of its design; hardware only where there is none.

    The main way (main before duty) makes the main axis; every other way is a branch below it.

    Parameters
    ----------
    station
        The station file's record.
    units
        Display units.
    sheet
        Its design sheet; gives the case shown and the limits.
    case
        Another case than average flow at typical inlet pressure.
    at_rest
        The twin's answer at zero flow, drawn dotted.
    isolated
        Branches that are drawn with their isolating valves shut.
    tripped
        Shut-offs that are drawn across the pipe; what is in the pipes beyond them is not known.
    """
    shown = case or _shown(sheet)
    steady = shown.steady if shown else None
    look = _look(station, steady, units, isolated, tripped)
    parts, branches = _axis(station.line, look)
    if tripped:
        parts, branches = unknown_beyond(parts, branches)
    return StripPicture(
        name=station.station.name,
        datum_m=station.station.datum.si,
        parts=parts,
        pressures=tuple(
            _tap_pressure(part.id, steady, at_rest)
            for part in (*parts, *(p for b in branches for p in _within(b)))
            if part.kind == "tap"
        ),
        flow=steady.flow if steady else None,
        limits=_strip_limits(sheet),
        branches=branches,
        outlet_name=_cut(station.station.zone),
        moment=f"worked out, {shown.words}" if shown and steady else "",
        units=units,
        spans=tuple(look.spans),
    )


def brief(picture: StripPicture) -> StripPicture:
    """Return the strip with ids instead of names, sizes and turns, for a card that lists them beside it.

    Where several streams have to find room the pressures are left out too.
    """
    small = replace(picture, parts=tuple(_brief_part(part) for part in picture.parts))
    if not any(branch.group for branch in picture.branches):
        return small
    return replace(
        small,
        branches=tuple(_brief_branch(branch) for branch in picture.branches),
        spans=tuple(replace(span, words=()) for span in picture.spans),
        pressures=(),
        limits=(),
        flow=None,
        moment="",
    )


_SENSES = "senses "
"""How the words begin of a pilot whose sensing line is not drawn: it senses on another axis."""


def _brief_part(part: StripPart) -> StripPart:
    return replace(part, words=part.words[:1] if part.sensing else _senses(part))


def _senses(part: StripPart) -> tuple[str, ...]:
    """Return the words that stand in place of a sensing line, where none is drawn."""
    return tuple(word for word in part.words if word.startswith(_SENSES))


def _brief_branch(branch: StripBranch) -> StripBranch:
    words = branch.words if not _acts(branch.parts) else ()
    return replace(
        branch,
        parts=tuple(replace(part, words=_senses(part)) for part in branch.parts),
        branches=tuple(_brief_branch(inner) for inner in branch.branches),
        words=words,
    )


def _cut(name: str) -> str:
    return name if len(name) <= OUTLET_LETTERS else f"{name[: OUTLET_LETTERS - 1].rstrip()}…"


def _shown(sheet: DesignSheet | None) -> DesignCase | None:
    for case in sheet.cases if sheet else ():
        if (case.flow_case, case.inlet_case) == SHOWN_CASE:
            return case
    return None


def _tap_pressure(tap: str, steady: Steady | None, at_rest: Steady | None) -> TapPressure:
    return TapPressure(
        tap,
        steady.taps.get(tap) if steady else None,
        at_no_flow=at_rest.taps.get(tap) if at_rest else None,
    )


def _within(branch: StripBranch) -> Iterator[StripPart]:
    yield from branch.parts
    for inner in branch.branches:
        yield from _within(inner)


def _look(
    station: Station, steady: Steady | None, units: UnitSet, isolated: frozenset[str], tripped: frozenset[str]
) -> _Look:
    several = len(views(station)) > 1
    standing_by = frozenset(monitors(station))
    return _Look(units, _roots(station), _elsewhere(station), steady, isolated, tripped, standing_by, several)


def _roots(station: Station) -> dict[str, SensingLine]:
    """Return the sensing line of each pilot; two that share a tapping hang on one root cock."""
    lines = {}
    for part in station.parts():
        if isinstance(part, Reducer):
            lines[part.id] = SensingLine(part.senses, f"root {part.senses}")
        elif isinstance(part, ShutOff):
            shared = part.sensing_tap == "shared with reducer"
            lines[part.id] = SensingLine(
                part.senses, f"root {part.senses}" + ("" if shared else f" {part.id}")
            )
    return lines


def _elsewhere(station: Station) -> dict[str, str]:
    """Return the taps that pilots sense on another axis than their own, to be said in words."""
    axes = {part.id: axis for axis, parts in enumerate(_axes(station.line)) for part in parts}
    return {
        part.id: part.senses
        for part in station.parts()
        if isinstance(part, Reducer | ShutOff) and axes.get(part.id) != axes.get(part.senses)
    }


def _axes(line: tuple[LinePart, ...]) -> list[list[LinePart]]:
    """Return the parts by the axis they are drawn on, the main one first."""
    own: list[LinePart] = []
    others: list[list[LinePart]] = []
    for part in line:
        if not isinstance(part, Parallel):
            own.append(part)
            continue
        for branch in part.branches:
            first, *rest = _axes(branch.line)
            if branch is _through(part):
                own += first
            else:
                others.append(first)
            others += rest
    return [own, *others]


def monitors(station: Station) -> Iterator[str]:
    """Yield the reducers that stand by in series with another on one tap: of the two the one set higher."""
    for view in views(station):
        if view.layout.pairing == "monitor":
            yield max(view.layout.reducers, key=lambda reducer: reducer.duty.pressure.si).id


def _through(group: Parallel) -> Branch | None:
    """Return the branch of a group that the axis leads through; None where all are bypasses."""
    ways = sorted(ways_of(group), key=lambda branch: FIRST.index(branch.role))
    return ways[0] if ways else None


def _axis(
    line: tuple[LinePart, ...], look: _Look, shut: bool = False
) -> tuple[tuple[StripPart, ...], tuple[StripBranch, ...]]:
    """Return one axis: its parts, those of the branch each group leads through among them, and the rest."""
    parts: list[StripPart] = []
    waiting: list[tuple[Parallel, str, int, tuple[StripBranch, ...]]] = []
    for part in line:
        if not isinstance(part, Parallel):
            parts.append(_part(part, look, shut))
            continue
        after = parts[-1].id if parts else ""
        way, inside = _through(part), tuple[StripBranch, ...]()
        if way is not None:
            inner, inside = _axis(way.line, look, shut or _is_shut(way, look))
            inside = tuple(_moved(branch, after, "") for branch in inside)
            parts += inner
            _name_span(part, way, look)
        waiting.append((part, after, len(parts), inside))
    found: list[StripBranch] = []
    for group, after, place, inside in waiting:
        before = parts[place].id if place < len(parts) else ""
        found += [_branch(group, branch, after, before, look, shut) for branch in _beside(group)]
        found += [replace(branch, before=branch.before or before) for branch in inside]
    if _is_plain(found, parts):
        found = [_plain_bypass(branch) for branch in found]
    else:
        found = [replace(b, name=b.name.capitalize()) if b.name == BYPASS else b for b in found]
    return tuple(parts), tuple(found)


def _moved(branch: StripBranch, after: str, before: str) -> StripBranch:
    """Return a branch whose axis has become part of a longer one: open ends get the neighbours' names."""
    return replace(branch, after=branch.after or after, before=branch.before or before)


def _beside(group: Parallel) -> list[Branch]:
    through = _through(group)
    others = [branch for branch in group.branches if branch is not through]
    order = (*FIRST, "manual bypass")
    return sorted(others, key=lambda branch: order.index(branch.role))


def _name_span(group: Parallel, way: Branch, look: _Look) -> None:
    if len(ways_of(group)) > 1:
        look.spans.append(StripSpan(group.id, *_stream_words(way, look)))


def _stream_words(branch: Branch, look: _Look) -> tuple[str, tuple[str, ...]]:
    """Return name and state of a stream."""
    said = []
    if branch.id in look.isolated:
        said.append("isolated")
    elif branch.locked_shut:
        said.append("locked shut")
    said += _carried(branch, look)
    name = stream_words(branch.role, branch.id)
    return f"{name[0].upper()}{name[1:]}", tuple(said)


def _carried(branch: Branch, look: _Look) -> Iterator[str]:
    """Say what a branch carries in the case shown."""
    if look.steady is None or look.tripped:
        return
    valves = [part.id for part in branch.line if isinstance(part, Reducer | ShutOff)]
    reading = next((look.steady.valves[valve] for valve in valves if valve in look.steady.valves), None)
    if reading is None:
        return
    if reading.flow < 0.0:
        yield f"{_flow(-reading.flow, look.units)} flows back"
    elif any(digit in "123456789" for digit in Figures(look.units).flow(reading.flow)):
        yield f"carries {_flow(reading.flow, look.units)}"
    else:
        yield "carries nothing"


def _flow(flow: float, units: UnitSet) -> str:
    return f"{Figures(units).flow(flow)} {units.unit('flow')}"


def _is_shut(branch: Branch, look: _Look) -> bool:
    return branch.locked_shut or branch.id in look.isolated or branch.role == "manual bypass"


def _is_plain(branches: Sequence[StripBranch], parts: Sequence[StripPart]) -> bool:
    """Say whether all branches are manual bypasses between two parts, drawn as one line below the axis."""
    return bool(parts) and all(
        branch.name == BYPASS and branch.after and branch.before and not branch.branches
        for branch in branches
    )


def _plain_bypass(branch: StripBranch) -> StripBranch:
    """Return a bypass as one line: its valve's id stands behind its name, nothing beside the valve."""
    parts = tuple(replace(part, name="", words=()) for part in branch.parts if part.kind != "tap")
    valves = ", ".join(part.id for part in parts if part.kind == "isolating")
    return replace(branch, name=f"{branch.name} {valves}".rstrip(), parts=parts, group="")


def _branch(group: Parallel, branch: Branch, after: str, before: str, look: _Look, shut: bool) -> StripBranch:
    words: tuple[str, ...]
    if branch.role == "manual bypass":
        name, words = BYPASS, ("locked shut" if branch.locked_shut else "shut, no lock stated",)
    else:
        name, words = _stream_words(branch, look)
    parts, inner = _axis(branch.line, look, shut or _is_shut(branch, look))
    inner = tuple(replace(each, group=each.group or each.id) for each in inner)
    if name == BYPASS and not _acts(parts):
        parts = tuple(replace(part, words=()) for part in parts)
    return StripBranch(branch.id, name, after, before, parts, words, group.id, inner)


def _part(part: LinePart, look: _Look, shut: bool) -> StripPart:
    kind = _KINDS[part.part]
    if isinstance(part, Tap):
        return StripPart("tap", part.id)
    words = tuple(_words(part, look))
    if isinstance(part, Drain | Vent):
        return StripPart(kind, part.id, part.id, words, cock_open=False)
    if isinstance(part, IsolatingValve):
        return StripPart(kind, part.id, part.id, words, open_share=0.0 if shut else 1.0)
    reading = look.steady.valves.get(part.id) if look.steady else None
    lifting = bool(look.steady and look.steady.drains.get(part.id, 0.0) > 0.0)
    return StripPart(
        kind,
        part.id,
        part.id,
        words,
        travel=None if look.tripped else reading.lift if reading else 0.5,
        sensing=None if part.id in look.elsewhere else look.roots.get(part.id),
        tripped=part.id in look.tripped,
        direct_acting=isinstance(part, Reducer) and part.kind == "direct-acting",
        lifting=isinstance(part, Relief) and lifting,
    )


def _words(part: LinePart, look: _Look) -> Iterator[str]:
    yield _called(part, look)
    units = look.units
    plain = isinstance(part, IsolatingValve | Drain | FlowMeter | CheckValve)
    if not isinstance(part, Tap | Vent | ExpansionVessel | Parallel) and not (plain and look.short):
        yield say(part.size.si, "size", units)
    if isinstance(part, IsolatingValve) and part.turns and not look.short:
        yield f"{turns(part.turns.si)} turns"
    if isinstance(part, Relief):
        yield f"lifts at {say(part.crack.si, 'pressure', units)}"
        yield f"to {_cut(part.runs_to)}" if part.runs_to else "outlet not stated"
    if isinstance(part, ExpansionVessel) and part.volume:
        yield volume(part.volume.si, units)
    if part.id in look.tripped:
        yield "TRIPPED, shut"
    if part.id in look.elsewhere:
        yield f"{_SENSES}{look.elsewhere[part.id]}"


def _called(part: LinePart, look: _Look) -> str:
    if part.name:
        return part.name
    if part.id in look.monitors:
        return "monitor, stands by open"
    if isinstance(part, Reducer) and part.kind == "direct-acting":
        return "direct-acting reducer"
    if isinstance(part, Relief):
        return "relief valve"
    return part.part.replace("_", " ").replace("shut off", "shut-off")


def _acts(parts: Sequence[StripPart]) -> bool:
    return any(part.kind in ("reducer", "shut_off") for part in parts)


def _strip_limits(sheet: DesignSheet | None) -> tuple[StripLimit, ...]:
    ladder = sheet.ladder if sheet else None
    if sheet is None or ladder is None:
        return ()
    found = []
    if ladder.weakest_fault and ladder.weakest_fault.fault_at_datum is not None:
        found.append(StripLimit("fault", ladder.weakest_fault.fault_at_datum, ladder.weakest_fault.component))
    if ladder.weakest_normal and ladder.weakest_normal.normal_at_datum is not None:
        found.append(
            StripLimit("normal", ladder.weakest_normal.normal_at_datum, ladder.weakest_normal.component)
        )
    found += _trips(sheet, ladder)
    if ladder.inputs.alarm is not None:
        found.append(StripLimit("alarm", ladder.inputs.alarm))
    return tuple(found)


def _trips(sheet: DesignSheet, ladder: Ladder) -> list[StripLimit]:
    """Return the trip of each shut-off; one shut-off needs no name."""
    trips: dict[tuple[str, float], None] = {}
    for stream in sheet.streams:
        if stream.shut_off and stream.ladder.inputs.trip is not None:
            trips[stream.shut_off, stream.ladder.inputs.trip] = None
    if len(trips) > 1:
        return [StripLimit("trip", pressure, valve) for valve, pressure in trips]
    return [StripLimit("trip", ladder.inputs.trip)] if ladder.inputs.trip is not None else []
