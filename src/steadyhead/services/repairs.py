"""What can be repaired at a station, grouped by the part, for somebody who named something else."""

from __future__ import annotations

from steadyhead.errors import InputError
from steadyhead.records.parts import Reducer
from steadyhead.records.station import Station
from steadyhead.station.layout import read_layout
from steadyhead.station.streams import views
from steadyhead.visits import items
from steadyhead.visits.several import items as several_items
from steadyhead.visits.several.ways import has_several

OTHER = "else"


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
    listed = "; ".join(f"{known}: {', '.join(names)}" for known, names in groups.items())
    return InputError("--for", problem, f"Use one of, by part: {listed}.")


def by_part(station: Station) -> dict[str, tuple[str, ...]]:
    """Return the items of repair of a station under the id of their part; what has no part under "else"."""
    if has_several(station):
        return _by_stream(station)
    layout = read_layout(station)
    words = _valves(layout.reducers, [valve.id for valve in layout.shut_offs])
    known = {
        "strainer": layout.strainer.id if layout.strainer else "",
        "outlet isolating valve": layout.outlet_valve.id if layout.outlet_valve else "",
        "test drain": next((d.id for s in layout.sections if s.name == "outlet" for d in s.drains), ""),
        "drain between the valves": next(
            (d.id for s in layout.sections if s.name == "between" for d in s.drains), ""
        ),
    }
    groups: dict[str, list[str]] = {}
    for name in items.names(station):
        part = known.get(name, "") or next((i for word, i in words if name.startswith(word)), OTHER)
        groups.setdefault(part, []).append(name)
    other = groups.pop(OTHER, [])
    return {part: tuple(names) for part, names in groups.items()} | ({OTHER: tuple(other)} if other else {})


def _by_stream(station: Station) -> dict[str, tuple[str, ...]]:
    """Return the items of a station with several streams by stream, those of the whole station last."""
    listed = several_items.names(station)
    groups: dict[str, list[str]] = {}
    for view in views(station):
        label = f"stream {view.id}"
        groups[label] = [name for name in listed if name.startswith(f"{label} ")]
    named = {name for names in groups.values() for name in names}
    groups[OTHER] = [name for name in listed if name not in named]
    return {part: tuple(names) for part, names in groups.items() if names}


def _valves(reducers: tuple[Reducer, ...], shut_offs: list[str]) -> list[tuple[str, str]]:
    """Return how the items of each valve begin, with its id."""
    named = ("reducer",) if len(reducers) == 1 else ("first reducer", "second reducer")
    found = [(f"{word} ", valve.id) for word, valve in zip(named, reducers, strict=False)]
    if shut_offs:
        found += [("shut-off ", shut_offs[0]), ("limit switch", shut_offs[0]), ("alarm text", shut_offs[0])]
    return found
