"""Table R of a restart, R0 to R6: what is read before anything is reset, and which cause it points to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from steadyhead.findings import Amount
from steadyhead.records.parts import Reducer, ShutOff
from steadyhead.records.procedure import Choice, Expression, Input, Node
from steadyhead.visits.restarting import Restart, in_words
from steadyhead.visits.tables import defaults as d
from steadyhead.visits.tables import guarding
from steadyhead.visits.tables.a_preconditions import fire_answer, low_spans
from steadyhead.visits.tables.desk import (
    SETTING_GAUGE,
    Desk,
    Needs,
    Tag,
    is_no,
    is_yes,
    measured,
    noted,
    rises,
    yes_no,
)
from steadyhead.visits.tables.wording import as_read

REAL, ALARM = "real", "alarm only"
SOUND, FAILED, PASSES = "to be tested", "reducer failed", "shut-off passes"
Params = Mapping[str, Amount | str | int]


@dataclass(frozen=True)
class Trip:
    """What a restart is written with: the desk, the shut-off that tripped, the figures, the stream's name."""

    desk: Desk
    shut_off: ShutOff
    restart: Restart
    stream: str = ""

    @property
    def reducer(self) -> Reducer:
        """The reducer that holds the outlet."""
        return self.desk.facts.last_reducer

    def words(self) -> dict[str, Amount | str | int]:
        """Return the parameters the texts of a restart ask for."""
        return {**self.desk.pilot(self.reducer), **self.desk.pilot(self.shut_off), **figures(self)}


def figures(trip: Trip) -> dict[str, Amount | str | int]:
    """Return the figures of a restart as texts ask for them."""
    found: dict[str, Amount | str | int] = {}
    restart, facts = trip.restart, trip.desk.facts
    for name, seconds in restart.lasts.items():
        found[f"lasts_{name}"] = in_words(seconds)
    if restart.refill is not None:
        refill = restart.refill
        found["slack"] = Amount("volume", refill.slack)
        found["whole"] = Amount("volume", refill.whole)
        found["refill_flow"] = Amount("flow", refill.flow)
        found["refill_speed"] = Amount("velocity", refill.speed)
        found["refill_surge"] = Amount("pressure", refill.surge)
        found["refill_time"] = in_words(refill.whole / refill.flow) if refill.flow > 0.0 else ""
    trickle = trip.desk.numbers.trickle_flow
    found["fill_litres"] = Amount("volume", restart.station)
    found["fill_time"] = in_words(restart.station / trickle) if trickle > 0.0 else ""
    consumers = "T4" if facts.has_tap("T4") else "T3"
    for name, limit in (("normal", restart.normal), ("fault", restart.fault)):
        if limit is not None:
            found[f"{name}_part"] = limit[0]
            found[f"{name}_limit"] = Amount("pressure", as_read(facts, consumers, limit[1]))
    found["at_consumers"] = facts.taps[consumers]
    return found


def nodes(trip: Trip) -> Iterator[Node]:
    """Yield R0 to R6."""
    yield _reported(trip)
    yield _real(trip)
    yield _time_left(trip)
    yield _no_reset(trip)
    yield _as_found(trip)
    yield _consumers(trip)
    yield _cause(trip)


def choices(trip: Trip, opened: Mapping[tuple[str, str], tuple[str, ...]]) -> tuple[Choice, ...]:
    """Return the choices R1, R6 and R8 with the steps their options open."""
    desk, words = trip.desk, trip.words()
    found = []
    for step in dict.fromkeys(step for step, _ in opened):
        options = tuple(
            (
                option,
                desk.say(f"RS{step[1:]}.option.{option.replace(' ', '_').replace('-', '_')}", **words),
                ids,
            )
            for (own, option), ids in opened.items()
            if own == step
        )
        found.append(Choice(step, desk.say(f"RS{step[1:]}.question", **words), options))
    return tuple(found)


def _id_of(option: str) -> str:
    return option.replace(" ", "_").replace("-", "_")


