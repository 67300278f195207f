"""Practical steps that may open an empty window, weakest first: each a change of the station file."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import floor

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.closing import needle_of
from steadyhead.design.patching import in_unit, quantity_patch, unit_of
from steadyhead.design.rungs import Rungs
from steadyhead.design.surge import SuddenFailure, sudden_failure
from steadyhead.design.tolerances import gauge_error
from steadyhead.records.design import Patch
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.station import Gauge, Limit
from steadyhead.units import from_si, to_si

BAR = 1e5

_PROTECTIVE = ("safety valve", "relief valve", "pressure relief", "bursting disc")
"""Names of devices that protect: what they open at is never raised, nor are they taken out. Trade words."""


@dataclass(frozen=True, slots=True)
class Step:
    """One change: its kind, what it does to the file, how it is said, what to look at first."""

    kind: str
    patches: tuple[Patch, ...]
    words: str
    caution: str = ""


def stairs(basis: Basis, rungs: Rungs) -> tuple[tuple[Step, ...], ...]:
    """Return for each kind of change its steps, weakest first; kinds without a step are left out."""
    shut_off = basis.layout.shut_off
    assert shut_off is not None
    reducer = basis.worker
    kinds = (
        _stacking(basis),
        _same_gauge(basis),
        _gauge(basis, rungs),
        _closing(basis, rungs, shut_off),
        _duty(basis, rungs, reducer),
        _relief(basis),
        _replace(basis, rungs),
        _retire(basis, rungs),
        _measured(basis, shut_off, "repeatability"),
        _measured(basis, shut_off, "drift"),
        _measured(basis, reducer, "repeatability"),
        _measured(basis, reducer, "drift"),
    )
    return tuple(steps for kind in kinds if (steps := tuple(kind)))


def _stacking(basis: Basis) -> Iterator[Step]:
    if basis.station.stacking == "worst case":
        yield Step(
            "stacking",
            (Patch(("stacking",), "root-sum-square"),),
            "Add the tolerances by root-sum-square.",
            "A decision of a person, recorded with name and reason.",
        )


def _same_gauge(basis: Basis) -> Iterator[Step]:
    if not basis.station.tolerances.same_gauge:
        yield Step(
            "same gauge",
            (Patch(("tolerances", "same_gauge"), "yes"),),
            "Set both pilots with one gauge on one tap.",
        )


def _gauge(basis: Basis, rungs: Rungs) -> Iterator[Step]:
    gauges = basis.station.gauges
    marked = [i for i, gauge in enumerate(gauges) if gauge.for_setting]
    if not gauges:
        yield from _new_gauge(basis, rungs)
        return
    index = min(marked or range(len(gauges)), key=lambda i: gauge_error(gauges[i]))
    gauge = gauges[index]
    mark = () if marked else (Patch(("gauges", index, "for_setting"), "yes"),)
    if mark:
        yield Step("gauge", mark, f"Set the trip with {gauge.id}.")
    for accuracy in d.GAUGE_CLASSES:
        if accuracy < gauge.accuracy.si * (1 - 1e-9):
            text = in_unit(accuracy, "ratio", "%")
            patch = quantity_patch(basis.data, ("gauges", index, "accuracy"), text)
            yield Step("gauge", (*mark, patch), _gauge_words(gauge, text))


def _gauge_words(gauge: Gauge, text: str) -> str:
    old = f"{gauge.id}, {gauge.accuracy.text}"
    return f"Set the trip with a gauge of {text} on {gauge.span.text} in place of {old}."


def _new_gauge(basis: Basis, rungs: Rungs) -> Iterator[Step]:
    edge = rungs.ladder.worst_case.trip_upper_edge or d.TRIP_GUESS.si * rungs.ladder.inputs.lockup
    span = next(
        (s for s in d.GAUGE_SPANS_BAR if s * BAR * d.GAUGE_WORKING_HIGH.si >= edge), d.GAUGE_SPANS_BAR[-1]
    )
    for accuracy in d.GAUGE_CLASSES:
        if accuracy * span * BAR < d.GAUGE_ERROR.si:
            text = in_unit(accuracy, "ratio", "%")
            entry = {"id": "TG-1", "span": f"{span:g} bar", "accuracy": text, "for_setting": "yes"}
            yield Step(
                "gauge",
                (Patch(("gauges",), [entry]),),
                f"Set the trip with a gauge of {text} on {span:g} bar.",
            )


def _closing(basis: Basis, rungs: Rungs, shut_off: ShutOff) -> Iterator[Step]:
    current = rungs.closing
    assert current is not None
    unit = "s" if shut_off.closing is None else unit_of(shut_off.closing.time)
    failure = _sudden(basis, rungs, shut_off)
    for seconds in d.CLOSING_SECONDS:
        if seconds >= current.si:
            continue
        text = in_unit(seconds, "time", unit)
        if shut_off.closing is None:
            patch = Patch(basis.path(shut_off.id, "closing"), {"time": text})
        else:
            patch = quantity_patch(basis.data, basis.path(shut_off.id, "closing", "time"), text)
        caution = _surge_words(basis, failure, seconds / current.si, unit)
        yield Step("closing", (patch,), f"Close {shut_off.id} in {text} in place of {current.text}.", caution)


def _sudden(basis: Basis, rungs: Rungs, shut_off: ShutOff) -> SuddenFailure | None:
    trip = rungs.worked_trip
    return None if trip is None else sudden_failure(basis, trip=trip, needle_k=needle_of(basis, shut_off))


def _surge_words(basis: Basis, failure: SuddenFailure | None, share: float, unit: str) -> str:
    """Return the caution of a closing time that is a share of the present one; the needle goes with it."""
    if failure is None:
        return "Work out the surge upstream first: faster closing raises it."
    time = in_unit(failure.closing * share, "time", unit, 2)
    flow = in_unit(failure.flow, "flow", unit_of(basis.station.demand.peak), 2)
    words = f"Work out the surge upstream first: in a sudden failure it stops {flow} in about {time}"
    if failure.stop is None:
        return f"{words}."
    rise = in_unit(failure.stop.rise, "pressure", unit_of(basis.station.supply.static), 2)
    return f"{words}, at most {rise} in the supply main."


def _duty(basis: Basis, rungs: Rungs, reducer: Reducer) -> Iterator[Step]:
    duty, unit = reducer.duty.pressure, unit_of(reducer.duty.pressure)
    step = d.DUTY_STEP.get(unit)
    needed = rungs.ladder.inputs.needed
    if step is None or needed is None:
        return
    room = rungs.ladder.lowest_normal - needed
    first = floor(from_si(duty.si, "pressure", unit) / step - 1e-6)
    for number in range(first, max(first - d.MOST_DUTY_STEPS, 0), -1):
        text = f"{float(f'{number * step:.6g}'):g} {unit}"
        lowered = duty.si - to_si(number * step, "pressure", unit)
        if lowered > room:
            return
        patches, words = _lowered(basis, reducer, text, lowered)
        leads = basis.leading
        if leads is not None and leads.lockup.si > basis.twin.lockup(reducer.id).si:
            other = leads.reducer.duty.pressure
            more, rest = _lowered(
                basis, leads.reducer, in_unit(other.si - lowered, "pressure", unit_of(other)), lowered
            )
            patches, words = [*patches, *more], f"{words}, and that of {rest}"
        yield Step("duty", tuple(patches), f"Lower the duty of {words}.")


def _lowered(basis: Basis, reducer: Reducer, text: str, lowered: float) -> tuple[list[Patch], str]:
    """Return what lowers a duty, and its stated lock-up with it, in patches and in words."""
    patches = [quantity_patch(basis.data, basis.path(reducer.id, "duty", "pressure"), text)]
    words = f"{reducer.id} to {text}"
    if reducer.lockup is not None:
        lockup = in_unit(reducer.lockup.si - lowered, "pressure", unit_of(reducer.lockup))
        patches.append(quantity_patch(basis.data, basis.path(reducer.id, "lockup"), lockup))
        words += f" and its lock-up with it, to {lockup}"
    return patches, words


def _relief(basis: Basis) -> Iterator[Step]:
    """Yield the step that counts the relief valves on the outlet in, where none is."""
    waiting = [relief for relief in basis.reliefs if not relief.credited]
    if waiting:
        names = " and ".join(relief.id for relief in waiting)
        yield Step(
            "relief",
            tuple(Patch(basis.path(relief.id, "credited"), "yes") for relief in waiting),
            f"Count {names} in: let off water while the shut-off closes.",
            "Prove crack and capacity first, and see the water run away.",
        )


def _weakest(basis: Basis, rungs: Rungs) -> tuple[int, Limit] | None:
    weakest = rungs.ladder.weakest_fault
    if weakest is None:
        return None
    consumer = [(i, one) for i, one in enumerate(basis.station.limits) if one.side == "consumer"]
    return next(
        (
            pair
            for pair in consumer
            if (pair[1].component, pair[1].level.si) == (weakest.component, weakest.level)
        ),
        None,
    )


def is_protection(limit: Limit) -> bool:
    """Return whether a limit is that of a safety or relief valve: said so, or by its name."""
    words = limit.component.lower().replace("-", " ")
    return limit.protects or any(word in words for word in _PROTECTIVE)


def _replace(basis: Basis, rungs: Rungs) -> Iterator[Step]:
    found = _weakest(basis, rungs)
    if found is None or is_protection(found[1]):
        return
    index, limit = found
    stated = limit.fault or limit.normal
    assert stated is not None
    field = "fault" if limit.fault is not None else "normal"
    for bar in d.PRESSURE_CLASSES_BAR:
        if bar * BAR > stated.si * (1 + 1e-9):
            text = in_unit(bar * BAR, "pressure", unit_of(stated))
            patch = quantity_patch(basis.data, ("limits", index, field), text)
            yield Step("replace", (patch,), f"Replace {limit.component} by one that bears {text}.")


def _retire(basis: Basis, rungs: Rungs) -> Iterator[Step]:
    found = _weakest(basis, rungs)
    if found is not None and not is_protection(found[1]):
        index, limit = found
        yield Step("retire", (Patch(("limits", index), None),), f"Take {limit.component} out of service.")


def _measured(basis: Basis, part: Reducer | ShutOff, what: str) -> Iterator[Step]:
    if getattr(part, what) is not None:
        return
    kind = f"{what} of the {'shut-off' if isinstance(part, ShutOff) else 'reducer'}"
    unit = unit_of(basis.worker.duty.pressure)
    for bar in d.MEASURED_BAR:
        text = in_unit(bar * BAR, "pressure", unit, 2)
        yield Step(
            kind,
            (Patch(basis.path(part.id, what), text),),
            f"Show by measurement that the {what} of {part.id} is {text} or better.",
            "Three rising runs after long rest, on two visits.",
        )
