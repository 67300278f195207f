"""The test plan of a station with several streams: stream by stream, then the streams together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date

from steadyhead import __version__
from steadyhead.errors import InputError
from steadyhead.findings import Finding, Severity
from steadyhead.findings.model import in_order
from steadyhead.procedure.graph import ancestors
from steadyhead.records.parts import IsolatingValve
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import DrainUse, Kind, Message, Node, Procedure, TurnTable
from steadyhead.records.station import Station
from steadyhead.visits import kinds
from steadyhead.visits.drains import over_permit, run_together
from steadyhead.visits.feasibility import Refused, past_due
from steadyhead.visits.finishing import at_taps, budget_of, finished, on_paper, plan_id, untouched
from steadyhead.visits.holding import NO_OPENING, needed, stopped, told_only, without_opening
from steadyhead.visits.items import Item, redo
from steadyhead.visits.picking import picked
from steadyhead.visits.rules import invariants, notes, stop_rules
from steadyhead.visits.several import graph, restarting, yearly
from steadyhead.visits.several.items import find, find_stream, find_valves, mode_of
from steadyhead.visits.several.judging import Judged, desks, figures, judge, of_stream
from steadyhead.visits.several.naming import Built
from steadyhead.visits.several.ways import MODES
from steadyhead.visits.tables import b_isolate, vessels
from steadyhead.visits.tables.names import words
from steadyhead.visits.tables.streams import Stream, unlocked
from steadyhead.visits.tables.two_reducers import not_tried

_OVER_PERMIT, _NO_FLUSH_DRAIN = "NUM-04", "PLAN-34"


def judged_for(station: Station, kind: Kind, item: str = "", numbers: PlanNumbers | None = None) -> Judged:
    """Return how the streams of a station are cut off for a visit, and what must be told.

    numbers: figures already worked out; what was cut off for them holds.

    Raises
    ------
    InputError
        An item this station does not have.
    """
    if numbers is not None and numbers.together is not None:
        return judge(station, kind, mode=numbers.together.mode, whole=_comes_whole(kind, item))
    if _comes_whole(kind, item):
        return judge(station, kind, whole=True)
    if kind != "after_repair" or not item:
        return judge(station, kind)
    return judge(station, kind, mode=mode_of(station, item))


def work_out(station: Station, kind: Kind, item: str = "") -> PlanNumbers:
    """Return the figures of a plan; parameters as `build`.

    Where the station's drain cannot hold the outlet with the whole station out, the figures are those of one
    stream out at a time, if it can be done so; not where the whole station comes into service.

    Raises
    ------
    Refused
        The station cannot be tested as it stands.
    """
    judged = judged_for(station, kind, item)
    if not judged.ways:
        raise Refused(judged.findings)
    found = figures(station, judged, kind)
    if not stopped(found.findings) or kind == "after_repair":
        return found
    if _comes_whole(kind, item):
        return found
    other = judge(station, kind, mode=next(mode for mode in MODES if mode != judged.mode))
    if not other.ways:
        return found
    instead = figures(station, other, kind)
    if stopped(instead.findings):
        return found
    why = [replace(f, severity=Severity.HEED) for f in found.findings if f.severity is Severity.STOP]
    return replace(instead, findings=(*instead.findings, *why))


def _comes_whole(kind: Kind, item: str) -> bool:
    """Return whether all of a station comes into service: nothing of it serves before it is proved."""
    return kind == "first" or (kind == "return_to_service" and not item.strip())


def _kept_out(found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Return why a whole station that comes into service gets no plan, its drain too small to hold it.

    Between the valves of its own streams it would be fed by one that nobody has proved, through a header with
    a vessel and a relief valve that no step fills or tries: it stays out as a whole.
    """
    stops = [f for f in found if f.severity is Severity.STOP and f.code in NO_OPENING]
    drains = ", ".join(dict.fromkeys(str(f.params["drain"]) for f in stops))
    told = Finding("PLAN-52", "line", Severity.HEED, params={"drain": drains})
    return in_order((*found, told)) if stops else found


