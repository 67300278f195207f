"""The faults that the twin can express at a station: what each changes, how badly, at which part.

Row numbers are those of the design handbook's fault matrix (7.2).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from steadyhead.hydraulics import Model
from steadyhead.hydraulics.kernel import layout as k
from steadyhead.records.parts import Branch, Parallel, Reducer, ShutOff, Strainer
from steadyhead.station.layout import Layout
from steadyhead.visits import spans
from steadyhead.visits.signatures import defaults as d
from steadyhead.visits.signatures.twin import Change, Held


@dataclass(frozen=True, slots=True)
class Fault:
    """One cause with its severities.

    id: see `steadyhead.records.signature.Cause`; row: of the fault matrix; weight: key of the weights;
    changes: one for each severity; spans: pairs of neighbours between which everything is possible; words: of
    the part.
    """

    id: str
    row: int
    weight: str
    text: str
    changes: tuple[Change, ...]
    spans: tuple[tuple[int, int], ...]
    words: Mapping[str, str] = field(default_factory=dict)


def faults(model: Model) -> tuple[Fault, ...]:
    """Return every fault of a line that the steady twin can express, worst severities included."""
    line = model.layout
    found: list[Fault] = []
    watching = spans.monitor(line)
    for reducer in line.reducers:
        if reducer is not watching:
            found += _reducer(model, reducer)
    for shut_off in line.shut_offs:
        found += _shut_off(model, shut_off)
    found += _way(line)
    return tuple(found)


def ladder(count: int) -> tuple[tuple[int, int], ...]:
    """Return the pairs of neighbours of a row of severities; of one severity, that one."""
    return tuple((i, i + 1) for i in range(count - 1)) or ((0, 0),)


def both_ways(count: int) -> tuple[tuple[int, int], ...]:
    """Return the pairs of two rows that lie on both sides of the healthy state, worst to least and back."""
    return (*ladder(count), *((count + a, count + b) for a, b in ladder(count)))


def _one(row: int, part: str, change: Change, **words: str) -> Fault:
    return _row(row, part, (change,), **words)


def _row(row: int, part: str, changes: tuple[Change, ...], weight: str = "", **words: str) -> Fault:
    name = weight or str(row)
    return Fault(f"{name}.{part}", row, name, name, changes, ladder(len(changes)), words)


def _column(part: str, column: int, number: float, *, factor: bool = False, leak: float = 0.0) -> Change:
    return Change(columns=((part, column, number, factor),), leak=leak)


def _reducer(model: Model, reducer: Reducer) -> Iterator[Fault]:
    rv, words = reducer.id, {"rv": reducer.id}
    kv = model.reducer_twin(rv).kv.si
    if reducer.kind != "direct-acting":
        yield from _piloted(model, reducer)
    leaks = tuple(_column(rv, k.LEAK, model.k(kv * s), leak=kv * s) for s in d.LEAK_KV_SHARE)
    grit = () if reducer.kind == "direct-acting" else tuple(_column(rv, k.LOWEST, x) for x in d.DEBRIS_LIFT)
    pairs = (*ladder(len(leaks)), *((len(leaks) + a, len(leaks) + b) for a, b in ladder(len(grit)) if grit))
    yield Fault(f"11.{rv}", 11, "11", "11", (*leaks, *grit), pairs, words)
    yield _row(33, rv, tuple(_column(rv, k.FULL, f, factor=True) for f in d.TOO_SMALL), **words)
    yield from _settings(model, reducer)
    if any(branch.role == "manual bypass" for branch in _branches(model)):
        leaks = tuple(_column(rv, k.LEAK, model.k(kv * s), leak=kv * s) for s in d.LEAK_KV_SHARE[4:])
        yield _row(12, rv, leaks, **words)


def _piloted(model: Model, reducer: Reducer) -> Iterator[Fault]:
    rv, words = reducer.id, {"rv": reducer.id}
    kv, lockup = model.reducer_twin(rv).kv.si, model.lockup[rv].si
    dirty = tuple(_column(rv, k.FEED, share, factor=True) for share in d.FEED_LEFT)
    blocked = Change(columns=((rv, k.FEED, 1e-5, True), (rv, k.BLOCKED, 1.0, False)))
    yield Fault(f"1.{rv}", 1, "1", "1", (*dirty, blocked), (*ladder(len(dirty)), (len(dirty),) * 2), words)
    yield _one(2, rv, blocked, **words)
    yield _one(3, rv, _column(rv, k.STUCK, 0.0), **words)
    yield _row(4, rv, tuple(Change(lift={rv: lift}) for lift in d.FROZEN_LIFT), **words)
    low = _column(rv, k.TRAPPED, 0.0)
    yield _one(5, rv, low, **words)
    yield _one(6, rv, _column(rv, k.TRAPPED, lockup + model.band[rv].si), **words)
    yield _row(7, rv, tuple(Change(pilot=Held(rv, least=y)) for y in d.PILOT_LEAK), **words)
    closed = tuple(Change(pilot=Held(rv, most=y)) for y in (0.3, 0.1, 0.0))
    yield _row(8, rv, closed, **words)
    yield _one(9, rv, _column(rv, k.STUCK, 1.0), **words)
    yield _row(10, rv, tuple(_column(rv, k.TEAR, model.k(kv * s)) for s in d.TORN_KV_SHARE), **words)
    yield _one(61, rv, Change(lift={rv: 1.0}), **words)
    yield _one(62, rv, low, **words)
    if any(one.sensing_tap != "own" for one in model.layout.shut_offs):
        yield _one(63, rv, low, **words)


def _settings(model: Model, reducer: Reducer) -> Iterator[Fault]:
    rv, words = reducer.id, {"rv": reducer.id}
    trip = next((one.trip.si for one in model.layout.shut_offs if one.trip is not None), None)
    yield _moved(25, rv, d.SHIFT, words)
    yield _moved(23, rv, d.NUT, words)
    if trip is not None:
        yield _one(24, rv, Change(lockup={rv: trip - model.lockup[rv].si}), **words)
    yield _row(40, rv, tuple(Change(lockup={rv: rise}) for rise in d.BREATHER), **words)
    below, above = d.SWIRL[:2], d.SWIRL[2:]
    changes = tuple(Change(swirl={rv: at}) for at in (*below, *above))
    yield Fault(f"39.{rv}", 39, "39", "39", changes, both_ways(2), words)


def _moved(row: int, rv: str, sizes: tuple[float, ...], words: Mapping[str, str]) -> Fault:
    changes = tuple(Change(lockup={rv: sign * size}) for sign in (-1.0, 1.0) for size in sizes)
    return Fault(f"{row}.{rv}", row, str(row), str(row), changes, both_ways(len(sizes)), words)


def _shut_off(model: Model, shut_off: ShutOff) -> Iterator[Fault]:
    so, words = shut_off.id, {"so": shut_off.id}
    partly = tuple(Change(lift={so: lift}) for lift in d.SHUT_OFF_LIFT)
    yield _row(31, so, partly, **words)
    shut = Change(lift={so: 0.0})
    yield _row(66, so, (*partly, shut), **words)
    yield _one(48, so, shut, **words)
    kv = model.shut_off_twin(so).kv.si
    passing = tuple(_column(so, k.LEAK, model.k(kv * s)) for s in d.PASSING_KV_SHARE)
    yield _row(47, so, passing, **words)


def _way(line: Layout) -> Iterator[Fault]:
    for part in line.main:
        if isinstance(part, Strainer):
            clogged = tuple(_column(part.id, k.FULL, c**-0.5, factor=True) for c in d.CLOG)
            yield _row(28, part.id, clogged, st=part.id)
    inlet, outlet = line.inlet_valve, line.outlet_valve
    if inlet is not None:
        yield _row(29, inlet.id, tuple(Change(throttled={inlet.id: s}) for s in d.GATE_LEFT), valve=inlet.id)
        more = tuple(Change(throttled={inlet.id: s}) for s in d.GATE_MORE)
        yield _row(29, inlet.id, more, "29.more", valve=inlet.id)
        yield _one(58, inlet.id, Change(stands={inlet.id: 0.0}), valve=inlet.id)
    if outlet is not None:
        yield _row(
            30, outlet.id, tuple(Change(throttled={outlet.id: s}) for s in d.GATE_LEFT), valve=outlet.id
        )
    yield _row(32, "supply", tuple(Change(supply=s) for s in d.SUPPLY_LACK))


def _branches(model: Model) -> list[Branch]:
    return [
        branch for part in model.station.parts() if isinstance(part, Parallel) for branch in part.branches
    ]


__all__ = ["Fault", "both_ways", "faults", "ladder"]
