"""Table A and the choice E0: what must be so before anything is touched."""

from __future__ import annotations

from collections.abc import Iterator

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.procedure import Choice, Expression, Input, Node, Refusal
from steadyhead.visits import outage
from steadyhead.visits.defaults import HOLD_BAND
from steadyhead.visits.tables import heating
from steadyhead.visits.tables.desk import (
    FITS,
    SET,
    Desk,
    Tag,
    is_no,
    measured,
    noted,
    short_gauges,
    yes_no,
)
from steadyhead.visits.tables.names import paper_things

FIRE_CODES = ("PLAN-26", "LAY-26", "LAY-43")
"""Findings whose answers say what the fire authority decided."""
Params = dict[str, Amount | str | int]


def nodes(desk: Desk) -> Iterator[Node]:
    """Yield A1 to A8 and E0 of each pilot."""
    yield _design(desk)
    yield _permits(desk)
    yield _telling(desk)
    yield _air(desk)
    yield _identity(desk)
    yield _gauges(desk)
    yield desk.node(
        "A7",
        needs=["A5"],
        do=("valves", "cocks", *(("medium",) if desk.facts.medium_bypasses else ()), "screws"),
        inputs=(*noted("positions", "height"), measured("photo", "photo", "camera")),
        out=("outside",),
    )
    if has_alarm(desk):
        yield desk.node(
            "A8",
            needs=["A3"],
            do=("set",),
            inputs=(*yes_no("confirmed"), *noted("until")),
            otherwise=(("refused", is_no("confirmed")),),
            out=("outside",),
            opens=("alarm_test",),
        )
    yield from heating.off(desk, needs=["A3", "A7"])
    for valve in desk.facts.valves:
        if desk.facts.is_own(valve):
            yield _factory(desk, valve)


def has_alarm(desk: Desk) -> bool:
    """Return whether the control room hears anything of this station."""
    shut_off = desk.facts.shut_off
    return desk.facts.station.alarm is not None or (
        shut_off is not None and shut_off.limit_switch is not None
    )


def before_isolating(desk: Desk) -> list[str]:
    """Return the steps that stand before the first valve is closed."""
    return ["A3", "A4", "A6", "A7", *(["A8"] if has_alarm(desk) else []), *heating.needed(desk)]


def choices(desk: Desk, opened: dict[tuple[str, str], list[str]]) -> tuple[Choice, ...]:
    """Return the choice of each pilot: its factory setting fits, or it must be set.

    opened: step ids by pilot id and option.
    """
    found = []
    for valve in (valve for valve in desk.facts.valves if desk.facts.is_own(valve)):
        words = desk.pilot(valve)
        options = tuple(
            (name, desk.say(f"E0.{name}", **words), tuple(opened.get((valve.id, name), ())))
            for name in (FITS, SET)
        )
        found.append(Choice(f"E0.{valve.id}", desk.say("E0.question", **words), options))
    return tuple(found)


def _design(desk: Desk) -> Node:
    return desk.node(
        "A1",
        do=("compare", "ladder" if desk.facts.shut_off is None else "window"),
        inputs=yes_no("released"),
        otherwise=(("not_released", is_no("released")),),
        proves=("design.released",),
        depends_on=paper_things(),
    )


def _permits(desk: Desk) -> Node:
    hazards = desk.facts.station.station.hazards
    cautions: list[tuple[Tag, str]] = []
    do: list[str | tuple[str, Params]] = []
    if _is_confined(desk):
        do.append("entry")
        cautions.append(("confined space", "confined"))
    if "traffic" in hazards:
        do.append("traffic")
        cautions.append(("traffic", "traffic"))
    do += ["isolation", "discharge"]
    cautions.append(("water quality", "discharge"))
    if "electric" in hazards:
        do.append("electric")
        cautions.append(("electric", "electric"))
    if desk.facts.carries_fire_water:
        do.append("fire")
        do += fire_answer(desk)
        cautions.append(("fire", "fire"))
    total = sum((use.litres for use in desk.numbers.drain_budget), 0.0) / 1e3
    return desk.node(
        "A2",
        needs=["A1"],
        do=do,
        inputs=(*noted("permits"), *yes_no("given")),
        otherwise=(("refused", is_no("given")),),
        out=("outside",),
        hazards=cautions,
        over={"litres": Amount("volume", total)},
    )


