"""What happened at a screw, out of the entries of a run; and what the command says of it."""

from __future__ import annotations

import json
import shutil

import pytest
from typer.testing import CliRunner

from steadyhead.cli.app import app
from steadyhead.errors import InputError
from steadyhead.procedure.advice import advise
from steadyhead.procedure.expression import Taken
from steadyhead.procedure.graph import order
from steadyhead.procedure.ledger import dump
from steadyhead.records.advice import Advising, Aim
from steadyhead.visits.advising.history import events, turns_of
from steadyhead.visits.advising.screws import seen_screw, unseen_screw
from steadyhead.visits.advising.words import AGAIN, SAYS, sequence, turn_words
from tests.procedure.in_js import in_node, source
from tests.procedure.walking import GAUGE, SECOND, Device, clean_ways, step_entries, walk

RV = seen_screw(
    "RV", plate=0.69e5, target=4e5, limit=5.2e5, reading=2e3, from_lowest=True, spread=0.4, window=0.15e5
)
SO = unseen_screw(
    "SO", plate=0.75e5, top=9e5, target=5.1e5, repeat=0.15e5, reading=2e3, spread=0.4, has_tell_tale=False,
    dead_band=0.6e5,
)  # fmt: skip
TOLD = unseen_screw(
    "SO", plate=0.75e5, top=9e5, target=5.1e5, repeat=0.15e5, reading=2e3, spread=0.4, has_tell_tale=True,
    dead_band=0.6e5,
)  # fmt: skip
RISE, FALL = Aim("ES1.RV", "RV", "T3", 4e5, 5e3), Aim("ES4.SO", "SO", "T3", 5.1e5, 1.5e4)
BOTH = Advising((RV, SO), (RISE, FALL))


class Hand:
    def __init__(self, step: str, valve: str):
        self.device, self.step, self.valve = Device(), step, valve
        self.made: list = []

    def turn(self, do: str, amount: float, unit: str = "turn") -> Hand:
        act = {"do": do, "thing": f"{self.valve}.setting", "amount": amount, "unit": unit}
        self.made.append(self.device.make("action", act, self.step))
        return self

    def read(self, bar: float, **more: object) -> Hand:
        reading = {"input": "T3", "quantity": "pressure", "tap": "T3", "value": bar * 1e5, **more}
        self.made.append(self.device.make("reading", reading, self.step))
        return self

    def see(self, name: str, value: object = True) -> Hand:
        self.made.append(self.device.make("observation", {"input": name, "value": value}, self.step))
        return self

    def act(self, do: str) -> Hand:
        self.made.append(self.device.make("action", {"do": do, "thing": self.valve}, self.step))
        return self


def of(hand: Hand, aim: Aim, screw: object) -> list[tuple[str, float]]:
    found = events(BOTH, aim, screw, hand.made)  # type: ignore[arg-type]
    return [
        (one.what, one.amount if one.what in ("turn", "lost") else round(one.amount / 1e5, 3))
        for one in found
    ]


def test_turns_and_readings_of_a_reducer_are_taken_in_order():
    hand = Hand("ES1.RV", "RV").read(1.5).turn("raise", 0.25).read(1.7).turn("lower", 45, "°").read(1.6)
    assert of(hand, RISE, RV) == [
        ("read", 1.5),
        ("turn", 0.25),
        ("read", 1.7),
        ("turn", -0.125),
        ("read", 1.6),
    ]


def test_a_reading_at_another_tap_or_swinging_or_before_the_nut_is_left_out():
    hand = Hand("ES1.RV", "RV").read(1.5).read(9.0, tap="T1").read(1.9, swing={"mean": 1.9e5})
    hand.read(1.8, **{"as": "before nut"})
    assert of(hand, RISE, RV) == [("read", 1.5), ("high", 1.9), ("high", 1.8)]


def test_a_reading_that_moved_with_no_turn_entered_begins_anew():
    hand = (
        Hand("ES1.RV", "RV").read(1.5).turn("raise", 0.25).read(1.7).read(3.0).turn("raise", 0.25).read(3.2)
    )
    assert of(hand, RISE, RV)[3:] == [("lost", 0.0), ("read", 3.0), ("turn", 0.25), ("read", 3.2)]


def test_a_shut_off_that_stood_open_is_told_by_the_next_turn():
    hand = Hand("ES4.SO", "SO").read(5.1).turn("lower", 2).turn("lower", 1).see("acted")
    expected = [("open", 5.1), ("turn", -2.0), ("open", 5.1), ("turn", -1.0), ("shut", 5.1)]
    assert of(hand, FALL, SO) == expected


