"""Names inside one station file that must fit together: ids used once, taps and reaches that exist."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches
from typing import Any

from steadyhead.station.explain import refuse
from steadyhead.station.plain import Reading
from steadyhead.station.refusal import Path, Refusal


def reference_refusals(reading: Reading) -> list[Refusal]:
    """Return what does not fit: an id used twice, a sensed tap or a reach that is not there."""
    data = reading.data
    parts = list(_parts(data.get("line"), ("line",)))
    found = _doubled(parts, reading)
    gauges = data.get("gauges")
    found += _doubled(list(_items(gauges, ("gauges",))), reading)
    found += _events(data, reading)
    found += _reaches(data, reading)
    taps = [part["id"] for _, part in parts if part.get("part") == "tap" and isinstance(part.get("id"), str)]
    for path, part in parts:
        senses = part.get("senses")
        if isinstance(senses, str) and senses not in ("?", "") and senses not in taps:
            close = get_close_matches(senses, taps, n=1)
            hint = f"Did you mean {close[0]!r}? " if close else ""
            have = f"Taps in the line: {', '.join(taps)}." if taps else "Add a tap to the line."
            found.append(
                refuse(
                    (*path, "senses"), reading, f"got {senses!r}, which is no tap of the line.", hint + have
                )
            )
    return found


def _events(data: Any, reading: Reading) -> list[Refusal]:
    """Return events called alike, and places of events that are no reach of the zone."""
    events = list(_items(data.get("events"), ("events",)))
    zone = data.get("zone")
    reaches = zone.get("reaches") if isinstance(zone, dict) else None
    known = [str(reach.get("id")) for _, reach in _items(reaches, ("zone", "reaches"))]
    found = _doubled(events, reading)
    for path, event in events:
        place = event.get("place")
        if isinstance(place, str) and place not in ("?", "") and place not in known:
            have = f"Reaches of the zone: {', '.join(known)}." if known else "State the reaches of the zone."
            found.append(
                refuse((*path, "place"), reading, f"got {place!r}, which is no reach of the zone.", have)
            )
    return found


def _reaches(data: Any, reading: Reading) -> list[Refusal]:
    """Return reaches of the zone called as one of the supply main."""
    sides = {side: data.get(side) for side in ("supply", "zone")}
    ahead, behind = (
        list(_items(side.get("reaches") if isinstance(side, dict) else None, (name, "reaches")))
        for name, side in sides.items()
    )
    taken = {reach["id"] for _, reach in ahead if isinstance(reach.get("id"), str)} - {"?", ""}
    return [
        refuse(
            (*path, "id"),
            reading,
            f"got {reach['id']!r}, which a reach of the supply main is called too.",
            "Give each reach its own id, on both sides of the station.",
        )
        for path, reach in behind
        if isinstance(reach.get("id"), str) and reach["id"] in taken
    ]


def _parts(line: Any, path: Path) -> Iterator[tuple[Path, dict[str, Any]]]:
    for here, part in _items(line, path):
        yield here, part
        for at, branch in _items(part.get("branches"), (*here, "branches")):
            yield at, branch
            yield from _parts(branch.get("line"), (*at, "line"))


def _items(items: Any, path: Path) -> Iterator[tuple[Path, dict[str, Any]]]:
    if isinstance(items, list):
        for index, item in enumerate(items):
            if isinstance(item, dict):
                yield (*path, index), item


def _doubled(items: list[tuple[Path, dict[str, Any]]], reading: Reading) -> list[Refusal]:
    first: dict[str, Path] = {}
    found = []
    for path, item in items:
        name = item.get("id")
        if not isinstance(name, str) or name == "?":
            continue
        if name in first:
            line = reading.lines.get(first[name], 0)
            where = f" in line {line}" if line else ""
            found.append(
                refuse(
                    (*path, "id"),
                    reading,
                    f"{name!r} is already used{where}.",
                    "Give each its own id; never use one twice. "
                    "Branches that share a part make a ring; rings are not covered.",
                )
            )
        else:
            first[name] = path
    return found
