"""Run events of a station file in the transient twin; hand the runs on as data, text and table."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from steadyhead.design.export import rounded
from steadyhead.design.limits import component_limits
from steadyhead.errors import InputError
from steadyhead.findings import Finding, Severity
from steadyhead.hydraulics import build
from steadyhead.records.baseline import Baseline
from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.pictures import SurgePicture
from steadyhead.records.surge import Reached, SurgeRun
from steadyhead.services.judging import finding_data
from steadyhead.services.library import completed
from steadyhead.services.measured import with_measured
from steadyhead.station.answers import answered
from steadyhead.station.load import Loaded, load
from steadyhead.station.streams import ALL, View, together, views
from steadyhead.surge.events import Study, names_of, studies
from steadyhead.surge.study import run_study
from steadyhead.surge.together import grouped, named
from steadyhead.units import METRIC, UnitError, UnitSet, from_si, parse
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

QUESTIONS = ("SUR-27", "SUR-41", "SUR-62", "SUR-63")
"""Questions that forbid until they are answered: a wave thrown back, a main that is not stated."""
Finished = Callable[[str], SurgeRun | None]
Keep = Callable[[str, SurgeRun], None]


@dataclass(frozen=True, slots=True)
class SurgeAnswer:
    """The runs asked for, and the findings of all of them, each kind once.

    `left_out`: names of runs that were not made because somebody stopped the work.
    """

    loaded: Loaded
    runs: tuple[SurgeRun, ...]
    findings: tuple[Finding, ...]
    left_out: tuple[str, ...] = ()

    @property
    def is_inside(self) -> bool:
        """Whether no run passes a limit, nor may by what is asked about, as in the proof.

        Failures that nobody credits forbid nothing, as there.
        """
        return not any(
            finding.severity is Severity.STOP
            or (finding.code in QUESTIONS and finding.severity is Severity.ASK)
            for finding in self.findings
        )

    @property
    def worst(self) -> SurgeRun:
        """The run with the least room to a limit; of none with limits the one that goes highest."""
        return max(self.runs, key=how_bad)

    @property
    def events(self) -> tuple[tuple[SurgeRun, ...], ...]:
        """The runs of each event on each way together, the worst first: it is the verdict of the event."""
        found: dict[tuple[str, str], list[SurgeRun]] = {}
        for run in self.runs:
            found.setdefault((run.way, run.group), []).append(run)
        return tuple(tuple(sorted(runs, key=how_bad, reverse=True)) for runs in found.values())


def how_bad(run: SurgeRun) -> tuple[int, float, float]:
    """Return what ranks a run: how sure it passes a limit, share of the nearest, highest at consumers."""
    near = run.nearest
    used = 0.0 if near is None else near.sees_at_datum / near.limit_at_datum
    new = [one for one in run.limits if one.begun_at_datum <= one.limit_at_datum]
    passes = 3 * any(one.verdict == "over" for one in new)
    thrown = any(one.is_rebound_over for one in new) + any(one.is_rebound_sure for one in new)
    return max(passes, thrown), used, run.consumer.judged_at_datum


def passes_uncredited(run: SurgeRun) -> bool:
    """Return whether a failure that nobody credits passes a limit."""
    return run.is_uncredited and how_bad(run)[0] > 0


def run_surge(
    source: bytes,
    where: str = "",
    event: str = "",
    within: str = "",
    way: str = "",
    *,
    baseline: Baseline | None = None,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
    finished: Finished = lambda label: None,
    keep: Keep = lambda label, run: None,
) -> SurgeAnswer:
    """Return what events of a station come to: all of them, or those of one name.

    Each way through the station is run alone, the others isolated, and all streams together. Cancelled, it
    returns what is finished.

    Parameters
    ----------
    source, where
        Bytes of a station file, and its name for messages.
    event
        A name of `steadyhead.surge.events.names_of`, or of one run of it; empty: all.
    within
        Time in which a reducer fails, a valve is moved, a demand changes, with its unit; empty: as usual.
    way
        Id of one way through the station, ``together`` for all streams at once; empty: all.
    baseline
        What a run measured in this station goes first.
    progress, cancel
        See `steadyhead.work`; told are hundredths of all runs, with the name of the run at work.
    finished, keep
        Asked for a run that is there already, by its label; told each that was made.

    Raises
    ------
    InputErrors, InputError
        A bad field of the file; an event, way or time nobody knows; no event that could be run.
    NotConverged
        The settings of the file have no steady state.
    """
    loaded = with_measured(completed(load(source, where)), baseline)
    seconds = _seconds(within) if within else None
    ways = views(loaded.station)
    whole = together(loaded.station) if len(ways) > 1 else None
    ways = ways if whole is None else (*ways, whole)
    wanted = [one for one in ways if way in ("", one.id)]
    if not wanted:
        known = ", ".join(one.id for one in ways if one.id) or "none: the station has one way only"
        raise InputError("--way", f"got {way!r}.", f"Known are: {known}.")
    progress(0, 100, "where it stands")
    to_run, findings = _to_run(wanted, ways, event, seconds)
    if len(ways) > 1 and whole is None and not way:
        findings.append(Finding("SUR-21", "line", Severity.NOTE))
    if not to_run:
        reason = next((str(one.params["reason"]) for one in findings if one.code == "SUR-17"), "")
        has = reason or "No part of this station can do it."
        known = ", ".join(names_of(loaded.station))
        raise InputError("--event", f"{event or 'none'} cannot be run: {has}", f"Known: {known}.")
    runs: list[SurgeRun] = []
    for number, one in enumerate(to_run):
        share = _share(progress, number, len(to_run), one.label)
        share(0, 1, "s")
        before = finished(one.label)
        run = before if before is not None or cancel() else one.run(share, cancel)
        if run is None:
            break
        if before is None:
            keep(one.label, run)
        runs.append(run)
        findings += run.findings
    left_out = tuple(one.label for one in to_run[len(runs) :])
    told = answered(grouped(findings), loaded.station.answers)
    return SurgeAnswer(loaded, tuple(runs), told, left_out)


@dataclass(frozen=True, slots=True)
class _ToRun:
    """One run to make, with the limits of its way."""

    study: Study
    limits: tuple[ComponentLimit, ...]
    way: str

    @property
    def label(self) -> str:
        return named(self.study.name, self.way)

    def run(self, progress: Progress, cancel: Cancel) -> SurgeRun | None:
        return run_study(self.study, self.limits, way=self.way, progress=progress, cancel=cancel)


def _to_run(
    wanted: Sequence[View], ways: Sequence[View], event: str, seconds: float | None
) -> tuple[list[_ToRun], list[Finding]]:
    """Return the runs to make, and the findings of what cannot be run."""
    to_run: list[_ToRun] = []
    findings: list[Finding] = []
    for one in wanted:
        model = build(one.station)
        limits = tuple(component_limits(one.station, model.density))
        alone = [(way, build(way.station)) for way in ways if way.role != ALL] if one.role == ALL else []
        found, missed = studies(one, model, event, seconds, alone)
        findings += missed
        to_run += [_ToRun(study, limits, one.words) for study in found]
    return to_run, findings


def _share(progress: Progress, number: int, count: int, name: str) -> Progress:
    """Return a progress that tells one run of many as its share of all. [hundredths of a run]"""

    def tell(done: int, total: int, what: str) -> None:
        progress(100 * number + 100 * done // max(total, 1), 100 * count, name)

    return tell


def _seconds(text: str) -> float:
    try:
        return parse(text, "time").si
    except UnitError as problem:
        raise InputError("--within", problem.problem, problem.remedy) from None


def surge_data(answer: SurgeAnswer) -> dict[str, Any]:
    """Return the runs as plain data, SI, names ending in the unit; traces go into a table, not in here."""
    return {
        "format": "steadyhead/surge/1",
        "file_sha256": answer.loaded.sha256,
        "inside_limits": answer.is_inside and not any(map(passes_uncredited, answer.runs)),
        "forbids": not answer.is_inside,
        "worst": answer.worst.event,
        "events": [
            {"event": runs[0].group, "way": runs[0].way, "verdict_of": runs[0].event}
            for runs in answer.events
        ],
        "not_run": list(answer.left_out),
        "runs": [_run_data(run) for run in answer.runs],
        "findings": [finding_data(finding) for finding in answer.findings],
    }


def _run_data(run: SurgeRun) -> dict[str, Any]:
    return {
        "event": run.event,
        "of": run.group,
        "happens": run.happens,
        "way": run.way,
        "not_credited": run.is_uncredited,
        "inlet_case": run.inlet_case,
        "flow_case": run.flow_case,
        "event_at_s": rounded(run.event_at),
        "until_s": rounded(run.until),
        "step_s": rounded(run.step),
        "grid_change": rounded(run.grid_change),
        "mass_error": rounded(run.mass_error),
        "supply_main": _main_data(run, "supply"),
        "consumer_main": _main_data(run, "consumer"),
        "smallest_that_trips": _smallest_data(run),
        "sections": [
            {"id": s.id, "highest_pa": rounded(s.highest), "lowest_pa": rounded(s.lowest)}
            for s in run.sections
        ],
        "shut_offs": [
            {
                "id": s.id,
                "trips": s.trips,
                "trip_s": _or_none(s.trip),
                "switch_s": _or_none(s.switch),
                "shut_s": _or_none(s.shut),
                "closing_s": _or_none(s.closing),
            }
            for s in run.shut_offs
        ],
        "limits": [
            {
                "component": one.component,
                "side": one.side,
                "limit_pa_at_datum": rounded(one.limit_at_datum),
                "peak_pa_at_datum": rounded(one.peak_at_datum),
                "begun_pa_at_datum": rounded(one.begun_at_datum),
                "margin_pa": rounded(one.margin),
                "verdict": one.verdict,
                "is_main_stated": one.verdict != "no main",
                "thrown_back_pa_at_datum": _or_none(one.rebound_at_datum),
                "thrown_back_least_pa_at_datum": _or_none(one.rebound_least_at_datum),
            }
            for one in run.limits
        ],
        "outlet": {
            "place": run.outlet,
            "before_pa": rounded(run.outlet_before),
            "end_pa": rounded(run.outlet_end),
            "settled_s": _or_none(run.settled),
            "swing_pa": rounded(run.swing),
            "period_s": _or_none(run.period),
        },
        "wave_return_s": _or_none(run.wave_return),
        "findings": [finding.code for finding in run.findings],
    }


def _or_none(value: float | None) -> float | None:
    return None if value is None else rounded(value)


def _main_data(run: SurgeRun, side: str) -> dict[str, Any]:
    main = run.supply if side == "supply" else run.consumer
    high, low = run.highest(side), run.lowest(side)
    return {
        "is_stated": side not in run.untold,
        "highest_pa": rounded(main.highest),
        "lowest_pa": rounded(main.lowest),
        "highest_pa_at_datum": rounded(main.highest_at_datum),
        "lowest_pa_at_datum": rounded(main.lowest_at_datum),
        "judged_pa_at_datum": rounded(main.judged_at_datum),
        "judged_at": _place_data(high),
        "lowest_at": _place_data(low),
        "largest_cavity_m3": rounded(main.most_gas),
        "separated": main.is_separated,
    }


def _place_data(place: Reached | None) -> dict[str, Any] | None:
    if place is None:
        return None
    return {"pipe": place.pipe, "from_station_m": rounded(place.distance), "pa": rounded(place.pressure)}


def _smallest_data(run: SurgeRun) -> dict[str, Any] | None:
    found = run.smallest
    if found is None:
        return None
    return {
        "shut_off": found.shut_off,
        "trips_as_stated": found.trips,
        "change_m3_s": rounded(found.change),
        "within_s": rounded(found.within),
        "least_change_m3_s": _or_none(found.least),
        "largest_change_tried_m3_s": rounded(found.most),
        "slowest_s": _or_none(found.slowest),
        "fastest_tried_s": rounded(found.fastest),
        "at_any_speed": found.is_any_time,
    }


def only_run(answer: SurgeAnswer, option: str) -> SurgeRun:
    """Return the run a table or picture is made of: the only one, or the worst of one event.

    Raises
    ------
    InputError
        Several events were run.
    """
    if len({run.group for run in answer.runs}) > 1:
        raise InputError(option, "shows one event; several were run.", "Name one with --event.")
    return answer.worst


def surge_csv(run: SurgeRun, units: UnitSet = METRIC) -> str:
    """Return the trace of a run as a table with headings that name the unit; pressures at datum.

    The last column says ``no`` from the moment a cavity falls in: what comes after carries no verdict.
    """
    pressure, flow = units.unit("pressure"), units.unit("flow")
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(
        ["time [s]"]
        + [f"{name} [{pressure} at datum]" for name in run.trace.pressures]
        + [f"flow {name} [{flow}]" for name in run.trace.flows]
        + [f"lift {name} [1]" for name in run.trace.lifts]
        + ["judged"]
    )
    for place, time in enumerate(run.trace.time):
        row = [f"{time:.5g}"]
        row += [f"{from_si(v[place], 'pressure', pressure):.5g}" for v in run.trace.pressures.values()]
        row += [f"{from_si(v[place], 'flow', flow):.5g}" for v in run.trace.flows.values()]
        row += [f"{v[place]:.5g}" for v in run.trace.lifts.values()]
        row.append("yes" if run.fell_in is None or time <= run.fell_in else "no")
        table.writerow(row)
    return out.getvalue()


def surge_picture(answer: SurgeAnswer, run: SurgeRun, units: UnitSet = METRIC) -> SurgePicture:
    """Return a run as a picture."""
    who = answer.loaded.station.station
    return SurgePicture(who.name, who.datum.si, run, units=units)
