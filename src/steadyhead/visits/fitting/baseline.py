"""The baseline of a run: every value of the twin its readings determine, and what they leave open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TypeVar

from steadyhead.errors import NotConverged
from steadyhead.hydraulics import Model, build, build_plain
from steadyhead.records.baseline import TAKEN, Baseline, Fitted, Undetermined
from steadyhead.records.entry import Entry
from steadyhead.records.parts import Reducer
from steadyhead.records.procedure import Procedure
from steadyhead.records.run import Judgement
from steadyhead.records.station import Station
from steadyhead.records.values import Value
from steadyhead.station import defaults as sd
from steadyhead.station.streams import View, views
from steadyhead.visits import spans
from steadyhead.visits.fitting.adjusting import NORMAL_95
from steadyhead.visits.fitting.holding import fit_holding
from steadyhead.visits.fitting.losses import fit_losses, fit_sag
from steadyhead.visits.fitting.needle import fit_needle
from steadyhead.visits.fitting.outcome import Outcome
from steadyhead.visits.fitting.screws import fit_reducer_screw, fit_shut_off_screw
from steadyhead.visits.fitting.standing import refused, with_values
from steadyhead.visits.fitting.taken import Readings

Told = TypeVar("Told", Fitted, Undetermined)


def fit_baseline(
    station: Station,
    procedure: Procedure,
    judgement: Judgement,
    standing: Iterable[Entry],
    *,
    station_sha256: str,
    plan_sha256: str,
    engine_version: str,
) -> Baseline:
    """Return the baseline of a run.

    Parameters
    ----------
    station
        The station the plan was made for; what is not determined keeps its values.
    procedure, judgement
        The plan, and what its entries amount to: a refused step tells nothing.
    standing
        Standing entries of the run in the order of judging, corrections applied.
    station_sha256, plan_sha256, engine_version
        Named in the baseline.
    """
    entries = tuple(standing)
    found = Outcome()
    for view in views(station):
        found += _of_view(view, procedure, judgement, entries, found)
    fitted = _once(found.fitted)
    keys = {one.key for one in fitted}
    used = {entry for one in fitted for entry in one.entries}
    last = max((entry for entry in entries if entry.id in used), key=lambda e: e.order, default=None)
    valid = last.clock.isoformat(timespec="seconds") if last is not None else ""
    name = station.station.id
    return Baseline(
        id=f"{name}.{judgement.run}.{plan_sha256[:8]}",
        station_id=name,
        station_sha256=station_sha256,
        run=judgement.run,
        plan_sha256=plan_sha256,
        valid_from=valid,
        engine_version=engine_version,
        fitted=fitted,
        undetermined=tuple(one for one in _once(found.undetermined) if one.key not in keys),
        correlations=found.correlations,
        left_out=tuple(dict.fromkeys(found.left_out)),
    )


def _once(found: Iterable[Told]) -> tuple[Told, ...]:
    """Return values each once, the first that was found."""
    kept: dict[str, Told] = {}
    for one in found:
        kept.setdefault(one.key, one)
    return tuple(kept.values())


def _of_view(
    view: View, procedure: Procedure, judgement: Judgement, entries: tuple[Entry, ...], before: Outcome
) -> Outcome:
    model = _model(view.station)
    readings = Readings(view, procedure, judgement, entries, model.density)
    known = frozenset(one.part for one in before.fitted)
    found = refused(view.station, fit_losses(readings, model, known))
    station = _with(view.station, found)
    model = model if station is view.station else _model(station)
    found += fit_sag(readings) if "supply" not in known else Outcome()
    for reducer in spans.judged(view.layout):
        if reducer.id in view.own:
            found += fit_holding(readings, model, reducer)
            found += fit_reducer_screw(readings, reducer)
    for shut_off in view.layout.shut_offs:
        if shut_off.id in view.own:
            found += fit_needle(readings, model, shut_off, _share(found, shut_off.id))
            found += fit_shut_off_screw(readings, shut_off)
    return refused(view.station, found) + Outcome(left_out=(*readings.swinging, *readings.at_odds))


def _with(station: Station, found: Outcome) -> Station:
    """Return a station with the losses that were found, for what is fitted after them."""
    if not any(one.name in TAKEN for one in found.fitted):
        return station
    return with_values(station, found.fitted)


def _share(found: Outcome, part: str) -> float:
    """Return the standard deviation of a measured Kv, over Kv; 0 where it was not measured. [1]"""
    kv = next((one for one in found.fitted if one.key == f"{part}.kv"), None)
    return 0.0 if kv is None else kv.within / kv.value / NORMAL_95


def _model(station: Station) -> Model:
    """Return the twin; where its duties cannot be solved, with lock-ups and bands as stated or usual."""
    try:
        return build(station)
    except NotConverged:
        plain = build_plain(station)
        lockup = {r.id: r.lockup or _usual_lockup(r) for r in plain.reducers}
        return plain.with_settings(lockup, {r.id: sd.LOCKUP_RISE.value() for r in plain.reducers})


def _usual_lockup(reducer: Reducer) -> Value:
    rise = sd.LOCKUP_RISE
    si = reducer.duty.pressure.si + rise.si
    return replace(rise.value(), si=si, text=f"{si / 1e5:.2f} bar")