def not_chosen(step: str, option: str) -> Expression:
    """Return the predicate: this option of a choice has not been taken."""
    name = "@choice" if not step else [step, "@choice"]
    return {"any": [{"not": {"given": name}}, {"ne": [{"value": name}, option]}]}


def chosen(step: str, *options: str) -> Expression:
    """Return the predicate: one of these options of a choice has been taken."""
    name = "@choice" if not step else [step, "@choice"]
    return {"any": [{"eq": [{"value": name}, option]} for option in options]}


def both(*parts: Expression) -> Expression:
    """Return the predicate: all of them."""
    return {"all": list(parts)}


def _reported(trip: Trip) -> Node:
    desk, facts = trip.desk, trip.desk.facts
    fire = facts.carries_fire_water
    return desk.node(
        "R0",
        do=(
            "time",
            "read" if facts.has_tap("T4") else "read_blind",
            "lost",
            *(("fire",) if fire else ()),
            *(fire_answer(desk) if fire else ()),
        ),
        inputs=(
            measured("at", "time_of_day", "telephone"),
            *noted("by", "readings", "lost"),
            *(yes_no("fire_told") if fire else ()),
        ),
        otherwise=(("fire_open", is_no("fire_told")),) if fire else (),
        out=("outside",),
        hazards=(("consumers", "consumers_low"), *((("fire", "fire"),) if fire else ())),
        text="RS0",
        time="RS0",
        over=trip.words(),
        opens=("fire_cover",) if fire else (),
    )


def _real(trip: Trip) -> Node:
    desk, facts = trip.desk, trip.desk.facts
    switched = trip.shut_off.limit_switch is not None
    asked = (*(("switch",) if switched else ()), "no_flow", "falls")
    shut: list[Expression] = [is_yes("no_flow"), is_yes("falls")]
    told: Expression = {"any": shut}
    flowing = both(is_no("no_flow"), is_no("falls"), chosen("", REAL))
    return desk.node(
        "R1",
        needs=["R0"],
        do=(*(("switch",) if switched else ()), "flow" if facts.has_meter else "flow_none", "falls", "both"),
        inputs=yes_no(*asked),
        otherwise=(("shut_all_the_same", both(told, chosen("", ALARM))), ("flows", flowing)),
        out=("outside",),
        text="RS1",
        time="RS1",
        over=trip.words(),
    )


def _time_left(trip: Trip) -> Node:
    desk, facts, restart = trip.desk, trip.desk.facts, trip.restart
    station = facts.station
    if restart.lasts:
        names = {"lowest", "average"} & set(restart.lasts)
        time = (
            "time"
            if names == {"lowest", "average"}
            else "time_average"
            if "average" in names
            else "time_lowest"
        )
        lines: tuple[str, ...] = (time, *(("at_least",) if restart.at_least else ()))
    else:
        lines = ("time_unknown",)
    return desk.node(
        "R2",
        needs=["R1"],
        do=(
            "feed" if facts.is_fed_otherwise or facts.others_serve else "no_feed",
            *lines,
            *(("sensitive",) if station.station.sensitive_consumers else ()),
            *(("fire",) if facts.carries_fire_water else ()),
            "manager",
        ),
        inputs=(*yes_no("held"), *noted("told")),
        otherwise=(("runs_dry", is_no("held")),),
        out=("outside",),
        hazards=(("consumers", "consumers_low"),),
        text="RS2",
        time="RS2",
        over=trip.words(),
    )


def _no_reset(trip: Trip) -> Node:
    own = trip.desk.facts.resets_itself
    return trip.desk.node(
        "R3",
        needs=["R1"],
        do=("not_yet", "why", "itself" if own else "tag"),
        inputs=yes_no("left"),
        otherwise=(("done", is_no("left")),),
        out=("outside",),
        hazards=(("surge", "rush"),),
        text="RS3",
        time="RS3",
        over=trip.words(),
    )


