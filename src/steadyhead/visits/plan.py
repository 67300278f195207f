"""The test plan of one station: the graph of steps, written for its valves, taps, figures and words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from steadyhead import __version__
from steadyhead.errors import InputError
from steadyhead.findings import Finding, Severity
from steadyhead.findings.model import in_order
from steadyhead.procedure.flaws import validate
from steadyhead.procedure.graph import order
from steadyhead.records.parts import ShutOff
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Choice, Kind, Message, Node, Procedure
from steadyhead.records.station import Station
from steadyhead.visits import kinds, outage, restart_steps
from steadyhead.visits.drains import over_permit
from steadyhead.visits.facts import Facts
from steadyhead.visits.feasibility import Refused, feasibility, past_due
from steadyhead.visits.finishing import (
    at_taps,
    budget_of,
    finished,
    on_paper,
    plan_id,
    untouched,
)
from steadyhead.visits.holding import needed, stopped, told_only, without_opening
from steadyhead.visits.items import Item, find, pilots, redo
from steadyhead.visits.leaving import left, listed, names_of
from steadyhead.visits.minding import minding
from steadyhead.visits.numbers import work_out
from steadyhead.visits.picking import picked
from steadyhead.visits.recording import recorded
from steadyhead.visits.rules import days, invariants, notes, stop_rules, told
from steadyhead.visits.several import plan as several
from steadyhead.visits.several.ways import has_several
from steadyhead.visits.tables import b_isolate, vessels, whole, y_yearly
from steadyhead.visits.tables.desk import Desk
from steadyhead.visits.tables.guarding import trips_told
from steadyhead.visits.tables.names import words
from steadyhead.visits.tables.ordering import in_their_order

KINDS: tuple[Kind, ...] = (
    "first", "yearly", "after_repair", "new_setting", "return_to_service", "restart",
)  # fmt: skip
"""Kinds of plan that `plan` writes."""


def plan(
    station: Station, kind: Kind, item: str = "", *, station_hash: str = "", engine_version: str = ""
) -> Procedure:
    """Return the test plan of a station, its figures worked out by the twin.

    Holds for the layouts of `steadyhead.station.layout.COVERED`; of several streams each is tested as a line
    of its own, then all together. Bands are steady states; surge, trapped air and damaged parts are not in
    them. The plan supports people and authorises nothing.

    Parameters
    ----------
    station
        The station, as released.
    kind
        One of `KINDS`.
    item
        For ``after_repair`` what was touched (`steadyhead.visits.items.names`); for ``new_setting`` which
        pilot, empty for all.
    station_hash
        Hash of the released station file, kept in the plan.
    engine_version
        Version that worked out the figures; this program's where left out.

    Raises
    ------
    Refused
        The station cannot be tested as it stands; carries the findings.
    InputError
        A kind or item that is not known.
    NotConverged
        The twin could not be settled.
    """
    _known(kind)
    numbers = figures(station, kind, item)
    return build(station, kind, item, numbers, station_hash=station_hash, engine_version=engine_version)


def figures(station: Station, kind: Kind, item: str = "") -> PlanNumbers:
    """Return the figures of a plan, of several streams those of each; parameters and errors as `plan`."""
    if has_several(station):
        return several.work_out(station, kind, item)
    judged = feasibility(station)
    if judged.facts is None:
        raise Refused(judged.findings)
    return work_out(station, kind)


def build(
    station: Station,
    kind: Kind,
    item: str = "",
    numbers: PlanNumbers | None = None,
    *,
    station_hash: str = "",
    engine_version: str = "",
    day: date | None = None,
) -> Procedure:
    """Return the test plan of a station with given figures; parameters and errors as `plan`.

    The same station, figures, item and day always give the same plan, byte for byte. Gauges past their date
    on that day are not named for a proof; without a day no date is judged.
    """
    _known(kind)
    if numbers is None:
        return plan(station, kind, item, station_hash=station_hash, engine_version=engine_version)
    if has_several(station):
        several.check_kind(item, kind)
        made = several.build(
            station, kind, item, numbers, station_hash=station_hash, engine_version=engine_version, day=day
        )
        return _sound(recorded(made, station, numbers), station)
    if kind in ("return_to_service", "restart") and item:
        raise InputError("item", f"got {item!r}.", "This station has one stream: name none.")
    facts, found = _judged(station, numbers)
    late = past_due(station, day)
    good = tuple(gauge for gauge in numbers.good_gauges if gauge not in {f.params["gauge"] for f in late})
    desk = Desk(facts, replace(numbers, good_gauges=good), tuple(f.subject for f in late))
    if kind == "restart":
        against = restart_steps.refused(desk)
        if against:
            raise Refused((*against, *found))
        found = in_order((*restart_steps.findings(desk), *found))
    nodes, choices, more, item_name = _steps(desk, kind, item)
    if stopped(found) and needed(nodes, facts):
        raise Refused(found)
    found = told_only(found)
    nodes = untouched(desk, nodes)
    budget = budget_of((node.id for node in nodes), numbers.drain_budget)
    opened = {name for node in nodes for name in node.opens}
    nodes = tuple(finished(node, opened, budget) for node in nodes)
    flushed = any(node.id == "B3" for node in nodes)
    found = tuple(f for f in found if f.code != _OVER_PERMIT and (flushed or f.code != _NO_FLUSH_DRAIN))
    found = (*found, *late, *over_permit(budget, station.parts()))
    procedure = Procedure(
        id=plan_id(station, kind, item_name, station_hash),
        kind=kind,
        item=item_name,
        station_id=station.station.id,
        station_name=station.station.name,
        datum=station.station.datum.si,
        station_hash=station_hash,
        baseline_id="",
        engine_version=engine_version or __version__,
        nodes=nodes,
        choices=choices,
        invariants=invariants(desk),
        stop_rules=stop_rules(desk),
        turn_tables=tuple(
            at_taps(table, facts.taps)
            for table in numbers.turn_tables
            if kind != "restart" or table.start == "trickle"
        ),
        response=numbers.response,
        drain_budget=budget,
        notes=(*more, *notes(desk, found)),
        names=_names(desk, nodes),
    )
    return _sound(recorded(procedure, station, numbers), station)


def _sound(procedure: Procedure, station: Station) -> Procedure:
    shut_offs = (part.id for part in station.parts() if isinstance(part, ShutOff))
    procedure = replace(procedure, nodes=in_their_order(trips_told(procedure.nodes, shut_offs), procedure))
    flaws = validate(procedure)
    if flaws:
        raise AssertionError(
            f"plan {procedure.id} is not sound: {'; '.join(f'{f.where} {f.what}' for f in flaws[:5])}"
        )
    nodes = tuple(procedure.node(name) for name in order(procedure))
    every = (*procedure.notes, *days(procedure, station))
    sound = replace(procedure, nodes=nodes, notes=every, left=left(station))
    minded = minding(sound, station)
    cocks = listed(station, {one.thing for one in minded.left})
    sound = replace(sound, left=cocks, minding=minded, names={**names_of(cocks), **procedure.names})
    return outage.told_of(sound, station)


def not_released(procedure: Procedure, design: Iterable[Finding]) -> Procedure:
    """Return the plan with what stands against the release of its design on its face.

    Parameters
    ----------
    procedure
        The plan.
    design
        Findings of the design sheet, answers met.
    """
    against = [f for f in design if f.severity in (Severity.STOP, Severity.ASK)]
    if not against:
        return procedure
    codes = ", ".join(dict.fromkeys(f.code for f in against))
    face = (Message("note.not_released", {"codes": codes}), *(told(finding) for finding in against))
    return replace(procedure, notes=(*face, *procedure.notes))


def seen_by_loggers(procedure: Procedure, seen: Iterable[tuple[str, str, str]]) -> Procedure:
    """Return the plan with limits that measures of loggers cross first of its notes.

    seen: of each what is so, because of which limit and which days, and what is to be done.
    """
    said = tuple(
        Message("note.crossed", {"what": what, "because": because, "does": does})
        for what, because, does in seen
    )
    return replace(procedure, notes=(*said, *procedure.notes))


def findings(
    station: Station, numbers: PlanNumbers | None = None, kind: Kind = "first", item: str = ""
) -> tuple[Finding, ...]:
    """Return everything a plan of this station would be told with, weightiest first.

    Parameters
    ----------
    station
        The station.
    numbers
        Figures of the twin; without them only what the file tells.
    kind, item
        Of the visit; only a station with several streams is told different things for different visits.
    """
    if has_several(station):
        return several.findings(station, kind, item, numbers)
    found = feasibility(station).findings
    return in_order(found if numbers is None else (*found, *_of_numbers(station, numbers)))


def _known(kind: str) -> None:
    if kind not in KINDS:
        raise InputError("kind", f"got {kind!r}.", f"Use one of: {', '.join(KINDS)}.")


def _judged(station: Station, numbers: PlanNumbers) -> tuple[Facts, tuple[Finding, ...]]:
    judged = feasibility(station)
    if judged.facts is None:
        raise Refused(judged.findings)
    found = in_order((*judged.findings, *_of_numbers(station, numbers)))
    if stopped(found, opening=False):
        raise Refused(found)
    return judged.facts, found


def _of_numbers(station: Station, numbers: PlanNumbers) -> tuple[Finding, ...]:
    facts = feasibility(station).facts
    return numbers.findings if facts is None else (*numbers.findings, *without_opening(facts, numbers))


def _steps(
    desk: Desk, kind: Kind, item: str
) -> tuple[tuple[Node, ...], tuple[Choice, ...], tuple[Message, ...], str]:
    if kind == "restart":
        return (*restart_steps.steps(desk), "")
    if kind == "yearly":
        return tuple(y_yearly.nodes(desk)), y_yearly.choices(desk), (), ""
    nodes, choices = whole.nodes(desk), whole.choices(desk)
    if kind == "first":
        return nodes, choices, (), ""
    graph = _bare(desk, nodes, choices)
    if kind == "return_to_service":
        way = kinds.way_of(graph)
        return _kept(graph, way, kinds.return_to_service(graph)), (), (), ""
    if kind == "new_setting":
        chosen = pilots(desk.facts, item)
        way = kinds.way_of(graph, to_be_set=chosen)
        bases = kinds.new_setting()
        return _kept(graph, way, bases), (), (), item.strip().casefold()
    return _repaired(desk, graph, find(desk.facts, item))


def _kept(graph: Procedure, way: dict[str, str], bases: Iterable[str]) -> tuple[Node, ...]:
    return picked(graph, way, kinds.with_valves(graph, bases))


def _repaired(
    desk: Desk, graph: Procedure, item: Item
) -> tuple[tuple[Node, ...], tuple[Choice, ...], tuple[Message, ...], str]:
    again = redo(graph, item)
    way = kinds.way_of(graph, to_be_set=[item.lost] if item.lost else [])
    support = kinds.with_valves(graph, kinds.after_repair(desk.facts, item, again))
    nodes = picked(graph, way, (*again, *support))
    nodes = vessels.in_service(desk, tuple(b_isolate.looked_at(desk, node) for node in nodes))
    if item.is_paper and desk.facts.shut_off is not None:
        nodes = tuple(on_paper(desk, node) for node in nodes)
    note = desk.say("note.redo", steps=", ".join(again))
    return nodes, (), (note,), item.name


def _bare(desk: Desk, nodes: tuple[Node, ...], choices: tuple[Choice, ...]) -> Procedure:
    identity = desk.facts.station.station
    return Procedure(
        "", "first", "", identity.id, identity.name, identity.datum.si, "", "", "", nodes, choices
    )


_OVER_PERMIT = "NUM-04"
"""Judged again over the steps that are in the plan."""
_NO_FLUSH_DRAIN = "PLAN-34"
"""Told only where the supply is flushed."""


def _names(desk: Desk, nodes: tuple[Node, ...]) -> dict[str, Message]:
    used = [
        name
        for node in nodes
        for name in (*node.touches, *node.proves, *node.depends_on, *node.opens, *node.restores, *node.raises)
    ]
    labels = {
        f"{node.id}/{one.name}": desk.labels[f"{node.id}/{one.name}"] for node in nodes for one in node.inputs
    }
    return {**words(desk.facts, used), **labels}
