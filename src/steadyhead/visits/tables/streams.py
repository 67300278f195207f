"""Table S: one stream at a time, the others isolated and seen to be tight; then the streams together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from steadyhead.design.stagger import is_sure, least_apart, order_sure
from steadyhead.findings import Amount
from steadyhead.records.parts import Drain, ShutOff
from steadyhead.records.plan_numbers import Together
from steadyhead.records.procedure import Expression, Input, Node
from steadyhead.visits.several.together import covered, covering, leading_way
from steadyhead.visits.several.ways import Beside, Way
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables.desk import (
    Desk,
    Needs,
    Tag,
    is_no,
    is_yes,
    measured,
    outside,
    rises,
    yes_no,
)
from steadyhead.visits.tables.names import of, reducer_things

Params = Mapping[str, Amount | str | int]


@dataclass(frozen=True)
class Stream:
    """A way with its writing desk; order: every part of the station in walking order."""

    way: Way
    desk: Desk
    order: str = ""


def isolated(branch: str) -> str:
    """Return the restore item of a branch that is isolated for a test."""
    return f"{branch}.isolated"


def unlocked(branch: str) -> str:
    """Return the restore item of a branch that is locked shut in service and open for a test."""
    return f"{branch}.unlocked"


def alone(stream: Stream, needs: list[Needs], *, first: bool, pressed: bool = False) -> Node:
    """Return S1: the others isolated, this stream open; pressed: the station is under pressure."""
    way, desk = stream.way, stream.desk
    do: list[str | tuple[str, Params]] = [] if first or pressed else ["down"]
    do += [("shut", _ends(beside)) for beside in way.beside]
    for beside in way.beside:
        do += [("senses", _seen(desk, beside, shut_off)) for shut_off in beside.seen]
    if way.opened and way.locked_shut:
        do.append(("unlock", {"locks": _listed(way.opened)}))
    if way.opened:
        do.append(("open", {"valves": _listed(way.opened)}))
    cautions: list[tuple[Tag, str]] = [("surge", "surge_close")]
    if not pressed:
        cautions.append(("pressure", "trapped"))
    return desk.node(
        "S1",
        way.key,
        needs=needs,
        do=(*do, "list"),
        inputs=yes_no("tagged"),
        otherwise=(("not", is_no("tagged")),),
        out=("trickle" if pressed else "isolated",),
        hazards=cautions,
        over=_of(way),
        opens=[
            *(isolated(beside.branch) for beside in way.beside),
            *((unlocked(way.branch),) if way.opened and way.locked_shut else ()),
        ],
    )


def others_tight(stream: Stream, needs: list[Needs]) -> Node:
    """Return S2: nothing passes through the streams beside, seen at an opening of each or by the outlet."""
    way, desk = stream.way, stream.desk
    do: list[tuple[str, Params]] = []
    for beside in way.beside:
        if beside.opening is None:
            do.append(("held", _ends(beside)))
        else:
            name = "drain" if isinstance(beside.opening, Drain) else "tap"
            do.append((name, {**_ends(beside), "opening": beside.opening.id}))
    blind = any(beside.opening is None for beside in way.beside)
    shown = any(beside.opening is not None for beside in way.beside)
    inputs: tuple[Input, ...] = yes_no("dry") if shown else ()
    checks: list[tuple[str, Expression]] = [("runs", is_no("dry"))] if shown else []
    if blind:
        inputs += (
            desk.read("T3", "T3.first", still=False),
            desk.read("T3", "T3.last", still=False),
        )
        checks.append(("climbs", rises("T3.first", "T3.last", d.STILL_BAND.si)))
    return desk.node(
        "S2",
        way.key,
        needs=needs,
        do=do,
        inputs=inputs,
        otherwise=checks,
        out=("trickle",),
        hazards=(("pressure", "trapped"),),
        over=_of(way),
        proves=[f"{beside.branch}.shut_tight" for beside in way.beside],
        depends_on=[f"{end.id}.gate" for beside in way.beside for end in (beside.up, beside.down)],
    )


def back(
    desk: Desk,
    beside: Beside,
    together: Together,
    needs: list[Needs],
    *,
    stands: bool = False,
    full: bool = True,
) -> Node:
    """Return S3, for a low-flow stream H3: an isolated stream back as it stands in service.

    stands: it was tested last and stands open; full: the inlet valve is fully open before and after.
    """
    locked = beside.locked_shut
    do: list[str | tuple[str, Params]] = []
    if locked:
        do.append("locked")
    elif stands:
        do += ["stands", "look"]
    else:
        do.append("throttle")
        do += [("reset", {"so": shut_off.id}) for shut_off in beside.seen]
        do += ["open", *(("full",) if full else ()), "look"]
    return desk.node(
        "H3" if beside.role == "low flow" else "S3",
        beside.branch,
        needs=needs,
        do=(*do, "twice"),
        inputs=(*(() if locked else (_header(desk, together, "T3"),)), *yes_no("listed")),
        otherwise=(("kept" if locked else "not", is_no("listed")),),
        out=("trickle",),
        hazards=() if locked or stands else (("surge", "rush"),),
        text="S3",
        title="title_kept" if locked else "title",
        over={**_ends(beside), "header": together.header, "t3": together.header},
        restores=[isolated(beside.branch), *((unlocked(beside.branch),) if locked else ())],
    )


def leads(streams: tuple[Stream, ...], together: Together, needs: list[Needs], *, served: bool) -> Node:
    """Return S4: which stream carries a trickle; served: consumers are connected."""
    desk = streams[0].desk
    words = _both(together)
    return desk.node(
        "S4",
        needs=needs,
        do=("served" if served else "trickle", "look"),
        inputs=(_header(desk, together, "T3"), *yes_no("leads")),
        bands={} if served else {"T3": "together.trickle.T3"},
        otherwise=(("other", is_no("leads")), *(() if served else (("off", outside("T3")),))),
        out=("in_service" if served else "trickle",),
        over=words,
        proves=("streams.lead",),
        depends_on=_settings(streams),
    )


def changeover(streams: tuple[Stream, ...], together: Together, needs: list[Needs]) -> Node:
    """Return S5: where another stream takes over, with rising and with falling flow, or by hand."""
    desk = streams[0].desk
    flows = together.flows
    if not flows:
        return _by_hand(streams, together, needs)
    words = {
        **_both(together),
        "handover": Amount("flow", together.handover or 0.0),
        "below": Amount("flow", flows[0]),
        "above": Amount("flow", flows[1]),
    }
    named = ("up.1", "up.2", "down.2", "down.1")
    inputs = [_header(desk, together, f"T3.{name}") for name in named]
    apart: Expression = {
        "any": [
            {
                "gt": [
                    {"abs": {"sub": [{"value": f"T3.up.{n}"}, {"value": f"T3.down.{n}"}]}},
                    d.HYSTERESIS.si,
                ]
            }
            for n in (1, 2)
        ]
    }
    off: Expression = {"any": [outside(f"T3.{name}") for name in named]}
    return desk.node(
        "S5",
        needs=needs,
        do=("below", "above", "again"),
        inputs=(
            measured("flow", "flow", "meter" if desk.facts.has_meter else "bucket and watch"),
            *inputs,
            *yes_no("opens", "shuts"),
        ),
        bands={f"T3.{name}": f"handover.{name[-1]}.T3" for name in named},
        otherwise=(
            ("never", {"any": [is_no("opens"), is_no("shuts")]}),
            ("off", off),
            ("apart", apart),
        ),
        out=("flowing",),
        hazards=(("surge", "surge_step"),),
        over=words,
        proves=("streams.changeover",),
        depends_on=_settings(streams),
    )


def _by_hand(streams: tuple[Stream, ...], together: Together, needs: list[Needs]) -> Node:
    desk = streams[0].desk
    way = leading_way(tuple(s.way for s in streams), together)
    valve = way.opened[-1] if way is not None and way.opened else together.leader
    return desk.node(
        "S5",
        needs=needs,
        do=("close", "reopen"),
        inputs=(
            _header(desk, together, "T3.shut"),
            _header(desk, together, "T3.back"),
            *yes_no("opens", "shuts"),
        ),
        bands={"T3.shut": "handover.hand.T3", "T3.back": "together.trickle.T3"},
        otherwise=(
            ("S5.never", {"any": [is_no("opens"), is_no("shuts")]}),
            ("S5.off", {"any": [outside("T3.shut"), outside("T3.back")]}),
        ),
        out=("trickle",),
        hazards=(("surge", "surge_step"),),
        text="S5h",
        over={**_both(together), "stop": valve},
        proves=("streams.changeover",),
        depends_on=_settings(streams),
    )


def steady(streams: tuple[Stream, ...], together: Together, needs: list[Needs], *, served: bool) -> Node:
    """Return S6: two streams in service do not swing against each other."""
    desk = streams[0].desk
    words: dict[str, Amount | str | int] = {**_both(together)}
    where = "served" if served else "at" if together.flows else "trickle"
    if together.handover is not None:
        words["handover"] = Amount("flow", together.handover)
    return desk.node(
        "S6",
        needs=needs,
        do=(where, "watch"),
        inputs=yes_no("stable"),
        otherwise=(("swings", is_no("stable")),),
        out=("in_service" if served else "flowing",),
        over=words,
        proves=("streams.calm",),
        depends_on=dict.fromkeys(
            (
                *_settings(streams),
                *(n for s in streams for n in of(s.way.last_reducer, "needles")),
            )
        ),
    )


def pairs(ways: tuple[Way, ...]) -> tuple[tuple[Way, Way], ...]:
    """Return ways whose shut-offs see one outlet and must not act together, the earlier trip first."""
    found = sorted((w for w in covered(ways) if w.shut_off is not None), key=_trip)
    return tuple(pairwise(found))


def _trip(way: Way) -> float:
    shut_off = way.shut_off
    return shut_off.trip.si if shut_off is not None and shut_off.trip is not None else 0.0


def staggered(
    streams: tuple[Stream, ...], pair: tuple[Way, Way], needs: list[Needs], first: Mapping[str, str]
) -> Node:
    """Return S7: two proved trips lie as far apart as designed, within the scatter of two proofs.

    Noted only where the design is sure of no distance. Which of the two acts first is proved only where they
    lie further apart than both scatter.

    first: step that holds the first proved middle, by shut-off; empty where it is taken from the last record.
    """
    desk = streams[0].desk
    early, late = (way.shut_off for way in pair)
    assert early is not None
    assert late is not None
    least = least_apart(desk.facts.station, early, late)
    recorded: list[Input] = []
    read: list[Expression] = []
    for name, valve in (("late", late), ("early", early)):
        step = first.get(valve.id, "")
        read.append({"value": [step, "mid"] if step else name})
        recorded += [] if step else [measured(name, "pressure", "last record")]
    order = order_sure(desk.facts.station, early, late)
    checks: list[tuple[str, Expression]] = [("unordered", {"lt": [{"sub": read}, order]})]
    if is_sure(least):
        checks.insert(0, ("close", {"lt": [{"sub": read}, least]}))
    return desk.node(
        "S7",
        late.id,
        needs=needs,
        do=("work_out" if is_sure(least) else "write_down", "order"),
        inputs=(*recorded, measured("apart", "pressure", "worked out")),
        otherwise=checks,
        out=("trickle",),
        over={
            "early": early.id,
            "late": late.id,
            "least": Amount("pressure", least),
            "order_sure": Amount("pressure", order),
            "stated": Amount("pressure", _trip(pair[1]) - _trip(pair[0])),
        },
        proves=of(late, "stagger") if is_sure(least) else (),
        depends_on=(*of(early, "trip"), *of(late, "trip")),
    )


def one_out(stream: Stream, other: Stream, together: Together, needs: list[Needs], *, served: bool) -> Node:
    """Return S8: this stream's shut-off shut by hand, the other stream holds; what runs back is looked at."""
    desk, way = stream.desk, stream.way
    shut_off = way.shut_off
    assert shut_off is not None
    words: dict[str, Amount | str | int] = {
        **_of(way),
        **desk.pilot(shut_off),
        "other": f"{other.way.view.id} ({other.way.view.role})",
        "other_rv": other.way.last_reducer.id,
        "rv": way.last_reducer.id,
        "header": together.header,
        "t3": together.header,
        "cv": way.check_valve,
    }
    carries = way.last_reducer.id == together.leader
    if served:
        words["t3"] = desk.facts.taps["T3"]
    else:
        words["down"] = way.opened[-1] if way.opened else desk.facts.outlet_valve.id
    inside = [part for part in way.layout.main if part.id not in way.outer]
    drains = [part.id for part in inside if isinstance(part, Drain)]
    reset: tuple[str, ...] = ("reset_served", "back") if served else ("reset",)
    if not served and way.last_reducer.senses not in {part.id for part in inside}:
        reset = ("reset_header",)
    elif not served and drains:
        words["own"], reset = drains[-1], ("reset_own",)
    role = _behind(desk, shut_off)
    returns = (_return_of(way, other.way),) if role else ()
    return desk.node(
        "S8",
        way.key,
        needs=needs,
        do=(
            "served" if served else "trickle",
            *(() if carries else ("idle",)),
            "shut",
            "holds",
            *returns,
            *reset,
        ),
        inputs=(_header(desk, together, "T3"), *(desk.reads(role) if role else ()), *yes_no("open")),
        bands={} if served else {"T3": f"one_out.{way.key}.T3"},
        otherwise=(
            *((("off", outside("T3")),) if not served else ()),
            ("stays", is_no("open")),
        ),
        out=("in_service" if served else "tripped",),
        hazards=(("surge", "rush"), ("consumers", "consumers_low")) if served else (("surge", "rush"),),
        over={**words, **({"behind": desk.facts.taps[role]} if role else {})},
        proves=[f"{way.branch}.covered"] if carries else (),
        depends_on=reducer_things(other.desk.facts, other.way.last_reducer) if carries else (),
    )


