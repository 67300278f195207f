"""Take a station apart into its ways, each judged as a line of its own with what the others do to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from steadyhead.design.basis import Basis, Leading
from steadyhead.design.twin import SteadyTwin
from steadyhead.records.parts import Parallel, flat
from steadyhead.records.station import Station
from steadyhead.station.streams import View, views


def ways_of(station: Station) -> tuple[Basis, ...]:
    """Return each way through a station ready to be judged: main and duty first, low flow last.

    A station of one way gives itself. On a way the other streams are isolated and tight; what they add is
    the lock-up of the one that leads at zero flow, of those not locked shut.

    Parameters
    ----------
    station
        A checked station file.
    """
    found = views(station)
    if len(found) == 1:
        return (Basis(station, SteadyTwin(station)),)
    alone = [Basis(view.station, SteadyTwin(view.station), whole=station, view=view) for view in found]
    leads = [_leading(one) for one in alone]
    return tuple(
        replace(one, leading=_highest(other for j, other in enumerate(leads) if j != i))
        for i, one in enumerate(alone)
    )


def way_in(basis: Basis, changed: Station) -> Basis:
    """Return the same way of a changed file, its twin and the other ways' lock-up worked out again."""
    if basis.view is None:
        return Basis(changed, SteadyTwin(changed))
    return next(one for one in ways_of(changed) if one.view is not None and one.view.id == basis.view.id)


def same_twin(basis: Basis, changed: Station) -> Basis:
    """Return the same way of a file changed in nothing the twin or a lock-up rests on."""
    if basis.view is None:
        return Basis(changed, basis.twin)
    return Basis(basis.way_of(changed), basis.twin, whole=changed, view=basis.view, leading=basis.leading)


def in_service(station: Station, view: View) -> bool:
    """Return whether no branch of a way stands locked shut."""
    taken = set(view.branches.values())
    return not any(
        branch.locked_shut
        for part in station.parts()
        for branch in getattr(part, "branches", ())
        if branch.id in taken
    )


def own_parts(basis: Basis) -> frozenset[str]:
    """Return the ids of the parts on the branches a way takes, those common to all ways left out."""
    view = basis.view
    if view is None:
        return frozenset()
    taken = set(view.branches.values())
    groups = (part for part in basis.file.parts() if isinstance(part, Parallel))
    branches = (b for group in groups for b in group.branches if b.id in taken)
    return frozenset(part.id for branch in branches for part in flat(branch.line))


def _leading(basis: Basis) -> Leading | None:
    assert basis.view is not None
    assert basis.whole is not None
    if not basis.layout.reducers or not in_service(basis.whole, basis.view):
        return None
    worker = basis.worker
    return Leading(worker, basis.twin.lockup(worker.id))


def _highest(found: Iterable[Leading | None]) -> Leading | None:
    known = [one for one in found if one is not None]
    return max(known, key=lambda one: max(one.lockup.si, one.reducer.duty.pressure.si), default=None)
