"""The closing needle of a shut-off, out of strokes timed by stopwatch with their pressures and flow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot

from steadyhead.hydraulics import Model
from steadyhead.laws.coefficients import kv_of_k
from steadyhead.records.baseline import Fitted, LeftOut, Reason, Undetermined
from steadyhead.records.parts import ShutOff
from steadyhead.visits.fitting import defaults as d
from steadyhead.visits.fitting.adjusting import Adjusted, Sight, Unknown, Values, adjust_and_sift
from steadyhead.visits.fitting.outcome import Outcome, relative
from steadyhead.visits.fitting.taken import Readings, Taken
from steadyhead.visits.questions import sides_of_shut_off
from steadyhead.visits.stroke import Before, needle, stroke_integral

STEPS = ("F1", "F2", "F3", "Y4", "Y6", "Y6T")
NO_PART_OF_IT = ("setting", "nut", "spring", "gate")
"""Things of a shut-off that may be touched without a change of its needle or its stroke."""
START = ".start"
"""Ending of what is read as a stroke begins."""
_LEAST_ERROR = 1e-4


@dataclass(frozen=True, slots=True)
class Stroke:
    """A timed stroke and the state it began in; errors: standard deviations of its pressures and its flow."""

    taken: Taken
    before: Before
    pressure_sigma: float
    flow_sigma: float


def fit_needle(readings: Readings, model: Model, shut_off: ShutOff, kv_share: float = 0.0) -> Outcome:
    """Return Kv of the closing needle.

    Quasi-steady stroke by line pressure. It belongs to the diaphragm area and the stroke of the twin: what is
    determined is their ratio to it.

    Parameters
    ----------
    readings
        Of one way through the station.
    model
        Its twin.
    shut_off
        One that line pressure closes.
    kv_share
        Standard deviation of its Kv over Kv, where that was measured in this run. [1]

    Notes
    -----
    k = J/t, J of each stroke by `steadyhead.visits.stroke.stroke_integral`; errors of pressures and flow are
    shared by all strokes of a visit.
    """
    if shut_off.closes_by in ("spring", "weight"):
        return Outcome()
    times = _times(readings, shut_off)
    strokes = [one for taken in times if (one := _stroke(readings, model, shut_off, taken)) is not None]
    former = needle(model, shut_off, _usual(model, shut_off))
    if not strokes:
        needs = "needle.state" if times else "needle.time"
        return Outcome(undetermined=(_open(model, shut_off, former, readings.lacking(*STEPS), needs),))
    integrals = {one.taken.entry: stroke_integral(model, shut_off, one.before) for one in strokes}
    share = max(_share(model, shut_off, one, kv_share) for one in strokes)
    first = integrals[strokes[0].taken.entry] / strokes[0].taken.value
    unknowns = [Unknown("k", first, first, low=0.01 * first), Unknown("state", 0.0, share, sigma=share)]
    sights = [_sight(one, integrals[one.taken.entry]) for one in strokes]
    found = adjust_and_sift(unknowns, sights)
    k, within = found.values["k"], found.within("k")
    lost = [_lost(one, off) for one in strokes for label, off in found.left_out if label == one.taken.entry]
    if relative(within, k) > d.MOST_RELATIVE.si or found.misfit > d.MISFIT:
        reason: Reason = "does not fit" if found.misfit > d.MISFIT else "too wide"
        lacking = _open(model, shut_off, former, reason, "needle.again", k, within)
        return Outcome(undetermined=(lacking,), left_out=tuple(lost))
    fitted = _fitted(readings, model, shut_off, strokes, integrals, found, former)
    return Outcome(fitted=(fitted,), left_out=tuple(lost))


def _times(readings: Readings, shut_off: ShutOff) -> list[Taken]:
    after = readings.last_touch(shut_off.id, but=NO_PART_OF_IT)
    found = readings.of(*STEPS, inputs=("closing",))
    return [one for one in found if one.at > after and one.value > 0.0]


def _stroke(readings: Readings, model: Model, shut_off: ShutOff, taken: Taken) -> Stroke | None:
    """Return a stroke with the state it began in: from the same run, else from the nearest run before it.

    At a trickle an open shut-off takes no pressure: one of its two sides tells both. Ahead of it nothing
    falls when it shuts, so a reading after the stroke counts there; behind it only one before the stroke.
    """
    steps = [one for one in readings.all if one.base in STEPS and one.value > 0.0]
    before_role, _ = sides_of_shut_off(readings.view.layout)
    upstream = before_role == "T1"
    named = [
        one
        for one in steps
        if one.role == before_role and one.input in (before_role, f"{before_role}{START}")
    ]
    named = [one for one in named if upstream or one.base == "F1" or one.input.endswith(START)]
    acts = [] if upstream else [one for one in steps if one.input.partition(".")[0] == "act"]
    pressure = _nearest([*named, *acts], taken)
    flow = _nearest([one for one in steps if one.input == "flow"], taken)
    if pressure is None or flow is None:
        return None
    medium = 0.0
    if shut_off.closing_medium == "station inlet" and not upstream:
        inlet = _nearest([one for one in steps if one.input in ("T1", f"T1{START}")], taken)
        medium = max((inlet.value if inlet else pressure.value) - pressure.value, 0.0)
    k = model.k(model.shut_off_twin(shut_off.id).kv.si)
    outlet = max(pressure.value - (flow.value / k) ** 2, 1.0)
    error = readings.error(flow.gauge, "flow", flow.value)
    return Stroke(
        taken,
        Before(pressure.value, outlet, flow.value, medium),
        hypot(pressure.common, pressure.sigma),
        hypot(error.common, error.reading),
    )


def _nearest(found: Sequence[Taken], to: Taken) -> Taken | None:
    return min(found, key=lambda one: abs(one.at - to.at), default=None)


def _share(model: Model, shut_off: ShutOff, one: Stroke, kv_share: float) -> float:
    """Return the standard deviation of J from those of pressure, flow and Kv, over J. [1]

    J depends on flow over Kv alone: one more in Kv is one less in flow.
    """
    usual = stroke_integral(model, shut_off, one.before)
    b = one.before
    higher = Before(b.inlet + one.pressure_sigma, b.outlet + one.pressure_sigma, b.flow, b.medium)
    more = Before(b.inlet, b.outlet, b.flow + hypot(one.flow_sigma, kv_share * b.flow), b.medium)
    off = [stroke_integral(model, shut_off, state) / usual - 1.0 for state in (higher, more)]
    return max(hypot(*off), _LEAST_ERROR)


def _sight(one: Stroke, integral: float) -> Sight:
    def predict(values: Values) -> float:
        return integral * (1.0 + values["state"]) / values["k"]

    return Sight(one.taken.entry, one.taken.value, one.taken.sigma, predict)


def _usual(model: Model, shut_off: ShutOff) -> Before:
    inlet = model.station.supply.typical.si
    flow = min((reducer.duty.flow.si for reducer in model.reducers), default=1e-3)
    return Before(inlet, inlet, 0.02 * flow)


def _fitted(
    readings: Readings,
    model: Model,
    shut_off: ShutOff,
    strokes: Sequence[Stroke],
    integrals: Mapping[str, float],
    found: Adjusted,
    former: float,
) -> Fitted:
    gone = {label for label, _ in found.left_out}
    kept = [one for one in strokes if one.taken.entry not in gone]
    kv = kv_of_k(found.values["k"], model.density)
    steps = tuple(dict.fromkeys(one.taken.node for one in kept))
    first = kept[0]
    state = {
        "time": integrals[first.taken.entry] / found.values["k"],
        "inlet_pressure": first.before.inlet,
        "outlet_pressure": first.before.outlet,
        "flow": first.before.flow,
    }
    width = found.within("k") / found.values["k"] * kv
    return Fitted(
        shut_off.id, "closing_needle_kv", "flow_coefficient", kv, width, kv_of_k(former, model.density),
        _former_from(model, shut_off), steps, readings.proofs(steps),
        tuple(one.taken.entry for one in kept), len(kept), state,
    )  # fmt: skip


def _former_from(model: Model, shut_off: ShutOff) -> str:
    if shut_off.closing is not None:
        return f"closing time {shut_off.closing.time.text}, {shut_off.closing.time.provenance}"
    return model.shut_off_twin(shut_off.id).closing_needle_kv.provenance


def _open(
    model: Model,
    shut_off: ShutOff,
    former: float,
    reason: Reason,
    needs: str,
    k: float | None = None,
    within: float | None = None,
) -> Undetermined:
    kv, width = (None if one is None else kv_of_k(one, model.density) for one in (k, within))
    return Undetermined(
        shut_off.id, "closing_needle_kv", "flow_coefficient", reason, needs, kv, width,
        kv_of_k(former, model.density), _former_from(model, shut_off),
    )  # fmt: skip


def _lost(one: Stroke, off: float) -> LeftOut:
    taken = one.taken
    return LeftOut(taken.entry, taken.node, taken.input, taken.value, "time", "outlier", off)
