"""Figures of a restart after a trip: time until the zone runs dry, refill by mass balance, the two ends."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from steadyhead.design import limits
from steadyhead.findings import Amount, Finding, Severity
from steadyhead.hydraulics.mains import wave_speed_of, zone_stiffness
from steadyhead.laws.waves import joukowsky_rise
from steadyhead.records.plan_numbers import PlanNumbers, RestartEnd
from steadyhead.records.quantities import STANDARD_ATMOSPHERE_PA
from steadyhead.records.station import Station
from steadyhead.station.defaults import GRAVITY
from steadyhead.visits import defaults as d
from steadyhead.visits.drains import section_volume
from steadyhead.visits.facts import Facts
from steadyhead.water import properties


@dataclass(frozen=True, slots=True)
class Refill:
    """What the zone takes until it stands at duty again: a mass balance with the bound of a sudden stop.

    Bound, air not modelled: when the last air leaves the column stops at once.

    Parameters
    ----------
    slack
        Water that brings full but slack pipes to duty, V β Δp; nothing drained. [m³]
    whole
        Water of the whole zone: the most, where it has drained. [m³]
    flow
        Of the filling. [m³/s]
    speed
        Of the filling, in the main behind the station. [m/s]
    surge
        ρ a V of that speed. [Pa]
    """

    slack: float
    whole: float
    flow: float
    speed: float
    surge: float


@dataclass(frozen=True, slots=True)
class Restart:
    """What the steps of a restart are written with.

    Parameters
    ----------
    lasts
        Time from full pipes at duty to no pressure at the highest consumer, by flow: ``lowest``, ``average``;
        empty where the zone is not described. [s]
    at_least
        Only the stated main was counted: the zone lasts longer.
    station
        Water of the outlet section and of one between the valves, if they have drained. [m³]
    refill
        Of the zone; None where it is not described.
    normal, fault
        Weakest limits on the consumer side [Pa at datum] with their components; None where none is stated.
    ends
        What the surge engine found for a reset; empty where it was not asked.
    """

    lasts: dict[str, float]
    at_least: bool
    station: float
    refill: Refill | None
    normal: tuple[str, float] | None
    fault: tuple[str, float] | None
    ends: tuple[RestartEnd, ...] = ()


def worked_out(facts: Facts, numbers: PlanNumbers) -> Restart:
    """Return the figures of a restart of one line.

    Parameters
    ----------
    facts, numbers
        The station and its figures; the two ends of a reset come from `numbers.restart_ends`.

    Notes
    -----
    t = V β Δp / Q: full pipes hold almost nothing. It runs to the first air at the highest consumer, not to
    the last drop (design handbook 7.4 R2). Q stays as it was; it falls with the pressure, which gives more.
    """
    station = facts.station
    density = properties(station.water.temperature.si, STANDARD_ATMOSPHERE_PA).density
    components = limits.component_limits(station, density)
    normal, fault = limits.weakest_normal(components), limits.weakest_fault(components)
    sections = 1 + len(facts.inner_drains)
    return Restart(
        lasts=_lasts(facts, density),
        at_least=_is_lower_bound(station),
        station=sections * section_volume(facts.outlet_valve.size.si),
        refill=_refill(
            facts,
            density,
            None if normal is None else normal.normal_at_datum,
            _room_to_trip(numbers),
        ),
        normal=None if normal is None else (normal.component, normal.normal_at_datum or 0.0),
        fault=None if fault is None else (fault.component, fault.fault_at_datum or 0.0),
        ends=numbers.restart_ends,
    )


def _is_lower_bound(station: Station) -> bool:
    stiffness = zone_stiffness(station.zone)
    return stiffness is not None and stiffness.lower_bound


def _room(facts: Facts, density: float) -> float:
    """Return the pressure from duty down to nothing at the highest consumer. [Pa]"""
    station, duty = facts.station, facts.last_reducer.duty.pressure.si
    highest = station.zone.highest or station.zone.level
    level = highest.si if highest is not None else station.station.datum.si
    return max(duty - density * GRAVITY * (level - station.station.datum.si), 0.0)


def _lasts(facts: Facts, density: float) -> dict[str, float]:
    stiffness, demand = zone_stiffness(facts.station.zone), facts.station.demand
    if stiffness is None:
        return {}
    held = stiffness.compliance * _room(facts, density)
    flows = {"lowest": demand.night.si, "average": demand.average.si}
    return {name: held / flow for name, flow in flows.items() if flow > 0.0}


def _room_to_trip(numbers: PlanNumbers) -> float | None:
    """Return the pressure from duty up to the lower edge of the trip [Pa]; None where it is not known."""
    found = numbers.target_reading
    return found["trip_low"] - found["duty"] if {"trip_low", "duty"} <= set(found) else None


def _refill(facts: Facts, density: float, limit: float | None, to_trip: float | None) -> Refill | None:
    """Return the filling of the zone: at the usual speed, or slower where ρ a V would pass a bound.

    limit: of the consumers [Pa at datum]. to_trip: from duty to where the shut-off may act: the last air
    must not trip it a second time (design handbook 10.3, incident 2). [Pa]
    """
    station = facts.station
    stiffness, main = zone_stiffness(station.zone), station.zone.main
    if stiffness is None:
        return None
    bore = main.bore.si if main is not None else facts.outlet_valve.size.si
    wave = wave_speed_of(main, density).si if main is not None else d.IRON_WAVE_SPEED.si
    duty = facts.last_reducer.duty.pressure.si
    rooms = [max(limit - duty, 0.0)] if limit is not None else []
    rooms += [to_trip] if to_trip is not None and to_trip > 0.0 else []
    speed = min([d.FILL_VELOCITY.si, *(room / (density * wave) for room in rooms)])
    surge = joukowsky_rise(density=density, wave_speed=wave, velocity_drop=speed)
    slack = stiffness.compliance * _room(facts, density)
    return Refill(slack, stiffness.volume, speed * pi / 4.0 * bore**2, speed, surge)


def in_words(seconds: float) -> str:
    """Return a time as people plan with it, rounded down: seconds, from two minutes on minutes, then hours.

    Examples
    --------
    >>> in_words(4.4), in_words(389.0), in_words(9000.0)
    ('4 s', '6 min', '2 h')
    """
    if seconds < 120.0:
        return f"{seconds // 1.0:.0f} s"
    return f"{seconds // 3600.0:.0f} h" if seconds >= 7200.0 else f"{seconds // 60.0:.0f} min"


def told(restart: Restart) -> tuple[Finding, ...]:
    """Return what the figures of a restart give cause to say."""
    found = []
    if restart.refill is None:
        found.append(Finding("RUN-83", "zone", Severity.HEED))
    if restart.normal is None:
        found.append(Finding("RUN-84", "limits", Severity.HEED))
    worst = worst_of(restart.ends, throttled=False)
    if worst is not None and (worst.trips or worst.passes):
        params = {
            "found": worst.found,
            "health": worst.health,
            "peak": Amount("pressure", worst.outlet),
            "comes_to": "passes a limit" if worst.passes else "trips again",
        }
        found.append(Finding("RUN-82", "line", Severity.HEED, params=params))
    return tuple(found)


def worst_of(ends: tuple[RestartEnd, ...], *, throttled: bool) -> RestartEnd | None:
    """Return the worst end of a reset, inlet valve fully open or throttled; None where none was run."""
    mine = [one for one in ends if one.throttled == throttled]
    return max(mine, key=lambda one: (one.passes, one.outlet, one.trips), default=None)
