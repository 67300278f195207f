"""States and causes that need no solve of the twin: a band the plan has already, moved by a known law."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from steadyhead.hydraulics import Model
from steadyhead.records.plan_numbers import Band, PlanNumbers
from steadyhead.records.signature import Curve, Grade
from steadyhead.station.layout import Layout
from steadyhead.visits import spans
from steadyhead.visits.signatures import defaults as d
from steadyhead.visits.signatures.faults import Fault, both_ways, ladder
from steadyhead.visits.signatures.states import EARLY, STILL
from steadyhead.visits.signatures.twin import SOUND
from steadyhead.water import properties

TRIPS = ("trip_mid", "trip_set_mid")
TIMES = ("closing", "closing_service", "window")
LOSSES = ("strainer", "shut_off")
RELIEFS = ("relief_crack", "relief_reseat")
PLAIN = (*TRIPS, *TIMES, *LOSSES, *RELIEFS, "trip_held", "alarm", "turns", "reset", "vented")
"""States whose curves are the bands of the plan."""
_SIGMAS = 1.959964
"""Half a band of 95 % over one standard deviation."""
_Rows = Iterator[tuple[Fault, tuple[Grade, ...]]]


@dataclass(frozen=True)
class Plain:
    """What the causes of a plain state are made from."""

    model: Model
    numbers: PlanNumbers
    curves: Mapping[str, Curve]

    @property
    def line(self) -> Layout:
        """Layout of the line."""
        return self.model.layout


def curve_of(band: Band) -> Curve:
    """Return a band as a curve of one flow; its errors are taken as one."""
    half = max((band.high - band.low) / 2.0 / _SIGMAS, 1e-9)
    return Curve((band.nominal,), (0.0,), (0.0,), (half,))


def plain_curves(numbers: PlanNumbers) -> dict[str, Curve]:
    """Return the curves of all plain states by ``state/place``."""
    found = {}
    for key, band in numbers.bands.items():
        state, _, place = key.rpartition(".")
        if state in RELIEFS:
            found[f"{state}.{place}/T3"] = curve_of(band)
        elif state in PLAIN:
            found[f"{state}/{place}"] = curve_of(band)
    if "closing/time" in found:
        found["window/time"] = found["closing/time"]
    return found


def moved(curve: Curve, *, factor: float = 1.0, offset: float = 0.0, to: float | None = None) -> Curve:
    """Return a curve moved: by a factor, by an offset, or to one value at every flow."""
    if to is not None:
        still = tuple(0.0 for _ in curve.value)
        return Curve(tuple(to for _ in curve.value), still, still, curve.half)
    return Curve(
        tuple(factor * v + offset for v in curve.value),
        tuple(factor * s for s in curve.supply),
        tuple(factor * s for s in curve.setting),
        tuple(factor * h for h in curve.half),
    )


def plain_causes(plain: Plain) -> _Rows:
    """Yield the causes of plain states, and those the twin's states have beside the twin's own."""
    yield from _of_shut_off(plain)
    yield from _of_losses(plain)
    yield from _of_turns(plain)
    yield from _of_reliefs(plain)
    yield from _of_still(plain)
    yield from _of_service(plain)
    yield from _of_vented(plain)
    yield from _shifted(plain, 55, "55", "alarm", ("alarm",), d.ALARM_OFF, {}, both=True)


def _keys(plain: Plain, states: tuple[str, ...], place: str = "") -> list[str]:
    found = []
    for key in plain.curves:
        state, _, at = key.partition("/")
        if state.partition(".")[0] in states and (not place or at == place):
            found.append(key)
    return found


def _shifted(
    plain: Plain,
    row: int,
    weight: str,
    part: str,
    states: tuple[str, ...],
    sizes: tuple[float, ...],
    words: Mapping[str, str],
    *,
    both: bool = False,
    place: str = "",
) -> _Rows:
    keys = _keys(plain, states, place)
    if not keys:
        return
    offsets = (*(-size for size in sizes), *sizes) if both else sizes
    grades = tuple(
        Grade({key: moved(plain.curves[key], offset=offset) for key in keys}) for offset in offsets
    )
    pairs = both_ways(len(sizes)) if both else ladder(len(sizes))
    yield _fault(row, weight, part, pairs, words), grades


def _scaled(
    plain: Plain, row: int, weight: str, part: str, states: tuple[str, ...], factors: tuple[float, ...],
    words: Mapping[str, str],
) -> _Rows:  # fmt: skip
    keys = _keys(plain, states)
    if keys:
        grades = tuple(Grade({key: moved(plain.curves[key], factor=f) for key in keys}) for f in factors)
        yield _fault(row, weight, part, ladder(len(factors)), words), grades


def _fault(
    row: int, weight: str, part: str, pairs: tuple[tuple[int, int], ...], words: Mapping[str, str]
) -> Fault:
    return Fault(f"{weight}.{part}", row, weight, weight, (SOUND,), pairs, words)


def _of_shut_off(plain: Plain) -> _Rows:
    shut_off = plain.line.shut_off
    if shut_off is None:
        return
    so, words = shut_off.id, {"so": shut_off.id}
    yield from _shifted(plain, 45, "45", so, TRIPS, d.TRIP_LATE, words)
    yield from _shifted(plain, 43, "43", so, TRIPS, d.TRIP_LATE[1:], words)
    yield from _shifted(plain, 64, "64", so, TRIPS, d.SHIFT[1:], words)
    yield from _shifted(plain, 65, "65", so, TRIPS, d.BREATHER, words)
    yield from _shifted(plain, 25, "25.trip", so, (*TRIPS, "reset"), d.SHIFT[:3], words, both=True)
    low = tuple(-size for size in d.SHIFT[:3])
    yield from _shifted(plain, 48, "48.trip", so, TRIPS, low, words)
    yield from _shifted(plain, 48, "48.low", so, ("at_trip",), low, words, place="T3")
    for row in (44, 59, 60):
        yield from _scaled(plain, row, str(row), so, TIMES, d.SLOW, words)
    yield from _scaled(plain, 60, "60.fast", so, TIMES, d.FAST, words)


def _of_losses(plain: Plain) -> _Rows:
    strainer, shut_off = plain.line.strainer, plain.line.shut_off
    if strainer is not None:
        yield from _scaled(plain, 28, "28", strainer.id, ("strainer",), d.CLOG_LOSS, {"st": strainer.id})
    if shut_off is not None:
        words = {"so": shut_off.id}
        yield from _scaled(plain, 31, "31", shut_off.id, ("shut_off",), d.CLOG_LOSS, words)
        yield from _scaled(plain, 66, "66", shut_off.id, ("shut_off",), d.CLOG_LOSS, words)


def _of_turns(plain: Plain) -> _Rows:
    for reducer in plain.line.reducers:
        words = {"rv": reducer.id}
        keys = _keys(plain, ("turns",), reducer.id)
        if keys:
            stiff = tuple(
                Grade({k: moved(plain.curves[k], factor=1.0 / f) for k in keys}) for f in d.FALSE_SPRING
            )
            yield _fault(22, "22", reducer.id, ladder(len(stiff)), words), stiff
        own = _keys(plain, ("at_trip",), "T3") if reducer is spans.worker(plain.line) else []
        if keys or own:
            weak = tuple(
                Grade(
                    {k: moved(plain.curves[k], factor=f) for k in keys}
                    | {k: moved(plain.curves[k], offset=-short) for k in own}
                )
                for f, short in zip(d.STOPS_SHORT, d.WEAK_SHORT, strict=True)
            )
            yield _fault(21, "21", reducer.id, ladder(len(weak)), words), weak


def _of_reliefs(plain: Plain) -> _Rows:
    for relief in plain.line.reliefs:
        words = {"relief": relief.id}
        low = tuple(-size for size in d.RELIEF_OFF)
        own = (f"relief_crack.{relief.id}/T3", f"relief_reseat.{relief.id}/T3")
        for row, sizes in ((52, low), (53, d.RELIEF_OFF)):
            grades = tuple(
                Grade({key: moved(plain.curves[key], offset=o) for key in own if key in plain.curves})
                for o in sizes
            )
            if grades[0].curves:
                yield _fault(row, str(row), relief.id, ladder(len(sizes)), words), grades


def _of_still(plain: Plain) -> _Rows:
    """Yield what moves a shut section: warmth, and a drain that is not shut."""
    names = (*STILL, *(f"{name}{EARLY}" for name in STILL))
    keys = [key for key in plain.curves if key.partition("/")[0] in names]
    late = [key for key in keys if EARLY not in key]
    if late:
        rise = warming(plain.model)
        sizes = (0.05 * d.WARMER * rise, 0.3 * d.WARMER * rise, d.WARMER * rise)
        grades = tuple(Grade({key: moved(plain.curves[key], offset=o) for key in late}) for o in sizes)
        yield _fault(36, "36", "zone", ladder(len(sizes)), {}), grades
    pairs = {"lockup": "trickle", "lockup_set": "trickle_set"}
    drawn = {}
    for key in keys:
        state, _, place = key.partition("/")
        source = plain.curves.get(f"{pairs.get(state.removesuffix(EARLY), '')}/{place}")
        if source is not None:
            middle = len(source.value) // 2
            drawn[key] = Curve(
                *((row[middle],) for row in (source.value, source.supply, source.setting, source.half))
            )
    if drawn:
        yield _fault(57, "57", "drain", ((0, 0),), {}), (Grade(drawn),)


def warming(model: Model) -> float:
    """Return what a shut section rises for each kelvin its water grows warmer. [Pa/K]

    Stiff walls: the water's expansion coefficient over the compliance of water and pipe.
    """
    kelvin = model.station.water.temperature.si
    pressure = model.atmosphere + model.station.supply.typical.si
    cold, warm = (properties(kelvin + off, pressure).density for off in (0.0, 1.0))
    return (cold - warm) / cold * d.STIFFNESS


def _of_service(plain: Plain) -> _Rows:
    """Yield a zone that feeds back: it stands above every lock-up, and the station stands shut."""
    keys = [key for key in _keys(plain, ("served",)) if key.endswith(("/T3", "/T4"))]
    if not keys:
        return
    worker = spans.worker(plain.line)
    lockup = plain.model.lockup[worker.id].si
    grades = tuple(
        Grade({key: moved(plain.curves[key], to=lockup + size) for key in keys}) for size in d.BACKFEED
    )
    yield _fault(35, "35", "zone", ladder(len(grades)), {}), grades


def _of_vented(plain: Plain) -> _Rows:
    """Yield what keeps a vented section from coming to nothing."""
    keys = {key.partition("/")[2]: key for key in _keys(plain, ("vented",))}
    inlet, outlet = plain.line.inlet_valve, plain.line.outlet_valve
    typical = plain.model.station.supply.typical.si
    duty = spans.worker(plain.line).duty.pressure.si
    low, high = d.ISOLATING_LEAK
    if inlet is not None and "T1" in keys:
        curve = plain.curves[keys["T1"]]
        grades = tuple(Grade({keys["T1"]: moved(curve, to=s * typical)}) for s in (low + 0.03, high))
        yield _fault(0, "B2.in", inlet.id, ladder(2), {"valve": inlet.id}), grades
    if outlet is not None and "T3" in keys:
        curve = plain.curves[keys["T3"]]
        grades = tuple(Grade({keys["T3"]: moved(curve, to=s * duty)}) for s in (low + 0.05, 1.0))
        yield _fault(0, "B2.out", outlet.id, ladder(2), {"valve": outlet.id}), grades
    for place, key in keys.items():
        top = duty if place == "T3" or place in spans.reduced(plain.line) else typical
        grades = tuple(Grade({key: moved(plain.curves[key], to=s * top)}) for s in (0.1, 1.1))
        yield _fault(0, "B2.kept", place, ladder(2), {"place": place}), grades