def _telling(desk: Desk) -> Node:
    identity = desk.facts.station.station
    fire = desk.facts.carries_fire_water
    do: list[str | tuple[str, Params]] = ["desk", "consumers"]
    if identity.sensitive_consumers:
        do.append("sensitive")
    do += outage.lines(desk.facts)
    if fire:
        do.append("fire")
        do += fire_answer(desk)
    cautions: list[tuple[Tag, str]] = [("consumers", "consumers_low")]
    if fire:
        cautions.append(("fire", "fire"))
    return desk.node(
        "A3",
        needs=["A1"],
        do=(*do, "words"),
        inputs=(*noted("told"), *stock(desk), *yes_no("answered")),
        otherwise=(("no_answer", is_no("answered")), *stock_checks(desk)),
        out=("outside",),
        hazards=cautions,
        opens=("fire_cover",) if fire else (),
    )


def stock(desk: Desk) -> tuple[Input, ...]:
    """Return what is asked of the consumers: how long they hold out, and who brings water meanwhile."""
    told = [name for name, _ in outage.lines(desk.facts)]
    covered = (*yes_no("covered"), *noted("agreed")) if told else ()
    return (*(noted("stock") if "A3.stock" in told else ()), *covered)


def stock_checks(desk: Desk) -> list[tuple[str, Expression]]:
    """Return what stops the work where consumers would run dry meanwhile."""
    return [("A3.uncovered", is_no("covered"))] if outage.lines(desk.facts) else []


def fire_answer(desk: Desk) -> list[tuple[str, Params]]:
    """Return the text of each recorded answer on fire water: words, authority, day, by whom."""
    found: list[tuple[str, Params]] = []
    for answer in desk.facts.station.answers:
        if answer.to in FIRE_CODES:
            words: Params = {
                "answer": answer.answer,
                "by": answer.by,
                "authority": answer.authority or "@fire.no_authority",
                "decided": answer.decided or "@date.unnamed",
            }
            found.append(("A2.fire_answer", words))
    return found


def is_direct(valve: Reducer | ShutOff) -> bool:
    """Return whether a valve is held by its own spring: no pilot, no chamber, no sensing line outside."""
    return isinstance(valve, Reducer) and valve.kind == "direct-acting"


def _is_confined(desk: Desk) -> bool:
    identity = desk.facts.station.station
    return identity.kind == "utility chamber" or "confined space" in identity.hazards


def _air(desk: Desk) -> Node:
    confined = _is_confined(desk)
    flooding = "flooding" in desk.facts.station.station.hazards
    cautions: list[tuple[Tag, str]] = [("confined space", "confined")] if confined else []
    if flooding:
        cautions.append(("confined space", "flooding"))
    checks: list[tuple[str, Expression]] = [("wet", is_no("dry"))]
    if confined:
        checks.insert(0, ("alarm", is_no("air")))
    return desk.node(
        "A4",
        needs=["A2"],
        do=("class", "test", "rescue", "drainage") if confined else ("open_class", "open_way"),
        inputs=yes_no("air", "dry") if confined else yes_no("dry"),
        otherwise=checks,
        out=("outside",),
        hazards=cautions,
    )


