"""The stopwatch window of the protection proof in the band of the closing time a plan expects."""

from __future__ import annotations

from dataclasses import replace

from steadyhead.design.report import span
from steadyhead.design.window_checks import caveat, window_words
from steadyhead.findings import Amount, Finding, Severity
from steadyhead.records.plan_numbers import Band, PlanNumbers
from steadyhead.records.protection import NeedleWindow, ProofSheet, Protection
from steadyhead.visits.texts.saying import edges

CLOSING = "closing.time"
"""Question whose reading is the stroke timed at trickle."""
IN_SERVICE = "closing_service.time"
"""Question whose reading is the stroke timed with consumers connected."""
WHY = "why.window"
"""Text that says where a band comes from that is cut to a window."""


def with_windows(numbers: PlanNumbers, proof: ProofSheet, *, questions: tuple[str, ...] = ()) -> PlanNumbers:
    """Return the figures of a plan whose closing times must lie in the windows of the proof too.

    The window belongs to the needle: an edge so many times as slow as the needle as it is lies, at the plan's
    own trickle, so many times above the time expected there. Where both bands leave nothing the window stands
    alone: the needle has to be set. Each window is told with the state it belongs to (SUR-50). An empty
    window changes nothing; the design is then not releasable.

    Parameters
    ----------
    numbers
        From `steadyhead.visits.plan.figures`.
    proof
        Of the same station file.
    questions
        Open questions that lie on its windows, in few words: said with each of them.
    """
    streams = dict(numbers.streams)
    told: list[Finding] = []
    for name, own in numbers.streams.items():
        found = proof.of(name)
        if found is not None:
            streams[name] = _with_window(own, found.window)
            told += _told(own, streams[name], found, questions)
    found = proof.of("")
    alone = numbers if found is None else _with_window(numbers, found.window)
    told += [] if found is None else _told(numbers, alone, found, questions)
    return replace(alone, streams=streams, findings=(*alone.findings, *told))


def _has_edge(window: NeedleWindow) -> bool:
    return window.state == "open" and (window.slowest is not None or window.fastest is not None)


def _with_window(numbers: PlanNumbers, window: NeedleWindow) -> PlanNumbers:
    if not _has_edge(window):
        return numbers
    cut = {key: narrowed(numbers.bands[key], window) for key in (CLOSING, IN_SERVICE) if key in numbers.bands}
    return replace(numbers, bands={**numbers.bands, **cut})


def _allowed(band: Band, window: NeedleWindow) -> tuple[float | None, float | None]:
    """Return the edges of a window as times of the stroke that now takes `band.nominal`. [s]"""
    least, most = (
        None if edge is None else band.nominal * edge.stopwatch / window.stopwatch
        for edge in (window.fastest, window.slowest)
    )
    return least, most


def narrowed(band: Band, window: NeedleWindow) -> Band:
    """Return the band of a closing time cut to a window; see `with_windows`."""
    least, most = _allowed(band, window)
    low = band.low if least is None else max(band.low, least)
    high = band.high if most is None else min(band.high, most)
    if (low, high) == (band.low, band.high):
        return band
    if low >= high:
        wide = band.high - band.low
        low = least if least is not None else max((most or 0.0) - wide, 0.0)
        high = most if most is not None else low + wide
    return replace(band, low=low, high=high, nominal=min(max(band.nominal, low), high), why=WHY)


def _told(
    before: PlanNumbers, after: PlanNumbers, proof: Protection, questions: tuple[str, ...]
) -> list[Finding]:
    """Return the window in words, with the state it belongs to; nothing where no stroke is timed."""
    window, usual, now = proof.window, before.bands.get(CLOSING), after.bands.get(CLOSING)
    if usual is None or now is None or not _has_edge(window):
        return []
    least, most = _allowed(usual, window)
    is_outside = not ((least or 0.0) <= usual.nominal <= (most or usual.nominal))
    stream = f"stream {proof.way}: " if proof.way else ""
    doubt = caveat(window, questions)
    says = _says(usual, now, is_outside=is_outside)
    return [
        Finding(
            "SUR-50",
            f"{stream}{proof.shut_off}",
            Severity.HEED if is_outside or doubt else Severity.NOTE,
            params={
                "shut_off": proof.shut_off,
                "window": _words(least, most),
                "trickle": Amount("flow", before.trickle_flow),
                "proved": window_words(window.slowest, window.fastest),
                "flow": Amount("flow", window.stroke.flow),
                "inlet": Amount("pressure", window.stroke.inlet),
                "outlet": Amount("pressure", window.stroke.outlet),
                "says": f"{says} {doubt[0].upper()}{doubt[1:]}." if doubt else says,
            },
        )
    ]


def _words(least: float | None, most: float | None) -> str:
    low, high = edges(least, most, "time")
    if least is None:
        return f"at most {high}"
    return f"at least {low}" if most is None else f"{low} to {high}"


def _says(usual: Band, now: Band, *, is_outside: bool) -> str:
    if is_outside:
        now_takes = span(usual.nominal)
        return f"Its needle as it is takes about {now_takes}: outside. Set the needle, then time it."
    low, high = edges(usual.low, usual.high, "time")
    if now == usual:
        return f"What its needle as it is may take, {low} to {high}, lies inside."
    return f"Its needle as it is may take {low} to {high}: the band of the step is cut to the window."
