"""What was signed against what was read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import defaults as lim
from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.model import Moment, Read
from steadyhead.visits.audit.notes import pascals
from steadyhead.visits.audit.rules.case import Case, breach

_NAMES: Final = {"duty": "H1", "trip": "F3", "lockup": "H2", "lock-up": "H2"}


def rules(case: Case) -> Iterator[Breach]:
    """Yield as-left figures that the entries do not show."""
    sign = case.story.sign
    if sign is None or not case.story.moments:
        return
    where = case.story.last.changed(entry=sign.entry or case.story.last.entry, node="K1")
    for name, value in sign.as_left.items():
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            continue
        behind = _behind(case, str(name).casefold().replace("_", " "))
        if _told_roughly(case, str(name).casefold(), float(value)):
            continue
        if behind and min(abs(float(value) - b) for b in behind) > lim.SIGN_SLACK.si:
            seen = (
                f"As-left {name} is signed as {case.told(float(value))}; the "
                f"entries show {case.told(behind[-1])}."
            )
            yield breach(
                "RUN-47", "K1", "flag", where, seen, "Sign what was read last, after the last touch."
            )


_FIGURE: Final = re.compile(
    r"(?<![\d.,])(\d+(?:[.,](\d+))?)\s*(bar|kPa|psi|mH2O|m|mbar)?(?![\w/%])", re.IGNORECASE
)


def _told_roughly(case: Case, name: str, value: float) -> bool:
    """Return whether a run that only words tell has a figure which the one signed rounds to."""
    if not name.startswith("trip"):
        return False
    read = {m.index for m, _ in case.story.runs()}
    for moment in case.story.moments:
        if moment.index in read or not moment.done("trip"):
            continue
        for figure, decimals, unit in _FIGURE.findall(moment.text):
            near = pascals(str(0.5 / 10 ** len(decimals)), unit or case.job.unit) + lim.ROUNDING.si
            if abs(pascals(figure, unit or case.job.unit) - value) <= near:
                return True
    return False


def _behind(case: Case, name: str) -> list[float]:
    if name in ("trip", "trip pressure"):
        return [r.value for _, r in case.story.runs() if r.value is not None] + _middles(case)
    if name in ("duty", "duty pressure"):
        return _duty(case)
    if name in ("lockup", "lock-up", "lockup pressure", "lock-up pressure"):
        return _of(case.story.of("H2") or case.story.of("Y3"))
    return []


def _middles(case: Case) -> list[float]:
    found = []
    for moment, read in case.story.runs():
        held = moment.hold_before(read)
        if held is not None and read.value is not None:
            found.append((held + read.value) / 2)
    values = [r.value for _, r in case.story.runs() if r.value is not None]
    return [*found, *([sum(values) / len(values)] if values else [])]


def _duty(case: Case) -> list[float]:
    moments: tuple[Moment, ...] = case.story.of("H1") or case.story.of("Y7") or case.story.of("DS5")
    reads = [r for m in moments for r in m.at_tap("T3")]
    after = [r for r in reads if re.search(r"after (?:the )?nut", r.mark)]
    chosen: list[Read] = after or reads
    flow = case.job.duty_flow
    if flow is None or any(r.flow is None for r in chosen):
        return [r.value for r in chosen if r.value is not None]
    return [r.value for r in (*chosen, *_at_flow_test(case)) if r.value is not None and _same_flow(r, flow)]


def _at_flow_test(case: Case) -> list[Read]:
    return [r for m in case.story.of("H4") for r in m.at_tap("T3")]


def _same_flow(read: Read, flow: float) -> bool:
    """Return whether a reading was taken at the flow that duty is stated at: only such are compared."""
    return read.flow is not None and abs(read.flow - flow) <= lim.SAME_FLOW * flow


def _of(moments: tuple[Moment, ...]) -> list[float]:
    return [r.value for m in moments for r in m.at_tap("T3") if r.value is not None]
