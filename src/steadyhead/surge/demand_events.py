"""Events of the station file: a flow that begins or stops, as large and as fast as it says, or otherwise."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, get_args

from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics.cases import FlowCase, InletCase
from steadyhead.records.demand_event import DemandEvent
from steadyhead.surge import defaults as d
from steadyhead.surge.from_station import Drafted, draft
from steadyhead.surge.plant import Plant
from steadyhead.surge.schedule import Schedule, Straight
from steadyhead.surge.starting import start
from steadyhead.surge.state import State

if TYPE_CHECKING:
    from steadyhead.surge.events import Begin, Maker, Study

T0 = d.EVENT_AT.si
FLOW_WORDS: dict[str, FlowCase] = {f"{name} flow": name for name in get_args(FlowCase)}


def demand_ramps(
    before: Drafted, after: Drafted, shares: Sequence[tuple[float, float]]
) -> tuple[Straight, ...]:
    """Return how the demand of every joint moves between two situations.

    Parameters
    ----------
    before, after
        The situations.
    shares
        Moments [s] and share of the way from one to the other.
    """
    there = after.demands
    return tuple(
        Straight(joint, "demand", tuple((time, k + share * (there[joint] - k)) for time, share in shares))
        for joint, k in before.demands.items()
        if k != there[joint] or k > 0.0
    )


def step_shares(within: float, lasts: float | None = None) -> list[tuple[float, float]]:
    """Return a change within a time, and back again after a while. [s]

    Examples
    --------
    >>> step_shares(2.0, 10.0)
    [(0.0, 0.0), (1.0, 0.0), (3.0, 1.0), (13.0, 1.0), (15.0, 0.0)]
    """
    found = [(0.0, 0.0), (T0, 0.0), (T0 + within, 1.0)]
    if lasts is not None:
        found += [(T0 + within + lasts, 1.0), (T0 + 2.0 * within + lasts, 0.0)]
    return found


@dataclass(frozen=True, slots=True)
class Trial:
    """An event of the file, to be run larger or smaller, slower or faster.

    Parameters
    ----------
    event
        As the file has it.
    change, within, lasts
        As stated, or as the command line has it: [m³/s], [s], [s].
    most
        Largest change tried. [m³/s]
    begin
        Inputs and state of a start, for a change and a time.
    """

    event: DemandEvent
    change: float
    within: float
    lasts: float | None
    most: float
    begin: Callable[[float, float], Begin]

    def over(self, within: float) -> float:
        """Return when the last change is done. [s]"""
        return step_shares(within, self.lasts)[-1][0]


def file_event(make: Maker, event: DemandEvent) -> Iterator[Study]:
    """Yield the run of an event of the file on one way; none where a low-flow stream cannot carry it.

    Raises
    ------
    InputError, NotConverged
        More stops than flows, or the station cannot pass the flow.
    """
    inlet: InletCase = event.inlet
    flow = FLOW_WORDS[event.at]
    before = event.before.si if event.before else make.case(inlet, flow).conditions.consumer_flow or 0.0
    if make.view.role == "low flow" and before + event.change > make.model.reducers[-1].duty.flow.si:
        return
    if before + event.change < 0.0:
        problem = f"{1e3 * -event.change:.3g} L/s stop where {1e3 * before:.3g} L/s flow."
        raise InputError(f"event {event.id}", problem, "State the flow before, or a smaller one that stops.")
    within = make.within or event.within.si
    lasts = event.lasts.si if event.lasts else None

    def drafted(change: float) -> tuple[Drafted, Drafted]:
        place = event.place or ""
        total = max(before + change, 0.0)
        gone, come = (-change, 0.0) if change < 0.0 else (0.0, change)
        if not place:
            gone = come = 0.0
        return (
            _at(make, inlet, flow, before, gone, place),
            _at(make, inlet, flow, total, come, place),
        )

    def begin(change: float, time: float) -> Begin:
        first, then = drafted(change)
        schedule = Schedule(demand_ramps(first, then, step_shares(time, lasts)))

        def started(plant: Plant) -> tuple[Schedule, State]:
            return schedule, start(plant, schedule)

        return started

    first, then = drafted(event.change)
    longer = step_shares(within, lasts)[-1][0] - T0
    study = make.study(
        event.id, "", _happens(event, within), first, begin(event.change, within), longer=longer,
        regulating=(first, then),
    )  # fmt: skip
    most = -before if event.change < 0.0 else _largest(event.change, drafted)
    yield replace(study, trial=Trial(event, event.change, within, lasts, most, begin))


def _at(make: Maker, inlet: InletCase, flow: FlowCase, total: float, extra: float, place: str) -> Drafted:
    found = make.case(inlet, flow)
    conditions = replace(found.conditions, consumer_flow=total)
    drafted = draft(make.model, replace(found, conditions=conditions), extra=extra, place=place)
    if drafted.before.consumer_end < 0.0:
        raise InputError("flow", "the pressure at the consumers is below that of the air.", "")
    return drafted


def _largest(change: float, drafted: Callable[[float], object]) -> float:
    """Return the largest draw-off tried: as far as the steady twin has an answer. [m³/s]"""
    most = change
    while most < d.LARGEST_OF_STATED.si * change:
        try:
            drafted(d.TRIED_LARGER.si * most)
        except (InputError, NotConverged):
            return most
        most *= d.TRIED_LARGER.si
    return most


def _happens(event: DemandEvent, within: float) -> str:
    flow = event.draws or event.stops
    assert flow is not None
    what = event.what or ("water is drawn" if event.draws else "water is no longer drawn")
    verb = "more are drawn" if event.draws else "less are drawn"
    where = f" at the end of reach {event.place}" if event.place else ""
    after = f", for {event.lasts.text}" if event.lasts else ""
    before = f", {event.before.text} flowing before" if event.before else ""
    return f"{what}: {flow.text} {verb}{where} within {within:g} s{after}{before}"
