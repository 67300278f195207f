"""What a run is worth: the findings of its validity, and of the limits it passes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from steadyhead.findings import Finding, Severity
from steadyhead.findings.model import Amount, Parameter, pressure
from steadyhead.records.station import Zone
from steadyhead.records.surge import SurgeLimit, SurgeRun
from steadyhead.surge import defaults as d
from steadyhead.surge.air import air_findings
from steadyhead.surge.causes import cause_of
from steadyhead.surge.entry import asked_of, end_of, mains_behind, stop_in
from steadyhead.surge.events import Study
from steadyhead.surge.plant import Plant
from steadyhead.surge.together import in_event, named
from steadyhead.units import two_figures


def findings_of(study: Study, run: SurgeRun, plant: Plant) -> SurgeRun:
    """Return a run with its findings: those of its file, of its grid, of its physics, of its limits."""
    hunts = any(finding.code == "SUR-19" for finding in study.drafted.findings)
    found = (
        *_limits(run, study.drafted.model.station.zone, hunts=hunts),
        *_unknown(run, hunts=hunts),
        *_shut_offs(run),
        *_usual(study, run),
        *_physics(study, run),
        *air_findings(study, run, plant),
        *_grid(run, plant),
        *run.findings,
        *study.drafted.findings,
    )
    return replace(run, findings=found)


def _limits(run: SurgeRun, zone: Zone, *, hunts: bool) -> Iterator[Finding]:
    """Yield the limits passed; in a run that hunts none forbids anything, for its loop is not calibrated."""
    why, cure = cause_of(run)
    for one in run.limits:
        if one.is_rebound_over:
            yield _thrown_back(run, one, zone, hunts=hunts)
        if one.verdict == "over":
            is_new = one.begun_at_datum <= one.limit_at_datum
            yield Finding(
                "SUR-14" if is_new else "SUR-20",
                one.component,
                Severity.STOP if is_new and not hunts and not run.is_uncredited else Severity.HEED,
                {"component": one.component, "why": why, "cure": cure, **in_event(_name(run))},
                value=pressure(one.peak_at_datum),
                limit=pressure(one.limit_at_datum),
                margin=pressure(one.margin),
                case=_name(run),
            )


def _unknown(run: SurgeRun, *, hunts: bool) -> Iterator[Finding]:
    """Yield the mains not stated on whose waves a limit hangs once a shut-off trips, as the proof asks."""
    if not any(one.trip is not None for one in run.shut_offs):
        return
    weight = Severity.HEED if hunts or run.is_uncredited else Severity.ASK
    behind = ("consumer", "outlet")
    for code, subject, is_behind in (("SUR-62", "zone.main", True), ("SUR-63", "supply.main", False)):
        found = [one for one in run.unjudged if (one.side in behind) is is_behind]
        if not found:
            continue
        seen = [one.peak_at_datum if is_behind else one.begun_at_datum for one in found]
        worst, sees = max(zip(found, seen, strict=True), key=lambda pair: pair[1] - pair[0].limit_at_datum)
        params: dict[str, Parameter] = {"failure": f"The event {_name(run)}", "component": worst.component}
        params |= {} if is_behind else stop_in(one.closing for one in run.shut_offs)
        limit = pressure(worst.limit_at_datum)
        yield Finding(code, subject, weight, params, value=pressure(sees), limit=limit, case=_name(run))


def otherwise(name: str, pairs: Iterable[tuple[SurgeLimit, SurgeLimit]]) -> Iterator[Finding]:
    """Yield the component of which two runs differ most of those that differ by more than the room left.

    Parameters
    ----------
    name
        Of the event.
    pairs
        What each component sees as run, and with every value at its default.
    """
    found = [
        (abs(usual.sees_at_datum - quiet.sees_at_datum), quiet, usual)
        for quiet, usual in pairs
        if abs(usual.sees_at_datum - quiet.sees_at_datum) > max(abs(quiet.margin), d.QUIET_DIFFERS.si)
    ]
    if found:
        differs, quiet, usual = max(
            found, key=lambda one: one[0] / max(abs(one[1].margin), d.QUIET_DIFFERS.si)
        )
        params: dict[str, Parameter] = {
            "component": quiet.component,
            "side": SIDE_WORDS[quiet.side],
            "sees": pressure(quiet.sees_at_datum),
            "usual": pressure(usual.sees_at_datum),
            "direction": "higher" if usual.sees_at_datum > quiet.sees_at_datum else "lower",
            "bears": pressure(quiet.limit_at_datum),
            **in_event(name),
        }
        value = pressure(differs)
        yield Finding("SUR-60", quiet.component, Severity.HEED, params, value=value, case=name)


SIDE_WORDS = {
    "consumer": "the consumers' side", "outlet": "the outlet", "between": "between the valves",
    "inlet": "the supply side",
}  # fmt: skip


def _thrown_back(run: SurgeRun, one: SurgeLimit, zone: Zone, *, hunts: bool) -> Finding:
    """Return the wave thrown back over a limit: a stop where it is sure, else a question, as in the proof.

    To be heeded where nobody credits the failure, as there.
    """
    rebound = one.rebound_at_datum or 0.0
    least = one.rebound_least_at_datum
    other = next((number for number in run.mains_behind if number != one.mains), one.mains)
    most, fewest = mains_behind(one.mains), mains_behind(other)
    place = run.highest("consumer")
    params: dict[str, Parameter] = {
        "failure": f"The event {_name(run)}",
        "component": one.component,
        "place": _out(place.distance) if one.side == "consumer" and place is not None else one.side,
        "most": most,
        "fewest": fewest,
        "least": pressure(rebound if least is None else least),
        "end": end_of(zone),
        "cure": asked_of(zone, "See the window of the closing time (steadyhead prove)"),
    }
    weight = Severity.STOP if one.is_rebound_sure else Severity.ASK
    weight = Severity.HEED if hunts or run.is_uncredited else weight
    limit, case = pressure(one.limit_at_datum), _name(run)
    return Finding("SUR-27", one.component, weight, params, value=pressure(rebound), limit=limit, case=case)


def _out(distance: float) -> str:
    return "at the station" if distance < d.AT_STATION.si else f"{distance:.0f} m from the station"


def _name(run: SurgeRun) -> str:
    return named(run.event, run.way)


def _shut_offs(run: SurgeRun) -> Iterator[Finding]:
    for one in run.shut_offs:
        if one.trip is not None and one.shut is None:
            params = {"seconds": f"{run.until - one.trip:.0f}", **in_event(_name(run))}
            yield Finding("SUR-15", one.id, Severity.HEED, params, case=_name(run))


def _usual(study: Study, run: SurgeRun) -> Iterator[Finding]:
    tripped = next((one for one in run.shut_offs if one.trip is not None), None)
    if study.trial is not None and tripped is not None:
        params: dict[str, Parameter] = {"shut_off": tripped.id}
        yield Finding("SUR-43", study.event, Severity.HEED, params, case=_name(run))


def _physics(study: Study, run: SurgeRun) -> Iterator[Finding]:
    case, about = _name(run), in_event(_name(run))
    if run.broken_at is not None:
        seconds = f"{run.broken_at:.1f}"
        yield Finding("SUR-59", "the run", Severity.STOP, {"seconds": seconds, **about}, case=case)
    for side, main in (("supply", run.supply), ("consumer", run.consumer)):
        name = f"{side} main"
        if main.is_separated:
            params: dict[str, Parameter] = {"main": name, **_place(main.parted_at or 0.0), **about}
            gas = Amount("volume", main.most_gas)
            yield Finding("SUR-01", name, Severity.HEED, params, value=gas, case=case)
        elif main.lowest < -d.BELOW_AIR.si:
            yield _below_air(run, side, name, case)
    allowed = d.ABSURD.si * study.drafted.held
    highest = max(run.supply.highest_at_datum, run.consumer.highest_at_datum)
    judged = max(run.supply.judged_at_datum, run.consumer.judged_at_datum)
    if highest > allowed:
        weight = Severity.STOP if judged > allowed else Severity.HEED
        yield Finding("SUR-16", "the run", weight, about, value=pressure(highest), case=case)
    if study.is_primed:
        yield Finding("SUR-13", "the run", Severity.NOTE, about, case=case)


def _below_air(run: SurgeRun, side: str, name: str, case: str) -> Finding:
    low = run.lowest(side)
    found = run.supply.lowest if side == "supply" else run.consumer.lowest
    params: dict[str, Parameter] = {
        "main": name,
        **_place(low.distance if low is not None else 0.0),
        "lowest": pressure(found),
        **in_event(case),
    }
    return Finding("SUR-40", name, Severity.HEED, params, value=pressure(-found), case=case)


def _place(distance: float) -> dict[str, Parameter]:
    """Return where something is, in the two words of a finding."""
    if distance < d.AT_STATION.si:
        return {"place": "at the station", "out": ""}
    return {"place": Amount("length", distance), "out": " from the station"}


def _grid(run: SurgeRun, plant: Plant) -> Iterator[Finding]:
    for grid in plant.grids:
        if abs(grid.adjusted) > d.ADJUSTED_WAVE_SPEED.si:
            params: dict[str, Parameter] = {
                "main": grid.pipe.id,
                "change": f"{100.0 * grid.adjusted:+.1f} %",
                "allowed": d.ADJUSTED_WAVE_SPEED.text,
            }
            yield Finding("SUR-12", grid.pipe.id, Severity.HEED, params)
    for code, change, allowed in (
        ("SUR-02", run.grid_change, d.GRID_CHANGE),
        ("SUR-18", run.mass_error, d.MASS_ERROR),
    ):
        if change > allowed.si:
            params = {
                "change": f"{two_figures(100.0 * change)} %",
                "allowed": allowed.text,
                **in_event(_name(run)),
            }
            share = Amount("ratio", change)
            yield Finding(code, "the run", Severity.HEED, params, value=share, case=_name(run))
