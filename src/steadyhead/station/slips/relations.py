"""Figures made of several values of one station, and how they usually lie."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import inf, log, pi, sqrt

from steadyhead.records.parts import IsolatingValve, LinePart, Parallel, Reducer, ShutOff, flat
from steadyhead.records.station import Station
from steadyhead.station.layout import at_one_place
from steadyhead.station.refusal import Path
from steadyhead.station.slips import defaults as usual
from steadyhead.station.slips.defaults import Expectation
from steadyhead.station.slips.slots import Sheet

HEAD_PA_PER_M = 9806.65
BAR = 1e5
HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class Relation:
    """One figure: the slots it is made of, how it is made, and what is usual."""

    expect: Expectation
    slots: tuple[int, ...]
    figure: Callable[..., float]

    def score(self, values: list[float]) -> float:
        """Return how usual the figure is with these values."""
        return self.expect.log_usual(self.figure(*(values[slot] for slot in self.slots)))


def relations(station: Station, sheet: Sheet) -> tuple[Relation, ...]:
    """Return every relation this station has values for."""
    places = Places(station)
    found: list[Relation] = []
    for expect, paths, figure in (
        *_supply(places), *_settings(places), *_springs(places), *_limits(places), *_consumers(places),
        *_flows(places), *_gauges(places),
    ):  # fmt: skip
        slots = [sheet.at.get(path) for path in paths]
        if all(slot is not None for slot in slots):
            found.append(Relation(expect, tuple(slot for slot in slots if slot is not None), figure))
    return tuple(found)


Row = tuple[Expectation, tuple[Path, ...], Callable[..., float]]


class Places:
    """The paths of a station that matter here, by their role."""

    def __init__(self, station: Station) -> None:
        self.station = station
        walked = list(_walk(station))
        self.reducers = [(path, part) for path, part in walked if isinstance(part, Reducer)]
        small = set(_low_flow(station.line))
        self.full_flow = [(path, part) for path, part in self.reducers if part.id not in small]
        self.shut_offs = [(path, part) for path, part in walked if isinstance(part, ShutOff)]
        self.isolating = [(path, part) for path, part in walked if isinstance(part, IsolatingValve)]
        self.datum: Path = ("station", "datum")
        self.min: Path = ("supply", "min")
        self.typical: Path = ("supply", "typical")
        self.static: Path = ("supply", "static")
        self.duty: Path = ()
        self.lockup: Path = ()
        self.first_stages: list[Path] = []
        last: Path = ()
        if self.reducers:
            ends = [item for item in self.reducers if not self._feeds_another(*item)]
            self.first_stages = [path for path, part in self.reducers if self._feeds_another(path, part)]
            last, reducer = max(ends, key=lambda item: item[1].duty.pressure.si)
            self.duty = (*last, "duty", "pressure")
            self.lockup = (*last, "lockup") if reducer.lockup else self.duty
        trips = [path for path, part in self.shut_offs if part.trip]
        own = [path for path in trips if _is_in_series(path, last)]
        self.trip: Path = (*(own or trips)[-1], "trip") if trips else ()

    def _feeds_another(self, path: Path, reducer: Reducer) -> bool:
        """Whether a reducer stands ahead of another on one way, each holding a place of its own."""
        behind = [item for item in self.reducers if item[0] > path]
        return any(
            _is_in_series(path, other) and not at_one_place(self.station.line, part.senses, reducer.senses)
            for other, part in behind
        )


def _is_in_series(one: Path, other: Path) -> bool:
    """Whether water passes both places on one way: they do not stand in two branches of one group."""
    apart = next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), None)
    return apart is None or apart == 0 or one[apart - 1] != "branches"


def _walk(station: Station) -> Iterator[tuple[Path, object]]:
    stack: list[tuple[Path, object]] = [(("line", i), part) for i, part in enumerate(station.line)]
    while stack:
        path, part = stack.pop(0)
        yield path, part
        for b, branch in enumerate(getattr(part, "branches", ())):
            inner = [((*path, "branches", b, "line", i), item) for i, item in enumerate(branch.line)]
            stack = inner + stack


def _low_flow(line: tuple[LinePart, ...]) -> Iterator[str]:
    """Yield the ids of the parts that carry the low flow only."""
    for group in (part for part in line if isinstance(part, Parallel)):
        for branch in group.branches:
            if branch.role == "low flow":
                yield from (part.id for part in flat(branch.line))
            else:
                yield from _low_flow(branch.line)


def _ln(a: float, b: float) -> float:
    return log(a / b) if a > 0 and b > 0 else -inf if a <= 0 < b else inf


def _supply(at: Places) -> Iterator[Row]:
    night: Path = ("supply", "night")
    yield usual.MIN_TO_TYPICAL, (at.min, at.typical), _ln
    yield usual.TYPICAL_TO_NIGHT, (at.typical, night), _ln
    yield usual.TYPICAL_TO_STATIC, (at.typical, at.static), _ln
    yield usual.NIGHT_TO_STATIC, (night, at.static), _ln
    yield usual.MIN_TO_STATIC, (at.min, at.static), _ln
    yield usual.STATIC_ALONE, (at.static,), lambda static: _ln(static, BAR)
    yield usual.STATIC_TO_DUTY, (at.static, at.duty), _ln
    yield usual.MIN_ABOVE_DUTY, (at.min, at.duty), lambda lowest, duty: (lowest - duty) / BAR


def _step(duty: float) -> float:
    return max(0.2 * duty, 0.9 * BAR)


def _settings(at: Places) -> Iterator[Row]:
    alarm: Path = ("alarm", "pressure")
    yield usual.DUTY_ALONE, (at.duty,), lambda duty: _ln(duty, BAR)
    yield usual.TRIP_STEP, (at.trip, at.lockup), lambda trip, lock: (trip - lock) / _step(lock)
    if not at.trip:
        yield usual.ALARM_STEP, (alarm, at.lockup), lambda alarm, lock: (alarm - lock) / _step(lock)
    yield (
        usual.ALARM_SHARE,
        (alarm, at.lockup, at.trip),
        lambda alarm, lock, trip: (alarm - lock) / (trip - lock) if trip > lock else inf,
    )
    for path, _ in at.reducers:
        duty: Path = (*path, "duty", "pressure")
        yield (
            usual.LOCKUP_RISE,
            ((*path, "lockup"), duty),
            lambda lock, duty: (lock - duty) / max(BAR, 0.25 * duty),
        )
        yield usual.TAG_TO_SETTING, ((*path, "factory", "pressure"), duty), _ln
        if path in at.first_stages:
            yield usual.BETWEEN_TO_DUTY, (duty, at.duty), _ln
            yield usual.BETWEEN_TO_MIN, (duty, at.min), _ln
    for path, _ in at.shut_offs:
        trip: Path = (*path, "trip")
        yield usual.TAG_TO_SETTING, ((*path, "factory", "pressure"), trip), _ln
        yield usual.DEAD_BAND_TO_TRIP, ((*path, "dead_band"), trip), _ln
        yield usual.MEASURED_INLET, ((*path, "closing", "inlet_pressure"), at.typical), _ln
        yield usual.MEASURED_OUTLET, ((*path, "closing", "outlet_pressure"), at.duty), _ln


def _springs(at: Places) -> Iterator[Row]:
    settings = [(path, (*path, "duty", "pressure")) for path, _ in at.reducers]
    settings += [(path, (*path, "trip")) for path, _ in at.shut_offs]
    for path, setting in settings:
        low, high = (*path, "pilot", "spring_low"), (*path, "pilot", "spring_high")
        yield usual.SPRING_RATIO, (high, low), _ln
        yield usual.SETTING_TO_SPRING_TOP, (setting, high), _ln
        yield usual.SETTING_TO_SPRING_FOOT, (setting, low), _ln


def _limits(at: Places) -> Iterator[Row]:
    def at_datum(limit: float, level: float, datum: float, held: float) -> float:
        return _ln(limit + (level - datum) * HEAD_PA_PER_M, held)

    for index, limit in enumerate(at.station.limits):
        normal, fault, level = (("limits", index, key) for key in ("normal", "fault", "level"))
        yield usual.NORMAL_TO_FAULT_LIMIT, (normal, fault), _ln
        alone = fault if limit.fault else normal
        yield usual.LIMIT_ALONE, (alone,), lambda limit: _ln(limit, BAR)
        if limit.side != "consumer":
            yield usual.BETWEEN_LIMIT_TO_STATIC, (alone, at.static), _ln
            yield usual.BETWEEN_LEVEL, (level, at.datum), lambda level, datum: (level - datum) / 5.0
            continue
        yield usual.NORMAL_LIMIT_TO_LOCKUP, (normal, level, at.datum, at.lockup), at_datum
        if at.trip:
            yield usual.FAULT_LIMIT_TO_TRIP, (fault, level, at.datum, at.trip), at_datum
        else:
            yield usual.FAULT_LIMIT_TO_DUTY, (fault, level, at.datum, at.duty), at_datum
        if at.station.zone.lowest and at.station.zone.highest:
            yield usual.LIMIT_LEVEL, (level, ("zone", "lowest"), ("zone", "highest")), _outside
        else:
            yield usual.LEVEL_OFF, (level, at.datum), _off
    ceiling = usual.MATERIAL_CEILING_BAR[at.station.zone.material] * BAR
    yield usual.DUTY_TO_MATERIAL, (at.duty,), lambda duty: _ln(duty, ceiling)


def _outside(level: float, lowest: float, highest: float) -> float:
    if level < lowest - 3.0:
        return (level - lowest + 3.0) / 10.0
    return max(0.0, level - highest - 3.0) / 10.0


def _off(level: float, datum: float) -> float:
    return log(1.0 + abs(level - datum) / 20.0)


def _consumers(at: Places) -> Iterator[Row]:
    def unit(duty: float) -> float:
        return max(0.25 * duty, BAR)

    lowest, highest, level = (("zone", key) for key in ("lowest", "highest", "level"))
    yield (
        usual.AT_HIGHEST,
        (at.duty, at.datum, highest),
        lambda duty, datum, top: (duty - (top - datum) * HEAD_PA_PER_M) / unit(duty),
    )
    yield (
        usual.AT_LOWEST,
        (at.duty, at.datum, lowest),
        lambda duty, datum, foot: (duty - (foot - datum) * HEAD_PA_PER_M) / unit(duty),
    )
    for place in (lowest, highest) if at.station.zone.lowest or at.station.zone.highest else (level,):
        yield usual.LEVEL_OFF, (place, at.datum), _off
    yield (
        usual.LEVEL_BETWEEN,
        (level, lowest, highest),
        lambda z, low, top: (z - low) / (top - low + 2) if top > low - 2 else inf,
    )
    for index, need in enumerate(at.station.needs):
        here: Path = ("needs", index)
        pressure, z, friction = (*here, "pressure"), (*here, "level"), (*here, "friction")
        yield usual.NEED_ALONE, (pressure,), lambda need: _ln(need, BAR)
        if at.station.zone.highest:
            yield usual.NEED_LEVEL, (z, highest), lambda z, top: (z - top) / 10.0
        else:
            yield usual.LEVEL_OFF, (z, at.datum), _off

        def margin(duty: float, datum: float, z: float, need: float, friction: float = 0.0) -> float:
            return (duty - (z - datum) * HEAD_PA_PER_M - friction - need) / unit(duty)

        slots = (at.duty, at.datum, z, pressure)
        yield usual.NEED_MARGIN, (*slots, friction) if need.friction else slots, margin


def _flows(at: Places) -> Iterator[Row]:
    night, average, peak, fire = (("demand", key) for key in ("night", "average", "peak", "fire"))
    yield usual.AVERAGE_TO_PEAK[at.station.station.kind], (average, peak), _ln
    if at.station.demand.night.si > 0:
        yield usual.NIGHT_TO_AVERAGE[at.station.station.kind], (night, average), _ln
    yield usual.FIRE_TO_PEAK, (fire, peak), _ln
    yield (
        usual.RESIDENCE[at.station.station.kind],
        (("zone", "volume"), average),
        lambda volume, flow: _ln(volume, flow * HOUR),
    )
    for path, _ in at.full_flow:
        size: Path = (*path, "size")
        yield usual.DUTY_FLOW_TO_AVERAGE, ((*path, "duty", "flow"), average), _ln
        yield usual.VALVE_VELOCITY, *_velocity(at, size)
    for path, _ in at.shut_offs:
        yield usual.CLOSING_FLOW_TO_PEAK, ((*path, "closing", "flow"), peak), _ln
    for bore in [
        ("supply", "main", "bore"),
        ("zone", "main", "bore"),
        *((*path, "size") for path, _ in at.isolating[:1]),
    ]:
        yield usual.PIPE_VELOCITY, *_velocity(at, bore)
    main: Path = ("supply", "main")
    yield (
        usual.FRICTION_TO_FALL,
        (peak, (*main, "bore"), (*main, "length"), at.static, at.min),
        _friction_share,
    )
    if at.duty and len(at.full_flow) == 1 and at.station.station.kind != "fire main":
        yield usual.OPENING, (peak, at.min, at.duty, (*at.full_flow[0][0], "size")), _opening


def _velocity(at: Places, bore: Path) -> tuple[tuple[Path, ...], Callable[..., float]]:
    """Return the velocity at peak; where a fire flow is kept for, no valve is too wide for the peak alone."""
    peak, fire = ("demand", "peak"), ("demand", "fire")
    if at.station.demand.fire is None:
        return (peak, bore), lambda flow, bore: _ln(flow, pi / 4 * bore**2)

    def largest(flow: float, fire: float, bore: float) -> float:
        return _ln(max(flow, min(fire, pi / 4 * bore**2 * usual.WIDE_ENOUGH_M_S)), pi / 4 * bore**2)

    return (peak, fire, bore), largest


def _friction_share(flow: float, bore: float, length: float, static: float, lowest: float) -> float:
    speed = flow / (pi / 4 * bore**2)
    friction = usual.FRICTION_FACTOR * length / bore * 500.0 * speed**2
    return _ln(friction, max(static - lowest, 0.3 * BAR))


def _opening(flow: float, inlet: float, duty: float, bore: float) -> float:
    if inlet <= duty:
        return inf
    needed = flow * HOUR / sqrt((inlet - duty) / BAR)
    return _ln(needed, usual.KV_OF_DN100 * (bore / 0.1) ** 2)


def _gauges(at: Places) -> Iterator[Row]:
    highest = at.trip or at.duty
    for index, gauge in enumerate(at.station.gauges):
        span: Path = ("gauges", index, "span")
        if gauge.for_setting:
            yield usual.SETTING_SPAN, (span, highest), _ln
        else:
            yield usual.OTHER_SPAN, (span, at.static), _ln