def test_the_reading_noted_as_it_acted_stands_for_the_action():
    hand = Hand("ES4.SO", "SO").read(5.1).turn("lower", 4).read(5.08, input="act").see("acted")
    assert of(hand, FALL, SO) == [("open", 5.1), ("turn", -4.0), ("shut", 5.08)]


def test_a_tell_tale_is_a_sign_and_no_closure():
    hand = Hand("ES4.SO", "SO").read(5.1).turn("lower", 4).read(5.1).see("seen")
    assert of(hand, FALL, TOLD) == [("open", 5.1), ("turn", -4.0), ("sign", 5.1)]


def test_after_an_action_readings_do_not_count_until_it_stands_open():
    hand = Hand("ES4.SO", "SO").read(5.1).turn("lower", 4).see("acted").read(3.0).turn("raise", 2)
    hand.act("reset").read(5.1)
    expected = [("open", 5.1), ("turn", -4.0), ("shut", 5.1), ("turn", 2.0), ("open", 5.1)]
    assert of(hand, FALL, SO) == expected


LOST = ("lost", 0.0)


@pytest.mark.parametrize("step", ["ES1.RV", "", "D4.SO", "C1.main"])
@pytest.mark.parametrize("thing", ["RV.setting", "RV", " rv.Setting", "RV.screw", "RV.setting@main"])
def test_a_turn_is_followed_at_whichever_step_and_by_whichever_name_of_the_screw_it_was_entered(step, thing):
    hand = Hand("ES1.RV", "RV").read(1.5)
    act = {"do": "Lower", "thing": thing, "amount": 0.5, "unit": "turns"}
    hand.made.append(hand.device.make("action", act, step))
    assert of(hand, RISE, RV) == [("read", 1.5), ("turn", -0.5)]


@pytest.mark.parametrize(
    ("unit", "amount"),
    [
        ("turn", 0.25),
        ("", 0.25),
        ("quarter", 1),
        ("eighths", 2),
        ("half a turn", None),
        ("°", 90),
        ("DEG", 90),
    ],
)
def test_turns_are_understood_in_quarters_eighths_and_degrees(unit: str, amount: float | None):
    got = turns_of({"do": "raise", "amount": amount, "unit": unit})
    assert got == (None if amount is None else 0.25)


@pytest.mark.source(kind="analytic", ref="one turn is 2 pi radians")
def test_turns_are_understood_in_radians():
    assert turns_of({"do": "raise", "amount": 3.141592653589793, "unit": "rad"}) == pytest.approx(0.5)


@pytest.mark.parametrize(
    "act",
    [
        {"do": "turn", "thing": "RV.setting", "amount": 0.25},
        {"do": "adjust", "thing": "RV.setting", "amount": 0.25},
        {"do": "tweak", "thing": "RV.setting"},
        {"do": "raise", "thing": "RV.setting"},
        {"do": "raise", "thing": "RV.setting", "amount": 2, "unit": "notches"},
        {"do": "raise", "thing": "RV.setting", "amount": -0.25},
        {"do": "replace", "thing": "RV.spring"},
        {"do": "repair", "thing": "RV"},
        {"do": "slacken nut", "thing": "RV.nut"},
        {"do": "tighten nut", "thing": "RV"},
        {"do": "raise", "thing": "RV.knob", "amount": 0.25},
        {"do": "raise", "thing": "the pilot screw", "amount": 0.25},
        {"do": "raise", "thing": "", "amount": 0.25},
    ],
)
@pytest.mark.parametrize("step", ["ES1.RV", "", "J4"])
def test_an_act_on_setting_nut_or_spring_that_cannot_be_followed_leaves_nothing_known(act, step):
    hand = Hand("ES1.RV", "RV").read(1.5).turn("raise", 0.25).read(1.7)
    hand.made.append(hand.device.make("action", act, step))
    assert of(hand, RISE, RV)[-1] == LOST


@pytest.mark.parametrize(
    "act",
    [
        {"do": "clean", "thing": "RV"},
        {"do": "bleed", "thing": "line.covers"},
        {"do": "look", "thing": "RV.setting"},
        {"do": "mark", "thing": "RV.setting"},
        {"do": "raise", "thing": "SO.setting", "amount": 1},
        {"do": "replace", "thing": "TG-07"},
        {"do": "open", "thing": "TD"},
    ],
)
def test_an_act_that_leaves_the_screw_where_it_is_changes_nothing(act):
    hand = Hand("ES1.RV", "RV").read(1.5)
    hand.made.append(hand.device.make("action", act, "ES1.RV"))
    assert of(hand, RISE, RV) == [("read", 1.5)]


