"""Bands of stability and chances of one event in sentences."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steadyhead.services.page_words import field_words
from steadyhead.services.studies.surge_words import way_named
from steadyhead.units import UnitSet, say, two_figures

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

LAG, MAINS = "sense_lag", "mains of the zone"
"""What is no factor of a default: a time, a count."""
HEAVY = 0.02
"""Share of the variance from which on a tolerance is named."""
IDLE = "It stands on a stop at every flow looked at: nothing to judge."


def flow_cells(flow: FlowStability, units: UnitSet) -> list[str]:
    """Return one flow as cells: flow, lift, how often it hunts, gain margin, phase margin."""
    from steadyhead.services.chances import percent

    return [
        f"{flow.flow_case} {say(flow.flow, 'flow', units)}",
        f"{100.0 * flow.lift:.1f} %",
        percent(flow.hunting),
        _three(flow.gain_margin, "{:.2g}"),
        _three(flow.phase_margin, "{:.0f}°"),
    ]


def fit_words(fit: Fit) -> str:
    """Return what was seen of a reducer, and which members agree with it."""
    from steadyhead.services.chances import percent

    said = "; ".join(f"{words} takes out {percent(share)}" for words, share in fit.misses)
    ends = "these are the members above."
    if not fit.is_used:
        ends = "too few: the members above are of the whole band."
    return (
        f"Held against what was seen, each against those still left: {said}. "
        f"{fit.kept} of {fit.tried} agree; {ends}"
    )


def _three(spread: Spread, form: str) -> str:
    return " · ".join(
        "∞" if value == float("inf") else form.format(value)
        for value in (spread.low, spread.middle, spread.high)
    )


def quiet_words(one: ReducerStability, units: UnitSet) -> str:
    """Return from which flow on a reducer is quiet, over its members."""
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


def moved_words(one: ReducerStability) -> str:
    """Return what was moved to make the members."""
    said = [f"{field_words(band.name)} {_band(band)}" for band in one.bands if band.high > band.low]
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
    return f", eight of ten that agree with what was seen {two_figures(low)} to {two_figures(high)}{unit}"


def air_words(air: AirBand, units: UnitSet) -> str:
    """Return what air in the chamber of a reducer does."""
    from steadyhead.surge.air import litres

    said = [
        f"{litres(volume)} "
        + (
            "comes to rest"
            if period is None
            else f"swings by {say(swing, 'pressure', units)} every {two_figures(period)} s"
        )
        for volume, swing, period in air.effects
    ]
    edge = (
        f" From about {litres(air.runs_away_from)} on only the pilot keeps the stem from running away."
        if air.runs_away_from < 1.0
        else ""
    )
    return f"Air in its chamber at average flow: {', '.join(said)}.{edge}"


def runs_words(one: Chances) -> str:
    """Return what was run, and how often a shut-off trips."""
    made = f"{one.finished} of {one.runs} runs" if one.finished < one.runs else f"{one.runs} runs"
    said = [f"{one.happens}{', on ' + way_named(one.way) if one.way else ''}: {made}, seed {one.seed}."]
    if one.not_begun:
        said.append(f"{one.not_begun} have no steady state to begin with.")
    said.append(f"A shut-off trips in {_share(one.trips)}.")
    if one.closing is not None:
        low, high = one.closing.low, one.closing.high
        said.append(
            f"It is shut {two_figures(one.closing.middle)} s after the trip, {two_figures(low)} to "
            f"{two_figures(high)} s in eight of ten."
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


def limit_words(limit: LimitChance, units: UnitSet) -> str:
    """Return how often one limit is passed."""
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


def weights_words(limit: LimitChance, noise: float) -> str:
    """Return what moves a peak, as far as it stands out from what so many runs show of nothing."""
    from steadyhead.services.chances import percent

    least = max(HEAVY, noise)
    heavy = [f"{one.name} {percent(one.share)}" for one in limit.weights if one.share >= least]
    if not heavy:
        return "No tolerance moves it by itself beyond what so few runs show of nothing."
    advice = " Narrow the first of them first." if limit.passed.found else ""
    return f"Of what moves it, each ± {percent(noise)} with so many runs: {', '.join(heavy)}.{advice}"
