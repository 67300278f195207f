"""What may open an empty needle window: each kind of change as a ladder of steps, the weakest first."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from steadyhead.errors import InputError, NotConverged
from steadyhead.hydraulics import case
from steadyhead.records.protection import Failure, RemedyStep
from steadyhead.surge import proof_defaults as pd
from steadyhead.surge.devices import air_of
from steadyhead.surge.from_station import Drafted, draft
from steadyhead.surge.plan import Part, Plan, ReducerRow, ReliefValve, Section, Vessel
from steadyhead.surge.plant import compile_plan
from steadyhead.surge.proof import Claim, Proving
from steadyhead.surge.proof_run import Situation, places_of, situation, standing
from steadyhead.surge.starting import steady_rest
from steadyhead.surge.vessels import Side, with_vessel

Change = Callable[[Proving], Proving | None]
"""Returns a changed question; None where a situation then has no steady state."""


@dataclass(frozen=True, slots=True)
class Ladder:
    """One kind of change: its steps, the weakest first, and how each is made."""

    steps: tuple[RemedyStep, ...]
    changes: tuple[Change, ...]


def ladders(made: Proving) -> Iterator[Ladder]:
    """Yield every kind of change that may be tried on its own or with another; a rating is none of them."""
    for kind in (_lower_trip, _relief, _vessel_ahead, _vessel_behind, _smaller_reducer, _slower_failure):
        found = kind(made)
        if found.steps:
            yield found


def _ladder(steps: list[tuple[RemedyStep, Change]]) -> Ladder:
    return Ladder(tuple(step for step, _ in steps), tuple(change for _, change in steps))


def _lower_trip(made: Proving) -> Ladder:
    question, edge = made.question, made.setting.trip
    lowest = question.lowest_edge
    if lowest is None or lowest >= edge:
        return _ladder([])
    found: list[tuple[RemedyStep, Change]] = []
    for share in (0.25, 0.5, 0.75, 1.0):
        down = share * (edge - lowest)

        def change(one: Proving, down: float = down) -> Proving:
            return replace(one, setting=replace(one.setting, trip=one.setting.trip - down))

        found.append((RemedyStep("lower trip", question.shut_off, question.trip - down), change))
    return _ladder(found)


def _relief(made: Proving) -> Ladder:
    section = _outlet(made.situations[0].drafted)
    if section is None:
        return _ladder([])
    crack = made.setting.trip * (1.0 + pd.RELIEF_CRACK.si)
    found: list[tuple[RemedyStep, Change]] = []
    for kv in pd.RELIEF_KVS:
        valve = ReliefValve(
            "relief", made.model.k(kv), crack, crack * (1.0 + pd.RELIEF_WIDE.si),
            crack * (1.0 - pd.RELIEF_WIDE.si),
        )  # fmt: skip

        def fitted(part: Part, valve: ReliefValve = valve) -> Part:
            here = isinstance(part, Section) and part.id == section.id
            return replace(part, relief=valve) if here and isinstance(part, Section) else part

        found.append((RemedyStep("relief", section.id, kv, crack), _mapped(fitted)))
    return _ladder(found)


def _outlet(drafted: Drafted) -> Section | None:
    names = places_of(drafted)["outlet"]
    parts = [p for p in drafted.plan.station if isinstance(p, Section) and p.id in names and p.relief is None]
    return parts[-1] if parts else None


def _mapped(change: Callable[[Part], Part]) -> Change:
    return lambda made: _planned(made, lambda here: here.drafted.plan.mapped(change))


def _planned(made: Proving, change: Callable[[Situation], Plan]) -> Proving | None:
    """Return a question whose every plan is changed; None where a situation then has no steady state."""
    found: list[Situation] = []
    for here in made.situations:
        drafted = replace(here.drafted, plan=change(here))
        try:
            found.append(situation(drafted, here.inlet, here.flow, here.shut_off))
        except (InputError, NotConverged):
            return None
    return replace(made, situations=tuple(found))


def _vessel_ahead(made: Proving) -> Ladder:
    if made.model.station.supply.main is None:
        return _ladder([])
    pressures = [standing(here, "supply") for here in made.situations]
    return _vessels(made, "supply", min(pressures), "ahead of the station")


def _vessel_behind(made: Proving) -> Ladder:
    if made.model.station.zone.main is None:
        return _ladder([])
    pressures = [standing(here, "consumer") for here in made.situations]
    return _vessels(made, "consumer", min(pressures), "behind the station")


def _vessels(made: Proving, side: Side, lowest: float, where: str) -> Ladder:
    precharge = pd.PRECHARGE.si * lowest
    if precharge <= 0.0:
        return _ladder([])
    found: list[tuple[RemedyStep, Change]] = []
    for volume in pd.VESSELS:

        def planned(here: Situation, volume: float = volume) -> Plan:
            gas = air_of(volume, precharge, standing(here, side), made.model.atmosphere)
            return with_vessel(here.drafted.plan, Vessel(gas), here.plant.step, side)

        def change(one: Proving, planned: Callable[[Situation], Plan] = planned) -> Proving | None:
            return _planned(one, planned)

        found.append((RemedyStep("vessel", where, volume, precharge), change))
    return _ladder(found)


def _smaller_reducer(made: Proving) -> Ladder:
    failing = made.question.claims[0].failure.reducer
    row = next(p for p in made.situations[0].drafted.plan.parts if p.id == failing)
    if not isinstance(row, ReducerRow):
        return _ladder([])
    found: list[tuple[RemedyStep, Change]] = []
    for share in pd.SMALLER:
        if not _carries_peak(made, failing, share):
            break
        kv = made.model.reducer_twin(failing).kv.si * share
        found.append((RemedyStep("smaller reducer", failing, kv), _mapped(_scaled(failing, share))))
    return _ladder(found)


def _scaled(name: str, share: float) -> Callable[[Part], Part]:
    def change(part: Part) -> Part:
        if part.id != name or not isinstance(part, ReducerRow):
            return part
        body = replace(part.body, coefficient=part.body.coefficient * share, area=part.body.area * share)
        return replace(part, body=body, feed=part.feed * share, pilot=part.pilot * share)

    return change


def _carries_peak(made: Proving, name: str, share: float) -> bool:
    """Return whether a smaller reducer still holds the outlet at peak flow and lowest inlet pressure."""
    try:
        drafted = draft(made.model, case(made.model.station, "lowest", "peak"))
        outlets = []
        for scale in (1.0, share):
            plant = compile_plan(drafted.plan.mapped(_scaled(name, scale)))
            outlets.append(steady_rest(plant).nodes[0])
    except (InputError, NotConverged):
        return False
    return outlets[0] - outlets[1] <= pd.PEAK_DROOP.si


def _slower_failure(made: Proving) -> Ladder:
    credited = [one for one in made.question.claims if one.failure.credited]
    if not credited or any(one.failure.within is None for one in credited):
        return _ladder([])
    fastest = min(one.failure.within or 0.0 for one in credited)
    found: list[tuple[RemedyStep, Change]] = []
    for times in pd.SLOWER:
        within = fastest * times
        claims = tuple(Claim(_slower(one.failure, within), one.flows) for one in credited)

        def change(one: Proving, claims: tuple[Claim, ...] = claims) -> Proving:
            return replace(one, question=replace(one.question, claims=claims))

        found.append((RemedyStep("slower failure", credited[0].failure.reducer, within), change))
    return _ladder(found)


def _slower(failure: Failure, within: float) -> Failure:
    return replace(failure, within=max(failure.within or 0.0, within))
