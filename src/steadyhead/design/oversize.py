"""Is a reducer larger than its flows ask for: would a smaller one still hold, with room for more?"""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.design import defaults as d
from steadyhead.design.report import HEED, NOTE, finding, from_value, share
from steadyhead.findings import Amount, Finding
from steadyhead.laws.lift import opening_of_lift
from steadyhead.records.design import ReducerCase, ReducerSizing
from steadyhead.records.parts import Reducer
from steadyhead.station.mechanics import reducer_twin

MM = 1e-3
_SAME = 0.95


def oversize_findings(sizing: ReducerSizing, reducer: Reducer, where: str) -> Iterator[Finding]:
    """Yield where a reducer stands nearly shut at its highest flow and a smaller one would do.

    Little travel alone is no fault: across a high pressure difference the velocity in the bore decides the
    size. One size more than needed is a note, two or more are to be heeded.

    Parameters
    ----------
    sizing
        The reducer in the design cases.
    reducer, where
        The part, and its place in the file.
    """
    holding = [
        c
        for c in sizing.cases
        if c.inlet_case == "lowest" and c.state != "wide open" and c.travel is not None
    ]
    if not holding:
        return
    most = max(holding, key=lambda c: c.travel or 0.0)
    travel = most.travel or 0.0
    smaller = smaller_sizes(sizing, reducer_twin(reducer).curve_shape.si)
    if travel >= d.TRAVEL_LOW.si or not smaller:
        return
    least = smaller[-1]
    yield finding(
        "SIZ-25",
        where,
        HEED if len(smaller) > 1 else NOTE,
        value=share(travel),
        reducer=reducer.id,
        smaller=Amount("size", least),
        speed=Amount("velocity", most.velocity * (sizing.size / least) ** 2),
        least_travel=share(d.TRAVEL_LOW.si),
        case=f"{most.inlet_case} inlet pressure, {most.flow_case} flow",
        inputs=(
            from_value("least travel", d.TRAVEL_LOW.value()),
            from_value("room for growth", d.GROWTH.value()),
            from_value("velocity, lasting", d.BORE_VELOCITY.value()),
            from_value("velocity, fire", d.BORE_VELOCITY_FIRE.value()),
        ),
    )


def smaller_sizes(sizing: ReducerSizing, curve_shape: float) -> tuple[float, ...]:
    """Return the usual sizes below this one that hold every flow with room for growth, largest first. [m]

    The flow coefficient goes with the area of the bore; growth counts for the peak, not for a fire.
    """
    most_share = opening_of_lift(d.TRAVEL_HIGH.si, curve_shape)
    found = []
    for size in (number * MM for number in reversed(d.VALVE_SIZES_MM)):
        if size > _SAME * sizing.size:
            continue
        area = (size / sizing.size) ** 2
        if not all(
            _fits(case, area, most_share * area * sizing.available_kv)
            for case in sizing.cases
            if case.inlet_case == "lowest"
        ):
            break
        found.append(size)
    return tuple(found)


def _fits(case: ReducerCase, area: float, kv: float) -> bool:
    fire = case.flow_case == "fire"
    growth = 1.0 if fire else d.GROWTH.si
    limit = d.BORE_VELOCITY_FIRE if fire else d.BORE_VELOCITY
    return growth * case.required_kv <= kv and growth * case.velocity / area <= limit.si