def _return_of(way: Way, other: Way) -> str:
    """Return what the tap behind a shut shut-off shows: what its reducer does at the other's outlet."""
    if way.check_valve:
        return "checked"
    higher = way.last_reducer.duty.pressure.si > other.last_reducer.duty.pressure.si
    return "returns" if higher else "stands"


def _behind(desk: Desk, shut_off: ShutOff) -> str:
    """Return the role of a tap between a shut-off ahead of its reducer and that reducer."""
    place = desk.facts.layout.shut_off_place
    return "T2" if place == "upstream" and desk.facts.has_tap("T2") else ""


def backwards(stream: Stream, together: Together, needs: list[Needs]) -> Node:
    """Return S9: the check valve of this stream tight backwards, the others under pressure."""
    desk, way = stream.desk, stream.way
    up = way.view.layout.inlet_valve
    drain = _inner_drain(way)
    words: dict[str, Amount | str | int] = {
        **_of(way),
        "cv": way.check_valve,
        "header": together.header,
        "t3": together.header,
    }
    words["up"] = up.id if up is not None else ""
    words["opening"] = drain
    return desk.node(
        "S9",
        way.key,
        needs=needs,
        do=("shut", "drain" if drain else "tap", "open"),
        inputs=(_header(desk, together, "T3"), *yes_no("runs"), measured("leak", "leak", "bucket and watch")),
        otherwise=(("passes", is_yes("runs")),),
        out=("trickle",),
        hazards=(("pressure", "trapped"), ("surge", "surge_close")),
        over=words,
        proves=[f"{way.check_valve}.backwards"],
        depends_on=[f"{way.check_valve}.gate"],
    )