def test_turns_noted_in_all_are_a_way_nobody_knows():
    hand = Hand("ES1.RV", "RV").read(1.5).read(2.9, input="turns", quantity="turns", tap="", value=2.0)
    hand.read(2.9)
    assert of(hand, RISE, RV) == [("read", 1.5), LOST, ("read", 2.9)]


def test_turns_noted_after_a_reading_leave_that_reading_behind():
    hand = Hand("ES1.RV", "RV").read(1.5).read(2.0, input="turns", quantity="turns", tap="", value=2.0)
    assert of(hand, RISE, RV) == [("read", 1.5), LOST]


def test_turns_noted_in_one_moment_with_the_reading_were_made_before_it():
    hand = Hand("ES1.RV", "RV").read(1.5)
    hand.device.step = 0.0
    hand.read(2.9).read(2.0, input="turns", quantity="turns", tap="", value=2.0)
    assert of(hand, RISE, RV)[-2:] == [LOST, ("read", 2.9)]


def test_turns_noted_in_all_beside_turns_that_make_the_same_sum_are_no_more_than_that():
    hand = Hand("ES1.RV", "RV").read(1.5).turn("raise", 0.25).read(1.7)
    hand.read(0.0, input="turns", quantity="turns", tap="", value=0.25)
    assert of(hand, RISE, RV) == [("read", 1.5), ("turn", 0.25), ("read", 1.7)]


def test_a_reading_as_the_shut_off_acted_is_the_end_of_raising_until_it_stands_open():
    hand = Hand("ES1.RV", "RV").read(4.7).read(4.8, input="act").read(3.0).act("reset").read(2.9)
    found = of(hand, RISE, RV)
    assert found[:3] == [("read", 4.7), ("shut", 4.8), ("high", 3.0)]
    assert found[-1] == ("read", 2.9)
    assert advise(RV, events(BOTH, RISE, RV, hand.made[:2])).status == "acted"


def test_the_highest_reading_counts_whichever_input_it_came_by():
    for more in ({"input": "act"}, {"input": "peak", "as": "peak"}, {"as": "typed later"}):
        hand = Hand("ES1.RV", "RV").read(4.7).read(6.9, **more)
        told = advise(RV, events(BOTH, RISE, RV, hand.made))
        assert (told.status, told.turn) == ("over", 0.0)


def test_a_reading_at_duty_flow_tells_nothing_of_the_setting_in_the_trickle(run_files):
    _, _, procedure = run_files
    aim = next(one for one in procedure.advice.aims if one.step == "H1.RV")
    screw, trickle = procedure.advice.screw(aim), procedure.limits["trickle_flow@main"]
    for name, flow, counts in (
        ("trickle", None, True), ("trickle", trickle, True), ("trickle", 5e-3, False),
        ("trickle", 0.0, False), ("before", None, False), ("before", trickle, True), ("duty", trickle, False),
    ):  # fmt: skip
        more = {} if flow is None else {"flow": flow}
        hand = Hand("H1.RV", "RV").read(3.9, input=name, **more)
        found = events(procedure.advice, aim, screw, hand.made, procedure)
        assert [one.what for one in found] == ["read" if counts else "high"], (name, flow)


def test_the_trickle_reading_of_an_earlier_step_counts_at_the_next_one(run_files):
    _, _, procedure = run_files
    aim = next(one for one in procedure.advice.aims if one.step == "ES3.SO")
    hand = Hand("EF1.RV", "RV").read(4.0, input="reading")
    screw = procedure.advice.screw(aim, is_loaded=True)
    found = events(procedure.advice, aim, screw, hand.made, procedure)
    assert advise(screw, found).status == "turn"


def test_a_reading_of_the_other_stream_tells_nothing_of_this_one(run_files):
    _, _, procedure = run_files
    aim = next(one for one in procedure.advice.aims if one.step == "ES3.SO")
    hand = Hand("ES1.LB", "LB").read(2.0, input="reading")
    assert events(procedure.advice, aim, procedure.advice.screw(aim), hand.made, procedure) == ()


