"""Findings of the protection proof: limits ahead, failures not credited, the window of the closing needle."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Literal

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.report import (
    ASK,
    HEED,
    STOP,
    at_least,
    at_most,
    finding,
    pressure,
    span,
)  # fmt: skip
from steadyhead.design.rungs import Rungs
from steadyhead.design.window_checks import failure_words, window_findings
from steadyhead.findings import Amount, Finding, Input, Severity
from steadyhead.hydraulics.mains import volume_of, wave_speed_of, zone_stiffness
from steadyhead.records.protection import (
    SIDES,
    Failure,
    Low,
    NeedleWindow,
    ProofCase,
    Protection,
    Side,
    SidePeak,
)
from steadyhead.surge.entry import asked_of, end_of, mains_behind, stop_in
from steadyhead.surge.from_station import creeping, overfull
from steadyhead.units import two_figures

HIGHEST = "at the level of the highest consumers"
AHEAD = ("between", "inlet")
BEHIND = ("consumer", "outlet")


def proof_findings(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    """Yield what the proof of a way tells; nothing where there is none."""
    proof = rungs.proof
    if proof is None:
        return
    where = basis.part_place(proof.shut_off)
    for failure in proof.failures:
        if failure.credited:
            yield from _ahead(proof, failure)
        else:
            yield from _not_credited(proof, failure)
    yield from _broken(proof)
    yield from _thrown_back(basis, proof)
    yield from _main_unknown(proof)
    yield from _supply_unknown(proof)
    yield from _not_limited(proof)
    yield from _separation(proof)
    yield from _drawn_in(proof)
    yield from _overshoot(basis, rungs, proof, where)
    yield from _rough(proof, where)
    yield from creeping(basis.station)
    yield from overfull(basis.station.zone)
    yield from window_findings(basis, proof)


def _peaks(proof: Protection, failure: Failure, verdict: str) -> Iterator[tuple[SidePeak, ProofCase]]:
    """Yield of each side the worst peak with a verdict, and its case."""
    for side in SIDES:
        found = [
            (peak, case)
            for case in proof.of(failure)
            for peak in case.peaks
            if peak.side == side and peak.verdict == verdict
        ]
        if found:
            yield max(found, key=lambda one: one[0].peak)


def _ahead(proof: Protection, failure: Failure) -> Iterator[Finding]:
    """Yield the limits ahead of the shut-off a credited failure passes; those behind it are the ladder's."""
    for peak, case in _peaks(proof, failure, "over"):
        if peak.side in AHEAD:
            yield _over("SUR-25", STOP, peak, case)


def _not_credited(proof: Protection, failure: Failure) -> Iterator[Finding]:
    """Yield what a failure nobody credits passes: that it is not covered is said, not forbidden."""
    over = list(_peaks(proof, failure, "over")) or list(_rebounds(proof.of(failure)))
    if over:
        peak, case = max(over, key=lambda one: one[0].peak / (one[0].limit or 1.0))
        yield _over("SUR-26", HEED, peak, case)


def _rebounds(cases: Iterable[ProofCase]) -> Iterator[tuple[SidePeak, ProofCase]]:
    """Yield where the wave thrown back alone passes a limit, with its height as the peak."""
    for case in cases:
        for peak in case.peaks:
            if peak.is_rebound_over and peak.rebound is not None:
                yield replace(peak, peak=peak.rebound), case


def _over(code: str, weight: Severity, peak: SidePeak, case: ProofCase) -> Finding:
    return finding(
        code,
        peak.component,
        weight,
        value=pressure(peak.peak),
        limit=pressure(peak.limit or 0.0),
        failure=failure_words(case.failure),
        component=peak.component,
        place=peak.place,
        case=case.words,
        inputs=_grounds(case),
    )


def _grounds(case: ProofCase) -> tuple[Input, ...]:
    """Return what a proved figure rests on, for `why`."""
    found = [
        Input("failure", failure_words(case.failure), "credited" if case.failure.credited else "run too")
    ]
    if case.trip_after is not None:
        found.append(Input("trip after", Amount("time", case.trip_after), "transient twin"))
    if case.shut_after is not None:
        found.append(Input("shut after the trip", Amount("time", case.shut_after), "transient twin"))
    return tuple(found)


