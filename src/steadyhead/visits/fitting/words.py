"""What a fit has to say: values left open and why, readings left out, values far from what was stated."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.findings import Amount, Finding, Severity
from steadyhead.records.baseline import Baseline, Fitted, LeftOut, Undetermined
from steadyhead.records.values import Evidence

NAMES = {
    "per_turn": "pressure per turn of the pilot screw",
    "lockup_rise": "lock-up rise",
    "flow_force": "droop with lift (flow force r1)",
    "droop": "droop",
    "closing_needle_kv": "closing needle",
    "kv_clean": "flow coefficient with a clean element",
    "kv": "flow coefficient standing open",
    "sag": "sag of the supply with flow",
}
"""Fitted values in words."""
NEEDS = {
    "loss.flow_test": "A flow test (H4) with readings at the taps on both sides of it.",
    "loss.again": "The flow test (H4) again: each flow as the meter shows it while the taps are read.",
    "any.again": "The same readings again, with flow and pressures of one moment.",
    "loss.more_flow": "A higher flow, or the loss read with one gauge, moved from tap to tap.",
    "sag.still": "The same flows again while the supply stands still.",
    "holding.lockup": "A lock-up at measured zero flow (H2) after the last touch of this reducer.",
    "holding.duty": "The outlet at the duty flow, on the same gauge as the lock-up (H1, H4).",
    "holding.flow_test": "A flow test (H4) through this stream alone, well above the duty flow.",
    "holding.again": "The same readings again, with a finer gauge.",
    "holding.law": "No further reading does: judge its droop by the readings, not by the twin.",
    "needle.time": "Strokes timed by stopwatch at a trip (F2, F3).",
    "needle.state": "Pressure ahead of the shut-off and flow, read before a timed stroke (F1).",
    "needle.again": "Three strokes timed at one state.",
    "screw.reducer": "Readings at trickle between counted turns one way, over half a bar or more.",
    "screw.shut_off": "Two trips with counted turns between them, or the bench setting on its tag.",
}
"""Which reading would determine a value."""
WHY = {
    "no readings": "no reading of this run tells it",
    "refused": "the step with its readings does not count",
    "too few": "the readings do not reach far enough",
    "too wide": "the readings lie within what the gauges can tell apart",
}
MOST_NAMED = 6
"""Most readings of a step that are named one by one. [1]"""
FAR = 0.2
"""A stated value that lies further off than this, beyond the interval of the measured one, is told; own
estimate. [1]"""


def findings(baseline: Baseline) -> tuple[Finding, ...]:
    """Return what is to be said of a baseline, weightiest first."""
    found = [*_far(baseline), *_left_out(baseline), *(_open(one) for one in baseline.undetermined)]
    if not baseline.fitted:
        found.insert(0, Finding("RUN-67", baseline.station_id, Severity.HEED))
    order = [Severity.STOP, Severity.ASK, Severity.HEED, Severity.NOTE]
    return tuple(sorted(found, key=lambda one: order.index(one.severity)))


def share(within: float, value: float) -> str:
    """Return a half-width in per cent of its value.

    Examples
    --------
    >>> share(0.021, 1.2)
    '1.8 %'
    """
    return (
        f"{100.0 * within / abs(value):.2g} %"
        if within < 9.95 * abs(value)
        else "more than itself many times"
    )


def _figure(kind: str, si: float) -> Amount | str:
    """Return a value as an amount; a bare number as that number, no share."""
    return f"{si:.2g}" if kind == "ratio" else Amount(kind, si)


def _open(one: Undetermined) -> Finding:
    words: dict[str, Amount | str] = {"what": NAMES[one.name], "needs": NEEDS[one.needs], "kept": _kept(one)}
    if one.kept is not None:
        words["former"] = _figure(one.kind, one.kept)
    if one.value is not None and one.within is not None and one.reason == "too wide":
        words |= {"value": _figure(one.kind, one.value), "within": share(one.within, one.value)}
        return Finding("RUN-61", one.part, Severity.NOTE, words)
    if one.reason == "does not stand" and one.value is not None:
        return Finding("RUN-69", one.part, Severity.HEED, words | {"value": _figure(one.kind, one.value)})
    if one.reason in ("at its edge", "does not fit"):
        return Finding("RUN-62", one.part, Severity.NOTE, words)
    return Finding("RUN-60", one.part, Severity.NOTE, words | {"why": WHY.get(one.reason, one.reason)})


def _kept(one: Undetermined) -> str:
    own = Evidence.ESTIMATE.value
    kept = one.kept_from.replace(f"{own}: {own}", own)
    return f"It stays as it was: {kept}." if kept else "Nothing is changed by it."


def _left_out(baseline: Baseline) -> Iterator[Finding]:
    swings: dict[str, list[LeftOut]] = {}
    odd: dict[str, list[LeftOut]] = {}
    for one in baseline.left_out:
        if one.why == "swings":
            swings.setdefault(one.step, []).append(one)
            continue
        if one.why == "at odds":
            odd.setdefault(one.step, []).append(one)
            continue
        words: dict[str, Amount | str | float] = {
            "input": one.input, "reading": Amount(one.kind, one.value), "off": abs(one.off or 0.0),
            "entry": one.entry[:8],
        }  # fmt: skip
        yield Finding("RUN-63", one.step, Severity.HEED, words)
    for step, rows in swings.items():
        names = ", ".join(one.input for one in rows)
        yield Finding("RUN-64", step, Severity.NOTE, {"count": len(rows), "inputs": names})
    for step, rows in odd.items():
        yield _at_odds(step, rows)


def _at_odds(step: str, rows: list[LeftOut]) -> Finding:
    """Name the readings of a step whose flow is not that of their point; the furthest with both flows."""
    worst = max(rows, key=lambda one: abs(one.value - (one.off or 0.0)))
    words: dict[str, Amount | str | float] = {
        "count": len(rows),
        "inputs": ", ".join(one.input for one in rows[:MOST_NAMED])
        + (" …" if len(rows) > MOST_NAMED else ""),
        "worst": worst.input,
        "noted": Amount("flow", worst.value),
        "point": Amount("flow", worst.off or 0.0),
    }
    return Finding("RUN-68", step, Severity.HEED, words)


def _far(baseline: Baseline) -> Iterator[Finding]:
    for one in baseline.fitted:
        if one.former is None or not _is_far(one):
            continue
        words: dict[str, Amount | str] = {
            "what": NAMES[one.name],
            "value": _figure(one.kind, one.value),
            "within": share(one.within, one.value),
            "former": _figure(one.kind, one.former),
            "former_from": one.former_from,
        }
        yield Finding("RUN-65", one.part, Severity.HEED, words)


def _is_far(one: Fitted) -> bool:
    """Whether a value the file states lies clearly outside the measured interval; a default may."""
    assert one.former is not None
    stated = not one.former_from.startswith(("default", "derived", "duty plus"))
    return stated and abs(one.value - one.former) > one.within + FAR * abs(one.former)
