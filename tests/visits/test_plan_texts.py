"""The words of plans: none missing, none unused, every parameter there, in the house's tone."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from itertools import chain
from typing import Any

import pytest

from steadyhead.errors import InputError
from steadyhead.findings import Amount, Finding, Severity
from steadyhead.procedure.flaws import validate
from steadyhead.records.plan_numbers import Flush, PlanNumbers, RestartEnd
from steadyhead.records.procedure import Message, Procedure
from steadyhead.records.protection import Failure, NeedleWindow, Stroke, WindowEdge
from steadyhead.units import METRIC, UK, US
from steadyhead.visits.feasibility import Refused
from steadyhead.visits.logger_steps import at_their_steps
from steadyhead.visits.plan import KINDS, build, not_released, seen_by_loggers
from steadyhead.visits.texts import fields, is_known, say
from steadyhead.visits.texts.en import EN
from steadyhead.visits.texts.saying import UNSAID, about, amount
from steadyhead.visits.windows import CLOSING, narrowed
from tests.visits import chain_stations, stream_stations
from tests.visits.plan_stations import (
    ALONE,
    DOWN,
    LAYOUTS,
    PAIR,
    UP,
    block,
    made,
    numbers,
    part,
    setting,
    station,
    top,
    without,
)

NOT_USED = {
    "dashboard", "asset health", "kpi", "ticket", "work order", "user", "submit", "fault code",
    "setpoint", "alert", "wizard", "ok", "compliant", "optimise", "please", "error", "set pressure",
    "back off", "wind down",
}  # fmt: skip


def strip_pilots(data):
    for one in data["line"]:
        if "pilot" in one:
            one["pilot"].pop("raises", None)


def inlet_drain(data):
    at = next(i for i, one in enumerate(data["line"]) if one["id"] == "IV1")
    data["line"].insert(at + 1, {"part": "drain", "id": "ID", "size": "DN 50"})


def plain_valves(data):
    for name in ("IV1", "IV2"):
        part(data, name).pop("turns")
        part(data, name).pop("closes")


VARIANTS = (
    (),
    (block("supply", min="1 bar"),),
    (block("supply", min="1 bar"), setting("SO", sensing_tap="shared with reducer", resets="by itself")),
    (setting("SO", resets="by itself", tell_tale="none", sensing_tap="not known", closes_by="not known"),),
    (
        setting(
            "SO", resets="by itself", closes_by="weight", tell_tale="stem leaves its stop", exhaust="outlet"
        ),
    ),
    (
        setting(
            "SO",
            limit_switch={"kind": "reaches closed"},
            tell_tale="chamber gauge",
            chamber_feed="shared filter",
        ),
    ),
    (setting("SO", limit_switch=None, factory={"pressure": "5.2 bar"}), top(alarm=None)),
    (top(credited=[{"failure": "reducer fails open", "within": "2 s"}]),),
    (setting("SO", closing_medium="station inlet"),),
    (setting("SO", closing_medium="not known"),),
    (setting("IV2", tight="no"), block("supply", main=None)),
    (
        setting("IV2", tight="no"),
        setting("IV1", tight="no"),
        setting("SO", sensing_tap="shared with reducer"),
    ),
    (setting("SO", tell_tale="none"), setting("IV2", tight="no")),
)
ANY = (
    (),
    (top(equipment={"hand_pump": "no"}),),
    (setting("IV2", tight="no"),),
    (setting("IV2", tight="no"), top(equipment={"hand_pump": "no"}, alarm=None)),
    (top(alarm=None),),
    (without("T4"),),
    (without("T4"), top(equipment={"hand_pump": "no"})),
    (block("station", fire_water="yes", hazards=["electric"], control_room=None, sensitive_consumers=None),),
    (block("demand", zero_possible="yes"), top(gauges=[])),
    (setting("IV1", tight="no"),),
    (block("zone", other_feed="no"), top(gauges=[{"id": "G", "span": "10 bar", "accuracy": "1 %"}])),
    (without("ST"), strip_pilots, plain_valves),
    (setting("IV1", closes="anticlockwise"), setting("TD", runs_to=None)),
    (block("zone", other_feed="no", stock="30 min"), inlet_drain),
)


def with_meter(data):
    data["line"].insert(2, {"part": "flow_meter", "id": "FM", "size": "DN 100"})


def with_bypass(data):
    first = next(i for i, p in enumerate(data["line"]) if p["part"] in ("reducer", "shut_off"))
    last = max(i for i, p in enumerate(data["line"]) if p["part"] in ("reducer", "shut_off"))
    valve = {"part": "isolating_valve", "id": "BV", "size": "DN 80"}
    branches = [
        {"id": "M", "line": data["line"][first : last + 1]},
        {"id": "BY", "role": "manual bypass", "locked_shut": "yes", "line": [valve]},
    ]
    data["line"][first : last + 1] = [{"part": "parallel", "id": "PG", "branches": branches}]


def everything() -> list[Procedure]:
    """Return plans that together show every text."""
    found = []
    for name in LAYOUTS:
        special = VARIANTS if name in (UP, DOWN) else VARIANTS[:1]
        for changes in (*special, *ANY, (with_meter,), (with_meter, top(equipment={"hand_pump": "no"}))):
            for kind in KINDS if not changes else ("first", "yearly", "restart"):
                found += _made(name, changes, kind)
        found += [plan for kind in KINDS for plan in _made(name, (with_bypass,), kind)]
    found += _made(UP, (without("T2"),), "first") + _made(UP, (without("T2"),), "yearly")
    found.append(made(UP, kind="after_repair", item="inlet range"))
    return [*found, *by_figures(), *restarts(), *chain_stations.plans(), *stream_stations.plans()]


def by_figures() -> list[Procedure]:
    """Return plans whose words depend on the figures, on the day, or on the design."""
    of, bare = station(UP), station(UP, top(equipment={"hand_pump": "no"}))
    given = numbers(of)
    weak = {name: replace(one, by_pump=False) for name, one in given.pumped.items()}
    stiff: dict[str, Any] = {"first_turn": {}, "first_turn_lowest": {}, "per_quarter": {}}
    late = date(2099, 1, 1)
    return [
        build(of, "first", "", replace(given, flow_points=(), flush=None)),
        build(of, "first", "", replace(given, flush=Flush(0.01, "ID", 1.0, 1.1), pumped=weak)),
        build(bare, "first", "", replace(numbers(bare), **stiff)),
        build(of, "first", "", replace(given, **stiff), day=late),
        build(of, "yearly", "", given, day=late),
        not_released(build(of, "yearly", "", given), [Finding("PLAN-02", "line", Severity.STOP)]),
        build(of, "first", "", cut_to_a_window(given)),
        seen_by_loggers(build(of, "yearly", "", given), [("loss 2.4 × clean", "limit 2 ×", "open it")]),
        at_their_steps(build(of, "yearly", "", given), of, [("lock-up", "outlet 4 bar", "limit 3.9 bar")]),
    ]


def cut_to_a_window(given: PlanNumbers) -> PlanNumbers:
    """Return figures whose closing time must lie in a window of the protection proof too."""
    band = given.bands[CLOSING]
    failure = Failure("RV", "drifts open", 120.0, credited=True)
    edge = WindowEdge(1.0, 0.9, 0.95 * band.high, "consumer", "spur", failure, "static", "night")
    window = NeedleWindow("open", True, edge, None, 1.0, band.nominal, Stroke(8e5, 8e5, 4e-4, is_stated=True))
    return replace(given, bands={**given.bands, CLOSING: narrowed(band, window)})


def restarts() -> list[Procedure]:
    """Return restarts of a zone that is not described, without limits, and with both ends of a reset run."""
    of = station(UP)
    ends = [
        RestartEnd("wide open", "failed", throttled, 5e5, trips, passes)
        for throttled in (False, True)
        for trips, passes in ((True, True), (True, False), (False, False))
    ]
    told = [replace(numbers(of), restart_ends=(one, replace(one, throttled=True))) for one in ends[:3]]
    given = numbers(of)
    with_trip = replace(given, target_reading={**given.target_reading, "trip": 5.2e5})
    bare = {"volume": None, "main": None, "elasticity": None}
    return [
        *(build(of, "restart", "", known) for known in told),
        build(of, "first", "", with_trip),
        *(
            made(name, *changes, kind="restart")
            for name in (UP, DOWN)
            for changes in (
                (block("zone", **bare), top(limits=[])),
                (block("zone", volume=None, other_feed="no"),),
                (block("demand", night="0 L/s"),),
                (block("station", sensitive_consumers="a dialysis ward"), setting("SO", resets="by itself")),
                (setting("SO", limit_switch=None), block("zone", other_feed="no")),
                (setting("SO", closes_by="spring"),),
            )
        ),
    ]


def _made(name, changes, kind) -> list[Procedure]:
    try:
        return [made(name, *changes, kind=kind, item="strainer" if kind == "after_repair" else "")]
    except Refused:
        return []
    except InputError:
        return [made(name, *changes, kind=kind, item="test drain")]


def messages(plan: Procedure) -> list[Message]:
    steps = chain.from_iterable(
        (
            node.title,
            *node.do,
            *(e.why for e in node.expect),
            *chain.from_iterable((o.see, o.meaning, o.then) for o in node.otherwise),
            *(b.do for b in node.back_out),
            *(Message(f"state.{b.state.removesuffix('_between')}") for b in node.back_out),
            *(h.caution for h in node.hazards),
            *(one.message for one in node.refuses),
        )
        for node in plan.nodes
    )
    states = [state for _, state in plan.left]
    choices = chain.from_iterable((c.question, *(words for _, words, _ in c.options)) for c in plan.choices)
    return [*steps, *choices, *plan.invariants, *plan.stop_rules, *plan.notes, *plan.names.values(), *states]


def test_every_text_is_used_and_every_message_can_be_said_in_every_unit_set():
    plans = everything()
    seen: set[object] = set()
    used: set[str] = set()
    for message in chain.from_iterable(messages(plan) for plan in plans):
        key = (message.id, *sorted(message.params.items(), key=str))
        if key in seen:
            continue
        seen.add(key)
        used |= {message.id, *(v[1:] for v in message.params.values() if isinstance(v, str) and v[:1] == "@")}
        for units in (METRIC, UK, US):
            said = say(message, units)
            assert said
            assert not {"{", "@"} & set(said), message
    by_the_page = {name for name in EN if name.startswith(("kind.", "stop.short."))}
    assert set(EN) - used - by_the_page == set()
    assert not any(validate(plan) for plan in plans[::9])


def test_every_text_keeps_the_tone():
    unwanted = re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, sorted(NOT_USED)))})(?![\w-])")
    for text_id, words in EN.items():
        assert words == words.strip(), text_id
        assert "!" not in words, text_id
        assert "  " not in words, text_id
        assert not unwanted.search(words.casefold()), text_id


def test_every_sentence_of_a_step_ends_and_is_short():
    whole: tuple[str, ...] = (
        ".title",
        ".title_full",
        ".title_plain",
        ".title_look",
        ".title_kept",
        ".title_kept_monitor",
        ".title_leave",
        ".title_found",
        ".title_opened",
        ".title_service",
    )
    whole = (*whole, ".fits", ".set")
    for text_id, words in EN.items():
        is_step = re.match(r"[A-Z]+\d", text_id) is not None
        if not is_step or ".in." in text_id or text_id.endswith(whole):
            continue
        assert words[-1] in ".?", text_id
        if not text_id.startswith("V"):
            assert len(re.sub(r"\{\w+\}", "x", words)) <= 170, text_id


def test_a_parameter_may_name_another_text():
    message = Message("C1S.lower", {"valve": "RV", "lower_rv": "@screw.unknown"})
    assert "(screw direction not stated: read the plate)" in say(message)


def test_a_kept_plan_older_than_the_words_is_read_and_what_it_lacks_is_said():
    assert "no words for Z9.none" in say(Message("Z9.none"))
    assert UNSAID in say(Message("C1.outlet"))
    assert UNSAID in say(Message("out.tripped", {"so": "SO", "iv1": "IV1", "td": "TD"}))
    assert not is_known("Z9.none")
    assert fields("C1.outlet") == {"iv2"}


@pytest.mark.source(kind="analytic", ref="unit table, NIST SP 811 factors; rounding of the display")
@pytest.mark.parametrize(
    ("value", "metric", "us"),
    [
        pytest.param(Amount("pressure", 5.2e5), "5.20 bar", "75.4 psi", id="pressure"),
        pytest.param(Amount("pressure", 7.5e3), "0.075 bar", "1.09 psi", id="small step"),
        pytest.param(Amount("pressure", 0.0), "0.00 bar", "0.0 psi", id="zero"),
        pytest.param(Amount("volume", 1.4e-5), "14 mL", "0.47 US fl oz", id="a few millilitres"),
        pytest.param(Amount("volume", 0.0005), "0.50 L", "0.13 US gal", id="half a litre"),
        pytest.param(Amount("volume", 0.25), "250 L", "66 US gal", id="litres"),
        pytest.param(Amount("volume", 48.6), "48.6 m³", "12800 US gal", id="cubic metres"),
        pytest.param(Amount("time", 60.0), "60 s", "60 s", id="a minute"),
        pytest.param(Amount("time", 900.0), "15 min", "15 min", id="minutes"),
        pytest.param(Amount("ratio", 0.1), "10 %", "10 %", id="share"),
        pytest.param(Amount("turns", 2.5), "2.5 turns", "2.5 turns", id="turns"),
        pytest.param(Amount("leak", 1.2e-4), "7.2 L/min", "114.1 US gph", id="leak"),
        pytest.param(Amount("leak", 1e-6), "60 mL/min", "1.0 US gph", id="small leak"),
        pytest.param(Amount("flow", 4e-4), "0.40 L/s", "6.34 US gpm", id="flow"),
    ],
)
def test_amounts_are_printed_as_people_read_them(value, metric, us):
    assert amount(value) == metric
    assert amount(value, US) == us


def test_what_stands_behind_about_claims_no_more_digits_than_it_has():
    said = say(Message("B3.open_flow", {"iv1": "IV1", "flush_flow": Amount("flow", 0.04988)}))
    assert "until about 50 L/s runs" in said
    assert about(Amount("flow", 0.01246)) == "12.5 L/s"
    assert about(Amount("volume", 0.0144)) == "14 L"
    assert about(Amount("time", 4260.0)) == "71 min"


def test_the_stations_used_here_are_all_four_layouts():
    assert {station(name).station.id for name in (UP, DOWN, ALONE, PAIR)} == {
        "QUR-02",
        "DMB-01",
        "PNY-1",
        "SFL-3",
    }


def test_the_parts_of_a_line_with_streams_are_told_in_words_and_not_as_a_list():
    order = "T0, IV1, [main: IVM1, RV | low: IVL1, LB], T3"
    assert say(Message("A5.order", {"order": order})) == (
        "Walk the line in flow order: T0, IV1, then side by side main (IVM1, RV) and low (IVL1, LB), then T3."
    )
    assert say(Message("A5.order", {"order": "T0, RV, T3"})).endswith("order: T0, RV, T3.")


def test_a_stream_called_by_its_role_is_named_once():
    assert say(Message("S1.title", {"stream": "main (main)"})) == "Only stream main: the others isolated"
    low = say(Message("S1.title", {"stream": "low (low flow)"}))
    assert low == "Only stream low (low flow): the others isolated"


@pytest.mark.parametrize("key", [key for key, text in sorted(EN.items()) if "°C" in text])
def test_a_difference_of_temperature_is_told_in_both_scales(key):
    assert "°F" in EN[key]
