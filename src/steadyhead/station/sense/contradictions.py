"""Values of one file that cannot be right together, and those that seldom are."""

from __future__ import annotations

import re
from collections.abc import Iterator

from steadyhead.findings import Amount, Finding, Severity
from steadyhead.records.parts import Relief, ShutOff
from steadyhead.records.station import Station, Zone
from steadyhead.records.values import Value
from steadyhead.station.refusal import Path
from steadyhead.station.sense import defaults as d
from steadyhead.station.sense.places import Places
from steadyhead.units import parse
from steadyhead.units.table import find

_DECIMALS = re.compile(r"\d[.,](\d+)")


def contradictions(at: Places) -> Iterator[Finding]:
    """Yield STN-03 (stop) for values that exclude each other, STN-04 (ask) for those that seldom agree."""
    yield from _supply(at)
    yield from _flows(at)
    yield from _water(at)
    yield from _levels(at)
    yield from _limits(at)
    yield from _closing(at)
    yield from _reliefs(at)
    yield from _hot_water(at)


def _supply(at: Places) -> Iterator[Finding]:
    supply = at.station.supply
    lowest = "the lowest inlet pressure of all lies above another one"
    highest = "the static inlet pressure is the highest there is"
    for low, high, rule in (
        ("min", "typical", lowest),
        ("min", "night", lowest),
        ("typical", "static", highest),
        ("night", "static", highest),
    ):
        yield from _ordered(
            at, ("supply", low), getattr(supply, low), ("supply", high), getattr(supply, high), rule
        )


def _flows(at: Places) -> Iterator[Finding]:
    demand = at.station.demand
    night, average, peak = (("demand", name) for name in ("night", "average", "peak"))
    highest = "the peak is the highest hourly flow"
    yield from _ordered(at, average, demand.average, peak, demand.peak, highest)
    impossible = tuple(_ordered(at, night, demand.night, peak, demand.peak, highest))
    yield from impossible
    if not impossible:
        rule = "the night flow is the least flow, and seldom above the average"
        yield from _ordered(at, night, demand.night, average, demand.average, rule, ask=True)
    if demand.night.si <= 0 and not demand.zero_possible:
        yield _finding(
            Severity.ASK,
            at.words(*night),
            f"{at.words(*night)} {demand.night.text}",
            f"{at.words('demand', 'zero_possible')} {_stated(at.station)}",
            "no flow at night and a flow that never falls to zero exclude each other",
            demand.night,
        )


def _stated(station: Station) -> str:
    return "no" if "zero_possible" in station.demand.model_fields_set else "no (not stated)"


def _water(at: Places) -> Iterator[Finding]:
    water = at.station.water
    usual, lowest, highest = (("water", name) for name in ("temperature", "lowest", "highest"))
    yield from _ordered(
        at, lowest, water.lowest, usual, water.temperature, "the coldest lies above the usual"
    )
    yield from _ordered(
        at, usual, water.temperature, highest, water.highest, "the usual lies above the warmest"
    )


def _levels(at: Places) -> Iterator[Finding]:
    zone = at.station.zone
    lowest, highest = ("zone", "lowest"), ("zone", "highest")
    order = "the lowest consumer lies above the highest"
    crossed = tuple(_ordered(at, lowest, zone.lowest, highest, zone.highest, order))
    yield from crossed
    if not crossed:
        yield from _between(at, zone, ("zone", "level"), zone.level, "the usual level of the consumers")
        for index, need in enumerate(at.station.needs):
            yield from _between(at, zone, ("needs", index, "level"), need.level, "a critical point")


def _between(at: Places, zone: Zone, path: Path, level: Value | None, what: str) -> Iterator[Finding]:
    above = f"{what} lies above the highest consumer"
    below = f"{what} lies below the lowest consumer"
    yield from _ordered(at, path, level, ("zone", "highest"), zone.highest, above, ask=True)
    yield from _ordered(at, ("zone", "lowest"), zone.lowest, path, level, below, ask=True, of_second=True)


def _limits(at: Places) -> Iterator[Finding]:
    for index, limit in enumerate(at.station.limits):
        normal, fault = ("limits", index, "normal"), ("limits", index, "fault")
        rule = "what a component bears for good it bears in a fault too"
        yield from _ordered(at, normal, limit.normal, fault, limit.fault, rule)


def _closing(at: Places) -> Iterator[Finding]:
    peak = at.station.demand.peak
    rule = "the closing time was taken above the highest hourly flow; a trickle closes slower"
    for path, part in at.parts():
        if isinstance(part, ShutOff) and part.closing is not None:
            flow = (*path, "closing", "flow")
            yield from _ordered(at, flow, part.closing.flow, ("demand", "peak"), peak, rule, ask=True)


def _reliefs(at: Places) -> Iterator[Finding]:
    for path, part in at.parts():
        if isinstance(part, Relief):
            crack, full, reseat = ((*path, name) for name in ("crack", "full", "reseat"))
            opens = "a relief valve stands wide open above its crack"
            shuts = "a relief valve is shut again below its crack"
            yield from _ordered(at, crack, part.crack, full, part.full, opens)
            yield from _ordered(at, reseat, part.reseat, crack, part.crack, shuts)


def _hot_water(at: Places) -> Iterator[Finding]:
    hot = at.station.hot_water
    if hot is not None:
        rule = "heated water is warmer after heating"
        cold = (("hot_water", "cold"), hot.cold) if hot.cold else (("water", "temperature"), None)
        before = cold[1] or at.station.water.temperature
        yield from _ordered(at, cold[0], before, ("hot_water", "hot"), hot.hot, rule)


def _ordered(
    at: Places,
    first: Path,
    low: Value | None,
    second: Path,
    high: Value | None,
    rule: str,
    *,
    ask: bool = False,
    of_second: bool = False,
) -> Iterator[Finding]:
    """Yield a finding where `low` lies above `high` by more than rounding; about `second` where told so."""
    if low is None or high is None or low.si <= high.si + _rounding(low, high):
        return
    yield _finding(
        Severity.ASK if ask else Severity.STOP,
        at.words(*(second if of_second else first)),
        f"{at.words(*first)} {low.text}",
        f"{at.words(*second)} {high.text}",
        rule,
        low,
        high,
    )


def _rounding(low: Value, high: Value) -> float:
    """Return by how much the two may cross: half of the last digit of the one typed less finely. [SI]"""
    if low.kind == "length":
        return d.LEVEL_ROUNDING.si
    if low.kind == "temperature":
        return 0.0
    most = d.ROUNDING.si * max(abs(low.si), abs(high.si))
    return min(most, max(_half_digit(low), _half_digit(high)))


def _half_digit(value: Value) -> float:
    typed = parse(value.text, value.kind)
    decimals = _DECIMALS.search(value.text)
    unit = find(value.kind, typed.unit)
    return 0.0 if unit is None else 0.5 * 10.0 ** -len(decimals.group(1) if decimals else "") * unit.factor


def _finding(
    weight: Severity, where: str, first: str, second: str, rule: str, value: Value, limit: Value | None = None
) -> Finding:
    return Finding(
        "STN-03" if weight is Severity.STOP else "STN-04",
        where,
        weight,
        {"first": first, "second": second, "rule": rule},
        Amount(value.kind, value.si),
        None if limit is None else Amount(limit.kind, limit.si),
    )
