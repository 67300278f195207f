"""What the design sets: lock-up pressure and proportional band of each reducer, from its duty.

One slope seen from two ends: with band b and pilot opening y at the duty, lock-up = duty + b·y. The file
states the lock-up pressure (or the common rise is assumed) and the band follows; a stated or measured band
gives the lock-up instead.
"""

from __future__ import annotations

from steadyhead.errors import NotConverged
from steadyhead.hydraulics.model import Model
from steadyhead.hydraulics.solving import solve
from steadyhead.records.parts import IsolatingValve, LinePart, Parallel, Reducer
from steadyhead.records.steady import Conditions
from steadyhead.records.values import Evidence, Origin, Value
from steadyhead.station import defaults as d
from steadyhead.station.layout import at_one_place

ROUNDS = 300
LEAST_RISE = 1e3
"""Smallest rise a band is derived from. [Pa]"""
SETTLED = 0.5
"""Duty reached within this. [Pa]"""


def with_design_settings(model: Model) -> Model:
    """Return the model with lock-up pressure and band of every reducer as its duty asks.

    Worked out at typical supply pressure and the duty flow, one reducer after another from the consumer
    side, each stream alone with the branches beside it isolated; of two that sense one tap in series, the
    higher set with the other wide open. Where the pilot is wide open at the duty, the band is the whole rise
    and the design says so.

    Raises
    ------
    NotConverged
        The duty case cannot be solved.
    """
    current = model.with_settings(
        {r.id: _stated_lockup(r) for r in model.reducers},
        {r.id: _stated_band(model, r) for r in model.reducers},
    )
    left = 0.0
    for _ in range(ROUNDS):
        left = 0.0
        for reducer in reversed(model.reducers):
            current, off = _closer(current, reducer)
            left = max(left, off)
        if left <= SETTLED:
            return current
    raise NotConverged(f"duty of the reducers of {model.station.station.id}", left, "Pa", ROUNDS)


def design_lockup(model: Model, reducer_id: str) -> Value:
    """Return the lockup_pressure the design gives a reducer [Pa gauge at datum] with its provenance."""
    return model.lockup[reducer_id]


def _closer(model: Model, reducer: Reducer) -> tuple[Model, float]:
    duty = reducer.duty
    conditions = Conditions(
        supply_pressure=model.station.supply.typical.si,
        consumer_flow=max(duty.flow.si, 1e-6),
        openings=dict.fromkeys(_valves_along(model.station.line, reducer.id) or (), 1.0),
        isolated=beside(model.station.line, reducer.id) or frozenset(),
        forced_lift=dict.fromkeys(_lower_set(model, reducer), 1.0),
    )
    reading = solve(model, conditions).valves[reducer.id]
    opening = reading.lift if reducer.kind == "direct-acting" else reading.pilot_opening
    lockup, band = model.lockup[reducer.id], model.band[reducer.id]
    if not opening > 0.0:
        return model, 0.0
    if reducer.lockup is None and model.reducer_twin(reducer.id).proportional_band is not None:
        if opening >= 1.0:
            return model, 0.0
        wanted = duty.pressure.si + band.si * opening
        off = abs(wanted - lockup.si)
        lockup = Value(
            wanted, "pressure", f"{wanted / 1e5:.3f} bar", Origin.DERIVED, band.evidence,
            f"duty plus the part of the band open at the duty; band {band.provenance}", spread=lockup.spread,
        )  # fmt: skip
    else:
        wanted = max(lockup.si - duty.pressure.si, LEAST_RISE) / opening
        off = abs(wanted - band.si) * opening
        band = Value(
            wanted, "pressure", f"{wanted / 1e5:.3f} bar", Origin.DERIVED, lockup.evidence,
            f"from the lock-up rise; lock-up {lockup.provenance}", spread=_band_spread(lockup, opening),
        )  # fmt: skip
    settled = model.with_settings({**model.lockup, reducer.id: lockup}, {**model.band, reducer.id: band})
    return settled, off


def beside(line: tuple[LinePart, ...], part_id: str) -> frozenset[str] | None:
    """Return the ids of the branches beside those a part stands on; None where it is not on the line."""
    for part in line:
        if part.id == part_id:
            return frozenset()
        if not isinstance(part, Parallel):
            continue
        for branch in part.branches:
            inside = beside(branch.line, part_id)
            if inside is not None:
                return inside | {other.id for other in part.branches if other is not branch}
    return None


def _valves_along(line: tuple[LinePart, ...], part_id: str) -> list[str] | None:
    """Return the isolating valves of the branches a part stands on; None where it is not on the line."""
    for part in line:
        if part.id == part_id:
            return []
        for branch in part.branches if isinstance(part, Parallel) else ():
            inside = _valves_along(branch.line, part_id)
            if inside is not None:
                return inside + [each.id for each in branch.line if isinstance(each, IsolatingValve)]
    return None


def _lower_set(model: Model, reducer: Reducer) -> list[str]:
    """Return the reducers in series with one that sense the same place and are set lower."""
    isolated = beside(model.station.line, reducer.id) or frozenset()
    return [
        other.id
        for other in model.reducers
        if other.id != reducer.id
        and at_one_place(model.station.line, other.senses, reducer.senses)
        and other.duty.pressure.si < reducer.duty.pressure.si
        and beside(model.station.line, other.id) == isolated
    ]


def _band_spread(lockup: Value, opening: float) -> float | None:
    return None if lockup.spread is None else lockup.spread / opening


def _stated_lockup(reducer: Reducer) -> Value:
    if reducer.lockup is not None:
        return reducer.lockup
    si = reducer.duty.pressure.si + d.LOCKUP_RISE.si
    return Value(
        si, "pressure", f"{si / 1e5:.2f} bar", Origin.DEFAULT, Evidence.PRACTICE,
        f"duty plus {d.LOCKUP_RISE.text}, {d.LOCKUP_RISE.name} ({d.LOCKUP_RISE.source})",
        spread=d.LOCKUP_RISE.spread,
    )  # fmt: skip


def _stated_band(model: Model, reducer: Reducer) -> Value:
    stated = model.reducer_twin(reducer.id).proportional_band
    return stated if stated is not None else d.LOCKUP_RISE.value()