def is_confined(desk: Desk) -> bool:
    """Return whether the station is a confined space by its file."""
    identity = desk.facts.station.station
    return identity.kind == "utility chamber" or "confined space" in identity.hazards


def _as_found(trip: Trip) -> Node:
    desk, facts = trip.desk, trip.desk.facts
    confined = is_confined(desk)
    cautions: list[tuple[Tag, str]] = [("pressure", "trapped")]
    if confined:
        cautions.append(("confined space", "confined"))
    if "traffic" in facts.station.station.hazards:
        cautions.append(("traffic", "traffic"))
    stands_open = both(is_no("so_shut"), chosen("R1", REAL))
    open_all_the_same = () if facts.resets_itself else (("open", stands_open),)
    stands_shut = both(is_yes("so_shut"), chosen("R1", ALARM))
    level: Expression = {"ge": [{"value": "T3"}, {"sub": [{"value": "T1"}, d.STILL_BAND.si]}]}
    passes = (("passes", both(is_yes("so_shut"), level)),) if facts.has_tap("T1") else ()
    return desk.node(
        "R4",
        needs=["R1", "R3"],
        do=(
            "permits",
            "Y1.air" if confined else "Y1.air_open",
            "Y1.name",
            "Y1.gauges_due" if facts.station.gauges else "Y1.gauges",
            *(("A6.past_due",) if desk.past_due else ()),
            *low_spans(desk),
            "read",
            "positions",
            "Y1.holes",
            "photo",
        ),
        inputs=(
            *(yes_no("air") if confined else ()),
            *desk.reads("T0", "T1", "T2", "T3", "T4"),
            *((measured("flow", "flow", "meter"),) if facts.has_meter else ()),
            *yes_no("so_shut", "rv_open"),
            *noted("positions", "height"),
            measured("photo", "photo", "camera"),
        ),
        otherwise=(
            *((("alarm", is_no("air")),) if confined else ()),
            *open_all_the_same,
            ("shut", stands_shut),
            *passes,
        ),
        out=("outside",),
        hazards=cautions,
        text="RS4",
        time="RS4",
        over=trip.words(),
        opens=("gauges_on",),
        proves=("station.as_found",),
        refuses=(
            guarding.not_reset_before(desk, "RS4.reset_first", "T3", trip.words()),
            guarding.line_untouched(desk, "T3"),
        ),
    )


def _consumers(trip: Trip) -> Node:
    desk, facts = trip.desk, trip.desk.facts
    role = "T4" if facts.has_tap("T4") else "T3"
    limit = trip.restart.normal
    checks: list[tuple[str, Expression]] = []
    after = desk.read(role, "after", still=False)
    if limit is not None:
        at = as_read(facts, role, limit[1])
        newest: Expression = {"if": [{"given": "after"}, {"value": "after"}, {"value": "now"}]}
        checks.append(("high", {"gt": [newest, at]}))
        after = replace(after, unless={"le": [{"value": "now"}, at]})
    else:
        after = replace(after, unless={"given": "now"})
    return desk.node(
        "R5",
        needs=["R4"],
        do=("limit" if limit is not None else "no_limit", "relieve", "slowly"),
        inputs=(desk.read(role, "now", still=False), after),
        otherwise=checks,
        out=("outside",),
        hazards=(("consumers", "trip_high"), ("water quality", "discharge")),
        text="RS5",
        time="RS5",
        over=trip.words(),
    )


def lockup_beside(trip: Trip) -> tuple[float, float] | None:
    """Return lock-up of the reducer and its upper edge as the tap between the valves reads them. [Pa]

    None where the shut-off does not stand behind the reducer, or nothing is read between them.
    """
    desk, facts = trip.desk, trip.desk.facts
    band = desk.numbers.bands.get("lockup.T3")
    if not facts.is_downstream or not facts.beside or band is None:
        return None
    higher = as_read(facts, facts.beside, 0.0) - as_read(facts, "T3", 0.0)
    return band.nominal + higher, band.high + higher


