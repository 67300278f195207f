"""What of a station file is known only within a tolerance: as stated, else as the trade or we suppose."""

from __future__ import annotations

from steadyhead.design.basis import Basis
from steadyhead.design.tolerances import reducer_moves, setting_gauge, trip_tolerances
from steadyhead.hydraulics import Model
from steadyhead.records.ladder import Contribution
from steadyhead.records.mains import Main
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.values import Default, Origin, Value
from steadyhead.surge import defaults as d
from steadyhead.surge import proof_defaults as pd
from steadyhead.surge.entry import ends, mains_of
from steadyhead.surge.from_station import Drafted
from steadyhead.surge.plan import DirectReducerRow, ReducerRow, ShutOffRow
from steadyhead.surge.tolerances import Tolerance


def tolerances_of(basis: Basis, drafted: Drafted) -> tuple[Tolerance, ...]:
    """Return everything of a way that may be off in an event, with where its band comes from.

    Settings and trips by repeatability, drift and the gauge they are set with; the closing needle by a year;
    Kv, feed, demand, inlet pressure, wave speeds and elasticity by what the file states of them, else by
    defaults; how many mains go on behind the zone's by the whole of its band, each number as likely.
    """
    model = drafted.model
    rows = drafted.plan.station
    found: list[Tolerance] = []
    for row in rows:
        if isinstance(row, ShutOffRow) and row.trip < float("inf"):
            part = next(part for part in model.shut_offs if part.id == row.id)
            found += _shut_off(basis, part, row)
        if isinstance(row, ReducerRow | DirectReducerRow):
            reducer = next(part for part in model.reducers if part.id == row.id)
            found += _reducer(basis, model, reducer, row)
    return (*found, *_surroundings(drafted))


def _shut_off(basis: Basis, part: ShutOff, row: ShutOffRow) -> list[Tolerance]:
    moves = trip_tolerances(basis, part, row.trip)
    half = sum(one.size for one in moves)
    band = pd.SPREAD_STATED if part.closing is not None else pd.SPREAD_USUAL
    return [
        Tolerance("trip", row.id, -half, half, _contributed(moves)),
        Tolerance("closing needle", row.id, 1.0 / (1.0 + band.si), 1.0 + band.si, _of(band)),
    ]


def _reducer(
    basis: Basis, model: Model, part: Reducer, row: ReducerRow | DirectReducerRow
) -> list[Tolerance]:
    gauge = setting_gauge(basis.station.gauges)
    moves = (
        *reducer_moves(part, row.closing),
        Contribution("gauge the duty is set with", gauge.error, gauge.provenance),
    )
    half = sum(one.size for one in moves)
    twin = model.reducer_twin(part.id)
    low, high, words = _factor(twin.kv, d.KV_STATED)
    found = [
        Tolerance("setting", row.id, -half, half, _contributed(moves)),
        Tolerance("valve", row.id, low, high, words),
    ]
    if isinstance(row, ReducerRow) and twin.feed_kv.origin is Origin.DEFAULT:
        slow, fast = d.FEED_BAND
        words = f"{slow.text} to {fast.text} of its default, {slow.source}"
        found.append(Tolerance("feed", row.id, slow.si, fast.si, words))
    return found


def _surroundings(drafted: Drafted) -> list[Tolerance]:
    station = drafted.model.station
    half = d.INLET_TOLERANCE.si * drafted.held
    demand = 1.0 + d.DEMAND_TOLERANCE.si
    found = [
        Tolerance("demand", "", 1.0 / demand, demand, _of(d.DEMAND_TOLERANCE)),
        Tolerance("inlet pressure", "", -half, half, _of(d.INLET_TOLERANCE)),
    ]
    for name, main in (("supply main", station.supply.main), ("zone main", station.zone.main)):
        if main is not None:
            found.append(_wave(name, main))
    if drafted.consumers.elasticity > 0.0:
        more = 1.0 + d.ELASTICITY_TOLERANCE.si
        found.append(Tolerance("zone elasticity", "", 1.0 / more, more, _of(d.ELASTICITY_TOLERANCE)))
    most, *fewer = ends(drafted.plan)
    if fewer and mains_of(drafted.plan) == most:
        words = f"{fewer[0]} to {most} mains like it, {d.ZONE_MAINS[0].source}"
        found.append(Tolerance("mains behind the zone's", "", float(fewer[0]), float(most), words))
    return found


def _wave(name: str, main: Main) -> Tolerance:
    if main.wave_speed is not None:
        low, high, words = _factor(main.wave_speed, d.WAVE_STATED)
        return Tolerance("wave speed", name, low, high, words)
    more = 1.0 + d.WAVE_DERIVED.si
    return Tolerance("wave speed", name, 1.0 / more, more, _of(d.WAVE_DERIVED))


def _factor(value: Value, usual: Default) -> tuple[float, float, str]:
    """Return the band of a value as factors: its own ±, else the usual one."""
    if value.spread:
        share = value.spread / value.si
        return 1.0 / (1.0 + share), 1.0 + share, value.provenance
    return 1.0 / (1.0 + usual.si), 1.0 + usual.si, _of(usual)


def _of(default: Default) -> str:
    return f"± {default.text}, {default.source}"


def _contributed(moves: tuple[Contribution, ...]) -> str:
    return "; ".join(f"{one.label}: {one.provenance}" for one in moves)
