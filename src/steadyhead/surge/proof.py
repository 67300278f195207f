"""The protection proof: every failure, in every situation, at both edges of the closing time; the window."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from steadyhead import __version__
from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics import Model, build, case
from steadyhead.hydraulics.cases import Case
from steadyhead.hydraulics.mains import wave_speed_of, zone_stiffness
from steadyhead.records.ladder import ComponentLimit
from steadyhead.records.parts import LinePart, Parallel, Relief, ShutOff
from steadyhead.records.protection import (
    INLETS,
    SIDES,
    Closing,
    Failure,
    Main,
    NeedleWindow,
    ProofCase,
    Protection,
    Side,
    SidePeak,
    Stroke,
)
from steadyhead.records.station import Station
from steadyhead.station.streams import View
from steadyhead.surge import defaults as d
from steadyhead.surge import proof_defaults as pd
from steadyhead.surge.devices import without_uncredited
from steadyhead.surge.ensemble import Threads
from steadyhead.surge.entry import ends, with_entry
from steadyhead.surge.from_station import Drafted, draft, halved
from steadyhead.surge.hunting import Settled, settle
from steadyhead.surge.needle import integral_on_test, shut_off_of
from steadyhead.surge.plan import DirectReducerRow, ReducerRow, ShutOffRow
from steadyhead.surge.proof_run import FailureRun, Setting, Situation, situation
from steadyhead.surge.station_rows import stroke_on_test
from steadyhead.surge.window import needle_window
from steadyhead.work import Cancel, Progress, never_cancel, no_progress

Inlet = Literal["lowest", "typical", "static"]
Flow = Literal["night", "average", "peak"]
SITUATIONS: tuple[tuple[Inlet, Flow], ...] = (
    ("static", "night"), ("static", "average"), ("typical", "peak"),
    ("lowest", "night"), ("lowest", "average"), ("lowest", "peak"),
)  # fmt: skip
"""Inlet pressures and flows a failure is run at. Static means that nothing flows: at peak flow the highest is
that of a usual day."""

LEAST = 1e5
"""Highest pressures below it are taken as this much where changes are told as shares. [Pa]"""


@dataclass(frozen=True, slots=True)
class Claim:
    """A failure to be proved and the flows it may happen at."""

    failure: Failure
    flows: tuple[Flow, ...]


@dataclass(frozen=True, slots=True)
class Question:
    """What is to be proved of one way.

    Parameters
    ----------
    view
        The way.
    shut_off
        Its id.
    claims
        Failures, credited ones first.
    limits
        Of the components, at datum.
    trip, trip_edge
        Trip and its upper edge. [Pa at datum]
    lowest_edge
        Upper edge of the lowest trip that the ladder still allows; None: not known. [Pa at datum]
    protected
        Components whose limit no remedy may raise.
    is_trip_stated
        Whether the file states the trip.
    """

    view: View
    shut_off: str
    claims: tuple[Claim, ...]
    limits: tuple[ComponentLimit, ...]
    trip: float
    trip_edge: float
    lowest_edge: float | None = None
    protected: frozenset[str] = frozenset()
    is_trip_stated: bool = True


@dataclass(frozen=True)
class Proving:
    """A question with what is made of it once: model, situations, the shut-off as it is.

    Every situation stands there twice, with the zone entered through fewest and through most mains.
    `kv`: of the needle as it is [m³/h at 1 bar], None where a spring or a weight sets the time; `band`: share
    by which the closing time may be longer or shorter; `source`: where it comes from.
    """

    question: Question
    model: Model
    situations: tuple[Situation, ...]
    missing: tuple[str, ...]
    setting: Setting
    kv: float | None
    stroke: Stroke
    stopwatch: float
    band: float
    source: str
    hunts: tuple[str, ...] = ()

    def runs(self, setting: Setting | None = None, cancel: Cancel = never_cancel) -> Iterator[FailureRun]:
        """Yield each failure in each situation it may happen in, run up to its trip, on threads."""

        def run(pair: tuple[Situation, Failure]) -> FailureRun:
            return FailureRun(pair[0], pair[1], setting or self.setting, cancel)

        yield from Threads().map(run, self.pairs)

    @property
    def pairs(self) -> tuple[tuple[Situation, Failure], ...]:
        """Each failure in each situation it may happen in."""
        return tuple(
            (here, claim.failure)
            for claim in self.question.claims
            for here in self.situations
            if here.flow in claim.flows
        )


def prove(
    question: Question, *, progress: Progress = no_progress, cancel: Cancel = never_cancel
) -> Protection | None:
    """Return the proof of one way and the window of its needle; None where it was cancelled.

    Limits of validity are those of the engine: full pipes, no air, walls known by their wave speed, valves
    not calibrated. Relief valves count only where the file credits them. Figures after a cavity has fallen
    in are left out. What decides is run once more with half the time step.

    Parameters
    ----------
    question
        What is to be proved.
    progress, cancel
        See `steadyhead.work`.

    Raises
    ------
    InputError, NotConverged
        No situation has a steady state to begin in.
    """
    from steadyhead.surge.window_remedies import with_remedies

    made = proving(question)

    def one(pair: tuple[Situation, Failure]) -> tuple[FailureRun, list[ProofCase]]:
        run = FailureRun(*pair, made.setting, cancel)
        return run, [
            run.case(run.finish(made.setting.faster(1.0 / share)), question.limits, closing)
            for closing, share in _edges(made.band)
        ]

    total = len(made.pairs) + 3
    runs: list[FailureRun] = []
    cases: list[ProofCase] = []
    for run, found_here in Threads().map(one, made.pairs):
        if cancel():
            return None
        runs.append(run)
        cases += found_here
        progress(len(runs), total, "failures")
    credited = [run for run in runs if run.failure.credited]
    cases = list(with_other_end(cases))
    progress(total - 3, total, "window of the closing time")
    window = needle_window(credited, question.limits, made.setting, made.stroke, made.stopwatch, kv=made.kv)
    window = with_remedies(made, window, cancel, lambda words: progress(total - 2, total, words))
    progress(total - 1, total, "deciding cases with half the time step")
    found = _answer(made, tuple(cases), window)
    moved = [] if cancel() else _halved(made, found, cancel)
    progress(total, total, "proved")
    return None if cancel() else with_own_error(found, moved)


@dataclass(frozen=True, slots=True)
class Moved:
    """How far a halved step moves the highest pressures of one side in a case that decides.

    peak, rebound: until it is shut, and with the wave thrown back [Pa]; share: the greater over the pressure
    [1]; is_worst: the worst case of the side, not an edge of the window.
    """

    side: Side
    peak: float
    rebound: float
    share: float
    is_worst: bool = True


def with_own_error(found: Protection, moved: Iterable[Moved]) -> Protection:
    """Return a proof that gives no verdict where a credited case holds a limit by less than its own error.

    That is how far halving the step moves the worst case of that side: until it is shut, and with the wave
    thrown back, each against the room it leaves.
    """
    known = list(moved)
    by_side = {one.side: one for one in known if one.is_worst}
    cases = tuple(
        replace(case, peaks=tuple(_judged_again(peak, by_side.get(peak.side)) for peak in case.peaks))
        if case.failure.credited
        else case
        for case in found.cases
    )
    return replace(
        found,
        cases=cases,
        grid_change=max((one.share for one in known), default=None),
        grid_changes=tuple((one.side, one.share) for one in by_side.values()),
    )


def _judged_again(peak: SidePeak, moved: Moved | None) -> SidePeak:
    if moved is None or peak.limit is None or peak.verdict != "inside" or peak.is_rebound_over:
        return peak
    is_near = peak.limit - peak.peak < moved.peak
    is_near = is_near or (peak.rebound is not None and peak.limit - peak.rebound < moved.rebound)
    return replace(peak, verdict="within error") if is_near else peak


def with_other_end(cases: Sequence[ProofCase]) -> tuple[ProofCase, ...]:
    """Return cases; of one whose wave thrown back passes a limit, that wave at the other end of the band too.

    How much a zone throws back is known to a band only: what is passed at one end of it alone is a question.
    """
    return tuple(
        replace(one, peaks=tuple(_with_least(peak, one, cases) for peak in one.peaks))
        if any(peak.is_rebound_over for peak in one.peaks)
        else one
        for one in cases
    )


def _with_least(peak: SidePeak, case: ProofCase, cases: Sequence[ProofCase]) -> SidePeak:
    others = [
        found.highest
        for one in cases
        if one.mains != case.mains and one.place == case.place
        for found in one.peaks
        if found.side == peak.side
    ]
    return replace(peak, rebound_least=others[0]) if others else peak


def _edges(band: float) -> tuple[tuple[Closing, float], ...]:
    return (("slow", 1.0 + band), ("fast", 1.0 - band))


def proving(question: Question) -> Proving:
    """Return what a proof works with.

    Raises
    ------
    InputError, NotConverged
        No situation has a steady state to begin in.
    """
    model = build(without_reliefs(question.view.station))
    drafts: list[tuple[Drafted, Inlet, Flow]] = []
    missing: list[str] = []
    problem: InputError | NotConverged | None = None
    flows = {flow for claim in question.claims for flow in claim.flows}
    for inlet, flow in SITUATIONS:
        if flow not in flows:
            continue
        try:
            drafts.append((drafted_in(question.view, model, inlet, flow), inlet, flow))
        except (InputError, NotConverged) as refused:
            problem = refused
            missing.append(f"{INLETS[inlet]} inlet pressure, {flow} flow")
    if not drafts:
        raise problem or InputError("credited", "names no failure to prove.", "Credit one.")
    rows = [p.id for p in drafts[0][0].plan.station if isinstance(p, ReducerRow | DirectReducerRow)]
    both = [_entered(drafts, mains, regulates=len(rows) > 1) for mains in ends(drafts[0][0].plan)]
    failing = question.claims[0].failure.reducer
    situations = tuple(
        situation(replace(one, plan=settled.plan(one.plan, failing)), inlet, flow, question.shut_off)
        for one_end in zip(*(found for found, _ in both), strict=True)
        for (one, inlet, flow), (_, settled) in zip(one_end, both, strict=True)
    )
    hunts = dict.fromkeys(s.reducer for _, settled in both for s in settled.still if s.reducer != failing)
    return replace(_proving(question, model, situations, tuple(missing)), hunts=tuple(hunts))


Draft = tuple[Drafted, Inlet, Flow]


def _entered(drafts: list[Draft], mains: int, *, regulates: bool) -> tuple[list[Draft], Settled]:
    """Return plans whose zone is entered through so many mains, and what is moved for reducers to sit still.

    regulates: whether a reducer goes on regulating where another fails.
    """
    found = [
        (replace(one, plan=with_entry(one.plan, mains)) if mains else one, inlet, flow)
        for one, inlet, flow in drafts
    ]
    return found, settle([one for one, _, _ in found], mains) if regulates else Settled()


def _proving(
    question: Question, model: Model, situations: tuple[Situation, ...], missing: tuple[str, ...]
) -> Proving:
    part = next(p for p in model.shut_offs if p.id == question.shut_off)
    plan = situations[0].drafted.plan
    row = shut_off_of(plan, question.shut_off)
    stroke = stroke_on_test(model, part)
    stopwatch = (
        integral_on_test(row, plan.water, stroke) / row.close_needle if row.is_hydraulic else row.close_time
    )
    band = pd.SPREAD_STATED if part.closing is not None else pd.SPREAD_USUAL
    is_stated = part.closing is not None and part.closing.flow is not None
    return Proving(
        question,
        model,
        situations,
        missing,
        Setting(question.trip_edge, row.close_needle, row.close_time),
        row.close_needle / model.k(1.0) if row.is_hydraulic else None,
        Stroke(stroke.inlet, stroke.outlet, stroke.flow, is_stated),
        stopwatch,
        band.si,
        _source(part, row, band.text),
    )


def _source(part: ShutOff, row: ShutOffRow, band: str) -> str:
    time = part.closing.time.provenance if part.closing is not None else "needle of usual size"
    drives = "" if row.is_hydraulic else ", a spring or weight drives it"
    return f"{time}{drives}, ±{band}"


def reaches_of(station: Station, density: float) -> int:
    """Return into how many reaches a proof cuts the shortest main: fewer where steps would be very short."""
    mains = [main for main in (station.supply.main, station.zone.main) if main is not None]
    shortest = min((main.length.si / wave_speed_of(main, density).si for main in mains), default=1.0)
    return min(int(pd.REACHES.si), max(int(shortest / pd.STEP.si), int(d.LEAST_REACHES.si)))


def drafted_in(view: View, model: Model, inlet: Inlet, flow: Flow) -> Drafted:
    """Return the plan of a way in one situation; a low-flow stream carries no more than its duty flow.

    Raises
    ------
    InputError, NotConverged
        There is no steady state to begin in.
    """
    found: Case = case(model.station, inlet, flow)
    if view.role == "low flow":
        least = min(found.conditions.consumer_flow or 0.0, model.reducers[-1].duty.flow.si)
        found = replace(found, conditions=replace(found.conditions, consumer_flow=least))
    drafted = draft(model, found, reaches_of(model.station, model.density))
    if drafted.before.consumer_end < 0.0:
        raise InputError("flow", "the pressure at the consumers is below that of the air.", "Check levels.")
    return drafted


def without_reliefs(station: Station) -> Station:
    """Return a station without the relief valves nobody credits."""
    return without_uncredited(station.model_copy(update={"line": tuple(_kept(station.line))}))


def _kept(line: tuple[LinePart, ...]) -> Iterator[LinePart]:
    for part in line:
        if isinstance(part, Parallel):
            branches = tuple(
                branch.model_copy(update={"line": tuple(_kept(branch.line))}) for branch in part.branches
            )
            yield part.model_copy(update={"branches": branches})
        elif not (isinstance(part, Relief) and not part.credited):
            yield part


def _answer(made: Proving, cases: tuple[ProofCase, ...], window: NeedleWindow) -> Protection:
    question, station = made.question, made.model.station
    stiffness = zone_stiffness(station.zone)
    return Protection(
        way=question.view.id,
        words=question.view.words,
        shut_off=question.shut_off,
        trip=question.trip,
        trip_edge=question.trip_edge,
        closing_times=(made.stopwatch * (1.0 + made.band), made.stopwatch * (1.0 - made.band)),
        closing_source=made.source,
        cases=cases,
        grid_change=None,
        missing=made.missing,
        mains=(station.supply.main is not None, station.zone.main is not None),
        is_zone_known=stiffness is not None and not stiffness.lower_bound,
        hunts=made.hunts,
        window=replace(
            window,
            unknown=unknown_mains(cases, has_zone_main=station.zone.main is not None),
            is_ahead_limited=is_ahead_limited(cases),
        ),
        engine_version=__version__,
        mains_behind=_mains_behind(made),
        is_trip_stated=question.is_trip_stated,
    )


def unknown_mains(cases: Iterable[ProofCase], *, has_zone_main: bool) -> tuple[Main, ...]:
    """Return the mains that are not stated and on whose waves a limit hangs in a credited failure."""
    peaks = [peak for case in cases if case.failure.credited for peak in case.peaks if peak.limit is not None]
    found: list[Main] = ["supply"] if any(peak.verdict == "no main" for peak in peaks) else []
    if not has_zone_main and any(peak.side in ("consumer", "outlet") for peak in peaks):
        found.append("consumer")
    return tuple(found)


def is_ahead_limited(cases: Iterable[ProofCase]) -> bool:
    """Return whether the inlet side states what it bears, in any case that sees it; True where none does."""
    peaks = [peak for case in cases if (peak := case.peak("inlet")) is not None]
    return not peaks or any(peak.limit is not None for peak in peaks)


def _mains_behind(made: Proving) -> tuple[int, int]:
    """Return how many mains go on behind the zone's in the cases: fewest and most of the band; 0: none."""
    found = [one.mains for one in made.situations]
    return min(found, default=0), max(found, default=0)