def build(
    station: Station,
    kind: Kind,
    item: str,
    numbers: PlanNumbers,
    *,
    station_hash: str = "",
    engine_version: str = "",
    day: date | None = None,
) -> Procedure:
    """Return the test plan of a station with several streams; as `steadyhead.visits.plan.build`."""
    judged = judged_for(station, kind, item, numbers)
    found = in_order((*judged.findings, *numbers.findings, *_without_opening(judged, numbers)))
    if not judged.ways or stopped(found, opening=False):
        raise Refused(found)
    late = past_due(station, day)
    streams = desks(station, judged, numbers, tuple(f.subject for f in late))
    if kind == "restart":
        built, more, of_restart = _restarted(streams, numbers, item)
        found, item_name = in_order((*of_restart, *found)), item.strip()
    else:
        built, more, item_name = _steps(streams, numbers, kind, item)
    found = told_only(found, _needed(built, streams, judged, numbers))
    if stopped(found):
        whole = _comes_whole(kind, item) and judged.mode == "station out"
        raise Refused(_kept_out(found) if whole else found)
    _locks_on_again(built, streams)
    drain = streams[0].desk.facts.drain
    budget = _budget(built, numbers) + run_together(built.nodes, numbers.together, drain)
    opened = {name for node in built.nodes for name in node.opens}
    nodes = tuple(finished(node, opened, budget) for node in built.nodes)
    flushed = any(node.id.split(".")[0] == "B3" for node in nodes)
    told = [f for f in found if f.code != _OVER_PERMIT and (flushed or f.code != _NO_FLUSH_DRAIN)]
    told += over_permit(budget, station.parts())
    told += not_tried((s.desk.facts for s in streams), (name for node in nodes for name in node.proves))
    identity = station.station
    return Procedure(
        id=plan_id(station, kind, item_name, station_hash),
        kind=kind,
        item=item_name,
        station_id=identity.id,
        station_name=identity.name,
        datum=identity.datum.si,
        station_hash=station_hash,
        baseline_id="",
        engine_version=engine_version or __version__,
        nodes=nodes,
        choices=tuple(built.choices),
        invariants=_invariants(streams),
        stop_rules=stop_rules(streams[0].desk),
        turn_tables=_turn_tables(streams, numbers),
        response=numbers.response,
        drain_budget=budget,
        notes=(
            *more,
            *_mode_note(streams, nodes, fresh=_comes_whole(kind, item)),
            *notes(streams[0].desk, (*told, *late), gates=_gates(streams)),
        ),
        names=_names(built, streams, nodes),
        streams={name: key for name, key in built.key_of.items() if any(n.id == name for n in nodes)},
    )


def _without_opening(judged: Judged, numbers: PlanNumbers) -> tuple[Finding, ...]:
    """Return what each stream lacks to be held by its drain, beside what its figures tell themselves."""
    found = []
    for way in judged.ways:
        own = numbers.streams.get(way.key)
        if own is not None:
            found += [of_stream(f, way) for f in without_opening(judged.facts[way.key], own)]
    return tuple(found)


def _needed(
    built: Built, streams: tuple[Stream, ...], judged: Judged, numbers: PlanNumbers
) -> tuple[Finding, ...]:
    """Return the findings about a missing opening of the streams on which a step rests on it."""
    found: list[Finding] = []
    for stream in streams:
        way, first = stream.way, streams[0].way.key
        nodes = [node for node in built.nodes if built.key_of.get(node.id, first) == way.key]
        own = numbers.streams[way.key]
        listed = (*own.findings, *without_opening(stream.desk.facts, own))
        if nodes and needed(nodes, judged.facts[way.key]):
            found += [of_stream(f, way) for f in listed if f.code in NO_OPENING]
    return tuple(found)


def _locks_on_again(built: Built, streams: tuple[Stream, ...]) -> None:
    """Let the last step behind a lock that came off put it on again, where no other step does."""
    for stream in streams:
        name = unlocked(stream.way.branch)
        opener = next((node.id for node in built.nodes if name in node.opens), "")
        if not opener or any(name in node.restores for node in built.nodes):
            continue
        bare = _bare(streams, built)
        at = max(i for i, node in enumerate(built.nodes) if opener in {node.id, *ancestors(bare, node.id)})
        node = built.nodes[at]
        ends = stream.way.opened
        told = (
            stream.desk.say("S3.locked", up=ends[0], down=ends[-1]) if ends else stream.desk.say("S.relock")
        )
        built.nodes[at] = replace(node, do=(*node.do, told), restores=(*node.restores, name))


def findings(station: Station, kind: Kind, item: str, numbers: PlanNumbers | None) -> tuple[Finding, ...]:
    """Return everything a plan of this station would be told with, weightiest first."""
    found = judged_for(station, kind, item, numbers).findings
    return in_order(found if numbers is None else (*found, *numbers.findings))


def _steps(
    streams: tuple[Stream, ...], numbers: PlanNumbers, kind: Kind, item: str
) -> tuple[Built, tuple[Message, ...], str]:
    together = numbers.together
    assert together is not None
    if kind == "yearly":
        return yearly.build(streams, together), (), ""
    whole = graph.build(streams, streams, together, fresh=kind == "first")
    if kind == "first":
        return whole, (), ""
    if kind == "after_repair":
        return _repaired(streams, numbers, whole, find(streams, item))
    if kind == "new_setting":
        chosen = find_valves(streams, item)
        wanted = tuple(s for s in streams if set(s.way.own) & set(chosen))
        part = graph.build(wanted, streams, together)
        steps = [*kinds.new_setting(), *kinds.SETTING_TOGETHER]
        return _kept(part, wanted, steps, to_be_set=chosen), (), item.strip().casefold()
    wanted = find_stream(streams, item)
    part = graph.build(wanted, streams, together, fresh=not item.strip())
    name = item.strip()
    steps = [*kinds.return_to_service(_bare(streams, part)), *kinds.RETURN_TOGETHER]
    return _kept(part, wanted, steps), (), name


