"""The station on foot: every cock and valve in walking order, and which holes may drip."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.parts import (
    Branch,
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
from steadyhead.reports.figures import turns
from steadyhead.station.layout import Layout, ways_of
from steadyhead.station.streams import views

NOT_STATED = "not stated"
_SECTIONS = {"inlet": "inlet side", "between": "between the valves", "outlet": "outlet side"}


def walk(station: Station) -> list[list[str]]:
    """Return one row per cock, valve and pilot in walking order: id, what, how it stands in service, turns.

    Parameters
    ----------
    station
        The station file's record. Turns and directions that are not stated are said to be missing.
    """
    return list(_rows(station.line, _root_cocks(station)))


def _root_cocks(station: Station) -> dict[str, list[str]]:
    """Return the words of each root cock by its tap: one for each pilot that is stated to have its own."""
    found: dict[str, list[str]] = {}
    pilots = [part for part in station.parts() if isinstance(part, Reducer | ShutOff)]
    for tap in dict.fromkeys(part.senses for part in pilots):
        here = [part for part in pilots if part.senses == tap]
        own = [part.id for part in here if isinstance(part, ShutOff) and part.sensing_tap == "own"]
        rest = [part for part in here if part.id not in own]
        words = [f"root cock of {name} alone" for name in own]
        if rest:
            shut_offs = [part for part in rest if isinstance(part, ShutOff)]
            one = len(rest) == 1 or any(part.sensing_tap == "shared with reducer" for part in shut_offs)
            unsure = "" if one else "; shared or not: look"
            words.append(f"root cock, sensed by {' and '.join(part.id for part in rest)}{unsure}")
        found[tap] = words
    return found


def _rows(
    line: tuple[LinePart, ...], sensed: dict[str, list[str]], valves: str = "open"
) -> Iterator[list[str]]:
    """Yield the rows of a line whose isolating valves stand as said."""
    for place, part in enumerate(line):
        if isinstance(part, Parallel):
            several = len(ways_of(part)) > 1
            for branch in part.branches:
                state = valves
                if branch.role == "manual bypass":
                    yield _bypass(branch)
                    state = "shut, locked" if branch.locked_shut else "shut"
                elif several:
                    service = "locked shut" if branch.locked_shut else "in service"
                    yield [branch.id, f"{branch.role.replace(' ', '-')} stream", service, ""]
                    state = "shut, locked" if branch.locked_shut else valves
                yield from _rows(branch.line, sensed, state)
        elif isinstance(part, Strainer):
            drain = _own_drain(line, place)
            if drain is None:
                yield [part.id, "strainer drain", "shut, capped", ""]
            else:
                yield [part.id, f"strainer, drained at {drain.id}", "closed up", ""]
        else:
            yield from _row(part, sensed, valves)


def _own_drain(line: tuple[LinePart, ...], place: int) -> Drain | None:
    """Return the drain of a strainer that stands in the line next to it; None where it is not stated."""
    beside = line[max(place - 1, 0) : place + 2]
    return next((part for part in beside if isinstance(part, Drain)), None)


def _row(part: LinePart, sensed: dict[str, list[str]], valves: str) -> Iterator[list[str]]:
    if isinstance(part, IsolatingValve):
        yield [part.id, part.name or "isolating valve", valves, _turns(part)]
    elif isinstance(part, Tap):
        for words in sensed.get(part.id, []):
            yield [part.id, words, "open, marked", ""]
        yield [part.id, "gauge cock", "by owner's rule", ""]
    elif isinstance(part, Drain):
        yield [part.id, part.name or "drain", "shut, capped", ""]
    elif isinstance(part, Vent):
        yield [part.id, part.name or "vent", "shut", ""]
    elif isinstance(part, Relief):
        where = f", to {part.runs_to}" if part.runs_to else ""
        yield [part.id, f"{part.name or 'relief valve'}{where}", "ready, dry", ""]
    elif isinstance(part, ExpansionVessel):
        yield [part.id, part.name or "expansion vessel, its cock", "open", ""]
    elif isinstance(part, Reducer) and part.kind == "direct-acting":
        yield [part.id, f"{part.name or 'reducer'}, spring", "set", ""]
    elif isinstance(part, Reducer):
        yield [part.id, f"{part.name or 'reducer'}, pilot cocks", "open", ""]
    elif isinstance(part, ShutOff):
        yield [part.id, f"{part.name or 'shut-off'}, pilot and feed cocks", "open, marked", ""]


def _bypass(branch: Branch) -> list[str]:
    return [branch.id, "manual bypass", "locked shut" if branch.locked_shut else "shut; no lock stated", ""]


def _turns(valve: IsolatingValve) -> str:
    count = f"{turns(valve.turns.si)} turns" if valve.turns else f"turns {NOT_STATED}"
    return f"{count}, {f'shuts {valve.closes}' if valve.closes else f'direction {NOT_STATED}'}"


def drips(station: Station) -> list[list[str]]:
    """Return which holes of this station may be wet, and what water there means."""
    parts, rows = station.parts(), []
    for valve in (part for part in parts if isinstance(part, ShutOff)):
        if valve.exhaust == "outlet":
            rows.append([f"{valve.id} exhaust", "Runs into the outlet; nothing to see from outside."])
        else:
            unsure = "" if valve.exhaust == "atmosphere" else " (where it opens is not known: look)"
            rows.append(
                [f"{valve.id} exhaust port{unsure}", "Dry. Drops: about to act, or its pilot passes."]
            )
    rows.append(["Pilot breathers", "Dry, always. Water: torn diaphragm."])
    for relief in (part for part in parts if isinstance(part, Relief)):
        rows.append([f"{relief.id} outlet", "Dry. Water: it lifts, or its seat passes."])
    drains = [part.id for part in parts if isinstance(part, Drain)]
    if drains:
        rows.append([", ".join(drains), "Dry in service. Drops: the cock passes."])
    return rows


def section_drains(station: Station) -> list[list[str]]:
    """Return for each section between two holding valves its drains; a section without one is named."""
    found = views(station)
    if len(found) == 1:
        return list(_section_drains(found[0].layout))
    told = [dict(_section_drains(view.layout)) for view in found]
    rows = []
    for name in dict.fromkeys(name for one in told for name in one):
        drains = {view.id: one[name] for view, one in zip(found, told, strict=True) if name in one}
        if len(drains) == 1 and " and " in name:
            rows.append([name, *drains.values()])
        elif len(drains) == len(found) and len(set(drains.values())) == 1:
            rows.append([name, told[0][name]])
        else:
            rows += [[f"{name}, {stream}", words] for stream, words in drains.items()]
    return rows


def _section_drains(layout: Layout) -> list[list[str]]:
    """Return the drains by section; lengths that bear one name are told together where one has a drain.

    Of several lengths between the valves each goes by the parts at its ends.
    """
    found: dict[str, list[str]] = {}
    rows = []
    several = sum(section.name.startswith("between") for section in layout.sections) > 1
    for section in layout.sections:
        if section.name in ("supply", "consumer"):
            continue
        drains = [drain.id for drain in section.drains]
        if section.name == "inlet" and layout.strainer is not None and not drains:
            drains = [f"strainer drain, {layout.strainer.id}"]
        where = _SECTIONS.get(section.name, section.name)
        if several and section.name.startswith("between"):
            where = f"between {section.above} and {section.below}"
        name = f"Drain, {where}"
        if name not in found:
            rows.append(name)
        known = found.setdefault(name, [])
        known += [drain for drain in drains if drain not in known]
    return [[name, ", ".join(found[name]) or "none stated"] for name in rows]
