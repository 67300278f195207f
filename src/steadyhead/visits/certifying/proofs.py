"""The proofs of a run in numbers: rising runs, alarm loop, lock-up, flow test."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from steadyhead.procedure.steps import Step
from steadyhead.records.certificate import (
    AlarmProof,
    FlowPoint,
    FlowTest,
    LockupTest,
    Noted,
    TripProof,
    TripRun,
)
from steadyhead.visits.certifying.seen import PROVED, Seen, base, kept, number

FEWEST_FOR_LOSS = 3
"""Points of a flow test from which on a loss is worked out: two unknowns and one more. [1]"""
DAY = 86400.0
_CLOCK = re.compile(r"(\d{1,2})[:.](\d\d)(?:[:.](\d\d))?", re.ASCII)
RUN_INPUTS = ("hold", "act", "mid", "closing", "peak")
ASPECTS = ("acts", "trip", "closing", "as_found")
LIFTS = ("crack", "reseat")


def trips(seen: Seen) -> tuple[TripProof, ...]:
    """Return the proof of every valve that shuts or lifts at a pressure."""
    found: dict[str, dict[str, Step]] = {}
    for aspect in (*ASPECTS, *LIFTS):
        for step, valve in seen.proving(aspect):
            if aspect in LIFTS or _runs_in(step):
                found.setdefault(valve, {})[step.node.id] = step
    order = list(seen.steps)
    return tuple(
        _trip(seen, valve, sorted(steps.values(), key=lambda step: order.index(step.node.id)))
        for valve, steps in found.items()
    )


def _runs_in(step: Step) -> bool:
    return any(one.name.partition(".")[0] in ("act", "crack") for one in step.node.inputs)


def _trip(seen: Seen, valve: str, steps: Sequence[Step]) -> TripProof:
    lifts = any(one.name == "crack" for step in steps for one in step.node.inputs)
    extra = [other for other in seen.on_way() if _closes_for(other, valve)]
    every = [*steps, *(other for other in extra if other not in steps)]
    low, high = _accepted(seen, every, "mid", ("trip_low", "trip_high"))
    band = [low, high, seen.limit("trip", steps[0].node)]
    window = _accepted(seen, every, "closing", ("stopwatch_from", "stopwatch_to"))
    runs = tuple(_run(seen, n, every, band) for n in _numbers(every)) if not lifts else _lifted(seen, steps)
    pumped = any(base(step.node).startswith("IN") for step in steps)
    state, because = _standing(seen, valve, lifts=lifts)
    taps = [one.tap for step in steps for one in step.node.inputs if one.name in ("act", "act.2", "crack")]
    reset = next((n for s in extra for n in (seen.noted(s, "T3"),) if base(s.node) == "F2R" and n), None)
    return TripProof(
        valve,
        next((tap for tap in taps if tap), ""),
        "relief" if lifts else "shut-off",
        None if lifts else band[0],
        None if lifts else band[1],
        None if lifts else band[2],
        window if not lifts else (None, None),
        runs,
        next((n for s in every for n in (seen.noted(s, "step"),) if n), None),
        reset,
        "injection at the sensing line" if pumped else "rising pressure on the line",
        _coverage(seen, steps, pumped=pumped),
        state,
        because,
        _gained(seen, steps),
    )


def _accepted(
    seen: Seen, steps: Sequence[Step], name: str, limits: tuple[str, str]
) -> tuple[float | None, float | None]:
    """Return the band that holds on the way chosen, the one each step is judged by; else that of the job."""
    bands = [band for step in steps for key, band in step.bands.items() if key.partition(".")[0] == name]
    if not bands:
        return seen.limit(limits[0], steps[0].node), seen.limit(limits[1], steps[0].node)
    lows = [low for band in bands if (low := band.get("low")) is not None]
    highs = [high for band in bands if (high := band.get("high")) is not None]
    return max(lows, default=None), min(highs, default=None)


def _standing(seen: Seen, valve: str, *, lifts: bool) -> tuple[str, str]:
    """Return where the proof of a trip stands: of three runs, else of one, else as it was found."""
    aspects = ("crack", "as_found") if lifts else ("trip", "acts", "as_found")
    found = [seen.proof(f"{valve}.{aspect}") for aspect in aspects]
    asked = [one for one in found if one is not None and one.state != "not on this way"]
    return (asked[0].state, seen.reasons(asked[0])) if asked else ("not asked", "")


def _closes_for(step: Step, valve: str) -> bool:
    return step.node.id.rpartition(".")[2] == valve and base(step.node) in (
        "F1",
        "F2",
        "F2R",
        "F3",
        "IN1",
        "IN3",
    )


def _numbers(steps: Sequence[Step]) -> list[int]:
    names = [one.name for step in steps for one in step.node.inputs if one.name.partition(".")[0] == "act"]
    return sorted(
        {int(name.partition(".")[2] or 1) for name in names if (name.partition(".")[2] or "1").isdigit()}
    )


def _run(seen: Seen, run: int, steps: Sequence[Step], band: Sequence[float | None]) -> TripRun:
    suffix = f".{run}" if run > 1 else ""
    mine = [s for s in steps if any(one.name == f"act{suffix}" for one in s.node.inputs)]
    beside = [*mine, *(s for s in steps if run == 1 and base(s.node) == "F2")]

    def of(*names: str) -> Noted | None:
        found = (seen.noted(step, f"{name}{suffix}") for name in names for step in beside)
        return next((n for n in found if n is not None), None)

    made = TripRun(
        run,
        mine[0].node.id,
        of("hold"),
        of("act"),
        of("peak"),
        of("closing"),
        of("T1.start", "T1"),
        of("T2.start", "T2"),
        of("T3.start"),
        of("flow.start", "flow"),
        of("T3.watch", "T3"),
        of("flow.after"),
        as_found=any(name.endswith(".as_found") for step in mine for name in step.node.proves),
        inside=None,
    )
    low, high, middle = band[0], band[1], made.middle
    if low is None or high is None or middle is None:
        return made

    return replace(made, inside=low <= middle <= high)


def _lifted(seen: Seen, steps: Sequence[Step]) -> tuple[TripRun, ...]:
    for step in steps:
        crack = seen.noted(step, "crack")
        if crack is not None:
            after = next((n for s in steps for n in (seen.noted(s, "reseat"),) if n), None)
            inlet = seen.noted(step, "T1")
            return (
                TripRun(
                    1,
                    step.node.id,
                    None,
                    crack,
                    None,
                    None,
                    inlet,
                    None,
                    None,
                    None,
                    after,
                    None,
                    as_found=False,
                    inside=None,
                ),
            )
    return ()


def _coverage(seen: Seen, steps: Sequence[Step], *, pumped: bool) -> str:
    if not pumped:
        return "full stroke of the main valve, through its own sensing line"
    for step in seen.on_way():
        told = seen.noted(step, "coverage") if base(step.node) == "IN1" else None
        if told is not None:
            return f"{told.value}; the tapping hole is looked at by itself"
    return "not noted"


def _gained(seen: Seen, steps: Sequence[Step]) -> str:
    times = [row for step in steps for pick in step.chosen.values() for row in pick.rows]
    return max(times, key=lambda row: row.at).entry.clock.isoformat(timespec="seconds") if times else ""


def alarms(seen: Seen) -> tuple[AlarmProof, ...]:
    """Return the loops to the desk: of each shut-off's movement, and of the high alarm."""
    found = []
    for step, valve in seen.proving("told"):
        if step.begun or base(step.node) == "G1":
            found.append(_alarm(seen, step, f"{valve}.told", ("here", "told_from"), ("there", "told_at")))
    for step, _ in seen.proving("high_alarm"):
        found.append(_alarm(seen, step, "alarm.high_alarm", (), ()))
    return tuple(found)