def _cause(trip: Trip) -> Node:
    desk, facts = trip.desk, trip.desk.facts
    between = lockup_beside(trip)
    near = facts.beside if between is not None else ""
    words = trip.words()
    if between is not None:
        words["lockup_beside"] = Amount("pressure", between[0])
    listed: list[Input] = [
        *yes_no("log"),
        replace(measured("peak", "pressure", "logger"), unless=is_no("log")),
        desk.read("T3", "T3.first", instrument=SETTING_GAUGE, still=False),
        desk.read("T3", "T3.last", instrument=SETTING_GAUGE, still=False),
    ]
    if near:
        listed += [
            desk.read(near, f"{near}.first", still=False),
            desk.read(near, f"{near}.last", still=False),
        ]
    listed += [*yes_no("warm"), *noted("last_touched", "cause")]
    return desk.node(
        "R6",
        needs=["R5"],
        do=(
            "log",
            "read_between" if near else "read",
            "warm",
            "touched",
            *(("lockup",) if near else ("decayed",)),
            "number",
        ),
        inputs=listed,
        otherwise=tuple(_classes(trip, near, between)),
        refuses=(guarding.not_reset_before(desk, "RS6.reset_first", "T3.last", words),),
        out=("outside",),
        hazards=(("pressure", "trapped"),),
        text="RS6",
        time="RS6",
        over=words,
    )


def _classes(trip: Trip, near: str, between: tuple[float, float] | None) -> Iterator[tuple[str, Expression]]:
    """Yield what the readings point to, b and c first: they forbid the test of the reducer."""
    desk, facts, still = trip.desk, trip.desk.facts, d.STILL_BAND.si
    climbs: Expression = rises("T3.first", "T3.last", still)
    held: Expression = {"le": [{"sub": [{"value": "T3.last"}, {"value": "T3.first"}]}, still]}
    if facts.has_tap("T1"):
        at_inlet: Expression = {
            "ge": [{"value": "T3.last"}, {"sub": [{"value": ["R4", "T1"]}, d.FOLLOWS.si]}]
        }
        climbs = {"any": [climbs, at_inlet]}
    yield "b", both(climbs, not_chosen("", PASSES))
    reading = desk.numbers.target_reading
    setting = max(reading.get("lockup", 0.0), reading.get("trickle", 0.0)) or None
    if between is not None:
        high = between[1]
        failed: Expression = {
            "any": [
                {"gt": [{"value": f"{near}.last"}, high]},
                rises(f"{near}.first", f"{near}.last", still),
            ]
        }
        yield "f_failed", both(failed, not_chosen("", FAILED), not_chosen("", PASSES))
        yield "f_sound", {"le": [{"value": f"{near}.last"}, high]}
    elif setting is not None and not facts.is_downstream:
        above: Expression = {"gt": [{"value": "T3.last"}, setting + still]}
        wide = is_yes_at("R4", "rv_open")
        yield "c", both(wide, above, not_chosen("", FAILED), not_chosen("", PASSES))
        yield "c_nothing", both(wide, {"le": [{"value": "T3.last"}, setting + still]})
        yield "a", both(is_no_at("R4", "rv_open"), held, {"gt": [{"value": "T3.last"}, setting + still]})
    if "trip_low" in reading:
        yield "d", {"lt": [{"value": "peak"}, reading["trip_low"]]}
    yield "e", is_yes("warm")


def is_yes_at(step: str, name: str) -> Expression:
    """Return the predicate: the answer at another step is yes."""
    return {"eq": [{"value": [step, name]}, True]}


def is_no_at(step: str, name: str) -> Expression:
    """Return the predicate: the answer at another step is no."""
    return {"eq": [{"value": [step, name]}, False]}


__all__ = [
    "ALARM", "FAILED", "PASSES", "REAL", "SOUND", "Needs", "Trip", "both", "choices", "chosen",
    "nodes", "not_chosen",
]  # fmt: skip
