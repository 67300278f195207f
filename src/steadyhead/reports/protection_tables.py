"""The protection proof on the design sheet, and the stopwatch window on the card."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor
from typing import Any

from steadyhead.design.window_checks import NO_SURGE, NO_WAVES
from steadyhead.records.design import DesignSheet
from steadyhead.records.protection import (
    Failure,
    Low,
    NeedleWindow,
    ProofCase,
    Protection,
    Side,
    SidePeak,
    Verdict,
    WindowEdge,
    zone_words,
)
from steadyhead.reports.figures import figure
from steadyhead.reports.ladders import capital
from steadyhead.units import UnitSet, bare_beside, say

NONE = "–"
NO_LIMIT = "not judged: no limit stated"
NO_MAIN = "no supply main stated: surge in it is not computed, nothing is shown to hold"
NO_SUPPLY_MAIN = "NO VERDICT: no supply main stated, its surge is not run"
NO_CONSUMER_MAIN = "NO VERDICT: no consumer main stated, its waves are not run"
BEHIND = ("consumer", "outlet")
WEIGHT: dict[Verdict, int] = {
    "over": 6, "no main": 5, "no verdict": 4, "within error": 3, "over before": 2, "inside": 1, "no limit": 0,
}  # fmt: skip
"""Which verdict of the cases of a side is told: a limit that is passed, then what has no verdict."""
TENTH = 10.0
"""Times by stopwatch are told in tenths of a second, rounded into the window. [1/s]"""
NAMES: dict[Side, str] = {
    "consumer": "Consumers", "outlet": "Outlet", "between": "Between the valves", "inlet": "Supply main",
}  # fmt: skip


def sections(sheet: DesignSheet, units: UnitSet) -> list[dict[str, Any]]:
    """Return the proof of each way: its table by failure, what lies lowest, the window of the needle."""
    return [_section(proof, units) for proof in sheet.protection]


def _section(proof: Protection, units: UnitSet) -> dict[str, Any]:
    slow, fast = proof.closing_times
    about = (
        f"{proof.shut_off}, trip at its upper edge {say(proof.trip_edge, 'pressure', units)}"
        f"{'' if proof.is_trip_stated else ' (worked out: the file states none)'}; closing by "
        f"stopwatch {seconds(fast)} to {seconds(slow)} s ({proof.closing_source}). Worst of night and "
        "average flow at lowest and highest static inlet pressure, of peak flow at lowest and typical inlet "
        f"pressure, {_ends(proof)}and of both edges of the closing time: until the shut-off stands shut, and "
        "with the wave thrown back after it; before a cavity falls in. Fire flow is not run."
        f"{' Run alone, the other streams shut.' if proof.words else ''}"
    )
    return {
        "name": capital(proof.words) if proof.words else "",
        "about": about,
        "rows": [row for failure in proof.failures for row in _rows(proof, failure, units)],
        "lowest": list(_lowest(proof, units)),
        "window": [*window_words(proof.window, units), *_unknown(proof)],
        "missing": [f"No steady state to begin in: {one}." for one in proof.missing],
    }


def _unknown(proof: Protection) -> list[str]:
    """Return what a window does not know of mains that are not stated."""
    said = [] if proof.mains[1] else [NO_WAVES]
    return [*said, NO_SURGE] if "supply" in proof.window.unknown else said


def _ends(proof: Protection) -> str:
    fewest, most = proof.mains_behind
    return f"of {zone_words(fewest)} and through {most} like its own, " if fewest != most else ""


def _rows(proof: Protection, failure: Failure, units: UnitSet) -> Iterator[list[str]]:
    """Yield a row for each side of a failure: highest until shut with its own case, and what is worst of it.

    Name, side, highest, highest with the wave thrown back, limit and component, verdict, case, times.
    """
    name = f"{failure_words(failure)}{'' if failure.credited else ', not credited'}"
    for side in NAMES:
        found = [(case, peak) for case in proof.of(failure) if (peak := case.peak(side)) is not None]
        if not found or (side == "outlet" and all(peak.limit is None for _, peak in found)):
            continue
        case, peak = max(found, key=lambda one: one[1].peak)
        if any(one.verdict == "no main" for _, one in found):
            bears = f"{say(peak.limit or 0.0, 'pressure', units)}, {peak.component}"
            yield [name, NAMES[side], NONE, NONE, bears, NO_SUPPLY_MAIN, case.words, _times(case)]
            name = ""
            continue
        if side == "inlet" and not proof.mains[0]:
            yield [name, NAMES[side], NONE, NONE, NO_MAIN, NONE, case.words, _times(case)]
            name = ""
            continue
        wave, thrown_in = _thrown_back(found)
        seen, thrown, limit = _figures(peak.peak, wave, peak.limit, units)
        other = "" if thrown_in is None or thrown_in is case else f"; thrown back: {thrown_in.words}"
        yield [
            name,
            NAMES[side],
            seen,
            thrown,
            f"{limit}, {peak.component}" if limit else NONE,
            _verdict([one for _, one in found], has_main=proof.mains[1] or side not in BEHIND),
            f"{peak.place}; {case.words}{other}",
            _times(case),
        ]
        name = ""


def _thrown_back(found: list[tuple[ProofCase, SidePeak]]) -> tuple[float | None, ProofCase | None]:
    """Return the highest with the wave thrown back, once it is shut, and its case; none ahead of it."""
    waves = [(case, peak.rebound) for case, peak in found if peak.rebound is not None]
    if not waves:
        return None, None
    case, height = max(waves, key=lambda one: one[1])
    return height, case


def _figures(peak: float, wave: float | None, limit: float | None, units: UnitSet) -> tuple[str, str, str]:
    """Return highest, thrown back and limit; a decimal more where one passes the limit and would read as it.

    Examples
    --------
    >>> from steadyhead.units import METRIC
    >>> _figures(6.4521e5, None, 6.45e5, METRIC), _figures(6.1e5, 6.2e5, 6.45e5, METRIC)
    (('6.452', '–', '6.450'), ('6.10', '6.20', '6.45'))
    """
    waves = () if wave is None else (wave,)
    if limit is None:
        told = [figure(one, "pressure", units) for one in (peak, *waves)] + [""]
    else:
        told = list(bare_beside((peak, *waves), limit, "pressure", units))
    return told[0], told[1] if waves else NONE, told[-1]


def _verdict(peaks: list[SidePeak], *, has_main: bool) -> str:
    """Return what is worst of the cases of a side: a limit that is passed outranks one without a verdict.

    has_main: whether the main of that side is stated; nothing of it is called held without.
    """
    if any(one.verdict == "over" for one in peaks):
        return "EXCEEDED"
    if any(one.is_rebound_over for one in peaks):
        return "thrown back: EXCEEDED"
    told = max((one.verdict for one in peaks), key=WEIGHT.__getitem__)
    return {
        "no verdict": "NO VERDICT, a cavity fell in after it",
        "within error": "NO VERDICT: within its own error",
        "over before": "exceeded before it fails",
        "inside": "held" if has_main else NO_CONSUMER_MAIN,
        "no limit": NO_LIMIT,
    }.get(told, NONE)


def _times(case: ProofCase) -> str:
    """Return trip, switch and shut in words of few."""
    if case.trip_after is None:
        return "no trip"
    switch = "" if case.switch_after is None else f", switch {case.switch_after:.1f} s"
    shut = ", not shut" if case.shut_after is None else f", shut {case.shut_after:.1f} s"
    return f"trip after {case.trip_after:.1f} s{switch}{shut}"


def failure_words(failure: Failure) -> str:
    """Return a failure in a few words."""
    if failure.kind == "pilot stuck":
        return f"{failure.reducer}: pilot sticks open"
    if failure.kind == "diaphragm torn":
        return f"{failure.reducer}: diaphragm tears"
    within = "" if failure.within is None else f" in {_span(failure.within)}"
    return f"{failure.reducer} {failure.kind}{within}"


def _span(seconds_: float) -> str:
    return f"{seconds_:.3g} s" if seconds_ < 120.0 else f"{seconds_ / 60.0:.3g} min"


def _lowest(proof: Protection, units: UnitSet) -> Iterator[str]:
    """Yield the lowest pressure of each main over the credited failures, and whether the column parts."""
    stated = {"supply": proof.mains[0], "consumers": proof.mains[1]}
    for name, main in (("Consumer main", "consumers"), ("Supply main", "supply")):
        if not stated[main]:
            continue
        found: list[tuple[ProofCase, Low]] = [
            (case, getattr(case, main)) for case in proof.cases if case.failure.credited
        ]
        if found:
            case, low = min(found, key=lambda one: one[1].pressure)
            parts = "; the water column parts there, figures after a cavity fell in are left out"
            yield (
                f"{name}: down to {say(low.pressure, 'pressure', units)} at its own level, {low.place} "
                f"({case.words}){parts if low.is_separated else ''}."
            )


def window_words(window: NeedleWindow, units: UnitSet) -> list[str]:
    """Return the window of the closing needle in sentences."""
    if window.state == "no trip":
        return ["No credited failure trips the shut-off: nothing is asked of its closing time."]
    if window.state == "no limit":
        if "supply" in window.unknown:
            return ["No window: of what states what it bears nobody knows what it sees."]
        return ["No component states what it bears: no window."]
    stroke = window.stroke
    at = (
        f"at {say(stroke.flow, 'flow', units)}, {say(stroke.inlet, 'pressure', units)} ahead and "
        f"{say(stroke.outlet, 'pressure', units)} behind{'' if stroke.is_stated else ' (a usual trickle)'}"
    )
    found = []
    if window.state == "empty":
        found.append("Empty: no closing time holds every limit.")
        found += [f"Passed at every time that was looked at: {one}." for one in window.never_held]
    for word, edge in (("Fastest", window.fastest), ("Slowest", window.slowest)):
        if edge is not None or window.state == "open":
            missing = _missing(window)[word == "Slowest"] if edge is None else ""
            found.append(f"{word}: not known, {missing}." if missing else _edge(word, edge, at))
    if window.parts:
        found.append(
            "At each of these times a water column parts in some credited failure; what it does falling in "
            "is not in this window."
        )
    found.append(f"As it is: {seconds(window.stopwatch)} s by stopwatch{_needle(window.needle_kv)}.")
    return found


def _missing(window: NeedleWindow) -> tuple[str, str]:
    """Return what is not stated without which an open edge is not known: the fast one's, the slow one's."""
    supply = "no supply main is stated" if "supply" in window.unknown else ""
    ahead = "" if window.is_ahead_limited else "no limit of the inlet side is stated"
    return supply or ahead, "no consumer main is stated" if "consumer" in window.unknown else ""


def _edge(word: str, edge: WindowEdge | None, at: str) -> str:
    if edge is None:
        looked = "half a second" if word == "Fastest" else "2 min"
        return f"{word}: no limit is passed down to {looked}." if word == "Fastest" else (
            f"{word}: no limit is passed up to {looked}."
        )  # fmt: skip
    return (
        f"{word}: {_inwards(word, edge.stopwatch)} s by stopwatch {at}{_needle(edge.needle_kv)}; "
        f"{seconds(edge.worst_time)} s in the case that decides, {edge.component}: "
        f"{failure_words(edge.failure)}, {edge.words}."
    )


def _inwards(word: str, time: float) -> str:
    """Return an edge by stopwatch, rounded into the window."""
    rounded = ceil(time * TENTH) / TENTH if word == "Fastest" else floor(time * TENTH) / TENTH
    return f"{rounded:.1f}"


def _needle(kv: float | None) -> str:
    return "" if kv is None else f", needle Kv {kv:.3g}"


def seconds(time: float) -> str:
    """Return a time in seconds with as many digits as a stopwatch and a person bear out.

    Examples
    --------
    >>> seconds(8.674), seconds(37.59), seconds(132.4)
    ('8.7', '37.6', '132')
    """
    return f"{time:.1f}" if time < 100.0 else f"{time:.0f}"


def edges(window: NeedleWindow | None) -> tuple[str, str]:
    """Return the window by stopwatch as (from, to), rounded inwards; ``any`` where it has no such edge.

    ``not known`` where it has none because the main it hangs on is not stated. A window that is empty, or
    not known, gives two empty words.

    Examples
    --------
    >>> edges(None)
    ('', '')
    """
    if window is None or window.state != "open":
        return "", ""
    low, high = window.fastest, window.slowest
    if low is None and high is None:
        return "", ""
    no_low, no_high = ("not known" if missing else "any" for missing in _missing(window))
    least = no_low if low is None else f"{ceil(low.stopwatch * TENTH) / TENTH:.1f} s"
    return least, no_high if high is None else f"{floor(high.stopwatch * TENTH) / TENTH:.1f} s"
