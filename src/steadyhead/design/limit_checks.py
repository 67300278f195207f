"""Findings about limits: none stated, one for both questions, warm plastic, an outlet too weak to prove."""

from __future__ import annotations

import re
from collections.abc import Iterator

from steadyhead.design import defaults as d
from steadyhead.design import limits
from steadyhead.design.basis import Basis
from steadyhead.design.ladder import chosen
from steadyhead.design.report import ASK, HEED, NOTE, STOP, finding, from_value, pressure
from steadyhead.design.rungs import Rungs
from steadyhead.findings import Amount, Finding
from steadyhead.records.station import Limit


def limit_findings(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    """Yield the findings about the stated limits themselves."""
    if rungs.ladder.inputs.fault_limit is None:
        yield finding("LAD-01", "limits", STOP)
    for index, limit in enumerate(basis.station.limits):
        stated = [got for got in (limit.normal, limit.fault) if got is not None]
        if len(stated) == 1:
            yield finding(
                "LAD-02",
                basis.place("limits", index),
                NOTE,
                value=pressure(stated[0].si),
                component=limit.component,
                inputs=(from_value("limit", stated[0]),),
            )
    yield from _warm_plastic(basis)
    yield from _outlet_in_a_proof(basis, rungs)


def is_plastic(limit: Limit) -> bool:
    """Return whether the words of a limit tell that its component is plastic."""
    return re.search(d.PLASTIC_WORDS, f"{limit.component} {limit.source}") is not None


def _warm_plastic(basis: Basis) -> Iterator[Finding]:
    water, zone = basis.station.water, basis.station.zone
    warmest = water.highest or water.temperature
    if warmest.si <= d.RATING_TEMPERATURE.si:
        return
    named = [(index, one) for index, one in enumerate(basis.station.limits) if is_plastic(one)]
    asked = [(basis.place("limits", i), one.component) for i, one in named if one.derating is None]
    walls = (zone.material, zone.main.material if zone.main is not None else "other")
    plastic = next((wall for wall in walls if wall in d.PLASTIC_WALLS), None)
    if not named and plastic is not None and all(one.derating is None for one in basis.station.limits):
        asked = [("limits", f"the zone's {plastic}")]
    for where, component in asked:
        yield finding(
            "LAD-41",
            where,
            ASK,
            value=Amount("temperature", warmest.si),
            rated_at=Amount("temperature", d.RATING_TEMPERATURE.si),
            component=component,
            inputs=(
                from_value("water.highest" if water.highest else "water.temperature", warmest),
                from_value("class stated at", d.RATING_TEMPERATURE.value()),
            ),
        )


def _outlet_in_a_proof(basis: Basis, rungs: Rungs) -> Iterator[Finding]:
    shut_off = basis.layout.shut_off
    if shut_off is None or shut_off.live_trip == "not allowed":
        return
    edge = chosen(rungs.ladder, basis.station.stacking).trip_upper_edge
    weakest = limits.weakest_normal(limits.component_limits(basis.station, basis.density), "outlet")
    bears = None if weakest is None else weakest.normal_at_datum
    if weakest is None or edge is None or bears is None or edge <= bears:
        return
    yield finding(
        "LAD-42",
        "limits",
        HEED,
        value=pressure(edge),
        limit=pressure(bears),
        component=weakest.component,
        shut_off=shut_off.id,
    )
