"""One surge run in words: what happens when, what is reached where, what that means, what to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from steadyhead.records.protection import zone_words
from steadyhead.records.surge import FAILING
from steadyhead.units import UnitSet, say, say_apart, say_size, two_figures

if TYPE_CHECKING:
    from steadyhead.records.surge import Reached, ShutOffTimes, SmallestTrip, SurgeLimit, SurgeRun


@dataclass(frozen=True, slots=True)
class Door:
    """What a door calls the proof, and how another time is tried there."""

    prove: str
    within: str


CONSOLE: Final = Door("steadyhead prove", "--within")
PAGE: Final = Door("the protection proof", "another study")

STILL_MADE = 0.005
"""A switch that makes this soon after the trip was still made from before. [s]"""
AT_ONCE = 0.01
"""What is highest or lowest no later than this after the beginning is what stood before. [s]"""
LEAST_SHARE = 1e-4
"""Shares below it are told as less than it."""
ONE_PLACE = 1.0
"""Distances from the station below it are the station. [m]"""
MOVED = (
    "inlet-valve-closed", "outlet-valve-closed", "screw-turned", "opening", "demand-falls", "demand-rises",
)  # fmt: skip
"""Events somebody makes, and can make more slowly."""
CURES = {
    "demand-falls": "Let consumers shut more slowly, or see what the trip and the needle leave.",
    "demand-rises": "Let consumers open more slowly.",
    "supply-rises": "See what raises the supply so quickly, and let it happen more slowly.",
    "supply-falls": "See what lowers the supply so quickly.",
    "inlet-valve-closed": "Close it more slowly; {within} tries a time.",
    "outlet-valve-closed": "Close it more slowly; {within} tries a time.",
    "screw-turned": "Turn the screw in small steps and wait after each.",
    "opening": "Open it slowly, against a small draw-off; --within tries a time.",
    "restart": "Shut the outlet isolating valve, open the shut-off against a drain, then refill slowly.",
}
"""What helps where a limit is passed, by event; else what the finding says."""


BEHIND = ("consumer", "outlet")
ONE_RUN = (
    "That is one run as stated: it does not know the upper edge of the trip, a needle a year older, other "
    "inlet pressures and flows. Whether the shut-off protects is for {prove} to say."
)
"""What one run of a failure cannot tell."""


def run_words(run: SurgeRun, units: UnitSet, door: Door = CONSOLE) -> str:
    """Return one run as a paragraph."""
    said = [
        *_what(run),
        *_course(run, units),
        *_reached(run, units),
        *_meaning(run, units),
        *_to_do(run, door),
        *_smallest(run, units),
        _worth(run),
    ]
    return " ".join(said)


def _what(run: SurgeRun) -> list[str]:
    way = f", on {way_named(run.way)}" if run.way else ""
    found = [f"{run.event}: {run.happens}{way}. It begins at {run.inlet_case} inlet pressure"]
    found[0] += f" and {run.flow_case} flow." if run.flow_case and run.group != "restart" else "."
    fewest, most = run.mains_behind
    if fewest != most:
        found.append(
            f"Run with {zone_words(fewest)} and through {most}; told is the worse, through {run.mains}."
        )
    return found


def way_named(way: str) -> str:
    """Return a way as it stands after *on*.

    Examples
    --------
    >>> way_named("main stream"), way_named("all streams together")
    ('the main stream', 'all streams together')
    """
    return way if way.startswith("all ") else f"the {way}"


def _course(run: SurgeRun, units: UnitSet) -> list[str]:
    """Return how the outlet goes, up to the moment a cavity falls in, and what the shut-offs do.

    Behind a station whose zone states no main up to the moment it is shut: what swings after is its stub.
    """
    times, values = run.trace.time, run.trace.pressures[run.outlet]
    shut = [one.shut for one in run.shut_offs if one.shut is not None and "consumer" in run.untold]
    ends = [one for one in (run.fell_in, *shut) if one is not None]
    count = max(sum(time <= min(ends) for time in times), 2) if ends else len(times)
    found = f"{run.outlet} stands at {_bar(run.outlet_before, units)}"
    top, low = (pick(range(count), key=values.__getitem__) for pick in (max, min))
    for place, word in ((top, "highest"), (low, "lowest")):
        moved = times[place] - run.event_at > AT_ONCE
        if moved and (place < count - 1 or ends):
            found += f", is {word} with {_bar(values[place], units)} after {_after(run, times[place])}"
    if run.fell_in is None:
        found += f", and ends at {_bar(run.outlet_end, units)}."
    else:
        fell_in = _after(run, run.fell_in)
        found += f"; {fell_in} after the beginning a cavity falls in, and judging ends{_where_it_ends(run)}."
    return [found, *(_trip_words(run, one) for one in run.shut_offs)]


def _where_it_ends(run: SurgeRun) -> str:
    """Return on which side judging ends; of both nothing."""
    if run.fallen == ("supply",):
        return " ahead of the shut-off"
    return " behind the shut-off" if run.fallen == ("consumer",) else ""


def _after(run: SurgeRun, moment: float) -> str:
    return _seconds(max(moment - run.event_at, 0.0))


def _trip_words(run: SurgeRun, one: ShutOffTimes) -> str:
    if one.trip is None:
        return f"{one.id} does not trip."
    said = f"{one.id} trips {_seconds(one.trip - run.event_at)} after the beginning"
    if one.switch is not None:
        later = one.switch - one.trip
        said += (
            ", its switch still made" if later < STILL_MADE else f", its switch makes {_seconds(later)} later"
        )
    said += "." if one.closing is None else f", and it is shut {_seconds(one.closing)} after the trip."
    return said + (f" It trips {one.trips} times." if one.trips > 1 else "")


def _reached(run: SurgeRun, units: UnitSet) -> list[str]:
    found = []
    for side, main in (("consumer", run.consumer), ("supply", run.supply)):
        high, low = run.highest(side), run.lowest(side)
        if high is None or low is None or side in run.untold:
            continue
        high_at, low_at = (_place(one, run, side, units) for one in (high, low))
        high_words = f"{_bar(high.pressure, units)} at datum, {high_at}"
        low_words = f"{_bar(low.pressure, units)} at its own level, {low_at}"
        found.append(f"The {side} main sees {high_words}, at most, and {low_words}, at least.")
        if main.is_separated:
            when = " before a cavity falls in" if main.highest_at_datum > main.judged_at_datum else ""
            found[-1] = found[-1].replace(", at most,", f", at most{when},")
    apart = {run.outlet, run.sections[0].id, *run.untold}
    between = [one for one in run.sections if one.id not in apart]
    if between:
        top = max(between, key=lambda one: one.judged)
        found.append(f"In the station {top.id} sees {_bar(top.judged, units)}.")
    return found


def _place(one: Reached, run: SurgeRun, side: str, units: UnitSet) -> str:
    if one.distance < ONE_PLACE:
        return "at the station"
    several = sum(profile.side == side for profile in run.profiles) > 1
    where = f" in {one.pipe}" if several else ""
    return f"{say(one.distance, 'length', units, 0)} from the station{where}"


def _meaning(run: SurgeRun, units: UnitSet) -> list[str]:
    near = run.nearest
    if near is None and not run.limits:
        return ["No limit is stated to hold this against."]
    said = [] if near is None else [_limit_words(near, units)]
    said += _not_judged(run)
    also = [one.component for one in run.limits if one.verdict == "over" and one is not near]
    if also:
        said.append(f"Passed too: {', '.join(also)}.")
    said += [_thrown_back(one, units) for one in run.limits if one.is_rebound_over and one is not near]
    if run.is_separated:
        said.append(
            "The water column parts; what its cavity does falling in is not predicted and not judged."
        )
    return said


def _not_judged(run: SurgeRun) -> list[str]:
    """Return which limits have no verdict because the main is not stated whose waves they hang on."""
    behind = [one.component for one in run.unjudged if one.side in BEHIND]
    ahead = [one.component for one in run.unjudged if one.side not in BEHIND]
    told = (
        (behind, "no consumer main is stated and the wave thrown back is not known (SUR-62)"),
        (ahead, "no supply main is stated and its surge is not known (SUR-63)"),
    )
    return [f"No verdict on {', '.join(names)}: {why}." for names, why in told if names]


def _thrown_back(one: SurgeLimit, units: UnitSet) -> str:
    """Return what the wave thrown back does to a limit that held until the shut-off was shut."""
    rebound, least = one.rebound_at_datum or 0.0, one.rebound_least_at_datum
    until = _bar(one.peak_at_datum, units)
    sees, bears = say_apart((rebound, one.limit_at_datum), "pressure", units)
    said = (
        f"{one.component} bears {bears} at datum and sees {until} until the "
        f"shut-off is shut; then the wave thrown back drives it to {sees}"
    )
    if least is None or one.is_rebound_sure:
        return f"{said}: passed then, however many mains go on behind the zone's."
    return f"{said}, or {_bar(least, units)}, by how many mains go on behind the zone's: an open question."


def _limit_words(one: SurgeLimit, units: UnitSet) -> str:
    if one.is_rebound_over:
        return _thrown_back(one, units)
    sees, bears = say_apart((one.sees_at_datum, one.limit_at_datum), "pressure", units)
    by = say_size(abs(one.margin), "pressure", units)
    if one.verdict == "over" and one.begun_at_datum > one.limit_at_datum:
        return (
            f"Passed before anything happens: {one.component}, which bears {bears} at datum and sees {sees} "
            "in the event."
        )
    if one.verdict == "over":
        return f"Passed by {by}: {one.component}, which bears {bears} at datum and sees {sees}."
    verdict = "no verdict after the column parted" if one.verdict == "no verdict" else f"{by} are left"
    return (
        f"Nearest to its limit is {one.component}, which sees {sees} and bears {bears} at datum: {verdict}."
    )


def _to_do(run: SurgeRun, door: Door) -> list[str]:
    passes = any(one.verdict == "over" and one.begun_at_datum <= one.limit_at_datum for one in run.limits)
    if passes:
        from steadyhead.surge.causes import cause_of

        cause = cause_of(run)[1].replace(CONSOLE.prove, door.prove)
        return [CURES.get(run.group, "").format(within=door.within) or cause]
    if any(one.is_rebound_over for one in run.limits):
        return [f"See what {door.prove} says of the wave thrown back."]
    if run.is_separated:
        first = "Move more slowly" if run.group in MOVED else "Let air in where the column parts"
        return [f"{first}, or let a specialist in surge look at it."]
    if run.unjudged:
        return ["State the main that is not stated; see what steadyhead prove asks."]
    if any(one.trip is not None and one.shut is None for one in run.shut_offs):
        return ["See why the shut-off does not get shut before anything is relied on."]
    if not run.limits:
        return ["State what each component bears."]
    return [ONE_RUN.format(prove=door.prove) if is_proved_elsewhere(run) else "Nothing to do in this event."]


def is_proved_elsewhere(run: SurgeRun) -> bool:
    """Return whether an event is a failure that the protection proof runs too."""
    return run.group in FAILING and bool(run.shut_offs)


def _smallest(run: SurgeRun, units: UnitSet) -> list[str]:
    found = run.smallest
    if found is None:
        return []
    verb = "stops" if found.change < 0.0 else "is drawn"
    name = found.shut_off or " or ".join(one.id for one in run.shut_offs) or "a shut-off"
    if found.trips:
        return [_trips_words(found, verb, units)]
    stated, most = (say(abs(flow), "flow", units) for flow in (found.change, found.most))
    within, fastest = f"{found.within:g} s", f"{found.fastest:g} s"
    if found.least is None and found.slowest is None:
        return [f"Neither {most} within {within} nor {stated} within {fastest} would trip {name}."]
    said = []
    if found.least is not None:
        least = say(abs(found.least), "flow", units)
        said.append(f"It takes {least} that {verb} within {within} to trip {name}, instead of {stated}.")
    else:
        said.append(f"Within {within} no flow that {verb} trips it, up to {most}.")
    if found.slowest is not None:
        said.append(f"As large as stated it trips {name} within {_seconds(found.slowest)}.")
    else:
        said.append(f"As large as stated it does not trip, not even within {fastest}.")
    return said


def _trips_words(found: SmallestTrip, verb: str, units: UnitSet) -> str:
    least = say(abs(found.least or 0.0), "flow", units)
    slow = (
        "however slowly it happens"
        if found.is_any_time
        else f"within {_seconds(found.slowest or 0.0)} or faster"
    )
    return (
        f"The smallest flow that {verb} within {found.within:g} s and trips {found.shut_off} is {least}; "
        f"as large as stated it trips {slow}."
    )


def _worth(run: SurgeRun) -> str:
    change, error = _share(run.grid_change), _share(run.mass_error)
    return f"Halving the step moves these by {change} at most; {error} of the water is unaccounted for."


def _share(share: float) -> str:
    return (
        f"{two_figures(100.0 * share)} %" if share >= LEAST_SHARE else f"less than {100.0 * LEAST_SHARE:g} %"
    )


def _bar(pressure: float, units: UnitSet) -> str:
    return say(pressure, "pressure", units)


def _seconds(time: float) -> str:
    return f"{time:.2f} s" if time < 9.995 else f"{time:.1f} s" if time < 99.95 else f"{time:.0f} s"