def _restarted(
    streams: tuple[Stream, ...], numbers: PlanNumbers, item: str
) -> tuple[Built, tuple[Message, ...], tuple[Finding, ...]]:
    assert numbers.together is not None
    return restarting.build(streams, numbers.together, item)


def _kept(
    built: Built, streams: tuple[Stream, ...], bases: Iterable[str], *, to_be_set: Iterable[str] = ()
) -> Built:
    """Return the steps at these positions of the tables, on one way through the choices."""
    procedure = _bare(streams, built)
    way = kinds.way_of(procedure, to_be_set=to_be_set)
    return _picked(built, streams, way, kinds.with_valves(procedure, bases))


def _picked(built: Built, streams: tuple[Stream, ...], way: dict[str, str], keep: Iterable[str]) -> Built:
    """Return the kept steps of one way; EF1 read as found where no D2 of them turns the screw before it."""
    nodes = picked(_bare(streams, built), way, keep)
    ids = {node.id for node in nodes}
    labels = dict(built.labels)
    for stream in streams:
        if ids & {"D2", f"D2.{stream.way.key}"}:
            continue
        own = {f"EF1.{reducer.id}" for reducer in stream.desk.facts.reducers if reducer.id in stream.way.own}
        new = {node.id: node for node in untouched(stream.desk, tuple(n for n in nodes if n.id in own))}
        nodes = tuple(new.get(node.id, node) for node in nodes)
        labels |= {name: said for name, said in stream.desk.labels.items() if name.split("/")[0] in new}
    return Built(list(nodes), [], built.key_of, labels)


def _repaired(
    streams: tuple[Stream, ...], numbers: PlanNumbers, whole: Built, item: Item
) -> tuple[Built, tuple[Message, ...], str]:
    """Return what a repair asks for: steps done again on the streams it touches, with access to them."""
    assert numbers.together is not None
    again = redo(_bare(streams, whole), item)
    keys = {whole.key_of[name] for name in again if name in whole.key_of}
    wanted = tuple(s for s in streams if s.way.key in keys) or streams[:1]
    built = graph.build(wanted, streams, numbers.together)
    procedure = _bare(streams, built)
    again = redo(procedure, item)
    lost = [item.lost] if item.lost else []
    way = kinds.way_of(procedure, to_be_set=lost)
    keep = [*again, *_support(built, wanted, procedure, item, again)]
    found = _picked(built, wanted, way, keep)
    told = tuple(_as_told(wanted, node, item) for node in found.nodes)
    found.nodes = list(vessels.in_service(streams[0].desk, told))
    note = streams[0].desk.say("note.redo", steps=", ".join(again))
    return found, (note,), item.name


def _support(
    built: Built, wanted: tuple[Stream, ...], procedure: Procedure, item: Item, again: tuple[str, ...]
) -> list[str]:
    """Return access, protection and putting right, for each stream by what is done again on it."""
    keep: list[str] = []
    for stream in wanted:
        key = stream.way.key
        own = [name for name in again if built.key_of.get(name, key) == key]
        bases = set(kinds.after_repair(stream.desk.facts, item, own))
        bases |= set(kinds.together(own, station_out=stream.way.mode == "station out"))
        ids = kinds.with_valves(procedure, bases)
        keep += [name for name in ids if built.key_of.get(name, key) == key]
    under = {name.split(".")[0] for name in (*keep, *again)}
    if under & {"C2", "C5", "D2", "D3"}:
        keep += kinds.with_valves(procedure, ("S1", "S2"))
    return keep


def _as_told(streams: tuple[Stream, ...], node: Node, item: Item) -> Node:
    """Return a step as a repair tells it: filters looked at only, a trip judged on paper."""
    for stream in streams:
        desk = stream.desk
        if item.is_paper and desk.facts.shut_off is not None and desk.facts.shut_off.id in stream.way.own:
            node = on_paper(desk, node)
        if node.id in ("B5", f"B5.{stream.way.key}"):
            looked = b_isolate.looked_at(desk, replace(node, id="B5"))
            for one in looked.inputs:
                label = desk.labels.get(f"B5/{one.name}")
                if label is not None:
                    desk.labels[f"{node.id}/{one.name}"] = label
            return replace(looked, id=node.id, proves=node.proves, depends_on=node.depends_on)
    return node