def _identity(desk: Desk) -> Node:
    facts = desk.facts
    do: list[str | tuple[str, dict[str, Amount | str | int]]] = ["name", "order", "arrows"]
    do += [("spring_own" if is_direct(valve) else "spring", desk.pilot(valve)) for valve in facts.valves]
    do += [("sensing", desk.pilot(valve)) for valve in facts.valves if not is_direct(valve)]
    do += [("relief", {"rl": relief.id}) for relief in facts.layout.reliefs]
    if facts.monitor is not None:
        do.append("monitor")
    asked = []
    shut_off = facts.shut_off
    if shut_off is not None and facts.shares_sensing:
        known = shut_off.sensing_tap == "shared with reducer"
        do.append("shared" if known else "may_share")
        asked += [] if known else ["sensing"]
    if shut_off is not None and shut_off.closes_by == "not known":
        do.append("closes_by")
        asked.append("closes_by")
    if facts.medium_bypasses:
        do.append("medium")
    elif facts.is_downstream and shut_off is not None and shut_off.closing_medium == "not known":
        do.append("find_medium")
        asked.append("medium")
    return desk.node(
        "A5",
        needs=["A4"],
        do=do,
        inputs=(*yes_no("match"), *noted(*asked), measured("photo", "photo", "camera")),
        otherwise=(("differs", is_no("match")),),
        out=("outside",),
        hazards=(("pressure", "trapped"),),
    )


def _gauges(desk: Desk) -> Node:
    gauges = desk.facts.station.gauges
    do = ["due" if gauges else "borrow", "zero", "compare" if len(gauges) != 1 else "second"]
    if desk.past_due:
        do.insert(1, "past_due")
    if desk.numbers.good_gauges:
        do.append("set_with" if desk.facts.shut_off is not None else "set_with_plain")
    if desk.facts.has_pump:
        do.append("pump")
    spans = low_spans(desk)
    differ = [("differ", _apart(desk))]
    return desk.node(
        "A6",
        needs=["A5"],
        do=(*do, *spans, "hose"),
        inputs=(*noted("gauges"), desk.read("T3", "first"), desk.read("T3", "second")),
        otherwise=differ,
        out=("outside",),
        hazards=(("pressure", "trapped"),),
        proves=("gauges.compared",),
        depends_on=("gauges.fixed",),
        opens=("gauges_on",),
        refuses=(_one_gauge(desk),),
    )


def _one_gauge(desk: Desk) -> Refusal:
    """Return why the comparison does not count: one gauge gave both readings, and agrees with itself."""
    first, second = ({"instrument": [name, "name"]} for name in ("first", "second"))
    return Refusal({"eq": [first, second]}, desk.say("rf.one_gauge"))


def _apart(desk: Desk) -> Expression:
    """Return the predicate: two gauges differ by more than both classes, and the tap may move meanwhile.

    By the classes of the gauges read; by those of the file too where it names two.
    """
    apart: Expression = {"abs": {"sub": [{"value": "first"}, {"value": "second"}]}}
    classes = [{"instrument": [name, "error"]} for name in ("first", "second")]
    own: Expression = {"gt": [apart, {"add": [*classes, HOLD_BAND.si]}]}
    gauges = desk.facts.station.gauges
    errors = sorted((gauge.accuracy.si * gauge.span.si for gauge in gauges), reverse=True)[:2]
    return {"any": [own, {"gt": [apart, sum(errors) + HOLD_BAND.si]}]} if len(errors) == 2 else own


def low_spans(desk: Desk) -> list[tuple[str, Params]]:
    """Return the text of each gauge for setting that does not bear the highest inlet pressure."""
    return [("A6.low_span", short) for short in short_gauges(desk.facts)]


def _factory(desk: Desk, valve: Reducer | ShutOff) -> Node:
    return desk.node(
        "E0",
        valve.id,
        needs=["A5", "A7"],
        do=("tag" if valve.factory is not None else "no_tag", "compare", "judge"),
        inputs=yes_no("fits"),
        otherwise=(("unfit", {"all": [is_no("fits"), {"eq": [{"value": "@choice"}, FITS]}]}),),
        out=("outside",),
        over=desk.pilot(valve),
    )