def _thrown_back(basis: Basis, proof: Protection) -> Iterator[Finding]:
    """Yield the worst wave that the zone throws back over a limit: a stop, or a question.

    A stop where it passes the limit at both ends of the band of what goes on behind the zone's main; where at
    one alone, whoever knows the zone has to say.
    """
    found = list(_rebounds(case for case in proof.cases if case.failure.credited))
    if not found:
        return

    def least(peak: SidePeak) -> float:
        return peak.peak if peak.rebound_least is None else peak.rebound_least

    sure = [one for one in found if least(one[0]) > (one[0].limit or 0.0)]
    peak, case = max(sure or found, key=lambda one: one[0].peak / (one[0].limit or 1.0))
    other = next((number for number in proof.mains_behind if number != case.mains), case.mains)
    most, fewest = mains_behind(case.mains), mains_behind(other)
    inside = "Set the closing time inside its window" if proof.window.state == "open" else ""
    yield finding(
        "SUR-27",
        peak.component,
        STOP if sure else ASK,
        value=pressure(peak.peak),
        limit=pressure(peak.limit or 0.0),
        failure=failure_words(case.failure),
        component=peak.component,
        place=peak.place,
        most=most,
        fewest=fewest,
        least=pressure(least(peak)),
        end=end_of(basis.station.zone),
        cure=asked_of(basis.station.zone, inside),
        case=case.words,
        inputs=_grounds(case),
    )


def _broken(proof: Protection) -> Iterator[Finding]:
    """Yield the first credited case of which a figure left all bounds."""
    for case in proof.cases:
        if case.failure.credited and case.worth.broken_at is not None:
            events = f"{failure_words(case.failure)}, {case.words},"
            seconds_ = f"{case.worth.broken_at:.1f}"
            yield finding("SUR-59", proof.shut_off, STOP, events=events, seconds=seconds_, case=case.words)
            return


def _mains(proof: Protection) -> Iterator[tuple[str, str]]:
    """Yield the mains the file states; of the stub in the place of another nothing is said."""
    names = (("supply", "supply main"), ("consumers", "consumer main"))
    for one, is_stated in zip(names, proof.mains, strict=True):
        if is_stated:
            yield one


def _separation(proof: Protection) -> Iterator[Finding]:
    for main, name in _mains(proof):
        lows = [(getattr(case, main), case) for case in proof.cases if case.failure.credited]
        parted = [one for one in lows if one[0].is_separated]
        if parted:
            low, case = max(parted, key=lambda one: one[0].cavity)
            yield finding(
                "SUR-28",
                name,
                ASK,
                whole=_whole(proof.window),
                cure=_kept_whole(proof, [case for _, case in parted]),
                value=Amount("volume", low.cavity),
                failure=failure_words(case.failure),
                main=name,
                place=low.place,
                case=case.words,
                inputs=_grounds(case),
            )


def _drawn_in(proof: Protection) -> Iterator[Finding]:
    """Yield where a main, or the highest consumers, fall below the pressure of the air without parting."""
    for main, name in _mains(proof):
        lows = [(getattr(case, main), case) for case in proof.cases if case.failure.credited]
        if any(low.is_separated for low, _ in lows):
            continue
        found = [(low.pressure, low.place, case) for low, case in lows]
        found += [(low.at_highest, HIGHEST, case) for low, case in lows if low.at_highest is not None]
        pressure_there, place, case = min(found, key=lambda one: one[0], default=(0.0, "", None))
        if case is not None and pressure_there < -d.DRAWN_IN.si:
            yield finding(
                "SUR-44",
                name,
                HEED,
                value=pressure(-pressure_there),
                failure=failure_words(case.failure),
                main=name,
                place=place,
                cure=_pace(proof, _better(proof, case, main, is_highest=place == HIGHEST)),
                case=case.words,
                inputs=_grounds(case),
            )


SEE = "; see the window of the closing time"
Pace = Literal["slower", "faster", ""]
"""Which closing time helps; empty: none does, or none that was run."""


def _kept_whole(proof: Protection, parted: Iterable[ProofCase]) -> str:
    """Return what of the closing time keeps a column whole that parts in these cases, as a sentence."""
    window = proof.window
    if window.state != "open":
        return "" if window.state == "empty" else "Whether another closing time keeps it whole was not run. "
    if window.parts:
        return "No closing time helps by itself. "
    times = dict(zip(("slow", "fast"), proof.closing_times, strict=True))
    late = any(window.slowest and times[case.closing] > window.slowest.stopwatch for case in parted)
    soon = any(window.fastest and times[case.closing] < window.fastest.stopwatch for case in parted)
    if late == soon:
        return "Set the closing time inside its window. "
    return _pace(proof, "faster" if late else "slower") or "Set the closing time inside its window. "


