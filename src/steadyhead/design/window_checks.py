"""Findings of the window of the closing needle, and what opens an empty one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.report import (
    ASK,
    HEED,
    NOTE,
    STOP,
    at_least,
    at_most,
    finding,
    flow,
    pressure,
    seconds,
    span,
)  # fmt: skip
from steadyhead.findings import Amount, Finding, Input, Severity
from steadyhead.records.protection import (
    Failure,
    NeedleWindow,
    Protection,
    RemedyKind,
    RemedyStep,
    WindowEdge,
    WindowRemedy,
)


def failure_words(failure: Failure) -> str:
    """Return a failure as a sentence begins with it.

    Examples
    --------
    >>> failure_words(Failure("RV", "drifts open", 120.0)), failure_words(Failure("RV", "pilot stuck"))
    ('RV drifts open within 2 min', 'The pilot of RV sticks open')
    """
    if failure.kind == "pilot stuck":
        return f"The pilot of {failure.reducer} sticks open"
    if failure.kind == "diaphragm torn":
        return f"The diaphragm of {failure.reducer} tears"
    within = "" if failure.within is None else f" within {span(failure.within)}"
    return f"{failure.reducer} {failure.kind}{within}"


def window_findings(basis: Basis, proof: Protection) -> Iterator[Finding]:
    """Yield what the window says: how wide it is, where the needle stands in it, what opens an empty one."""
    window, where = proof.window, basis.part_place(proof.shut_off, "closing")
    if window.state == "empty":
        yield _empty(proof, where)
        for remedy in window.remedies:
            yield _remedy(proof, where, remedy)
        return
    if window.state != "open" or (window.slowest is None and window.fastest is None):
        return
    weight, says = _judged(proof)
    yield finding(
        "SUR-31",
        where,
        weight,
        value=seconds(window.stopwatch),
        shut_off=proof.shut_off,
        window=window_words(window.slowest, window.fastest),
        says=says,
        beyond=_beyond(window),
        cure=_set(window),
        flow=flow(window.stroke.flow),
        inlet=pressure(window.stroke.inlet),
        outlet=pressure(window.stroke.outlet),
        inputs=tuple(_edge_inputs(window)),
    )


NO_WAVES = "No consumer main is stated: the window knows no wave of it, which may ask for less."
NO_SURGE = "No supply main is stated: how fast it may close for what lies ahead of it is not known."
QUESTIONS = {
    "SUR-27": "a wave thrown back over a limit",
    "SUR-28": "a water column that parts",
    "SUR-62": "no consumer main stated, its waves not known",
    "SUR-63": "no supply main stated, how fast it may close not known",
}
"""Questions of the proof that lie on a window, in few words."""


def asked(findings: Iterable[Finding]) -> tuple[str, ...]:
    """Return in few words the questions that lie on a window and are open: not answered, or limits passed."""
    found = {one.code for one in findings if one.severity in (ASK, STOP)}
    return tuple(words for code, words in QUESTIONS.items() if code in found)


def caveat(window: NeedleWindow, questions: tuple[str, ...]) -> str:
    """Return in few words what a window is printed with, away from the proof; empty: nothing.

    Parameters
    ----------
    window
        One that is open.
    questions
        From `asked`.
    """
    parts = QUESTIONS["SUR-28"]
    told = [one for one in questions if not (window.parts and one == parts)]
    said = ["at each of these times a water column parts, which is not judged"] if window.parts else []
    if told:
        said.append(f"open in the proof: {'; '.join(told)}")
    return "; ".join(said)


def _beyond(window: NeedleWindow) -> str:
    """Return what is beyond the edges a window has, as a sentence."""
    edges = (("slower", window.slowest), ("faster", window.fastest))
    said = "; ".join(f"{pace}, and {_seen(edge)}" for pace, edge in edges if edge is not None)
    return f"{said[:1].upper()}{said[1:]}."


def _seen(edge: WindowEdge) -> str:
    """Return what happens beyond an edge."""
    if edge.component.startswith("water column"):
        return f"the {edge.component} parts"
    if edge.component.startswith("wave thrown back"):
        return "the wave thrown back passes a limit"
    if edge.side in ("consumer", "outlet"):
        return "the consumers see too much"
    return f"{edge.component} sees too much"


def _set(window: NeedleWindow) -> str:
    """Return what to set the needle to."""
    if window.slowest is not None and window.fastest is not None:
        return "Set the needle to the middle of the window"
    side, far = ("below", "slowest") if window.slowest is not None else ("above", "fastest")
    return f"Set the needle well {side} the {far} time, a fifth at least"


def _judged(proof: Protection) -> tuple[Severity, str]:
    """Return the weight of the window of a proof and what is said of it."""
    window, band, has_main = proof.window, proof.closing_times, proof.mains[1]
    is_known = has_main and not window.unknown
    said = []
    is_covered = window.holds(band[0]) and window.holds(band[1])
    if not window.is_inside:
        said.append("That lies outside.")
    elif not is_covered:
        said.append(f"Its band of {span(band[1])} to {span(band[0])} reaches beyond.")
    ratio = window.ratio
    narrow = (1.0 + d.NARROW_WINDOW.si) / (1.0 - d.NARROW_WINDOW.si)
    if ratio is not None and ratio < narrow:
        said.append(
            f"The window is narrower than {d.NARROW_WINDOW.text}: a year may carry the needle out of it."
        )
    if window.parts:
        said.append("At each of these times a column parts: what it does falling in is not in the window.")
    if not has_main:
        said.append(NO_WAVES)
    if "supply" in window.unknown:
        said.append(NO_SURGE)
    if not window.stroke.is_stated:
        said.append("Flow and pressures are those of a usual trickle.")
    is_heeded = not is_covered or window.parts or not is_known or (ratio is not None and ratio < narrow)
    return (HEED if is_heeded else NOTE), " ".join(said)


def _edge_inputs(window: NeedleWindow) -> Iterator[Input]:
    for name, edge in (("slowest", window.slowest), ("fastest", window.fastest)):
        if edge is not None:
            case = f"{edge.component}; {failure_words(edge.failure)}, {edge.words}"
            yield Input(f"{name}, by stopwatch", Amount("time", edge.stopwatch), case)
            yield Input(f"{name}, in that case", Amount("time", edge.worst_time), "transient twin")
            if edge.needle_kv is not None:
                kv = Amount("flow_coefficient", edge.needle_kv)
                yield Input(f"{name}, needle", kv, "transient twin")


def window_words(slowest: WindowEdge | None, fastest: WindowEdge | None) -> str:
    """Return a window by stopwatch in words, rounded inwards: from, to, at least, at most.

    Examples
    --------
    >>> window_words(None, None)
    'any time that was looked at'
    """
    if slowest is not None and fastest is not None:
        return f"{at_least(fastest.stopwatch)} to {at_most(slowest.stopwatch)}"
    if slowest is not None:
        return f"at most {at_most(slowest.stopwatch)}"
    if fastest is not None:
        return f"at least {at_least(fastest.stopwatch)}"
    return "any time that was looked at"


def _empty(proof: Protection, where: str) -> Finding:
    window = proof.window
    reasons = [f"{one} is passed at each" for one in window.never_held]
    if window.slowest is not None:
        reasons.append(
            f"{window.slowest.component} allows at most {at_most(window.slowest.stopwatch)} by stopwatch"
        )
    if window.fastest is not None:
        reasons.append(f"{window.fastest.component} asks at least {at_least(window.fastest.stopwatch)}")
    cures = "See what opens it, below." if window.remedies else (
        "Nothing that was tried opens it, alone or two at once: a lower trip, relief, a vessel ahead or "
        "behind, a higher rating, a smaller reducer, crediting slower failures only. Change the layout, or "
        "ask a specialist in surge."
    )  # fmt: skip
    return finding(
        "SUR-32", where, STOP, shut_off=proof.shut_off, reasons="; ".join(reasons) or "nothing holds",
        cures=cures, inputs=tuple(_edge_inputs(window)),
    )  # fmt: skip


CHANGES: dict[RemedyKind, str] = {
    "lower trip": "the trip of {what} at",
    "higher rating": "a rating at datum, of {what}, of",
    "smaller reducer": "a reducer {what} of",
    "slower failure": "crediting only failures of {what} that take at least",
    "relief": "a relief valve at {what} of",
    "vessel": "a vessel {what} of",
}
SECOND: dict[RemedyKind, str] = {"relief": ", starting to lift at ", "vessel": ", precharged to "}
AMOUNTS: dict[RemedyKind, str] = {
    "lower trip": "pressure",
    "higher rating": "pressure",
    "smaller reducer": "flow_coefficient",
    "slower failure": "time",
    "relief": "flow_coefficient",
    "vessel": "volume",
}
CODES: dict[RemedyKind, str] = {"relief": "SUR-34", "vessel": "SUR-48"}
"""Findings of a change that has a second figure; SUR-33 for the others."""


def _remedy(proof: Protection, where: str, remedy: WindowRemedy) -> Finding:
    window = window_words(remedy.slowest, remedy.fastest)
    if len(remedy.steps) > 1:
        first, second = remedy.steps
        return finding(
            "SUR-49", where, NOTE, shut_off=proof.shut_off, window=window,
            first=_change(first), value_first=_amount(first), also_first=SECOND.get(first.kind, ""),
            more_first=_more(first), second=_change(second), value_second=_amount(second),
            also_second=SECOND.get(second.kind, ""), more_second=_more(second),
        )  # fmt: skip
    (step,) = remedy.steps
    code = CODES.get(step.kind)
    if code is not None:
        return finding(
            code, where, NOTE, value=Amount(AMOUNTS[step.kind], step.value), shut_off=proof.shut_off,
            place=step.what, crack=pressure(step.crack or 0.0), window=window,
        )  # fmt: skip
    return finding(
        "SUR-33", where, NOTE, shut_off=proof.shut_off, change=_change(step), amount=_amount(step),
        window=window,
    )  # fmt: skip


def _change(step: RemedyStep) -> str:
    return CHANGES[step.kind].format(what=step.what)


def _amount(step: RemedyStep) -> Amount | str:
    value = Amount(AMOUNTS[step.kind], step.value)
    return span(step.value) if value.kind == "time" else value


def _more(step: RemedyStep) -> Amount | str:
    """Return the second figure of a change: crack or precharge."""
    return "" if step.crack is None else pressure(step.crack)
