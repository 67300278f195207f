"""The station on foot: every cock and valve in walking order, and which holes may drip."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.parts import (
    Branch,
    Drain,
    IsolatingValve,
    LinePart,
    Parallel,
    Reducer,
    ShutOff,
    Strainer,
    Tap,
    Vent,
)
from steadyhead.records.station import Station
from steadyhead.reports.figures import turns
from steadyhead.station.layout import read_layout

NOT_STATED = "not stated"
_SECTIONS = {"inlet": "inlet side", "between": "between the valves", "outlet": "outlet side"}


def walk(station: Station) -> list[list[str]]:
    """Return one row per cock, valve and pilot in walking order: id, what, how it stands in service, turns.

    Parameters
    ----------
    station
        The station file's record. Turns and directions that are not stated are said to be missing.
    """
    sensed = {
        part.senses: [
            p.id for p in station.parts() if isinstance(p, Reducer | ShutOff) and p.senses == part.senses
        ]
        for part in station.parts()
        if isinstance(part, Reducer | ShutOff)
    }
    return list(_rows(station.line, sensed))


def _rows(line: tuple[LinePart, ...], sensed: dict[str, list[str]]) -> Iterator[list[str]]:
    for part in line:
        if isinstance(part, Parallel):
            for branch in part.branches:
                if branch.role == "manual bypass":
                    yield _bypass(branch)
                yield from _rows(branch.line, sensed)
        else:
            yield from _row(part, sensed)


def _row(part: LinePart, sensed: dict[str, list[str]]) -> Iterator[list[str]]:
    if isinstance(part, IsolatingValve):
        yield [part.id, part.name or "isolating valve", "open", _turns(part)]
    elif isinstance(part, Tap):
        felt = sensed.get(part.id, [])
        if felt:
            yield [part.id, f"root cock, felt by {' and '.join(felt)}", "open, marked", ""]
        yield [part.id, "gauge cock", "by owner's rule", ""]
    elif isinstance(part, Strainer):
        yield [part.id, "strainer drain", "shut, capped", ""]
    elif isinstance(part, Drain):
        yield [part.id, part.name or "drain", "shut, capped", ""]
    elif isinstance(part, Vent):
        yield [part.id, part.name or "vent", "shut", ""]
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
    layout = read_layout(station)
    rows = []
    for valve in layout.shut_offs:
        if valve.exhaust == "outlet":
            rows.append([f"{valve.id} exhaust", "Runs into the outlet; nothing to see from outside."])
        else:
            unsure = "" if valve.exhaust == "atmosphere" else " (where it opens is not known: look)"
            rows.append(
                [f"{valve.id} exhaust port{unsure}", "Dry. Drops: about to act, or its pilot passes."]
            )
    rows.append(["Pilot breathers", "Dry, always. Water: torn diaphragm."])
    drains = [part.id for part in layout.main if isinstance(part, Drain)]
    if drains:
        rows.append([", ".join(drains), "Dry in service. Drops: the cock passes."])
    return rows


def section_drains(station: Station) -> list[list[str]]:
    """Return for each section between two holding valves its drains; a section without one is named."""
    layout = read_layout(station)
    rows = []
    for section in layout.sections:
        if section.name in ("supply", "consumer"):
            continue
        drains = [drain.id for drain in section.drains]
        if section.name == "inlet" and layout.strainer is not None and not drains:
            drains = [f"strainer drain, {layout.strainer.id}"]
        rows.append(
            [f"Drain, {_SECTIONS.get(section.name, section.name)}", ", ".join(drains) or "none stated"]
        )
    return rows