def _alarm(seen: Seen, step: Step, name: str, here: Sequence[str], there: Sequence[str]) -> AlarmProof:
    times = [
        next((str(n.value) for key in keys for n in (seen.noted(step, key),) if n), "")
        for keys in (here, there)
    ]
    right = next((n for key in ("right", "came", "told") for n in (seen.noted(step, key),) if n), None)
    notes = [row.text("text") for row in step.rows if row.entry.kind == "note"]
    start, end = (_seconds(text) for text in times)
    delay = None if start is None or end is None else (end - start) % DAY
    who = next((row.entry.who for row in step.rows if row.entry.who), "")
    words, operator = (_words(seen, step, key) for key in ("words", "operator"))
    state, because = seen.standing_of(name)
    value = right.value if right is not None and isinstance(right.value, bool) else None
    return AlarmProof(
        name, times[0], times[1], delay, value, words or "; ".join(filter(None, notes)), who, state, because,
        operator,
    )  # fmt: skip


def _words(seen: Seen, step: Step, name: str) -> str:
    if not any(one.name == name for one in step.node.inputs):
        return ""
    noted = seen.noted(step, name)
    return "" if noted is None else str(noted.value)


def _seconds(text: str) -> float | None:
    found = _CLOCK.fullmatch(text.strip())
    if found is None:
        return None
    return int(found[1]) * 3600.0 + int(found[2]) * 60.0 + int(found[3] or 0)


