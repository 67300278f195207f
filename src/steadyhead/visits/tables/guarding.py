"""Why a value is none as found, or an answer none, because of what was done: predicates as data."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from steadyhead.findings import Amount
from steadyhead.procedure.graph import needed
from steadyhead.procedure.holding import AGREE
from steadyhead.procedure.touching import STANDS
from steadyhead.records.entry import GUARDS, MOVES, TELLS, TOUCHES
from steadyhead.records.parts import Reducer, Relief, ShutOff, Strainer, Tap
from steadyhead.records.procedure import Expression, Message, Node, Refusal
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.desk import Desk
from steadyhead.visits.tables.names import of, reducer_things, shut_off_things

AIR = ("line", "line.covers")
OPEN = ("open", "Open", "fully open", "wide open")
"""How a shut-off that stands open is written down."""
SHUT = ("shut", "Shut", "closed", "Closed", "fully shut", "fully closed")
"""How a valve that stands shut is written down."""
HARMLESS = (*TELLS, *(one for one in GUARDS if one != "defeat"), *(one for one in MOVES if one not in STANDS))
"""Acts after which a thing that is no valve in the line stands as it stood."""

LEFT_ALONE = (*TELLS, *(one for one in GUARDS if one != "defeat"), "lock", "unlock")
"""Acts after which a part of a valve, its lines too, still stands as it was found."""

WATER_MOVED = (
    "drain", "draw water", "flush", "fill", "pump", "inject",
)  # fmt: skip
"""Moves that a run itself is made by."""
BY_HAND = (
    *TOUCHES, "defeat", *STANDS, "reset", "stroke by hand", "hold", "release", "vent",
)  # fmt: skip
"""Acts by which a shut-off that is named whole is worked; *trip* is what a run ends with."""
UNNAMED = ("defeat", *(one for one in MOVES if one not in ("trip", *WATER_MOVED)))
"""Acts that name nothing and mean the shut-off, at a step that tries it."""
STROKED = ("reset", "stroke by hand")


def any_of(key: str, values: Iterable[str]) -> Expression:
    """Return the predicate: an entry carries one of these."""
    return {"any": [{"eq": [{"entry": key}, value]} for value in values]}


def happened(act: Expression, of_: str = "@action") -> Expression:
    """Return the predicate: there is such an act, or entry of another kind, at any step."""
    return {"gt": [{"count": {"of": ["*", of_], "where": act}}, 0]}


def unnamed(act: Expression) -> Expression:
    """Return the predicate: there is such an act, at any step, that names nothing."""
    named: Expression = {"all": [act, {"ne": [{"entry": "thing"}, ""]}]}
    counts: list[Expression] = [{"count": {"of": ["*", "@action"], "where": where}} for where in (act, named)]
    return {"gt": [{"sub": counts}, 0]}


def before(name: str | list[str]) -> Expression:
    """Return the predicate: an entry comes before what counts of an input."""
    return {"lt": [{"entry": "order"}, {"order": name}]}


def perhaps_before(name: str | list[str]) -> Expression:
    """Return the predicate: an entry comes before what counts of an input, or may by what clocks leave open.

    Of one device its own numbers tell; an entry at a step belongs to that step, whenever its clock says.
    """
    mine, other = {"entry": "early"}, {"carried": [name, "late"]}
    apart: Expression = {"sub": [{"entry": "time"}, {"time": name}]}
    may: Expression = {
        "all": [
            {"eq": [{"entry": "step"}, ""]},
            {"ne": [{"entry": "device"}, {"carried": [name, "device"]}]},
            {"gt": [{"add": [mine, other]}, AGREE]},
            {"le": [apart, {"add": [mine, other]}]},
        ]
    }
    return {"any": [before(name), may]}


def worked(things: Iterable[str]) -> Expression:
    """Return the predicate: an act by which one of these no longer stands as it stood."""
    return {"all": [any_of("thing", things), {"not": any_of("value", HARMLESS)}]}


def as_found(desk: Desk, reducer: Reducer, *names: str) -> Iterator[Refusal]:
    """Yield why what a reducer holds is none as found: it, or what it is read by, was worked before.

    names: the readings; what is worked between them counts. At the line that is tested first the strainer,
    the air, the gauges and what else stands in it count too; at the others the plan itself may have opened
    them before.
    """
    facts = desk.facts
    things = [reducer.id, *reducer_things(facts, reducer), *of(reducer, "reach")]
    if facts.proved is not None or facts.shut_off is None:
        things += _around(desk)
    act: Expression = {
        "all": [worked(dict.fromkeys(things)), {"any": [perhaps_before(name) for name in names]}]
    }
    yield Refusal(happened(act), desk.say("rf.found_touched", **desk.pilot(reducer)))


def _around(desk: Desk) -> Iterator[str]:
    """Yield what else a value as found rests on: strainers, air, gauges, the valves beside."""
    facts = desk.facts
    yield from AIR
    for gauge in facts.station.gauges:
        yield from (gauge.id, *of(gauge.id, "dial"))
    for part in facts.station.parts():
        if isinstance(part, Strainer):
            yield from (part.id, *of(part, "element"))
        elif isinstance(part, Reducer) and facts.is_own(part):
            yield from (part.id, *reducer_things(facts, part))


def first_untouched(desk: Desk, shut_off: ShutOff, hold: str, act: str, *, own_step: str = "") -> Expression:
    """Return the predicate: what a first run rests on was worked before it, or a line of its pilot moved.

    hold, act: last hold without action, and the reading at the action: up to there nothing of the shut-off is
    worked, vented or cut off. own_step: a step that itself moves a cock of its lines; empty: none does.
    """
    own = shut_off_things(desk.facts, shut_off)
    parts = desk.facts.station.parts()
    around = (
        *AIR,
        *(one for gauge in desk.facts.station.gauges for one in (gauge.id, *of(gauge.id, "dial"))),
    )
    if sum(isinstance(part, ShutOff) for part in parts) == 1:  # else another stream may have opened it before
        around += tuple(
            one for part in parts if isinstance(part, Strainer) for one in (part.id, *of(part, "element"))
        )
    moved: Expression = {
        "all": [
            any_of("thing", (shut_off.id,)),
            any_of("value", (*STANDS, "reset", "trip", "stroke by hand")),
        ]
    }
    inside: dict[str, list[Expression]] = {
        "all": [any_of("thing", own), {"not": any_of("value", LEFT_ALONE)}, perhaps_before(act)]
    }
    if own_step:
        by_plan: Expression = {"all": [{"eq": [{"entry": "step"}, own_step]}, any_of("value", MOVES)]}
        inside["all"].append({"not": by_plan})
    whole: Expression = {
        "all": [any_of("thing", (shut_off.id,)), any_of("value", BY_HAND), perhaps_before(act)]
    }
    earlier: Expression = {"all": [{"any": [worked((shut_off.id, *around)), moved]}, perhaps_before(hold)]}
    return {"any": [happened({"any": [inside, whole, earlier]}), _meant(desk, shut_off, hold, act)]}


def _meant(desk: Desk, shut_off: ShutOff, hold: str, act: str) -> Expression:
    """Return the predicate: an act that names nothing worked the shut-off before its first run was over.

    So every move by hand at the step of the run between last hold and action, and a reset or a stroke before
    that; where the station has no other shut-off, at any step.
    """
    own: Expression = {"eq": [{"entry": "step"}, f"Y4.{shut_off.id}"]}
    parts = desk.facts.station.parts()
    alone = sum(isinstance(part, ShutOff) for part in parts) == 1
    since: Expression = {"gt": [{"entry": "order"}, {"order": hold}]}
    at_run: Expression = {"all": [own, any_of("value", UNNAMED), since, before(act)]}
    stroked: Expression = {"all": [*(() if alone else (own,)), any_of("value", STROKED), perhaps_before(act)]}
    return unnamed({"any": [at_run, stroked]})


def apart(desk: Desk, shut_off: ShutOff, first: list[str], last: str, steps: Iterable[str]) -> Refusal:
    """Return why two runs are none of one valve: it was worked, or put out of action, between them.

    first, last: reading at the action of the one, last hold of the other. steps: what they move of its lines
    by themselves counts for nothing.
    """
    own = shut_off_things(desk.facts, shut_off)
    by_plan: Expression = {"all": [any_of("step", steps), any_of("value", MOVES)]}
    parts: Expression = {
        "all": [any_of("thing", own), {"not": any_of("value", LEFT_ALONE)}, {"not": by_plan}]
    }
    whole: Expression = {"all": [any_of("thing", (shut_off.id,)), any_of("value", (*TOUCHES, "defeat"))]}
    after: Expression = {"gt": [{"entry": "order"}, {"order": first}]}
    act: Expression = {"all": [{"any": [parts, whole]}, after, before(last)]}
    return Refusal(happened(act), desk.say("rf.between_touched", **desk.pilot(shut_off)))


def relief_apart(desk: Desk, relief: Relief, first: list[str], last: str) -> Refusal:
    """Return why lift and reseat are none of one relief valve: it was worked between them.

    first, last: reading at the lift, and the one at which it seats again.
    """
    worked_on: Expression = {
        "all": [
            any_of("thing", (relief.id, *of(relief, "setting", "spring", "seat"))),
            any_of("value", (*TOUCHES, "defeat")),
        ]
    }
    after: Expression = {"gt": [{"entry": "order"}, {"order": first}]}
    act: Expression = {"all": [worked_on, after, before(last)]}
    return Refusal(happened(act), desk.say("rf.lift_touched", rl=relief.id))


def too_early(desk: Desk, text: str, first: list[str], last: str, **words: str) -> Refusal:
    """Return why a reading shows nothing: what it is to follow was read only after it.

    first: step and input that is read before; last: input of this step.
    """
    since: Expression = {"gt": [{"entry": "order"}, {"order": last}]}
    later: Expression = {"count": {"of": first, "where": since}}
    read: list[Expression] = [{"given": first}, {"given": last}]
    return Refusal({"all": [*read, {"eq": [later, {"count": {"of": first}}]}]}, desk.say(text, **words))


def line_untouched(desk: Desk, name: str) -> Refusal:
    """Return why taps do not tell how a line was found: a part of it was worked or moved before.

    Cocks of the taps may be opened for it.
    """
    facts = desk.facts
    things: list[str] = [*AIR]
    for part in facts.station.parts():
        if isinstance(part, Tap):
            continue
        things.append(part.id)
        if isinstance(part, ShutOff):
            things += shut_off_things(facts, part)
        elif isinstance(part, Reducer):
            things += reducer_things(facts, part)
        elif isinstance(part, Strainer):
            things += of(part, "element")
        else:
            things += of(part, "gate")
    act: Expression = {
        "all": [
            any_of("thing", dict.fromkeys(things)),
            {"not": any_of("value", LEFT_ALONE)},
            perhaps_before(name),
        ]
    }
    return Refusal(happened(act), desk.say("RS4.moved_first"))


def not_reset_before(desk: Desk, text: str, at: str, words: Mapping[str, Amount | str | int]) -> Refusal:
    """Return why nothing read here tells of the trip: the shut-off was reset, opened or found open before."""
    step, point, name = at.partition("/")
    earlier = perhaps_before([step, name] if point else at)
    so = any_of("thing", (str(words["so"]),))
    opened: Expression = {"all": [so, any_of("value", ("open", "crack", "throttle", "stroke by hand"))]}
    acts: Expression = {"all": [{"any": [any_of("value", ("reset",)), opened]}, earlier]}
    stands: Expression = {"all": [so, any_of("value", OPEN), earlier]}
    when: Expression = {"any": [happened(acts), happened(stands, "@position")]}
    return Refusal(when, desk.say(text, **words))


def opened_since(desk: Desk, text: str, since: list[str], until: str) -> Refusal:
    """Return why consumers that were cut off are not any more: the outlet valve was last said to be opened.

    since: step and input at which it was shut; until: input of this step before which it counts.
    """
    valve = desk.facts.outlet_valve.id
    inside = [any_of("thing", (valve,)), {"gt": [{"entry": "order"}, {"order": since}]}, before(until)]
    moved: Expression = {
        "last": {"of": ["*", "@action"], "where": {"all": [*inside, any_of("value", STANDS)]}}
    }
    stands: Expression = {"last": {"of": ["*", "@position"], "where": {"all": inside}}}
    opened: Expression = {"any": [{"eq": [moved, do]} for do, how in STANDS.items() if how != "shut"]}
    left: Expression = {"all": [{"ne": [stands, how]} for how in SHUT]}
    return Refusal({"any": [opened, left]}, desk.say(text, valve=valve))


def untouched(desk: Desk, shut_off: ShutOff) -> Refusal:
    """Return why a shut-off said to be untouched is not: an act on it is entered."""
    own = shut_off_things(desk.facts, shut_off)
    whole: Expression = {"all": [any_of("thing", (shut_off.id,)), any_of("value", (*TOUCHES, "defeat"))]}
    act: Expression = {"any": [worked(own), whole]}
    said: Expression = {"eq": [{"value": "touched"}, False]}
    return Refusal({"all": [said, happened(act)]}, desk.say("rf.touched_after_all", **desk.pilot(shut_off)))


def trips_told(nodes: tuple[Node, ...], shut_offs: Iterable[str]) -> tuple[Node, ...]:
    """Return the steps of a plan with why no trip is said although one is entered.

    What counts are acts at the step that asks, and acts on a shut-off since the step before it.
    """
    ids = tuple(shut_offs)
    by_id = {node.id: node for node in nodes}
    return tuple(_with_trips(node, by_id, ids) if node.id.split(".")[0] == "J2" else node for node in nodes)


def _with_trips(node: Node, by_id: Mapping[str, Node], ids: tuple[str, ...]) -> Node:
    if not ids or all(one.name != "trips" for one in node.inputs):
        return node
    acts = any_of("value", ("trip", "reset"))
    shown: list[Expression] = [{"gt": [{"count": {"of": "@action", "where": acts}}, 0]}]
    for name in needed(node.needs):
        for one in by_id[name].inputs[-1:]:
            since: Expression = {"gt": [{"entry": "order"}, {"order": [name, one.name]}]}
            shown.append(happened({"all": [acts, any_of("thing", ids), since]}))
    said: Expression = {"eq": [{"value": "trips"}, False]}
    words = Message("rf.trips_after_all", {"so": " or ".join(ids)})
    return replace(node, refuses=(*node.refuses, Refusal({"all": [said, {"any": shown}]}, words)))


def pressed(desk: Desk, raised: str) -> Iterator[Refusal]:
    """Yield why an outlet raised above the zone tells nothing of the valve between: no difference, or a fall.

    raised: what the outlet was read by while it was watched.
    """
    if desk.facts.has_tap("T4"):
        level: Expression = {"le": [{"value": raised}, {"value": "T4.last"}]}
        yield Refusal(level, desk.say("rf.pump_level"))
        fell: Expression = {"gt": [{"sub": [{"value": "T4.first"}, {"value": "T4.last"}]}, d.FEED_FALLS.si]}
        yield Refusal(fell, desk.say("rf.pump_fed"))


def pump_held(desk: Desk, least: float | None) -> Iterator[Refusal]:
    """Yield why a pumped outlet tells nothing of its valve: the pressure was lost, or something else moved.

    least: lowest reading that is test pressure. [Pa]
    """
    if least is not None:
        lost: Expression = {"lt": [{"value": "T3.last"}, least]}
        yield Refusal(lost, desk.say("rf.pump_lost", pump_least=Amount("pressure", least)))
    yield from pressed(desk, "T3.last")
    wall: Expression = {"abs": {"sub": [{"value": "wall.last"}, {"value": "wall.first"}]}}
    yield Refusal({"gt": [wall, d.WALL_WARMS.si]}, desk.say("rf.pump_wall"))