def _pace(proof: Protection, pace: Pace) -> str:
    """Return a sentence that asks for another closing time; empty: none helps, or the window has no room."""
    window, (slow, fast) = proof.window, proof.closing_times
    if window.state == "empty" or not pace:
        return ""
    if pace == "slower":
        edge = window.slowest
        if edge is not None and edge.stopwatch <= slow * (1.0 + d.PACE_ROOM.si):
            return ""
        far = f", but not above {at_most(edge.stopwatch)}{SEE}" if edge is not None else ""
        return f"Close more slowly{far}. "
    edge = window.fastest
    if edge is None and "supply" in window.unknown:
        return "Close faster only once the supply main is stated: how fast it may close is not known. "
    if edge is not None and edge.stopwatch >= fast / (1.0 + d.PACE_ROOM.si):
        return ""
    far = f", but not below {at_least(edge.stopwatch)}{SEE}" if edge is not None else ""
    return f"Close faster{far}. "


def _better(proof: Protection, case: ProofCase, main: str, *, is_highest: bool) -> Pace:
    """Return which edge of the closing time leaves the lowest pressure of a case higher."""

    def low(one: ProofCase) -> float:
        found: Low = getattr(one, main)
        return found.pressure if not is_highest or found.at_highest is None else found.at_highest

    same = [one for one in proof.cases if one.mains == case.mains and one.place[:-1] == case.place[:-1]]
    by_edge = {one.closing: low(one) for one in same}
    if len(by_edge) < 2 or abs(by_edge["slow"] - by_edge["fast"]) < d.PACE_HELPS.si:
        return ""
    return "slower" if by_edge["slow"] > by_edge["fast"] else "faster"


def _whole(window: NeedleWindow) -> str:
    """Return in words whether some closing time keeps the columns whole."""
    if window.state != "open":
        return ""
    if window.parts:
        return "It parts at every closing time of the window."
    return "Inside the window of the closing time no column parts."


def _main_unknown(proof: Protection) -> Iterator[Finding]:
    """Ask for the consumer main where none is stated: of its waves nothing is proved.

    The figure told is that of the zone as a volume at the station; none of it is taken for a limit held.
    """
    if proof.mains[1]:
        return
    found = [
        (peak, case)
        for case in proof.cases
        for peak in case.peaks
        if case.failure.credited and peak.side in BEHIND and peak.limit is not None
    ]
    if found:
        peak, case = max(found, key=lambda one: one[0].peak - (one[0].limit or 0.0))
        yield finding(
            "SUR-62", "zone.main", ASK, value=pressure(peak.peak), limit=pressure(peak.limit or 0.0),
            failure=failure_words(case.failure), component=peak.component, case=case.words,
            inputs=_grounds(case),
        )  # fmt: skip


def _supply_unknown(proof: Protection) -> Iterator[Finding]:
    """Ask for the supply main where none is stated and something ahead of the shut-off states what it bears.

    The figure told is that before the failure: of the surge when the shut-off stops the water nobody knows.
    """
    found = [
        (peak, case)
        for case in proof.cases
        for peak in case.peaks
        if case.failure.credited and peak.verdict == "no main"
    ]
    if found:
        peak, case = max(found, key=lambda one: one[0].begun - (one[0].limit or 0.0))
        stop = stop_in(one.shut_after for _, one in found)
        yield finding(
            "SUR-63", "supply.main", ASK, value=pressure(peak.begun), limit=pressure(peak.limit or 0.0),
            failure=failure_words(case.failure), component=peak.component, case=case.words,
            inputs=_grounds(case), within=stop["within"], stop=stop["stop"],
        )  # fmt: skip


def _not_limited(proof: Protection) -> Iterator[Finding]:
    """Ask what the inlet side bears where its surge is run and nothing states a limit to hold it against."""
    found = [
        (peak, case)
        for case in proof.cases
        for peak in case.peaks
        if case.failure.credited and peak.side == "inlet"
    ]
    if not proof.mains[0] or not found or any(peak.limit is not None for peak, _ in found):
        return
    peak, case = max(found, key=lambda one: one[0].peak)
    yield finding(
        "SUR-65", "limits", ASK, value=pressure(peak.peak), failure=failure_words(case.failure),
        place=peak.place, case=case.words, inputs=_grounds(case),
    )  # fmt: skip


