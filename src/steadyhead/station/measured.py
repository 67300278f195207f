"""A station with what a run measured in it: the twin as it was left (agreement A4)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steadyhead.errors import InputError
from steadyhead.records.baseline import TAKEN, Baseline, Fitted
from steadyhead.records.parts import ClosingTime, LinePart, Parallel, Reducer, ShutOff
from steadyhead.records.station import Station
from steadyhead.records.values import Evidence, Origin, Value

_UNITS = {
    "pressure": (1e5, "{:.4g} bar"),
    "pressure_per_turn": (1e5, "{:.3g} bar/turn"),
    "flow_coefficient": (1.0, "Kv {:.4g}"),
    "time": (1.0, "{:.3g} s"),
    "flow": (1e-3, "{:.4g} L/s"),
    "ratio": (1.0, "{:.3g}"),
}
"""Unit and form in which a measured value is written. [SI]"""


def with_baseline(station: Station, baseline: Baseline) -> Station:
    """Return the twin of a station as it was left: its inside with the values of a baseline.

    What the design wants stays: duty_pressure, trip_pressure, limits. lockup_pressure becomes the wanted duty
    with the measured rise. Every value taken says that it was measured, in which run, on which day.

    Parameters
    ----------
    station
        As its file has it, data sheets filled in.
    baseline
        Of a run at this station.

    Raises
    ------
    InputError
        A baseline of another station, or of a part this one does not have.

    Examples
    --------
    >>> from steadyhead.station import examples
    >>> from steadyhead.station.load import load
    >>> station = load(examples.read("hobble-end")).station
    >>> rate = Fitted("RV", "per_turn", "pressure_per_turn", 0.7e5, 0.1e5, None, "", ("ES1.RV",), (), (), 6)
    >>> found = Baseline("b", station.station.id, "", "run-1", "", "2027-04-14T12:00+01:00", "", (rate,))
    >>> reducer = next(part for part in with_baseline(station, found).parts() if part.id == "RV")
    >>> reducer.pilot.per_turn.provenance
    'measured: run run-1, step ES1.RV, 2027-04-14, ± 0.1 bar/turn'
    """
    if baseline.station_id != station.station.id:
        problem = f"belongs to station {baseline.station_id}, the file is of {station.station.id}."
        raise InputError("baseline", problem, "Name a baseline of this station.")
    taken: dict[str, list[Fitted]] = {}
    for one in baseline.fitted:
        if one.name in TAKEN:
            taken.setdefault(one.part, []).append(one)
    parts = {part.id: part for part in station.parts()}
    for part_id, values in taken.items():
        if part_id not in parts:
            problem = f"has values of {part_id}, which the file does not have."
            raise InputError("baseline", problem, "Prove the station again, or name the file it belongs to.")
        for one in values:
            _fits(one, parts[part_id])
    line = tuple(_part(part, taken, baseline) for part in station.line)
    return station.model_copy(update={"line": line})


def measured(one: Fitted, baseline: Baseline, kind: str = "", si: float | None = None) -> Value:
    """Return a fitted value as a value of the twin, or another one (`kind`, `si`) that follows from it."""
    steps = ", ".join(one.steps)
    source = f"run {baseline.run}, step{'s' if len(one.steps) > 1 else ''} {steps}"
    value = one.value if si is None else si
    return Value(
        value,
        kind or one.kind,
        written(value, kind or one.kind),
        Origin.MEASURED,
        Evidence.MEASURED,
        source,
        baseline.day,
        f"± {written(one.within, one.kind)}",
        one.within if not kind or kind == one.kind else one.within / one.value * value,
    )


def written(si: float, kind: str) -> str:
    """Return a value as a station file writes it.

    Examples
    --------
    >>> written(0.7e5, "pressure_per_turn"), written(131.5, "flow_coefficient")
    ('0.7 bar/turn', 'Kv 131.5')
    """
    factor, form = _UNITS[kind]
    return form.format(si / factor)


def _fits(one: Fitted, part: LinePart) -> None:
    """Refuse a value that a part of this kind does not have."""
    of = {
        "per_turn": hasattr(part, "pilot"),
        "lockup_rise": isinstance(part, Reducer),
        "flow_force": isinstance(part, Reducer),
        "closing_needle_kv": isinstance(part, ShutOff),
    }
    if not of.get(one.name, hasattr(part, one.name)):
        problem = f"has {one.name} of {part.id}; in the file that is a {part.part.replace('_', '-')}."
        raise InputError("baseline", problem, "Prove the station again, or name the file it belongs to.")


def _part(part: LinePart, taken: Mapping[str, list[Fitted]], baseline: Baseline) -> LinePart:
    if isinstance(part, Parallel):
        branches = tuple(
            branch.model_copy(update={"line": tuple(_part(inner, taken, baseline) for inner in branch.line)})
            for branch in part.branches
        )
        return part.model_copy(update={"branches": branches})
    changed = part
    for one in taken.get(part.id, ()):
        changed = changed.model_copy(update=_changes(changed, one, baseline))
    return changed


def _changes(part: LinePart, one: Fitted, baseline: Baseline) -> dict[str, Any]:
    value = measured(one, baseline)
    if one.name == "per_turn" and isinstance(part, Reducer | ShutOff):
        return {"pilot": part.pilot.model_copy(update={"per_turn": value})}
    if one.name == "flow_force" and isinstance(part, Reducer):
        return {"mechanics": part.mechanics.model_copy(update={"flow_force": value})}
    if one.name == "lockup_rise" and isinstance(part, Reducer):
        return {"lockup": _lockup(part, one, baseline)}
    if one.name == "closing_needle_kv" and isinstance(part, ShutOff):
        return {
            "closing": _closing(one, baseline),
            "mechanics": part.mechanics.model_copy(update={"closing_needle_kv": value}),
        }
    return {one.name: value}


def _lockup(part: Reducer, one: Fitted, baseline: Baseline) -> Value:
    si = part.duty.pressure.si + one.value
    value = measured(one, baseline)
    rise = written(one.value, "pressure")
    source = f"wanted duty {part.duty.pressure.text} and a rise of {rise}: {value.source}"
    return Value(
        si, "pressure", written(si, "pressure"), value.origin, value.evidence, source, value.date,
        value.confidence, one.within,
    )  # fmt: skip


def _closing(one: Fitted, baseline: Baseline) -> ClosingTime:
    state = one.state
    return ClosingTime(
        time=measured(one, baseline, "time", state["time"]),
        flow=measured(one, baseline, "flow", state["flow"]),
        inlet_pressure=measured(one, baseline, "pressure", state["inlet_pressure"]),
        outlet_pressure=measured(one, baseline, "pressure", state["outlet_pressure"]),
    )
