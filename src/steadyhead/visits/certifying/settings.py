"""What was found and what was left: settings, lock-up, closing, alarm, screw heights."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from steadyhead.procedure.steps import Step
from steadyhead.records.certificate import AlarmProof, FlowTest, LockupTest, Noted, Setting, TripProof
from steadyhead.visits.certifying.heights import height
from steadyhead.visits.certifying.seen import PROVED, Seen, kept, number

FOUND_ONLY = "as found only"
"""State of a figure that was read as found and is not asked again in this run."""
DUTY = ("duty", "trickle")
"""Readings by which a reducer is left, the one at duty flow before the one at trickle."""


def settings(
    seen: Seen,
    trips: Sequence[TripProof],
    lockups: Sequence[LockupTest],
    alarms: Sequence[AlarmProof],
    flows: Sequence[FlowTest],
) -> tuple[Setting, ...]:
    """Return every setting and figure of the station, one row each."""
    rows = [row for trip in trips for row in _trip(seen, trip)]
    rows += list(_duties(seen))
    rows += [_lockup(seen, one) for one in lockups]
    rows += list(_found_only(seen, {one.valve for one in lockups}))
    rows += [_alarm(seen, one) for one in alarms]
    return tuple(rows)


def _trip(seen: Seen, trip: TripProof) -> Iterator[Setting]:
    found = next((run for run in trip.runs if run.as_found), None)
    made = [run for run in trip.runs if run.middle is not None]
    stands = trip.state in PROVED and bool(made)
    lifts = trip.what == "relief"
    yield Setting(
        f"{trip.valve}.{'crack' if lifts else 'trip'}",
        f"{trip.valve} {'starts to lift' if lifts else 'trip, rising'}",
        trip.tap,
        "pressure",
        trip.trip,
        _middle(found.act, found.middle) if found else None,
        _middle(made[-1].act, made[-1].middle) if stands else None,
        tuple(kept(run.middle) for run in made if run.middle is not None),
        height(seen, trip.valve),
        trip.state,
        trip.because,
    )
    times = [run.closing for run in trip.runs if run.closing is not None]
    if not lifts:
        state, because = seen.standing_of(f"{trip.valve}.closing")
        yield Setting(
            f"{trip.valve}.closing",
            f"{trip.valve} shuts in",
            "",
            "time",
            None,
            found.closing if found else None,
            times[-1] if times and state in PROVED else None,
            tuple(value for one in times if (value := number(one)) is not None),
            None,
            state,
            because,
        )


def _middle(act: Noted | None, middle: float | None) -> Noted | None:
    """Return the middle of a run's interval as a reading, with everything of the reading at the act."""

    if act is None or middle is None:
        return None
    return replace(act, value=kept(middle), typed="", marked="middle of last hold and act")


def _duties(seen: Seen) -> Iterator[Setting]:
    left: dict[str, Step] = {}
    for step, valve in seen.proving("duty"):
        if valve not in left or step.latest > left[valve].latest:
            left[valve] = step
    for valve, step in left.items():
        state, because = seen.standing_of(f"{valve}.duty")
        noted = next((n for name in DUTY for n in (seen.noted(step, name),) if n), None)
        kind = next((name for name in DUTY if seen.noted(step, name)), "duty")
        if noted is not None and noted.flow is None:
            noted = _with_flow(noted, number(seen.noted(step, "flow")))
        yield Setting(
            f"{valve}.duty",
            f"{valve} {'duty' if kind == 'duty' else 'trickle reading of duty'}",
            noted.tap if noted else _tap(step),
            "pressure",
            seen.limit(kind, step.node),
            _like(_found(seen, valve, kind) or _found(seen, valve, "trickle"), seen, step),
            noted if state in PROVED else None,
            (),
            height(seen, valve),
            state,
            because,
            seen.limit("duty_flow" if kind == "duty" else "trickle_flow", step.node),
        )


def _like(found: Noted | None, seen: Seen, step: Step) -> Noted | None:
    """Return what was found with its flow: as noted with it, else the trickle it is asked at."""
    if found is None or found.flow is not None:
        return found
    return _with_flow(found, seen.limit("trickle_flow", step.node))


def _with_flow(noted: Noted, flow: float | None) -> Noted:

    return replace(noted, flow=flow)


def _tap(step: Step) -> str:
    return next((one.tap for one in step.node.inputs if one.tap), "")


def _lockup(seen: Seen, test: LockupTest) -> Setting:
    node = next(step.node for step, valve in seen.proving("lockup") if valve == test.valve)
    last = test.points[-1] if test.points and test.lockup is not None else None
    return Setting(
        f"{test.valve}.lockup",
        f"{test.valve} lock-up, no flow",
        last.tap if last else "",
        "pressure",
        seen.limit("lockup", node),
        _found(seen, test.valve, "lockup"),
        last,
        (),
        None,
        test.state,
        test.because,
    )


def _found_only(seen: Seen, tested: Collection[str]) -> Iterator[Setting]:
    """Yield the lock-up of each reducer that was read as found and not tested again after it was worked."""
    for step, valve in seen.proving("as_found"):
        noted = seen.noted(step, "lockup") if any(one.name == "lockup" for one in step.node.inputs) else None
        if noted is None or valve in tested:
            continue
        state, because = seen.standing_of(f"{valve}.as_found")
        yield Setting(
            f"{valve}.lockup",
            f"{valve} lock-up, no flow",
            noted.tap,
            "pressure",
            seen.limit("lockup", step.node),
            noted,
            None,
            (),
            None,
            FOUND_ONLY if state in PROVED else state,
            because,
        )


def _alarm(seen: Seen, alarm: AlarmProof) -> Setting:
    step = next(
        step for step in seen.on_way() for name in step.node.proves if name.partition("@")[0] == alarm.name
    )
    if alarm.name == "alarm.high_alarm":
        came = seen.noted(step, "at")
        design = seen.limit("alarm", step.node)
        left = came if alarm.state in PROVED else None
        return Setting(
            "alarm.high",
            "High alarm",
            came.tap if came else "",
            "pressure",
            design,
            None,
            left,
            (),
            None,
            alarm.state,
            alarm.because,
        )
    end = next((n for name in ("there", "told_at") for n in (seen.noted(step, name),) if n), None)
    left = None
    if end is not None and alarm.delay is not None and alarm.state in PROVED:
        left = replace(end, value=kept(alarm.delay), quantity="time")
    elif end is not None and alarm.state in PROVED:
        left = replace(end, quantity="time_of_day")
    valve = alarm.name.partition(".")[0]
    is_clock = left is not None and left.quantity == "time_of_day"
    return Setting(
        alarm.name,
        f"{valve} movement {'told at the desk at' if is_clock else 'to the desk'}",
        "",
        "time",
        None,
        None,
        left,
        (),
        None,
        alarm.state,
        alarm.because,
    )


def _found(seen: Seen, valve: str, name: str) -> Noted | None:
    """Return what was read before anything was touched; None where nobody did."""
    for step, part in seen.proving("as_found"):
        if part == valve and any(one.name == name for one in step.node.inputs):
            return seen.noted(step, name)
    return None