def test_another_gauge_begins_anew():
    hand = Hand("ES1.RV", "RV").read(1.5, instrument="TG-1").read(1.5, instrument="TG-2")
    assert LOST in of(hand, RISE, RV)


def test_a_shut_off_worked_nobody_knows_how_far_is_brought_to_rest_before_it_is_lowered():
    hand = Hand("ES4.SO", "SO").read(5.1).turn("lower", 1)
    hand.made.append(hand.device.make("action", {"do": "turn", "thing": "SO.setting"}, ""))
    hand.read(5.1)
    assert advise(SO, events(BOTH, FALL, SO, hand.made)).status == "not counted"
    hand.made.append(hand.device.make("action", {"do": "raise", "thing": "SO", "amount": 4}, "C1S.SO"))
    hand.read(5.1)
    told = advise(SO, events(BOTH, FALL, SO, hand.made))
    assert told.status == "turn"
    assert told.turn < 0.0


@pytest.mark.parametrize("amount", [None, True, "1/8", -0.5, 0])
def test_an_amount_that_is_none_is_no_turn(amount: object):
    assert turns_of({"do": "raise", "amount": amount}) is None


def test_every_status_and_every_way_back_has_its_words():
    from typing import get_args

    from steadyhead.records.advice import Status

    assert set(get_args(Status)) <= set(SAYS)
    assert {sequence(step) for step in ("ES4.SO", "DS4", "IN2.SO")} == set(AGAIN)
    assert turn_words(1 / 12) == "30°"
    assert turn_words(0.375) == "⅜ turn (135°)"


@pytest.fixture(scope="module")
def run_files(tmp_path_factory: pytest.TempPathFactory):
    from steadyhead.services.plan_files import read_plan_file

    folder = tmp_path_factory.mktemp("advise")
    station, plan = folder / "q.yaml", folder / "q.plan"
    runner = CliRunner()
    station.write_text(runner.invoke(app, ["example", "quernhollow-lane"]).stdout, encoding="utf-8")
    runner.invoke(app, ["plan", str(station), "--for", "first", "--save", str(plan)])
    return folder, plan, read_plan_file(plan.read_bytes(), "q.plan").procedure


def advised(run_files, way_index: int, more, *options: str):
    folder, plan, procedure = run_files
    entries = until(procedure, clean_ways(procedure)[way_index], "ES1.RV")
    device = Device("tab-2", start=entries[-1].t_mono)
    entries += [device.make(kind, payload, node) for kind, payload, node in more]
    file = folder / "e.jsonl"
    file.write_bytes(dump(entries))
    return CliRunner().invoke(app, ["run", "advise", str(plan), str(file), *options])


def until(procedure, way, step):
    """Return the entries of a clean visit up to a step; all of them where it is not on that way."""
    device = Device()
    made = [device.make("run", {"plan": "", "kind": procedure.kind})]
    made += [device.make("instrument", gauge) for gauge in (GAUGE, SECOND)]
    seen = [Taken(choice, "@choice", option) for choice, option in way.items()]
    for name in order(procedure, way):
        if name.partition(".")[0] == step.partition(".")[0] or name.startswith("F1"):
            break
        made += list(step_entries(procedure, procedure.node(name), way, device, seen))
    return made


def judged(run_files, entries):
    from steadyhead.services.running import judge_run

    _, plan, _ = run_files
    return judge_run(plan.read_bytes(), dump(entries), None)


def reading(bar: float, node: str):
    return ("reading", {"input": "T3", "quantity": "pressure", "tap": "T3", "value": bar * 1e5}, node)


def test_the_command_names_turn_band_worst_case_limit_and_chance(run_files):
    done = advised(run_files, -1, [reading(1.5, "ES1.RV")])
    assert done.exit_code == 0
    text = " ".join(done.stdout.split())
    for words in (
        "Raise by",
        "Expected at T3 after it",
        "At worst",
        "four times as stiff",
        "Chance of a closure",
    ):
        assert words in text


def test_the_command_gives_the_same_as_json(run_files):
    done = advised(run_files, -1, [reading(1.5, "ES1.RV")], "--json", "--valve", "RV")
    told = json.loads(done.stdout)["screws"][0]
    assert told["status"] == "turn"
    assert told["worst_pa"] <= told["limit_pa"]
    assert told["early_chance"] + told["spent_chance"] < told["allowed_chance"]