def _bare(streams: tuple[Stream, ...], built: Built) -> Procedure:
    identity = streams[0].desk.facts.station.station
    nodes, choices = tuple(built.nodes), tuple(built.choices)
    return Procedure(
        "", "first", "", identity.id, identity.name, identity.datum.si, "", "", "", nodes, choices
    )


def _budget(built: Built, numbers: PlanNumbers) -> tuple[DrainUse, ...]:
    """Return the rows of the drain budget whose steps stand in the plan, each with its stream."""
    found = []
    for key in numbers.streams:
        rows = [replace(u, node=u.node.rpartition("@")[0]) for u in numbers.drain_budget]
        rows = [u for u, old in zip(rows, numbers.drain_budget, strict=True) if old.node.endswith(f"@{key}")]
        first = key == next(iter(numbers.streams))
        ids = {
            node.id.removesuffix(f".{key}"): node.id
            for node in built.nodes
            if built.key_of.get(node.id, key if first else "") == key
        }
        for use in budget_of(ids, rows):
            once = use.node in ids and ids[use.node] == use.node
            kept = once or "." in use.node
            found.append(use if kept else replace(use, node=f"{use.node}.{key}"))
    return tuple(found)


def _invariants(streams: tuple[Stream, ...]) -> tuple[Message, ...]:
    """Return the rules for every step; V1 and V2 again for each stream where they differ."""
    first = invariants(streams[0].desk)
    more = [
        stream.desk.say("rule.on_stream", stream=f"stream {stream.way.view.id}", what=f"@{message.id}")
        for stream in streams[1:]
        for message in invariants(stream.desk)[:2]
        if message not in first
    ]
    return (*first[:2], *more, *first[2:])


def _turn_tables(streams: tuple[Stream, ...], numbers: PlanNumbers) -> tuple[TurnTable, ...]:
    """Return the turn tables with the taps of the stream whose valve is turned."""
    taps = {valve: s.desk.facts.taps for s in streams for valve in s.way.own}
    return tuple(at_taps(table, taps.get(table.valve, {})) for table in numbers.turn_tables)


def _gates(streams: tuple[Stream, ...]) -> tuple[IsolatingValve, ...]:
    """Return every isolating valve that is turned: of the tests, of the streams, of those isolated beside."""
    found: dict[str, IsolatingValve] = {}
    for stream in streams:
        way = stream.way
        wanted = {*way.ends, *way.opened}
        inner = (part for part in way.view.layout.main if isinstance(part, IsolatingValve))
        beside = (valve for one in way.beside for valve in (one.up, one.down))
        for valve in (*(v for v in inner if v.id in wanted), *beside):
            found.setdefault(valve.id, valve)
    return tuple(found.values())


def _mode_note(streams: tuple[Stream, ...], nodes: tuple[Node, ...], *, fresh: bool) -> tuple[Message, ...]:
    """Return how the streams are cut off; nothing where no step cuts one off."""
    if not {node.id.split(".")[0] for node in nodes} & {"B1", "C1", "S1", "Y2"}:
        return ()
    desk = streams[0].desk
    named = ", ".join(stream.way.view.words for stream in streams)
    text = "note.stream_out_fresh" if fresh else "note.stream_out"
    if streams[0].way.mode == "station out":
        text = "note.station_out"
    return (desk.say(text, streams=named),)


def _names(built: Built, streams: tuple[Stream, ...], nodes: tuple[Node, ...]) -> dict[str, Message]:
    """Return the words of every name used, and the labels of all readings."""
    found: dict[str, Message] = {}
    by_key = {stream.way.key: stream for stream in streams}
    for node in nodes:
        used = (
            *node.touches, *node.proves, *node.depends_on, *node.opens, *node.restores, *node.raises,
        )  # fmt: skip
        own = by_key.get(built.key_of.get(node.id, ""), streams[0])
        for name in used:
            if name not in found:
                found[name] = _word(name, own, by_key)
        for one in node.inputs:
            label = f"{node.id}/{one.name}"
            stored = built.labels.get(label) or own.desk.labels.get(label)
            if stored is None:
                stored = next(s.desk.labels[label] for s in streams if label in s.desk.labels)
            found[label] = stored
    return dict(sorted(found.items()))


def _word(name: str, own: Stream, by_key: dict[str, Stream]) -> Message:
    bare, at, key = name.partition("@")
    stream = by_key.get(key, own)
    message = words(stream.desk.facts, [bare])[bare]
    if not at:
        return message
    return Message(
        "name.on_stream", {**message.params, "what": f"@{message.id}", "stream": stream.way.view.words}
    )


def check_kind(item: str, kind: Kind) -> None:
    """Raise where an item is given that this kind does not take.

    Raises
    ------
    InputError
        An item for a first or a yearly visit.
    """
    if item and kind in ("first", "yearly"):
        raise InputError("item", f"got {item!r}.", f"A plan of kind {kind} takes no item.")
