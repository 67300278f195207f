"""What no gauge of a station can read at its place, whatever is done there: by the plan's own pressures."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.records.minding import Range
from steadyhead.records.parts import Tap
from steadyhead.records.procedure import Input, Procedure
from steadyhead.records.quantities import STANDARD_ATMOSPHERE_PA
from steadyhead.records.station import Station
from steadyhead.station.elevation import to_level
from steadyhead.visits.tables.defaults import CANNOT_BE
from steadyhead.water import properties

PUMPED = ("T3.first", "T3.last", "hold", "act")
"""Readings of an outlet, or of a sensing line, that a pump may raise beyond the inlet."""
CONSUMERS = ("T4", "critical")
"""What stands on the consumers' side."""
NO_PLACE = ("worked out", "logger", "one gauge, moved", "last record", "gas gauge")
"""Instruments of inputs that are no pressure standing at a place: differences, peaks of a wave, gas."""
PEAK = "peak"


def ranges(procedure: Procedure, station: Station) -> Iterator[Range]:
    """Yield between what each pressure of a step can lie: from no pressure at all to what can feed its place.

    A place is fed by the supply at its highest, or by a pump up to the test limit; the consumers' side of an
    outlet valve only by a reducer whose shut-off acts below that limit. Readings with a band of their own are
    held against it instead.
    """
    taps = {part.id: part for part in station.parts() if isinstance(part, Tap)}
    density = properties(station.water.temperature.si, STANDARD_ATMOSPHERE_PA).density
    for node in procedure.nodes:
        banded = {one.input for one in node.expect}
        top = _test_limit(procedure, node.id)
        for one in node.inputs:
            if one.quantity != "pressure" or one.instrument in NO_PLACE or one.name in banded:
                continue
            if one.name.partition(".")[0] == PEAK:
                continue
            tap = taps.get(one.tap)
            height = tap.height.si if tap is not None and tap.height is not None else 0.0
            high = to_level(_most(one, station, top), level=height, datum=0.0, density=density)
            yield Range(node.id, one.name, -STANDARD_ATMOSPHERE_PA, high + CANNOT_BE.si)


def _test_limit(procedure: Procedure, step: str) -> float:
    """Return the highest pressure of a test at the outlet of a step's stream; 0: the plan has none. [Pa]"""
    stream = procedure.streams.get(step, "")
    own = procedure.limits.get(f"test_limit@{stream}" if stream else "test_limit")
    every = [value for name, value in procedure.limits.items() if name.partition("@")[0] == "test_limit"]
    return own if own is not None else max(every, default=0.0)


def _most(one: Input, station: Station, top: float) -> float:
    """Return the highest pressure that can stand where an input is read. [Pa at datum]"""
    supply = station.supply.static.si
    if one.name.partition(".")[0] in CONSUMERS and top > 0.0:
        return min(supply, top)
    pumped = one.name in PUMPED or one.name.partition(".")[0] in PUMPED
    return max(supply, top) if pumped or not one.tap else supply