def _overshoot(basis: Basis, rungs: Rungs, proof: Protection, where: str) -> Iterator[Finding]:
    proved, correction = proof.overshoot, rungs.correction
    if proved is None or correction is None:
        return
    lumped = proved - correction
    share = d.PROOF_DIFFERS_SHARE.si * max(proved, lumped)
    if abs(correction) > d.PROOF_DIFFERS.si and abs(correction) > share:
        yield finding(
            "SUR-29",
            where,
            HEED,
            value=pressure(proved),
            lumped=pressure(lumped),
            reasons="; ".join(_reasons(basis, rungs, proof)),
        )


def _reasons(basis: Basis, rungs: Rungs, proof: Protection) -> Iterator[str]:
    """Yield what differs between proof and lumped zone, in figures a person can check."""
    case, zone = proof.highest, basis.station.zone
    if case is not None:
        yield f"it comes at {case.words}"
    if case is not None and case.shut_after is not None and rungs.closing is not None:
        yield f"the stroke takes {span(case.shut_after)} there, {span(rungs.closing.si)} in the lumped zone"
    stiffness = zone_stiffness(zone)
    if zone.main is not None and stiffness is not None:
        speed = wave_speed_of(zone.main, basis.density).si
        own = volume_of(zone.main) / (basis.density * speed**2) / stiffness.compliance
        yield (
            f"a wave in the zone's main returns after {span(2.0 * zone.main.length.si / speed)} and the main "
            f"holds {100.0 * min(own, 1.0):.0f} % of the zone's elasticity, the rest lies behind its friction"
        )
    elif zone.main is None:
        yield "the zone's main is not stated, so its friction and its waves are in neither"


def _rough(proof: Protection, where: str) -> Iterator[Finding]:
    reasons = []
    if proof.grid_change is not None and proof.grid_change > d.PROOF_GRID.si:
        change = f"{two_figures(100.0 * proof.grid_change)} %"
        reasons.append(f"halving the step moves {_moved(proof)} by {change}")
    unjudged = list(_unjudged(proof))
    reasons += unjudged
    if not proof.mains[0] and "supply" not in proof.window.unknown:
        reasons.append("no supply main is stated, so nothing is known of waves in it")
    if not proof.is_zone_known:
        reasons.append("the elasticity of the zone is not known beyond its main")
    if proof.missing:
        reasons.append(f"there is no steady state to begin in at {'; '.join(proof.missing)}")
    worth = [case.worth for case in proof.cases if case.failure.credited]
    off = max((one.mass_error for one in worth), default=0.0)
    if off > d.PROOF_MASS.si:
        reasons.append(f"{two_figures(100.0 * off)} % of the water is unaccounted for")
    moved = max((abs(one.adjusted) for one in worth), default=0.0)
    if moved > d.PROOF_WAVE.si:
        reasons.append(f"a wave speed is moved by {two_figures(100.0 * moved)} % to fit the time step")
    if any(one.open_steps for one in worth):
        reasons.append("steps of a run did not close")
    for name in proof.hunts:
        reasons.append(f"{name} goes on regulating and hunts in the twin")
    if reasons:
        weight = ASK if unjudged else HEED
        yield finding("SUR-30", where, weight, reasons="; ".join(reasons))


SIDE_WORDS: dict[Side, str] = {
    "consumer": "the consumers' side", "outlet": "the outlet", "between": "the section between the valves",
    "inlet": "the supply side",
}  # fmt: skip


def _moved(proof: Protection) -> str:
    """Return whose worst pressure a halved step moves most, or that it is one at an edge of the window."""
    side, change = max(proof.grid_changes, key=lambda one: one[1], default=("inlet", -1.0))
    if proof.grid_change is None or change < proof.grid_change:
        return "the pressure at an edge of the window"
    return f"the worst pressure of {SIDE_WORDS[side]}"


def _unjudged(proof: Protection) -> Iterator[str]:
    """Yield the sides of which no credited case shows that the limit holds, for no column that is told of."""
    for side in SIDES:
        found = [
            (peak, case)
            for case in proof.cases
            for peak in case.peaks
            if case.failure.credited and peak.side == side and peak.limit is not None
        ]
        near = [one for one in found if one[0].verdict == "within error"]
        if near:
            peak, case = max(near, key=lambda one: one[0].highest - (one[0].limit or 0.0))
            yield (
                f"{peak.component} is held by less than halving the step moves {SIDE_WORDS[side]}, "
                f"{case.words}: no verdict, within its own error"
            )
        elif side in BEHIND and not proof.mains[1] and any(one.verdict == "no verdict" for one, _ in found):
            yield f"{SIDE_WORDS[side]} has no verdict: the zone states no main, and its stub parts too early"
