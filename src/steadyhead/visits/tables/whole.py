"""The whole graph of a first commissioning: every table in its place, and the choices that select ways."""

from __future__ import annotations

from steadyhead.records.procedure import Choice, Node
from steadyhead.visits.tables import (
    a_preconditions,
    b_isolate,
    c_fill,
    d_static,
    ds_downstream,
    e_settings,
    f_trip,
    g_alarm,
    h_performance,
    injection,
    j_service,
    k_records,
    monitoring,
    relieving,
    service_checks,
    two_reducers,
    vessels,
)
from steadyhead.visits.tables.desk import Desk, Needs, one_of


def nodes(desk: Desk) -> tuple[Node, ...]:
    """Return every step of a first commissioning, in the order of the tables."""
    facts = desk.facts
    shut_off = facts.shut_off if facts.is_downstream else None
    settings = (*(ds_downstream.nodes(desk, shut_off) if shut_off is not None else e_settings.nodes(desk)),)
    pump = tuple(injection.nodes(desk))
    found = [
        *a_preconditions.nodes(desk),
        *b_isolate.nodes(desk),
        *vessels.charges(desk),
        *c_fill.nodes(desk),
        *d_static.nodes(desk),
        *((*settings, *pump) if facts.can_isolate else (*pump, *settings)),
        *two_reducers.nodes(desk),
        *monitoring.nodes(desk),
        *relieving.nodes(desk),
        *f_trip.nodes(desk),
        *g_alarm.nodes(desk),
        *monitoring.proofs(desk),
    ]
    found = [relieving.beyond(desk, node) for node in found]
    ids = [node.id for node in found]
    ahead = [i for i in ids if i.startswith(("F5.", "TS1.", "R2.")) or i == "G4"]
    found += h_performance.nodes(desk, ahead)
    ends: list[Needs] = [i for i in ("H5", "H6", "G5") if i in {node.id for node in found}]
    ends += [i for i in ids if i.startswith(("MN1.", "R2.", "R4."))]
    ends += [i for i in ids if i.startswith(("F5.", "IN5.", "G2.", "G3."))]
    back = list(vessels.returned(desk, ends))
    found += back
    ends = [*ends, *(node.id for node in back)]
    if facts.is_injected and not facts.can_isolate:
        ends += [one_of(f"EF2.{valve.id}", f"IN2.{valve.id}") for valve in facts.layout.shut_offs]
    sealed = list(ds_downstream.sealed(desk, ends))
    found += sealed
    found += j_service.nodes(desk, [node.id for node in sealed] or ends)
    found += service_checks.nodes(desk, ["J3"])
    found += k_records.nodes(desk, ["J6"])
    return tuple(found)


def choices(desk: Desk) -> tuple[Choice, ...]:
    """Return the choice of each pilot with the steps its two options open."""
    shut_off = desk.facts.shut_off if desk.facts.is_downstream else None
    tables = (
        c_fill.opened(desk),
        e_settings.opened(desk) if shut_off is None else ds_downstream.opened(desk, shut_off),
        injection.opened(desk),
        h_performance.opened(desk),
    )
    opened: dict[tuple[str, str], list[str]] = {}
    for table in tables:
        for option, ids in table.items():
            opened.setdefault(option, []).extend(ids)
    return a_preconditions.choices(desk, opened)
