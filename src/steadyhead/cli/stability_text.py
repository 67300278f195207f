"""Bands of stability and chances in words."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from steadyhead.cli.progress import say as tell
from steadyhead.cli.progress import watched
from steadyhead.cli.showing import finding_lines, paragraph, show_json
from steadyhead.cli.surge_text import FOOT
from steadyhead.cli.surge_words import way_named
from steadyhead.units import UnitSet, say

if TYPE_CHECKING:
    from steadyhead.records.chances import Chance, Chances, LimitChance
    from steadyhead.records.stability import (
        AirBand,
        Fit,
        FlowStability,
        ReducerStability,
        Spread,
        UncalibratedValue,
    )
    from steadyhead.services.chances import ChancesAnswer
    from steadyhead.services.stability import StabilityAnswer
    from steadyhead.work import Executor

STOPPED = 130
LAG, MAINS = "sense_lag", "mains of the zone"
"""What is no factor of a default: a time, a count."""
HEAVY = 0.02
"""Share of the variance from which on a tolerance is named."""


def do_stability(file: str, way: str, seed: int, json: bool, units: str) -> int:
    """Show how quiet the reducers of a file are."""
    from steadyhead.cli.commands import read_source, units_for
    from steadyhead.services.stability import run_stability, stability_data

    mine, source = units_for(units), read_source(file)
    with watched() as shown:
        answer = run_stability(source, _named(file), way, seed=seed, progress=shown, cancel=shown.cancel)
        stopped = shown.cancel()
    if json:
        show_json(stability_data(answer))
    else:
        print(stability_text(answer, mine))
    return _ended(stopped=stopped)


def _ended(*, stopped: bool) -> int:
    """Say that somebody stopped the work, where he did; return the exit status."""
    if stopped:
        tell("Stopped: the rest was not run.")
    return STOPPED if stopped else 0


def do_chances(
    file: str, event: str, way: str, runs: int, seed: int, keep: str, cluster: str, json: bool, units: str
) -> int:
    """Run an event many times and show how often limits are passed."""
    from steadyhead.cli.commands import read_source, units_for
    from steadyhead.services.chances import chances_data, run_chances
    from steadyhead.services.first_use import tell_first_use

    mine, source = units_for(units), read_source(file)
    tell_first_use(tell)
    executor, close = _executor(cluster)
    try:
        with watched() as shown:
            answer = run_chances(
                source, _named(file), event, runs, seed, way, keep=keep, executor=executor,
                progress=shown, cancel=shown.cancel,
            )  # fmt: skip
            stopped = shown.cancel()
    finally:
        close()
    if json:
        show_json(chances_data(answer))
    else:
        print(chances_text(answer, mine))
    return _ended(stopped=stopped)


def _named(file: str) -> str:
    return "standard input" if file == "-" else file


def _executor(cluster: str) -> tuple[Executor | None, Callable[[], None]]:
    if not cluster:
        return None, lambda: None
    from steadyhead.services.cluster import Cluster

    made = Cluster(cluster)
    return made, made.close


def stability_text(answer: StabilityAnswer, units: UnitSet) -> str:
    """Return the bands in words."""
    who = answer.loaded.station.station
    lines = [f"{who.name} ({who.id}): stability", ""]
    for one, air in zip(answer.bands.reducers, answer.bands.air, strict=True):
        lines += [*_reducer(one, units), *_air(air, units), ""]
    if answer.bands.findings:
        lines += ["Findings", *(finding_lines(finding, units) for finding in answer.bands.findings), ""]
    return "\n".join([*lines, paragraph(FOOT)])


def _reducer(one: ReducerStability, units: UnitSet) -> list[str]:
    head = f"{one.reducer}{', ' + one.way if one.way else ''}, {one.inlet_case} inlet pressure"
    if one.is_idle:
        return [head, "", paragraph("It stands on a stop at every flow looked at: nothing to judge.")]
    table = [
        f"  {'flow':<22} {'lift':>6}  {'hunts in':>8}  {'gain margin':>18}  {'phase margin':>20}",
        *(_flow(flow, units) for flow in one.at),
    ]
    fit = [] if one.fit is None else [paragraph(_fit(one.fit))]
    return [head, "", *table, "", paragraph(_quiet(one, units)), *fit, paragraph(_moved(one))]


def _fit(fit: Fit) -> str:
    from steadyhead.services.chances import percent

    said = "; ".join(f"{words} takes out {percent(share)}" for words, share in fit.misses)
    ends = "these are the members above."
    if not fit.is_used:
        ends = "too few: the members above are of the whole band."
    return (
        f"Held against what was seen, each against those still left: {said}. "
        f"{fit.kept} of {fit.tried} agree; {ends}"
    )


def _flow(flow: FlowStability, units: UnitSet) -> str:
    from steadyhead.services.chances import percent

    name = f"{flow.flow_case} {say(flow.flow, 'flow', units)}"
    gain = _three(flow.gain_margin, "{:.2g}")
    phase = _three(flow.phase_margin, "{:.0f}°")
    return f"  {name:<22} {100.0 * flow.lift:>4.1f} %  {percent(flow.hunting):>8}  {gain:>18}  {phase:>20}"


def _three(spread: Spread, form: str) -> str:
    return " · ".join(
        "∞" if value == float("inf") else form.format(value)
        for value in (spread.low, spread.middle, spread.high)
    )


def _quiet(one: ReducerStability, units: UnitSet) -> str:
    spread = one.quiet_from
    top, bottom = say(one.looked_to, "flow", units), say(one.looked_from, "flow", units)

    def told(value: float) -> str:
        if value == float("inf"):
            return f"not up to {top}"
        return (
            f"the lowest flow looked at ({bottom})"
            if value <= 1.01 * one.looked_from
            else say(value, "flow", units)
        )

    columns = (
        "Columns of three: a tenth, half, nine tenths of the members lie below; a negative phase margin "
        "hunts."
    )
    if spread.low == float("inf"):
        return f"Hardly a member is quiet anywhere up to {top}. {columns}"
    if spread.high <= 1.01 * one.looked_from:
        return f"Hardly a member hunts between {bottom} and {top}. {columns}"
    open_end = (
        " Half of them hunt up to the peak: until somebody looks this says nothing."
        if spread.middle == float("inf")
        else ""
    )
    return (
        f"Quiet from: {told(spread.low)} in the quietest tenth of {one.members} members, "
        f"{told(spread.middle)} in half of them, {told(spread.high)} in the least quiet tenth."
        f"{open_end} {columns}"
    )


def _moved(one: ReducerStability) -> str:
    said = [f"{band.name} {_band(band)}" for band in one.bands if band.high > band.low]
    if not said:
        return "Nothing is moved: the file states it all."
    return "Moved: " + "; ".join(said) + "."


def _band(band: UncalibratedValue) -> str:
    """Return the band of a value: of a stated one its figures and source, else what the default says."""
    if not band.is_held:
        return f"{band.words.replace('; ', ', ')}{_fitted(band)}"
    return f"{band.low:.3g} to {band.high:.3g} of its default ({band.words}{_fitted(band)})"


def _fitted(band: UncalibratedValue) -> str:
    if band.fitted is None:
        return ""
    low, high = band.fitted
    unit = {LAG: " s", MAINS: ""}.get(band.name, " of its default")
    return f", eight of ten that agree with what was seen {low:.2g} to {high:.2g}{unit}"


def _air(air: AirBand, units: UnitSet) -> list[str]:
    from steadyhead.surge.air import litres

    said = [
        f"{litres(volume)} "
        + (
            "comes to rest"
            if period is None
            else f"swings by {say(swing, 'pressure', units)} every {period:.2g} s"
        )
        for volume, swing, period in air.effects
    ]
    edge = (
        f" From about {litres(air.runs_away_from)} on only the pilot keeps the stem from running away."
        if air.runs_away_from < 1.0
        else ""
    )
    return [paragraph(f"Air in its chamber at average flow: {', '.join(said)}.{edge}")]


def chances_text(answer: ChancesAnswer, units: UnitSet) -> str:
    """Return the chances in words."""
    who, one = answer.loaded.station.station, answer.chances
    lines = [f"{who.name} ({who.id}): {one.event} within the tolerances", "", paragraph(_runs(one)), ""]
    for limit in one.limits:
        lines += [paragraph(_limit(limit, units)), paragraph(_weights(limit, one.noise), indent=4), ""]
    if one.unjudged:
        told = f"{', '.join(one.unjudged)}: not judged, for no supply main is stated (SUR-63)."
        lines += [paragraph(told), ""]
    elif not one.limits:
        lines += [paragraph("No limit in a fault is stated on a side this event reaches."), ""]
    if one.findings:
        lines += ["Findings", *(finding_lines(finding, units) for finding in one.findings), ""]
    return "\n".join([*lines, paragraph(FOOT)])


def _runs(one: Chances) -> str:
    made = f"{one.finished} of {one.runs} runs" if one.finished < one.runs else f"{one.runs} runs"
    said = [f"{one.happens}{', on ' + way_named(one.way) if one.way else ''}: {made}, seed {one.seed}."]
    if one.not_begun:
        said.append(f"{one.not_begun} have no steady state to begin with.")
    said.append(f"A shut-off trips in {_share(one.trips)}.")
    if one.closing is not None:
        low, high = one.closing.low, one.closing.high
        said.append(
            f"It is shut {one.closing.middle:.2g} s after the trip, {low:.2g} to {high:.2g} s in eight of "
            "ten."
        )
    if one.parted.found:
        said.append(
            f"A column parts in {_share(one.parted)}; of these what was reached before a cavity fell in is "
            "counted."
        )
    return " ".join(said)


def _share(chance: Chance) -> str:
    from steadyhead.services.chances import percent

    return (
        f"{chance.found} of {chance.runs} ({percent(chance.share)}; with 95 % between "
        f"{percent(chance.low)} and {percent(chance.high)})"
    )


def _limit(limit: LimitChance, units: UnitSet) -> str:
    low, middle, high = (
        say(value, "pressure", units) for value in (limit.peak.low, limit.peak.middle, limit.peak.high)
    )
    back, is_behind = limit.thrown_back, limit.side in ("consumer", "outlet")
    is_apart = is_behind if back is None else bool(back.found)
    until = " until the shut-off is shut" if is_apart else ""
    said = (
        f"{limit.component} bears {say(limit.limit_at_datum, 'pressure', units)} at datum: passed{until} in "
        f"{_share(limit.passed)}. Highest pressure {middle}, {low} to {high} in eight of ten."
    )
    if back is None:
        return (
            said
            if not is_behind
            else f"{said} Of the wave thrown back nothing is known: no consumer main is stated (SUR-62)."
        )
    if back.found:
        said += f" Only the wave thrown back once it is shut passes it in {_share(back)}."
    return said


def _weights(limit: LimitChance, noise: float) -> str:
    """Return what moves a peak, as far as it stands out from what so many runs show of nothing."""
    from steadyhead.services.chances import percent

    least = max(HEAVY, noise)
    heavy = [f"{one.name} {percent(one.share)}" for one in limit.weights if one.share >= least]
    if not heavy:
        return "No tolerance moves it by itself beyond what so few runs show of nothing."
    advice = " Narrow the first of them first." if limit.passed.found else ""
    return f"Of what moves it, each ± {percent(noise)} with so many runs: {', '.join(heavy)}.{advice}"