def _inner_drain(way: Way) -> str:
    """Return the drain between the last valve and the check valve of a way; empty without one."""
    layout = way.view.layout
    last = layout.position(way.last_reducer.id)
    check = layout.position(way.check_valve)
    found = [p.id for p in layout.main[last:check] if isinstance(p, Drain)] if check > last else []
    return found[0] if found else ""


def _settings(streams: Iterable[Stream]) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(
            name for s in streams for name in of(s.way.last_reducer, "setting", "nut", "pilot", "seat")
        )
    )


def _header(desk: Desk, together: Together, name: str) -> Input:
    return replace(desk.read("T3", name), tap=together.header)


def _of(way: Way) -> Params:
    return {"stream": f"{way.view.id} ({way.view.role})"}


def _both(together: Together) -> Params:
    return {
        "leader": together.leader,
        "follower": together.follower or "@streams.other",
        "header": together.header,
        "t3": together.header,
    }


def _ends(beside: Beside) -> Params:
    return {
        "beside": f"{beside.branch} ({beside.role})",
        "up": beside.up.id,
        "down": beside.down.id,
        "turns_up": _count(beside.up.turns),
        "turns_down": _count(beside.down.turns),
    }


def _count(turns: object) -> str:
    return getattr(turns, "text", "") or "@turns.unknown"


def _seen(desk: Desk, beside: Beside, shut_off: ShutOff) -> Params:
    trip = shut_off.trip.si if shut_off.trip is not None else 0.0
    return {**_ends(beside), "so": shut_off.id, "senses": shut_off.senses, "acts": Amount("pressure", trip)}


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names)


def cover(stream: Stream, streams: tuple[Stream, ...]) -> Stream:
    """Return the stream that holds while this one's shut-off stands shut."""
    way = covering(stream.way, tuple(s.way for s in streams))
    return next(s for s in streams if s.way is way)
