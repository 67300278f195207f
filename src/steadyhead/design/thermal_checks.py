"""Findings about heated water behind the station: room to expand, the vessel, the heater's safety valve."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from steadyhead.design import credit
from steadyhead.design import defaults as d
from steadyhead.design.basis import Basis
from steadyhead.design.ladder import chosen, combined
from steadyhead.design.overshoot import run
from steadyhead.design.report import ASK, HEED, NOTE, STOP, finding, from_value, pressure, share
from steadyhead.design.rungs import Rungs
from steadyhead.design.thermal import Heating, has_vessel, heating
from steadyhead.design.tolerances import trip_tolerances
from steadyhead.findings import Amount, Finding, Input
from steadyhead.records.ladder import Contribution, Ladder
from steadyhead.records.parts import ExpansionVessel
from steadyhead.records.station import HotWater

THE_TRIP = "the trip's lower edge"


def thermal_findings(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    """Yield the findings about heated water and expansion vessels."""
    hot = basis.station.hot_water
    if hot is None:
        yield from _asked(basis)
    else:
        yield from _safety_valve(basis, rungs, hot)
        yield from _heated(basis, rungs)
    for vessel in basis.vessels:
        yield from _vessel(basis, rungs, vessel)
    yield from _counted(basis, rungs)


def _asked(basis: Basis) -> Iterator[Finding]:
    """Yield the question after heaters in a building; a note where something takes the expansion up."""
    if basis.station.station.kind == "building plant room":
        eased = bool(basis.vessels or basis.reliefs)
        yield finding("LAD-73", "hot_water", NOTE if eased else ASK)


def _safety_valve(basis: Basis, rungs: Rungs, hot: HotWater) -> Iterator[Finding]:
    valve = hot.safety_valve
    if valve is None:
        return
    most = d.SAFETY_VALVE_SHARE.si * valve.pressure.si + basis.head(valve.level)
    if rungs.ladder.highest_normal > most:
        yield finding(
            "LAD-71",
            "hot_water.safety_valve",
            HEED,
            value=pressure(rungs.ladder.highest_normal),
            limit=pressure(most),
            inputs=(
                from_value("safety valve", valve.pressure),
                from_value("share", d.SAFETY_VALVE_SHARE.value()),
            ),
        )


def _heated(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    found = heating(basis, rungs.ladder.highest_normal)
    if found is None:
        return
    hit = _hit(basis, rungs)
    if not has_vessel(basis):
        yield from _no_vessel(basis, rungs, found, hit)
        return
    reached = [(edge, what) for edge, what in _edges(basis, rungs) if found.ends > edge]
    edge, what = hit or min(reached, default=(0.0, ""))
    yield finding(
        "LAD-69" if reached else "LAD-70",
        "hot_water",
        STOP if hit else HEED if reached else NOTE,
        value=pressure(found.ends if hit is None or rungs.ladder.heated is None else rungs.ladder.heated),
        limit=pressure(edge) if reached else None,
        heated=_typed(basis),
        grows=_grows(basis, found),
        starts=pressure(found.starts),
        inputs=(*_grounds(basis), *_vessel_grounds(basis)),
        what=what,
    )


def _hit(basis: Basis, rungs: Rungs) -> tuple[float, str] | None:
    """Return the lowest of normal limit and trip that heating reaches, a relief valve at its upper edge."""
    ends = rungs.ladder.heated
    if ends is None:
        return None
    trips = _reaches_trip(basis, rungs.ladder, ends)
    found = [
        (edge, what)
        for edge, what in _forbidden(basis, rungs)
        if (trips if what == THE_TRIP else ends > edge)
    ]
    return min(found, default=None)


def _reaches_trip(basis: Basis, ladder: Ladder, ends: float) -> bool:
    """Return whether heating may trip the shut-off; ± of relief valve and trip add up as the station says."""
    given, stacking, shut_off = ladder.inputs, chosen(ladder, basis.station.stacking), basis.layout.shut_off
    if shut_off is None or given.trip is None or stacking.trip_lower_edge is None:
        return False
    if given.relief_crack is None or ends < given.relief_crack + given.relief_error:
        return ends >= stacking.trip_lower_edge
    moves = (Contribution("crack", given.relief_error), *trip_tolerances(basis, shut_off, given.trip))
    return given.relief_crack + combined(moves, stacking.name) >= given.trip


def _typed(basis: Basis) -> str:
    hot = basis.station.hot_water
    assert hot is not None
    return hot.volume.text


def _grows(basis: Basis, found: Heating) -> Amount:
    hot = basis.station.hot_water
    assert hot is not None
    return share(found.expands / hot.volume.si)


def _no_vessel(
    basis: Basis, rungs: Rungs, found: Heating, hit: tuple[float, str] | None
) -> Iterator[Finding]:
    opens = min((relief.crack.si for relief in basis.reliefs), default=None)
    way = "Nothing lets it off before the heater's safety valve."
    if opens is not None:
        way = "The relief valve lets it off, every time."
    if hit is not None:
        way += f" But it may lift only beyond {hit[1]}."
    yield finding(
        "LAD-68",
        "hot_water",
        STOP if hit else ASK if opens is None else NOTE,
        value=pressure(rungs.ladder.heated) if hit and rungs.ladder.heated is not None else None,
        limit=pressure(hit[0]) if hit else None,
        per_kelvin=pressure(found.per_kelvin),
        heated=_typed(basis),
        grows=_grows(basis, found),
        way=way,
        inputs=_grounds(basis),
    )


def _edges(basis: Basis, rungs: Rungs) -> Iterator[tuple[float, str]]:
    """Yield what heating must not reach, with its words."""
    given = rungs.ladder.inputs
    if given.relief_crack is not None:
        yield given.relief_crack - given.relief_error, "the relief valve's lower edge"
    if given.alarm is not None:
        yield given.alarm - given.alarm_error, "the alarm's lower edge"
    yield from _forbidden(basis, rungs)


def _forbidden(basis: Basis, rungs: Rungs) -> Iterator[tuple[float, str]]:
    """Yield what stops a release where heating reaches it: the trip, and the limit of normal running."""
    ladder = rungs.ladder
    trip = chosen(ladder, basis.station.stacking).trip_lower_edge
    if trip is not None:
        yield trip, THE_TRIP
    if ladder.weakest_normal is not None and ladder.weakest_normal.normal_at_datum is not None:
        yield ladder.weakest_normal.normal_at_datum, f"the normal limit of {ladder.weakest_normal.component}"


def _grounds(basis: Basis) -> tuple[Input, ...]:
    hot = basis.station.hot_water
    assert hot is not None
    return (
        from_value("heated water", hot.volume),
        from_value("before heating", hot.cold or basis.station.water.temperature),
        from_value("after heating", hot.hot or d.HOT_WATER.value()),
    )


def _vessel_grounds(basis: Basis) -> tuple[Input, ...]:
    """Return volume and precharge of each vessel that counts."""
    found: list[Input] = []
    for one in basis.vessels:
        if one.volume is not None and one.precharge is not None:
            found.append(from_value(f"volume of {one.id}", one.volume))
            found.append(from_value(f"precharge of {one.id}", one.precharge))
    return tuple(found)


def _vessel(basis: Basis, rungs: Rungs, vessel: ExpansionVessel) -> Iterator[Finding]:
    if vessel.precharge is None or vessel.volume is None:
        missing = "precharge" if vessel.precharge is None else "volume"
        yield finding("LAD-72", basis.part_place(vessel.id, missing), ASK, vessel=vessel.id, missing=missing)
    elif vessel.precharge.si > rungs.ladder.inputs.lockup:
        yield finding(
            "LAD-74",
            basis.part_place(vessel.id, "precharge"),
            HEED,
            value=pressure(vessel.precharge.si),
            limit=pressure(rungs.ladder.inputs.lockup),
            vessel=vessel.id,
            inputs=(from_value("precharge", vessel.precharge),),
        )


def _counted(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    """Yield what the overshoot would be with the vessel's gas lost."""
    trip, closing, given = rungs.looked_at, rungs.closing, rungs.ladder.overshoot
    soft = 0.0 if trip is None else credit.vessel_compliance(basis, trip)
    if trip is None or closing is None or given is None or soft <= 0.0:
        return
    most = 0.0
    for one in credit.credited(basis):
        case = credit.zone_case(basis, within=one.within.si, at=one.at, trip=trip, closing_time=closing.si)
        if case is not None:
            most = max(most, run(replace(case, compliance=case.compliance - soft)).overshoot)
    yield finding(
        "LAD-75",
        basis.part_place(basis.vessels[0].id),
        HEED if most > given + (d.SAME_SETTING.si) else NOTE,
        vessel=" and ".join(vessel.id for vessel in basis.vessels),
        counted=pressure(given),
        without=pressure(most),
        inputs=(
            *_vessel_grounds(basis),
            Input("exponent of the gas", d.GAS_EXPONENT.text, d.GAS_EXPONENT.value().provenance),
        ),
        case="credited failure, lumped zone",
    )