_Deciding = tuple[Failure, tuple[Inlet, Flow, int], float, Side]
"""A failure, its situation, the share of the closing time, and the side that decides."""


def _halved(made: Proving, found: Protection, cancel: Cancel) -> list[Moved]:
    """Return how far a halved step moves highest pressures that decide.

    Those of the worst case of each side, and of the case that decides each edge of the window.
    """
    shares = dict(_edges(made.band))
    pairs: list[_Deciding] = [
        (worst.failure, (worst.inlet, worst.flow, worst.mains), shares[worst.closing], side)
        for side, worst in _worst(found)
    ]
    worst_of_sides = frozenset(pairs)
    window = found.window
    for edge in (window.slowest, window.fastest):
        if edge is not None and window.state == "open":
            place = (edge.inlet, edge.flow, edge.mains)
            pairs.append((edge.failure, place, edge.stopwatch / window.stopwatch, edge.side))

    def moved(one: _Deciding) -> Moved:
        failure, place, share, side = one
        here = next(each for each in made.situations if (each.inlet, each.flow, each.mains) == place)
        finer = replace(here.drafted, plan=halved(here.drafted.plan))
        peaks, thrown = [], []
        for each in (here, situation(finer, here.inlet, here.flow, here.shut_off)):
            run = FailureRun(each, failure, made.setting, cancel)
            case = run.case(run.finish(made.setting.faster(1.0 / share)), made.question.limits, "slow")
            peak = case.peak(side)
            peaks.append(0.0 if peak is None else peak.peak)
            thrown.append(0.0 if peak is None else peak.highest)
        rise, wave = abs(peaks[0] - peaks[1]), abs(thrown[0] - thrown[1])
        share = wave / max(abs(thrown[1]), LEAST)
        return Moved(side, rise, wave, share, is_worst=one in worst_of_sides)

    return list(Threads().map(moved, list(dict.fromkeys(pairs))))


def _worst(found: Protection) -> Iterator[tuple[Side, ProofCase]]:
    """Yield of each side the credited case that uses most of its limit, else the one that goes highest."""
    credited = [case for case in found.cases if case.failure.credited]
    for side in SIDES:
        seen = [(case, case.peak(side)) for case in credited]
        cases = [case for case, peak in seen if peak is not None and peak.verdict != "no main"]
        if cases:
            yield side, max(cases, key=lambda case: _used(case.peak(side)))


def _used(peak: SidePeak | None) -> tuple[float, float]:
    if peak is None:
        return 0.0, 0.0
    height = max(peak.peak, peak.rebound or peak.peak)
    return height / peak.limit if peak.limit else 0.0, height
