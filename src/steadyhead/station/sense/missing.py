"""Facts a file leaves out, and what each would change."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.findings import Finding, Severity
from steadyhead.records.parts import Drain, IsolatingValve, LinePart, Reducer, ShutOff
from steadyhead.station.layout import read_layout
from steadyhead.station.sense.places import Places


def missing(at: Places) -> Iterator[Finding]:
    """Yield a finding for each missing fact that protection rests on, and one note for all the minor ones.

    What the design room asks for itself is left to it: sensing tap, drive, trip, closing time, dead band,
    and the closing medium of a shut-off downstream.
    """
    minor: list[str] = []
    for path, part in at.parts():
        if isinstance(part, ShutOff):
            for code, field, weight in _of_shut_off(at, part):
                yield Finding(code, at.words(*path, field), weight, {"shut_off": part.id})
        minor += [f"{at.words(*path, *field)} ({changes})" for field, changes in _minor(part)]
    if "zero_possible" not in at.station.demand.model_fields_set:
        minor.append("demand.zero_possible (whether lock-up is reached in service)")
    if minor:
        yield Finding("STN-10", "station file", Severity.NOTE, {"fields": ", ".join(minor)})


def _of_shut_off(at: Places, part: ShutOff) -> Iterator[tuple[str, str, Severity]]:
    if "resets" not in part.model_fields_set:
        yield "STN-07", "resets", Severity.ASK
    if part.exhaust == "not known":
        yield "STN-08", "exhaust", Severity.HEED
    told_elsewhere = read_layout(at.station).code == "shut-off downstream"
    if part.closing_medium == "not known" and part.closes_by != "spring" and not told_elsewhere:
        yield "STN-09", "closing_medium", Severity.HEED


def _minor(part: LinePart) -> Iterator[tuple[tuple[str, ...], str]]:
    if isinstance(part, IsolatingValve):
        if part.turns is None:
            yield ("turns",), "openings stand as a share of the travel only"
        if part.closes is None:
            yield ("closes",), "which way shuts it"
    elif isinstance(part, Reducer | ShutOff) and part.pilot.raises is None:
        yield ("pilot", "raises"), "which way its screw raises"
    elif isinstance(part, Drain) and not part.runs_to:
        yield ("runs_to",), "where the water goes"
