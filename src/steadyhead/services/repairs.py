"""What can be repaired at a station, grouped by the part, for somebody who named something else."""

from __future__ import annotations

from steadyhead.errors import InputError
from steadyhead.records.parts import CheckValve, Drain, FlowMeter, IsolatingValve, Tap
from steadyhead.records.station import Station
from steadyhead.station.streams import views
from steadyhead.visits import items
from steadyhead.visits.facts import Facts
from steadyhead.visits.feasibility import feasibility
from steadyhead.visits.items import Item
from steadyhead.visits.several import items as several_items
from steadyhead.visits.several.ways import has_several

OTHER = "else"
_AFTERWARDS = "Afterwards a plan for return-to-service opens the station in steps."
_WHY_NONE: dict[type, str] = {
    IsolatingValve: "No valve of this station holds the water off while it is open: have the supply, or the "
    f"zone, shut. {_AFTERWARDS}",
    Tap: "No proof rests on a tap: see it tight under pressure. A line that hangs on it is the sensing line "
    "of its valve; name that.",
    FlowMeter: f"No proof rests on it. {_AFTERWARDS}",
    CheckValve: f"It is tried with the station it stands in. {_AFTERWARDS}",
    Drain: f"No proof rests on this one alone. {_AFTERWARDS}",
}
"""Why a part of this kind may have no item of repair, and what there is instead."""


def unknown_item(station: Station, item: str) -> InputError:
    """Return what to say of an item this station does not have: the items of the part named, or all by part.

    Parameters
    ----------
    station
        One that gets a plan.
    item
        What was asked for, e.g. the id of a valve.
    """
    groups = by_part(station)
    wanted = item.strip().casefold()
    part = next((known for known in groups if known.casefold() == wanted), "")
    problem = f"got {item!r}, which is no item of repair at this station."
    if has_several(station):
        at_part = several_items.names_at(station, item)
        if at_part:
            return InputError("--for", problem, f"At {item.strip()} use one of: {', '.join(at_part)}.")
    if part:
        return InputError("--for", problem, f"At {part} use one of: {', '.join(groups[part])}.")
    why = _without_items(station, wanted)
    if why:
        return InputError("--for", problem, why)
    listed = "; ".join(f"{known}: {', '.join(names)}" for known, names in groups.items())
    return InputError("--for", problem, f"Use one of, by part: {listed}.")


def _without_items(station: Station, wanted: str) -> str:
    """Return why a part or gauge of the station gets no plan of repair; empty where it has none such."""
    if any(gauge.id.casefold() == wanted for gauge in station.gauges):
        return "A gauge is compared before it is used (step A6). For one that stays name: fixed gauge."
    part = next((one for one in station.parts() if one.id.casefold() == wanted), None)
    return next((why for kind, why in _WHY_NONE.items() if isinstance(part, kind)), "")


def by_part(station: Station) -> dict[str, tuple[str, ...]]:
    """Return the items of repair of a station under the id of their part; what has no part under "else"."""
    if has_several(station):
        return _by_stream(station)
    facts = feasibility(station).facts
    if facts is None:
        return {}
    return _grouped(station, items.items(facts), _valves(facts))


def _grouped(
    station: Station, listed: tuple[Item, ...], words: list[tuple[str, str]]
) -> dict[str, tuple[str, ...]]:
    """Return the names of items under the part they touch; words: how those of a valve begin, with its id."""
    ids = {part.id for part in station.parts()}
    groups: dict[str, list[str]] = {}
    for item in listed:
        touched = {thing.split(".")[0] for thing in item.things} & ids
        named = next((valve for word, valve in words if item.name.startswith(word)), "")
        part = named or (touched.pop() if len(touched) == 1 else OTHER)
        groups.setdefault(part, []).append(item.name)
    other = groups.pop(OTHER, [])
    return {part: tuple(names) for part, names in groups.items()} | ({OTHER: tuple(other)} if other else {})


def _by_stream(station: Station) -> dict[str, tuple[str, ...]]:
    """Return the items of a station with several streams by stream, then by part, then the rest."""
    words = [(f"stream {view.id} ", f"stream {view.id}") for view in views(station)]
    found = _grouped(station, several_items.known(station), words)
    first = {label: found[label] for _, label in words if label in found}
    return first | {label: names for label, names in found.items() if label not in first}


def _valves(facts: Facts) -> list[tuple[str, str]]:
    """Return how the items of each valve begin, with its id."""
    found = [(f"{word} ", valve) for word, valve in items.valve_words(facts)]
    if facts.shut_off is not None:
        found += [("limit switch", facts.shut_off.id), ("alarm text", facts.shut_off.id)]
    return found