def lockups(seen: Seen) -> tuple[LockupTest, ...]:
    """Return every lock-up test: outlet against time at no flow."""
    return tuple(
        _lockup(seen, step, valve)
        for step, valve in seen.proving("lockup")
        if any(one.name == "last" for one in step.node.inputs)
    )


def _lockup(seen: Seen, step: Step, valve: str) -> LockupTest:
    points = _noted(seen, step, ("first", "half", "last"))
    walls = _noted(seen, step, ("wall.first", "wall.last"))
    flows = [row.number("flow") for pick in step.chosen.values() for row in pick.rows]
    known = [flow for flow in flows if flow is not None]
    state, because = seen.standing_of(f"{valve}.lockup")
    values = [value for one in points if (value := number(one)) is not None]
    band = step.bands.get("last", {})
    return LockupTest(
        valve,
        points,
        walls,
        kept(max(known)) if known else None,
        kept(values[-1] - values[0]) if len(values) > 1 else None,
        values[-1] if values and state in PROVED else None,
        (band.get("low"), band.get("high")),
        state,
        because,
    )


def _noted(seen: Seen, step: Step, names: Sequence[str]) -> tuple[Noted, ...]:
    found = (seen.noted(step, name) for name in names)
    return tuple(one for one in found if one is not None)


def flows(seen: Seen) -> tuple[FlowTest, ...]:
    """Return every flow test, with droop and losses worked out."""
    return tuple(_flow(seen, step) for step, _ in seen.proving("droop"))


def _flow(seen: Seen, step: Step) -> FlowTest:
    points = tuple(_points(seen, step))
    up, down = ([one for one in points if one.rising is way] for way in (True, False))
    taps = [one.tap for one in step.node.inputs if one.name.startswith("T3.") and one.tap]
    name = next(name for name in step.node.proves if ".droop" in name)
    state, because = seen.standing_of(name)
    swing = seen.noted(step, "swing")
    return FlowTest(
        seen.procedure.streams.get(step.node.id, ""),
        taps[0] if taps else "T3",
        points,
        _droop(up),
        _droop(down),
        _loss(points, "T0", "T1"),
        _loss(points, "T1", "T2"),
        str(swing.value) if swing else "",
        state,
        because,
    )


def _points(seen: Seen, step: Step) -> Iterator[FlowPoint]:
    numbers = sorted(int(one.name[5:]) for one in step.node.inputs if re.fullmatch(r"flow\.\d+", one.name))
    for at in numbers:
        flow = number(seen.noted(step, f"flow.{at}"))
        if flow is None:
            continue
        taken = {tap: number(seen.noted(step, f"{tap}.{at}")) for tap in ("T0", "T1", "T2", "T3", "T4")}
        readings = {tap: value for tap, value in taken.items() if value is not None}
        last = seen.noted(step, f"T3.{at}")
        yield FlowPoint(at, 2 * at <= len(numbers), flow, readings, last.at if last else "")


def _droop(points: Sequence[FlowPoint]) -> float | None:
    known = [(one.flow, one.readings["T3"]) for one in points if "T3" in one.readings]
    if len(known) < 2:
        return None
    return kept(min(known)[1] - max(known)[1])


def _loss(points: Sequence[FlowPoint], above: str, below: str) -> float | None:
    """Return k of Δp = c + k·Q² by least squares; c takes level and offset of the two gauges. [Pa/(m³/s)²]"""
    known = [
        (one.flow**2, one.readings[above] - one.readings[below])
        for one in points
        if above in one.readings and below in one.readings
    ]
    if len(known) < FEWEST_FOR_LOSS:
        return None
    mean_x, mean_y = (sum(pair[i] for pair in known) / len(known) for i in (0, 1))
    spread = sum((x - mean_x) ** 2 for x, _ in known)
    if spread <= 0.0:
        return None
    return kept(sum((x - mean_x) * (y - mean_y) for x, y in known) / spread)