def test_a_factory_setting_kept_is_left_alone(run_files):
    done = advised(run_files, 0, [], "--valve", "SO")
    assert "touch nothing" in done.stdout
    assert done.exit_code == 0


def test_a_valve_that_is_not_in_the_plan_is_named(run_files):
    done = advised(run_files, 0, [], "--valve", "XX")
    assert isinstance(done.exception, InputError)
    assert "RV, SO, LB" in str(done.exception)


def test_no_turn_is_advised_before_what_the_step_rests_on_stands(run_files):
    from steadyhead.services.advising import advise_run

    device = Device()
    entries = [device.make("run", {"plan": "", "kind": "first"})]
    entries += [device.make(kind, payload, node) for kind, payload, node in [reading(4.0, "ES3.SO")]]
    told = next(one for one in advise_run(judged(run_files, entries)) if one.aim.valve == "RV")
    assert told.advice is not None
    assert (told.advice.status, told.advice.turn) == ("needs first", 0.0)
    assert told.waits
    assert not told.is_now
    high = [device.make(kind, payload, node) for kind, payload, node in [reading(6.9, "ES3.SO")]]
    told = next(one for one in advise_run(judged(run_files, [*entries, *high])) if one.aim.valve == "RV")
    assert told.advice is not None
    assert told.advice.status == "over"


def test_with_the_outlet_valve_no_longer_proved_tight_no_turn_is_advised(run_files):
    from steadyhead.services.advising import advise_run

    _, _, procedure = run_files
    entries = until(procedure, clean_ways(procedure)[-1], "ES3.SO")
    device = Device("tab-2", start=entries[-1].t_mono)
    on = [device.make(kind, payload, node) for kind, payload, node in [reading(4.0, "ES3.SO")]]
    told = next(one for one in advise_run(judged(run_files, [*entries, *on])) if one.aim.valve == "RV")
    assert "IV2.tight" not in told.waits
    moved = (
        device.make("action", {"do": "replace", "thing": "IV2.gate"}, ""),
        device.make("position", {"thing": "IV2", "is": "cracked"}, ""),
        device.make("action", {"do": "crack", "thing": "IV2"}, ""),
    )
    for one in moved:
        run = judged(run_files, [*entries, *on, one])
        told = next(found for found in advise_run(run) if found.aim.valve == "RV")
        assert "IV2.tight" in told.waits
        assert told.advice is not None
        assert told.advice.status == "needs first"


@pytest.mark.parametrize("way", [0, -1])
def test_whoever_goes_by_the_plan_is_never_told_that_something_is_missing(run_files, way):
    from steadyhead.services.advising import advise_run

    _, _, procedure = run_files
    entries = walk(procedure, clean_ways(procedure)[way])
    steps = {aim.step for aim in procedure.advice.aims}
    begins = [at for at, one in enumerate(entries) if one.node in steps and entries[at - 1].node != one.node]
    assert begins
    for at in begins:
        told = next(
            one
            for one in advise_run(judged(run_files, entries[: at + 1]))
            if one.aim.step == entries[at].node
        )
        assert told.waits == (), entries[at].node


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_what_a_step_rests_on_is_the_same_in_js(run_files, tmp_path):
    from steadyhead.procedure.advice_needs import lacking
    from steadyhead.procedure.judging import judge
    from steadyhead.procedure.ledger import read
    from steadyhead.procedure.plain import to_json

    _, _, procedure = run_files
    plan = json.loads(to_json(procedure))
    entries = until(procedure, clean_ways(procedure)[-1], "F1.SO")
    cases, wanted = [], []
    for part in (0, 3, 5, 7, 9, 10):
        judgement = judge(procedure, read(dump(entries[: len(entries) * part // 10])))
        steps = {one.id: str(one.state) for one in judgement.steps}
        proofs = {one.name: str(one.state) for one in judgement.proofs}
        proofs |= {"IV2.tight": "stale"} if part == 9 else {}
        for step in dict.fromkeys(aim.step for aim in procedure.advice.aims):
            cases.append({"steps": steps, "proofs": proofs, "step": step})
            wanted.append(sorted(lacking(procedure, steps, proofs, step)))
    body = """
const { lacking } = await import("data:text/javascript," + encodeURIComponent(data.module))
result = data.cases.map((one) => lacking(data.plan, one.steps, one.proofs, one.step).sort())
"""
    got = in_node(tmp_path, body, {"cases": cases, "plan": plan, "module": source("advice")})
    assert got == wanted
    assert any(wanted)
    assert not all(wanted)
