"""How quiet the reducers of a station file are, as bands over what nobody has measured."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from steadyhead.design.export import rounded
from steadyhead.errors import InputError, NotConverged
from steadyhead.findings import Finding, Severity
from steadyhead.hydraulics import Model, build
from steadyhead.hydraulics.cases import FlowCase
from steadyhead.records.stability import (
    AirBand,
    Fit,
    FlowStability,
    ReducerStability,
    StabilityBands,
    UncalibratedValue,
)
from steadyhead.services.chances import percent, spread_data
from steadyhead.services.judging import finding_data
from steadyhead.services.library import completed
from steadyhead.station.load import Loaded, load
from steadyhead.station.streams import View, views
from steadyhead.surge import defaults as d
from steadyhead.surge.air import air_effect, chamber_volume
from steadyhead.surge.bands import stability_band
from steadyhead.surge.events import Maker
from steadyhead.surge.from_station import Drafted
from steadyhead.surge.plan import ReducerRow
from steadyhead.surge.together import grouped
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

FORMAT = "steadyhead/stability/1"
FLOWS: tuple[FlowCase, ...] = ("night", "average", "peak")


@dataclass(frozen=True, slots=True)
class StabilityAnswer:
    """The bands of a file."""

    loaded: Loaded
    bands: StabilityBands


def run_stability(
    source: bytes,
    where: str = "",
    way: str = "",
    *,
    members: int = int(d.MEMBERS.si),
    seed: int = 1,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
) -> StabilityAnswer:
    """Return how quiet each pilot-operated reducer is, at typical inlet pressure.

    Parameters
    ----------
    source, where
        Bytes of a station file, and its name for messages.
    way
        Id of one way through the station; empty: all.
    members, seed
        Members of the uncalibrated band, and the seed they are drawn with.
    progress, cancel
        See `steadyhead.work`.

    Raises
    ------
    InputErrors, InputError
        A bad field of the file, a way nobody knows, no pilot-operated reducer with flow.
    """
    loaded = completed(load(source, where))
    ways = views(loaded.station)
    wanted = [one for one in ways if way in ("", one.id)]
    if not wanted:
        known = ", ".join(one.id for one in ways if one.id) or "none: the station has one way only"
        raise InputError("--way", f"got {way!r}.", f"Known are: {known}.")
    asked = [one for view in wanted for one in _asked(view, build(view.station))]
    if not asked:
        raise InputError("file", "has no pilot-operated reducer with flow.", "State flows above 0.")
    found: list[ReducerStability] = []
    airs: list[AirBand] = []
    settled: dict[str, str] = {}
    findings: list[Finding] = []
    for number, one in enumerate(asked):
        told = _share(progress, number, len(asked), one.row.id)
        band = stability_band(
            one.drafted, one.row, one.flows, way=one.view.words, members=members, seed=seed,
            progress=told, cancel=cancel,
        )  # fmt: skip
        if band is None:
            break
        found.append(band)
        airs.append(_air(one))
        settled[one.view.words] = one.maker.settled.words
        findings += [*_notes(band), *one.maker.told, *one.drafted.findings]
    return StabilityAnswer(loaded, StabilityBands(tuple(found), tuple(airs), settled, grouped(findings)))


@dataclass(frozen=True, slots=True)
class _Asked:
    """One reducer to look at, in a situation with flow."""

    view: View
    maker: Maker
    drafted: Drafted
    row: ReducerRow
    flows: dict[str, float]


def _asked(view: View, model: Model) -> Iterator[_Asked]:
    maker = Maker(view, model, None)
    drafts: dict[str, Drafted] = {}
    for flow in FLOWS:
        with suppress(InputError, NotConverged):
            drafted = maker.draft("typical", flow)
            if drafted.before.consumer_flow > 0.0:
                drafts[flow] = drafted
    if not drafts:
        return
    flows = {name: one.before.consumer_flow for name, one in drafts.items()}
    drafted = drafts.get("average", next(iter(drafts.values())))
    for part in drafted.plan.station:
        if isinstance(part, ReducerRow):
            yield _Asked(view, maker, drafted, part, flows)


def _air(one: _Asked) -> AirBand:
    """Return what three volumes of air do, with the member of the band event runs are made with."""
    settled = one.maker.settled
    quiet = _with_plan(one.drafted, settled.plan(one.drafted.plan))
    whole = chamber_volume(one.row)
    effects = [air_effect(quiet, one.row.id, share * whole) for share in d.AIR_SHARES]
    return AirBand(
        one.row.id,
        tuple((effect.volume, effect.swing, effect.period) for effect in effects),
        effects[0].runs_away_from,
    )


def _with_plan(drafted: Drafted, plan: Any) -> Drafted:
    return Drafted(plan, drafted.rows, drafted.model, drafted.case, drafted.before, drafted.findings)


def _notes(band: ReducerStability) -> tuple[Finding, ...]:
    """Return what is told of a band: a note while nothing measured speaks, a judgement once it does."""
    if band.is_idle:
        return ()
    if band.fit is None:
        return (_note(band),)
    if band.fit.is_used:
        return (_fitted(band, band.fit),)
    return (_not_fitted(band, band.fit), _note(band))


def _fitted(band: ReducerStability, fit: Fit) -> Finding:
    worst = max(band.at, key=lambda one: one.hunting)
    left = ", ".join(fit.not_determined)
    params = {
        "kept": str(fit.kept),
        "tried": str(fit.tried),
        "seen": str(fit.seen),
        "hunting": percent(worst.hunting),
        "flow_case": worst.flow_case,
        "left": f"Left open by it: {left}." if left else "It narrows everything that was free.",
    }
    weight = Severity.HEED if worst.hunting >= d.HUNTS_MOSTLY.si else Severity.NOTE
    return Finding("SUR-51", band.reducer, weight, dict(params))


def _not_fitted(band: ReducerStability, fit: Fit) -> Finding:
    words, share = max(fit.misses, key=lambda one: one[1], default=("nothing", 0.0))
    params = {
        "kept": str(fit.kept),
        "tried": str(fit.tried),
        "fewest": d.OBSERVED_FEWEST.text,
        "most": f"{words} ({percent(share)})",
    }
    return Finding("SUR-52", band.reducer, Severity.HEED, dict(params))


def _note(band: ReducerStability) -> Finding:
    worst = max(band.at, key=lambda one: one.hunting)
    free = ", ".join(one.name for one in band.bands if not one.is_held) or "nothing"
    params = {"free": free, "hunting": percent(worst.hunting), "flow_case": worst.flow_case}
    return Finding("SUR-39", band.reducer, Severity.NOTE, dict(params))


def _share(progress: Progress, number: int, count: int, name: str) -> Progress:
    def tell(done: int, total: int, what: str) -> None:
        progress(100 * number + 100 * done // max(total, 1), 100 * count, name)

    return tell


def stability_data(answer: StabilityAnswer) -> dict[str, Any]:
    """Return the bands as plain data, SI, names ending in the unit; infinite ones as null."""
    bands = answer.bands
    return {
        "format": FORMAT,
        "file_sha256": answer.loaded.sha256,
        "reducers": [_reducer_data(one) for one in bands.reducers],
        "air": [
            {
                "reducer": one.reducer,
                "runs_away_from_m3": rounded(one.runs_away_from) if one.runs_away_from < 1.0 else None,
                "volumes": [
                    {
                        "air_m3": rounded(volume),
                        "swing_pa": rounded(swing),
                        "period_s": None if period is None else rounded(period),
                    }
                    for volume, swing, period in one.effects
                ],
            }
            for one in bands.air
        ],
        "event_runs_move": [{"way": way, "moved": words} for way, words in bands.settled.items()],
        "findings": [finding_data(finding) for finding in bands.findings],
    }


def _reducer_data(one: ReducerStability) -> dict[str, Any]:
    return {
        "reducer": one.reducer,
        "way": one.way,
        "inlet_case": one.inlet_case,
        "members": one.members,
        "seed": one.seed,
        "quiet_from_m3_s": spread_data(one.quiet_from),
        "looked_from_m3_s": rounded(one.looked_from),
        "looked_to_m3_s": rounded(one.looked_to),
        "at": [_flow_data(flow) for flow in one.at],
        "moved": [_value_data(value) for value in one.bands],
        "fit": None if one.fit is None else _fit_data(one.fit),
    }


def _fit_data(fit: Fit) -> dict[str, Any]:
    return {
        "seen": fit.seen,
        "tried": fit.tried,
        "kept": fit.kept,
        "used": fit.is_used,
        "not_determined": list(fit.not_determined),
        "held_against": [{"seen": words, "takes_out": rounded(share)} for words, share in fit.misses],
    }


def _flow_data(flow: FlowStability) -> dict[str, Any]:
    return {
        "flow_case": flow.flow_case,
        "flow_m3_s": rounded(flow.flow),
        "lift": rounded(flow.lift),
        "hunting_share": rounded(flow.hunting),
        "gain_margin": spread_data(flow.gain_margin),
        "phase_margin_deg": spread_data(flow.phase_margin),
    }


def _value_data(value: UncalibratedValue) -> dict[str, Any]:
    return {
        "name": value.name,
        "now": rounded(value.now),
        "low": rounded(value.low),
        "high": rounded(value.high),
        "from": value.words,
        "stated": value.is_held,
        "fitted": None if value.fitted is None else [rounded(edge) for edge in value.fitted],
    }
