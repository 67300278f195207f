"""What the surge engine says about a reset after a trip: both ends, inlet valve fully open and throttled."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from steadyhead.design.limits import component_limits
from steadyhead.errors import InputError, NotConverged
from steadyhead.findings import Finding
from steadyhead.hydraulics import build
from steadyhead.records.plan_numbers import PlanNumbers, RestartEnd
from steadyhead.records.station import Station
from steadyhead.records.surge import SurgeRun
from steadyhead.station.streams import View, views
from steadyhead.surge.events import Study, restarts, studies
from steadyhead.surge.study import run_study

KEPT = 8
"""Streams whose ends are kept for the next plan of theirs. [1]"""


def restart_ends(
    station: Station, numbers: PlanNumbers, stream: str = ""
) -> tuple[tuple[RestartEnd, ...], tuple[Finding, ...]]:
    """Return what a reset comes to: reducer found shut and wide open, sound and failed.

    Holds for full pipes, consumers connected, night flow, highest inlet; air is not modelled. Run with the
    inlet valve fully open, and with it at the V2 opening of the plan; of streams behind one shut-off the
    least of theirs.

    Parameters
    ----------
    station, numbers
        The station and the figures of its plan.
    stream
        Way that tripped; empty: the first with a shut-off.

    Returns
    -------
    tuple
        The ends, and findings of runs that could not be begun.
    """
    view = _way(station, stream)
    if view is None:
        return (), ()
    return _run(station, view.id, _least(station, numbers, view))


@lru_cache(maxsize=KEPT)
def _run(
    station: Station, stream: str, share: float | None
) -> tuple[tuple[RestartEnd, ...], tuple[Finding, ...]]:
    view = _way(station, stream)
    assert view is not None
    model = build(view.station)
    told: tuple[Finding, ...] = ()
    found: list[RestartEnd] = []
    try:
        wide, told = studies(view, model, "restart")
        found += _ends(wide, view, model.density, throttled=False)
        if share is not None:
            found += _ends(restarts(view, model, share), view, model.density, throttled=True)
    except (InputError, NotConverged):
        return tuple(found), told
    return tuple(found), told


def with_ends(station: Station, numbers: PlanNumbers, item: str = "") -> PlanNumbers:
    """Return the figures of a restart with both ends of a reset, in those of the stream that tripped too.

    item: the stream as typed, or its shut-off.
    """
    ways = [view for view in views(station) if view.layout.shut_offs]
    wanted = " ".join(item.casefold().replace("stream ", "").split())
    mine = [
        v for v in ways if wanted in ("", v.id.casefold(), *(s.id.casefold() for s in v.layout.shut_offs))
    ]
    if not mine or (not wanted and _several_may_trip(ways, numbers)):
        return numbers  # the plan will not be made, or asks which one tripped
    ends, told = restart_ends(station, numbers, mine[0].id)
    streams = {key: replace(own, restart_ends=ends) for key, own in numbers.streams.items()}
    return replace(numbers, restart_ends=ends, streams=streams, findings=(*numbers.findings, *told))


def _several_may_trip(ways: list[View], numbers: PlanNumbers) -> bool:
    """Return whether more than one stream of a plan has a shut-off that none of the others has."""
    own = [{part.id for part in one.layout.shut_offs} for one in ways if one.id in numbers.streams]
    return sum(all(mine is its or mine - its for its in own) for mine in own) > 1


def _least(station: Station, numbers: PlanNumbers, view: View) -> float | None:
    """Return the least V2 opening of the ways behind the shut-off of one of them; None: none is known."""
    mine = {part.id for part in view.layout.shut_offs}
    keys = [one.id for one in views(station) if mine & {part.id for part in one.layout.shut_offs}]
    own = [numbers.streams.get(key, numbers) for key in (view.id, *keys)]
    return min((one.share for each in own for one in each.inlet_opening.values()), default=None)


def _way(station: Station, stream: str) -> View | None:
    ways = [view for view in views(station) if view.layout.shut_offs]
    return next((view for view in ways if stream in ("", view.id)), None)


def _ends(wanted: tuple[Study, ...], view: View, density: float, *, throttled: bool) -> Iterator[RestartEnd]:
    limits = tuple(component_limits(view.station, density))
    for study in wanted:
        run = run_study(study, limits, way=view.words)
        if run is not None:
            yield _end(study, run, throttled=throttled)


def _end(study: Study, run: SurgeRun, *, throttled: bool) -> RestartEnd:
    _, found, health = study.name.split("-")
    return RestartEnd(
        found="wide open" if found == "open" else "shut",
        health="failed" if health == "failed" else "sound",
        throttled=throttled,
        outlet=run.consumer.judged_at_datum,
        trips=any(one.trips for one in run.shut_offs),
        passes=any(
            (one.verdict == "over" or one.is_rebound_over) and one.side in ("consumer", "outlet")
            and one.begun_at_datum <= one.limit_at_datum
            for one in run.limits
        ),
    )  # fmt: skip
