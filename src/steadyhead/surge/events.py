"""Events a station may meet, each with the situation it begins in and what then moves."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from math import nan

from steadyhead.errors import InputError, NotConverged
from steadyhead.findings import Finding, Severity
from steadyhead.hydraulics import Model, case
from steadyhead.hydraulics.cases import Case, FlowCase, InletCase, inlet_pressure
from steadyhead.records.parts import IsolatingValve
from steadyhead.records.station import Station
from steadyhead.station.streams import ALL, View
from steadyhead.surge import defaults as d
from steadyhead.surge.air import air_studies
from steadyhead.surge.causes import is_uncredited
from steadyhead.surge.demand_events import Trial, demand_ramps, file_event, step_shares
from steadyhead.surge.entry import ends, entered, mains_of, with_entry
from steadyhead.surge.found_standing import found_standing, restarting
from steadyhead.surge.from_station import SUPPLY, Drafted, draft
from steadyhead.surge.hunting import Settled, joined_settled, settle
from steadyhead.surge.plan import DirectReducerRow, Plan, ReducerRow, ShutOffRow
from steadyhead.surge.plant import Plant
from steadyhead.surge.schedule import Held, Schedule, Straight
from steadyhead.surge.starting import start, start_standing, steady_rest
from steadyhead.surge.state import State
from steadyhead.surge.together import in_event

REGULATING: tuple[tuple[InletCase, FlowCase], ...] = (
    ("typical", "night"),
    ("typical", "average"),
    ("typical", "peak"),
    ("static", "night"),
    ("static", "average"),
)
"""Situations in which reducers regulate in the runs below."""
Begin = Callable[[Plant], tuple[Schedule, State]]
ReducerPart = ReducerRow | DirectReducerRow
T0 = d.EVENT_AT.si
OWN_TIME = ("pilot-stuck", "diaphragm-torn", "restart", "air-in-chamber")
"""Events whose time nobody gives."""
ALONE = ("opening", "restart", "air-in-chamber")
"""Events run on each way alone, not on all streams together."""
EVENTS = {
    "demand-falls": "demand falls from peak to night flow within a second",
    "demand-rises": "demand rises from night to peak flow within a second",
    "supply-rises": "the supply rises from typical to its highest within a second",
    "supply-falls": "the supply falls from its highest to its lowest within a second",
    "fails-open": "a reducer is driven wide open, as the file credits it or within 5 s",
    "pilot-stuck": "the pilot of a reducer sticks open",
    "diaphragm-torn": "the diaphragm of a reducer tears",
    "inlet-valve-closed": "the inlet isolating valve is closed, a turn a second",
    "outlet-valve-closed": "the outlet isolating valve is closed, a turn a second",
    "screw-turned": "the screw of a reducer is raised by a turn in a second",
    "opening": "the inlet isolating valve is opened onto a primed line",
    "restart": "a tripped shut-off is opened again: reducer found shut or wide open, sound or failed",
    "air-in-chamber": "air stands in the chamber of a reducer and demand falls a little",
}
"""Every event by name; where a station has several reducers, and for a restart, one run each."""


@dataclass(frozen=True, slots=True)
class Study:
    """One run to make.

    Parameters
    ----------
    event, name
        The event, and this run of it.
    happens
        What happens, in words.
    drafted
        Plan and situation at the start.
    begin
        Inputs and state of the start, for a plan cut as finely as wanted.
    event_at, until
        [s]
    is_primed
        Whether it begins with a line found standing.
    trial
        Of an event of the file: how it is run larger or smaller, slower or faster.
    is_uncredited
        Whether a reducer fails that a shut-off stands behind, in a way the file credits no failure for.
    usual, usual_until
        The plan with every value at its default, where it is run with others, and how long it may be read
        [s]; None: they are the same.
    other_end
        The plan at the other end of the band of mains the zone is entered through; None: there is none, or
        the reducers that regulate hunt there.
    """

    event: str
    name: str
    happens: str
    drafted: Drafted
    begin: Begin
    event_at: float
    until: float
    is_primed: bool = False
    trial: Trial | None = None
    is_uncredited: bool = False
    usual: Plan | None = None
    usual_until: float = 0.0
    other_end: Plan | None = None


def studies(
    view: View,
    model: Model,
    wanted: str = "",
    within: float | None = None,
    ways: Sequence[tuple[View, Model]] = (),
) -> tuple[tuple[Study, ...], tuple[Finding, ...]]:
    """Return the runs of one way through a station, and what of them cannot be begun.

    Of all streams together those that begin at rest; openings and restarts are run on each way alone.

    Parameters
    ----------
    view, model
        The way, and its steady twin.
    wanted
        An event, or one run of it; empty: all.
    within
        Time in which a reducer fails open, a valve is moved or a screw turned; None: as usual. [s]
    ways
        Of all streams together: the ways alone, which say how their reducers run quietly.

    Raises
    ------
    InputError
        An event nobody knows, a time not above 0.
    """
    if within is not None and not within > 0.0:
        raise InputError("--within", f"got {within:g} s.", "Give a time above 0 s.")
    if within is not None and within > d.MOST_WITHIN.si:
        raise InputError(
            "--within",
            f"got {within:g} s; at most {d.MOST_WITHIN.text} is run.",
            "What is slower comes with no wave: see check.",
        )
    known = names_of(view.station)
    event = wanted if wanted in known else ""
    event = event or next((name for name in EVENTS if wanted.startswith(f"{name}-")), "")
    if wanted and not event:
        near = get_close_matches(wanted.lower(), [name.lower() for name in known], 1)
        meant = next((f"Did you mean {name}? " for name in known if name.lower() in near), "")
        raise InputError("--event", f"got {wanted!r}.", f"{meant}Known are: {', '.join(known)}.")
    if within is not None and event in OWN_TIME:
        raise InputError(
            "--within", f"has no part in {event}: how fast it goes is the valve's own.", "Leave it out."
        )
    make = Maker(view, model, within, ways=tuple(Maker(*way, within) for way in ways))
    if view.role == ALL:
        known = [name for name in known if name not in ALONE]
        if event in ALONE:
            return (), ()
    of_file = {one.id: one for one in view.station.events}
    found: list[Study] = []
    missed: list[Finding] = []
    for name in [event] if event else known:
        try:
            found += file_event(make, of_file[name]) if name in of_file else _MAKERS[name](make)
        except (InputError, NotConverged) as problem:
            params = {"reason": str(problem), **in_event(name)}
            missed.append(Finding("SUR-17", "the run", Severity.HEED, params, case=name))
    if wanted not in ("", event):
        found = [study for study in found if study.name == wanted]
        if not found and not missed:
            raise InputError("--event", f"got {wanted!r}.", f"Ask for {event} to see its runs.")
    found = [replace(study, is_uncredited=is_uncredited(model, study.event, within)) for study in found]
    return tuple(found), (*missed, *make.told)


def names_of(station: Station) -> list[str]:
    """Return the events of a station by name: those every station may meet, and its own.

    Raises
    ------
    InputError
        An event of the file is called as one of ours.
    """
    own = [one.id for one in station.events]
    taken = next((name for name in own if name in EVENTS), "")
    if taken:
        raise InputError("events", f"{taken!r} is an event every station has.", "Give yours another id.")
    return [*EVENTS, *own]


@dataclass(frozen=True, slots=True)
class Maker:
    """Makes the runs of one way."""

    view: View
    model: Model
    within: float | None
    kept: list[Settled] = field(default_factory=list)
    ways: tuple[Maker, ...] = ()

    def case(self, inlet: InletCase, flow: FlowCase) -> Case:
        """Return a case; a low-flow stream carries no more than its duty flow."""
        found = case(self.model.station, inlet, flow)
        most = self.model.reducers[-1].duty.flow.si if self.view.role == "low flow" else None
        asked = found.conditions.consumer_flow or 0.0
        flow_now = asked if most is None else min(asked, most)
        return replace(found, conditions=replace(found.conditions, consumer_flow=flow_now))

    def draft(self, inlet: InletCase, flow: FlowCase) -> Drafted:
        """Return the plan of the way in a case."""
        drafted = draft(self.model, self.case(inlet, flow))
        if drafted.before.consumer_end < 0.0:
            raise InputError("flow", "the pressure at the consumers is below that of the air.", "")
        return drafted

    @property
    def settled(self) -> Settled:
        """The member of the uncalibrated band that runs with regulating reducers are made with."""
        if not self.kept and self.ways:
            self.kept.append(joined_settled([way.settled for way in self.ways]))
        if not self.kept:
            drafts = []
            for inlet, flow in REGULATING:
                with suppress(InputError, NotConverged):
                    drafts.append(self.draft(inlet, flow))
            self.kept.append(settle(drafts))
        return self.kept[0]

    @property
    def told(self) -> tuple[Finding, ...]:
        """What is told of that member, where a run was made with it."""
        return self.kept[0].findings() if self.kept else ()

    def study(
        self, event: str, which: str, happens: str, drafted: Drafted, begin: Begin, *, longer: float = 0.0,
        at: float = T0, is_primed: bool = False, regulating: tuple[Drafted, ...] = (),
    ) -> Study:  # fmt: skip
        """Return a run; `regulating`: where reducers go on regulating, the situations they do it in."""
        name = f"{event}-{which}" if which else event
        watched = d.WATCHED_FOR.si
        usual, readable_as_usual = None, 0.0
        if regulating:
            situations = [(one.case.inlet, one.case.flow) for one in regulating]
            worst, readable = self.settled.readable(situations, failing=which)
            watched = min(max(readable, d.LEAST_READ.si), watched)
            told = drafted.findings
            if worst and watched < d.WATCHED_FOR.si:
                params = {"seconds": f"{watched:.0f}", **in_event(name)}
                told = (*told, Finding("SUR-19", worst, Severity.HEED, params, case=name))
            quiet = self.settled.plan(drafted.plan, which)
            if quiet != drafted.plan:
                usual, readable_as_usual = entered(drafted.plan), self.settled.readable_as_usual
            drafted = replace(drafted, plan=quiet, findings=told)
        drafted = replace(drafted, plan=entered(drafted.plan))
        return Study(
            event, name, happens, drafted, begin, at, at + longer + watched, is_primed, usual=usual,
            usual_until=at + longer + min(readable_as_usual, watched), other_end=_other_end(drafted.plan),
        )  # fmt: skip

    @property
    def credited(self) -> tuple[float, InletCase, FlowCase]:
        """Time of the failure that is credited, and the situation it happens in."""
        first = next(iter(self.model.station.credited), None)
        is_average = first is not None and first.at == "average flow"
        usual = first.within.si if first is not None else d.FAILS_WITHIN.si
        situation: tuple[InletCase, FlowCase] = ("typical", "average") if is_average else ("static", "night")
        return (self.within or usual, *situation)


def _other_end(plan: Plan) -> Plan | None:
    """Return a plan with fewest mains behind the zone's, where it has most of the band.

    A member of the band that sits still with fewest mains is not run with more: there it hunts.
    """
    most, *others = ends(plan)
    return with_entry(plan, others[0]) if others and mains_of(plan) == most else None


def _at_rest(*inputs: Straight | Held) -> Begin:
    def begin(plant: Plant) -> tuple[Schedule, State]:
        schedule = Schedule(inputs)
        return schedule, start(plant, schedule)

    return begin


def _ramp(name: str, what: str, before: float, after: float, length: float) -> Straight:
    return Straight(name, what, ((0.0, before), (T0, before), (T0 + length, after)))  # type: ignore[arg-type]


def _demand(make: Maker, event: str, inlet: InletCase, before: FlowCase, after: FlowCase) -> Iterator[Study]:
    drafted = make.draft(inlet, before)
    there = make.draft(inlet, after)
    within = make.within or d.STEP_WITHIN.si
    happens = f"demand goes from {before} to {after} flow within {within:g} s"
    begin = _at_rest(*demand_ramps(drafted, there, step_shares(within)))
    yield make.study(event, "", happens, drafted, begin, longer=within, regulating=(drafted, there))


def _demand_falls(make: Maker) -> Iterator[Study]:
    return _demand(make, "demand-falls", "typical", "peak", "night")


def _demand_rises(make: Maker) -> Iterator[Study]:
    return _demand(make, "demand-rises", "typical", "night", "peak")


def _supply(make: Maker, event: str, before: InletCase, after: InletCase) -> Iterator[Study]:
    drafted = make.draft(before, "average")
    station = make.model.station
    change = inlet_pressure(station, after).si - inlet_pressure(station, before).si
    within = make.within or d.STEP_WITHIN.si
    happens = f"the supply goes from its {before} to its {after} pressure within {within:g} s"
    begin = _at_rest(_ramp(SUPPLY, "supply pressure", drafted.held, drafted.held + change, within))
    yield make.study(event, "", happens, drafted, begin, longer=within, regulating=(drafted,))


def _supply_rises(make: Maker) -> Iterator[Study]:
    return _supply(make, "supply-rises", "typical", "static")


def _supply_falls(make: Maker) -> Iterator[Study]:
    return _supply(make, "supply-falls", "static", "lowest")


def _reducers(drafted: Drafted) -> list[ReducerPart]:
    return [part for part in drafted.plan.parts if isinstance(part, ReducerRow | DirectReducerRow)]


def _which(drafted: Drafted, row: ReducerPart) -> str:
    return row.id if len(_reducers(drafted)) > 1 else ""


def _others(drafted: Drafted) -> tuple[Drafted, ...]:
    """Return the situation where a second reducer goes on regulating when one has failed."""
    return (drafted,) if len(_reducers(drafted)) > 1 else ()


def _fails_open(make: Maker) -> Iterator[Study]:
    within, inlet, flow = make.credited
    drafted = make.draft(inlet, flow)
    for row in _reducers(drafted):

        def begin(plant: Plant, row: ReducerPart = row) -> tuple[Schedule, State]:
            rest = steady_rest(plant)
            speed = max(1.0 - rest.lifts[row.id], 0.0) / within
            schedule = Schedule((Held(row.id, "runaway", ((0.0, 0.0), (T0, speed))),))
            return schedule, start(plant, schedule, rest)

        happens = f"{row.id} is driven wide open within {within:g} s"
        yield make.study(
            "fails-open",
            _which(drafted, row),
            happens,
            drafted,
            begin,
            longer=within,
            regulating=_others(drafted),
        )


def _pilot_stuck(make: Maker) -> Iterator[Study]:
    drafted = make.draft("static", "night")
    for row in _reducers(drafted):
        if isinstance(row, ReducerRow):
            begin = _at_rest(Held(row.id, "stuck pilot", ((0.0, nan), (T0, 1.0))))
            happens = f"the pilot of {row.id} sticks open"
            yield make.study(
                "pilot-stuck", _which(drafted, row), happens, drafted, begin, regulating=_others(drafted)
            )


def _diaphragm_torn(make: Maker) -> Iterator[Study]:
    drafted = make.draft("static", "night")
    for row in _reducers(drafted):
        if isinstance(row, ReducerRow):
            torn = d.TORN_OVER_FEED.si * make.model.k(make.model.reducer_twin(row.id).feed_kv.si)
            begin = _at_rest(Held(row.id, "tear", ((0.0, 0.0), (T0, torn))))
            happens = f"the diaphragm of {row.id} tears"
            yield make.study(
                "diaphragm-torn", _which(drafted, row), happens, drafted, begin, regulating=_others(drafted)
            )


def _hand_time(make: Maker, valve: IsolatingValve) -> float:
    if make.within is not None:
        return make.within
    return valve.turns.si * d.SECONDS_PER_TURN.si if valve.turns is not None else d.CLOSED_WITHIN.si


def _valve_closed(make: Maker, event: str, valve: IsolatingValve | None) -> Iterator[Study]:
    if valve is None:
        return
    seconds = _hand_time(make, valve)
    begin = _at_rest(_ramp(valve.id, "opening", 1.0, 0.0, seconds))
    for flow in ("average", "peak"):
        drafted = make.draft("typical", flow)
        happens = f"{valve.id} is closed in {seconds:g} s at {flow} flow"
        yield make.study(event, flow, happens, drafted, begin, longer=seconds, regulating=(drafted,))


def _inlet_valve_closed(make: Maker) -> Iterator[Study]:
    return _valve_closed(make, "inlet-valve-closed", make.view.layout.inlet_valve)


def _outlet_valve_closed(make: Maker) -> Iterator[Study]:
    return _valve_closed(make, "outlet-valve-closed", make.view.layout.outlet_valve)


def _screw_turned(make: Maker) -> Iterator[Study]:
    drafted = make.draft("typical", "average")
    seconds = make.within or d.SCREW_WITHIN.si
    for row in _reducers(drafted):
        raised = row.closing + d.SCREW_TURNS.si * make.model.reducer_twin(row.id).per_turn.si
        begin = _at_rest(_ramp(row.id, "closing pressure", row.closing, raised, seconds))
        happens = f"the screw of {row.id} is raised by {d.SCREW_TURNS.text} in {seconds:g} s"
        yield make.study(
            "screw-turned",
            _which(drafted, row),
            happens,
            drafted,
            begin,
            longer=seconds,
            regulating=(drafted,),
        )


def _opening(make: Maker) -> Iterator[Study]:
    valve = make.view.layout.inlet_valve
    if valve is None:
        return
    drafted, seconds = make.draft("static", "night"), _hand_time(make, valve)
    schedule = Schedule((_ramp(valve.id, "opening", 0.0, 1.0, seconds),))

    def begin(plant: Plant) -> tuple[Schedule, State]:
        standing = found_standing(replace(drafted, plan=plant.plan), shut={valve.id}, lift=1.0)
        return schedule, start_standing(plant, standing, schedule)

    happens = f"{valve.id} is opened in {seconds:g} s onto a primed line without pressure"
    yield make.study(
        "opening", "", happens, drafted, begin, longer=seconds, is_primed=True, regulating=(drafted,)
    )


def restarts(view: View, model: Model, share: float) -> tuple[Study, ...]:
    """Return the runs of a restart with the inlet isolating valve held at a share of its opening.

    As the event ``restart``, which leaves that valve fully open; nothing where there is none, or no shut-off.
    """
    return tuple(_restart(Maker(view, model, None), share))


def _restart(make: Maker, share: float | None = None) -> Iterator[Study]:
    inlet = make.view.layout.inlet_valve
    if share is not None and inlet is None:
        return
    held = () if share is None or inlet is None else (Held(inlet.id, "opening", ((0.0, share),)),)
    schedule = Schedule(held)
    drafted = make.draft("static", "night")
    shut_offs = {part.id for part in drafted.plan.station if isinstance(part, ShutOffRow)}
    if not shut_offs:
        return
    for found, lift in (("shut", 0.0), ("open", 1.0)):
        for health in ("sound", "failed"):
            parts = tuple(restarting(part, health == "failed") for part in drafted.plan.station)
            changed = replace(drafted, plan=replace(drafted.plan, station=parts))
            is_open = lift > 0.0 or health == "failed"

            def begin(plant: Plant, lift: float = lift, passes: bool = is_open) -> tuple[Schedule, State]:
                found = replace(drafted, plan=plant.plan)
                standing = found_standing(found, shut=shut_offs, lift=lift, passes=passes)
                return schedule, start_standing(plant, standing, schedule)

            state = "wide open" if lift else "shut"
            happens = f"the shut-off is opened after a trip, the reducer found {state} and {health}"
            yield make.study(
                "restart", f"{found}-{health}", happens, changed, begin, at=0.0, is_primed=True,
                regulating=(drafted,) if health == "sound" else (),
            )  # fmt: skip


_MAKERS: dict[str, Callable[[Maker], Iterator[Study]]] = {
    "demand-falls": _demand_falls,
    "demand-rises": _demand_rises,
    "supply-rises": _supply_rises,
    "supply-falls": _supply_falls,
    "fails-open": _fails_open,
    "pilot-stuck": _pilot_stuck,
    "diaphragm-torn": _diaphragm_torn,
    "inlet-valve-closed": _inlet_valve_closed,
    "outlet-valve-closed": _outlet_valve_closed,
    "screw-turned": _screw_turned,
    "opening": _opening,
    "restart": _restart,
    "air-in-chamber": air_studies,
}
