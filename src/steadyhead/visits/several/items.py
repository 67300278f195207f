"""What can be repaired at a station with several streams: as on a line, with the stream named."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.errors import InputError
from steadyhead.records.parts import Reducer
from steadyhead.records.station import Station
from steadyhead.visits.facts import Facts
from steadyhead.visits.items import Item, of_part
from steadyhead.visits.items import items as items_of_line
from steadyhead.visits.several.judging import Judged, judge
from steadyhead.visits.several.ways import MODES, Mode, Way
from steadyhead.visits.tables.streams import Stream


def names(station: Station) -> tuple[str, ...]:
    """Return the words `find` knows for a station; none where it gets no plan."""
    return tuple(item.name for item in known(station))


def known(station: Station) -> tuple[Item, ...]:
    """Return everything that may be repaired or changed at a station, however its streams are cut off."""
    found: dict[str, Item] = {}
    for mode in reversed(MODES):
        for item in items(judge(station, "after_repair", mode=mode)):
            found.setdefault(item.name, item)
    return tuple(found.values())


def names_at(station: Station, part_id: str) -> tuple[str, ...]:
    """Return the words of what can be repaired at one part, named by its id; none where it has nothing."""
    wanted = part_id.strip().casefold()
    found: dict[str, None] = {}
    for mode in reversed(MODES):
        for item in items(judge(station, "after_repair", mode=mode)):
            if any(thing.split(".")[0].casefold() == wanted for thing in item.things):
                found[item.name] = None
    return tuple(found)


def items(judged: Judged) -> tuple[Item, ...]:
    """Return everything that may be repaired or changed, for one way of cutting the streams off."""
    found: dict[str, Item] = {}
    for way in judged.ways:
        for item in _of_way(way, judged.facts[way.key]):
            found.setdefault(item.name, item)
    return tuple(found.values())


def _of_way(way: Way, facts: Facts) -> Iterator[Item]:
    shared = set(way.view.shared)
    for item in items_of_line(facts):
        parts = {thing.split(".")[0] for thing in item.things}
        if parts & shared:
            continue
        own = {part for part in parts if part in {p.id for p in way.layout.main} and part not in way.outer}
        sensed = any(thing.startswith("shared.") for thing in item.things)
        things = tuple(f"{t}@{way.key}" if t.startswith("shared.") else t for t in item.things)
        name = f"stream {way.view.id} {item.name}" if own or sensed else item.name
        yield Item(name, things, is_wet=item.is_wet, lost=item.lost, is_paper=item.is_paper)
    for beside in way.beside:
        ends = tuple(f"{end.id}.gate" for end in (beside.up, beside.down))
        yield Item(f"stream {beside.branch} isolating valves", ends, is_wet=True)


def _plain(name: str) -> str:
    return " ".join(name.replace("-", " ").replace("_", " ").casefold().split())


def mode_of(station: Station, name: str) -> Mode:
    """Return how much must be out for an item: the stream alone where that is enough.

    Raises
    ------
    InputError
        No such item at this station; the remedy lists them.
    """
    for mode in MODES:
        judged = judge(station, "after_repair", mode=mode)
        known_here = items(judged)
        if any(_plain(item.name) == _plain(name) for item in known_here):
            return mode
        if judged.ways and of_part(known_here, name) is not None:
            return mode
    listed = names(station)
    if not listed:
        return MODES[-1]
    raise _unknown(name, listed)


def find(streams: tuple[Stream, ...], name: str) -> Item:
    """Return an item by its words.

    Raises
    ------
    InputError
        No such item at this station; the remedy lists them.
    """
    listed = [item for stream in streams for item in _of_way(stream.way, stream.desk.facts)]
    for item in listed:
        if _plain(item.name) == _plain(name):
            return item
    one = of_part(dict.fromkeys(listed), name)
    if one is not None:
        return one
    raise _unknown(name, tuple(dict.fromkeys(item.name for item in listed)))


def _unknown(name: str, known: tuple[str, ...]) -> InputError:
    listed = ", ".join(known)
    return InputError("item", f"got {name!r}, which this station does not have.", f"Use one of: {listed}.")


def find_valves(streams: tuple[Stream, ...], name: str) -> tuple[str, ...]:
    """Return ids of the valves that get a new setting: an id, a stream, or nothing for all.

    Raises
    ------
    InputError
        No such valve or stream at this station.
    """
    every = tuple(dict.fromkeys(valve for stream in streams for valve in stream.way.own))
    wanted = _plain(name)
    if not wanted:
        return every
    known: dict[str, tuple[str, ...]] = {valve: (valve,) for valve in every}
    for stream in streams:
        label = f"stream {stream.way.view.id}"
        known[label] = stream.way.own
        for valve in stream.desk.facts.valves:
            if valve.id in stream.way.own:
                word = "reducer" if isinstance(valve, Reducer) else "shut-off"
                known.setdefault(f"{label} {word}", (valve.id,))
    found = next((ids for word, ids in known.items() if _plain(word) == wanted), None)
    if found is None:
        raise _unknown(name, tuple(known))
    return found


def find_stream(streams: tuple[Stream, ...], name: str) -> tuple[Stream, ...]:
    """Return the streams that go back to service: one by its id or a valve of its own, or all.

    Raises
    ------
    InputError
        No such stream at this station.
    """
    wanted = _plain(name)
    if not wanted:
        return streams
    for stream in streams:
        label = stream.way.view.id
        if wanted in (_plain(label), _plain(f"stream {label}"), *map(_plain, stream.way.own)):
            return (stream,)
    raise _unknown(name, tuple(f"stream {stream.way.view.id}" for stream in streams))
