"""Signatures of real plans: what the curves say by the laws of water, and what is listed for a reading."""

from __future__ import annotations

import json
from functools import cache
from itertools import pairwise
from math import sqrt
from typing import Any

import pytest

from steadyhead.procedure.causes import weigh
from steadyhead.records.plan_numbers import PlanNumbers
from steadyhead.records.procedure import Kind, Message, Procedure
from steadyhead.records.signature import AS_EXPECTED, Cause, Signature, Weighed
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.visits.plan import build, figures
from steadyhead.visits.signatures import defaults as d
from steadyhead.visits.signatures import plain_signature, signatures
from steadyhead.visits.signatures.beside import PLAIN
from steadyhead.visits.signatures.packing import signature_from
from steadyhead.visits.signatures.states import TWIN, risen
from steadyhead.visits.texts import causes as texts

DRAWS = 8
BAR = 1e5
FITS = {"E0.RV": "fits", "E0.SO": "fits"}
Made = tuple[PlanNumbers, Procedure, dict[str, Signature]]


@cache
def made(name: str, kind: Kind) -> Made:
    station = load(read(name)).station
    numbers = figures(station, kind)
    plan = build(station, kind, "", numbers)
    return numbers, plan, dict(signatures(station, kind, numbers=numbers, procedure=plan, draws=DRAWS))


def first(step: str) -> Signature:
    return made("quillenby-row", "first")[2][step]


def of(signature: Signature, name: str) -> Cause:
    return next(one for one in signature.causes if one.id == name)


def listed(step: str, bars: dict[str, float], flow: Any = None, tolerance: float = 6e3) -> dict[str, Weighed]:
    readings = {name: (value * BAR, tolerance) for name, value in bars.items()}
    return {one.id: one for one in weigh(first(step), readings, flow, FITS)}


# The laws.


def test_a_leak_fills_a_shut_section_as_step_by_step_integration_says():
    start, inlet, leak, storage = 4e5, 9e5, 2e-9, 3e-10
    pressure, steps, seconds = start, 200_000, 200.0
    for _ in range(steps):
        pressure += leak * sqrt(max(inlet - pressure, 0.0)) / storage * seconds / steps
    assert risen(start, inlet, leak, seconds, storage) == pytest.approx(pressure, rel=1e-4)
    assert risen(start, inlet, leak, 1e6, storage) == inlet


def test_a_leak_at_lock_up_ends_at_the_inlet_and_a_drop_only_begins_to_rise():
    signature = first("D3.RV")
    sound = signature.healthy["lockup/T3"].value[0]
    late = [grade.curves.get("lockup/T3") for grade in of(signature, "11.RV").grades]
    rises = [curve.value[0] if curve is not None else sound for curve in late]
    inlet = first("EF1.RV").healthy["trickle/T1"].value[0]
    leaks = len(d.LEAK_KV_SHARE)
    assert all(a <= b + 200.0 for a, b in pairwise(rises[:leaks]))
    assert sound < rises[0] < sound + BAR
    assert rises[leaks - 1] == pytest.approx(inlet, abs=0.05 * BAR)


def test_the_loss_of_a_blinded_strainer_grows_with_the_square_of_the_flow():
    signature = first("H4")
    flows = next(axis.flows for axis in signature.axes if axis.state == "flow")
    before = signature.healthy["flow/T0"].value
    grade = of(signature, "28.ST").grades[2]
    behind = grade.curves["flow/T1"].value
    open_ones = [i for i, flow in enumerate(flows) if 0 < flow < grade.most.get("flow", 1.0) and i > 2]
    shares = [(before[i] - behind[i]) / flows[i] ** 2 for i in open_ones]
    assert len(shares) >= 2
    assert max(shares) == pytest.approx(min(shares), rel=0.05)


def test_psi_read_as_bar_is_a_factor_of_fourteen_and_a_half():
    factors = {round(grade.factor, 3) for grade in of(first("EF1.RV"), "27.psi").grades}
    assert factors == {14.504, round(1 / 14.504, 3)}


def test_what_drives_the_reducer_open_brings_the_outlet_to_the_inlet():
    signature = first("EF1.RV")
    inlet = signature.healthy["trickle/T1"].value[2]
    for name in ("2.RV", "5.RV", "9.RV", "61.RV"):
        (grade,) = of(signature, name).grades
        assert grade.curves["trickle/T3"].value[2] == pytest.approx(inlet, rel=0.05), name


def test_what_holds_it_shut_leaves_no_flow_and_no_pressure():
    signature = first("EF1.RV")
    for name in ("3.RV", "6.RV", "48.SO"):
        (grade,) = of(signature, name).grades
        assert grade.most["trickle"] < 0.01 * signature.reads[0].usual, name
        assert grade.curves["trickle/T3"].value[2] == pytest.approx(0.0, abs=2e3), name


@pytest.mark.parametrize(
    ("name", "kind"), [("quillenby-row", "first"), ("dunmarrow-bottom", "yearly"), ("sorrel-flat", "first")]
)
def test_the_sound_station_stands_in_the_middle_of_the_plans_bands(name: str, kind: Kind):
    numbers, _, found = made(name, kind)
    seen = 0
    for signature in found.values():
        for one in signature.reads:
            band = numbers.bands.get(f"{one.state.removesuffix('.early')}.{one.place}")
            if band is not None and one.state in TWIN:
                value = signature.healthy[one.key].value
                middle = value[len(value) // 2]
                assert band.low - 0.02 * BAR <= middle <= band.high + 0.02 * BAR, (signature.step, one)
                seen += 1
    assert seen >= 4


# What is listed.


def test_a_reading_inside_its_band_is_as_expected():
    found = listed("EF1.RV", {"reading": 4.05, "T1": 8.5}, 4e-4)
    assert next(iter(found)) == AS_EXPECTED
    assert not any(one.word in ("likely", "possible") for one in found.values())


def test_the_list_changes_when_only_the_flow_changes():
    at_trickle = listed("EF1.RV", {"reading": 6.7, "T1": 8.5}, 4e-4)
    at_less = listed("EF1.RV", {"reading": 6.7, "T1": 8.5}, 1.2e-4)
    assert list(at_trickle) != list(at_less)
    dead = listed("EF1.RV", {"reading": 0.0, "T1": 8.5}, 0.0)
    running = listed("EF1.RV", {"reading": 0.0, "T1": 8.5}, 4e-4)
    assert {"3.RV", "48.SO"} <= set(dead)
    assert not {"3.RV", "48.SO"} & set(running)
    assert next(iter(running)) == "26.T3"


def test_the_list_changes_when_only_one_tap_changes():
    flows = {f"flow.{n}": q for n, q in ((1, 4e-4), (5, 1.6e-2))}
    common = {"T0.1": 8.5, "T1.1": 8.5, "T2.1": 8.5, "T3.1": 4.05, "T0.5": 8.5, "T3.5": 3.92}
    strainer = listed("H4", {**common, "T1.5": 5.5, "T2.5": 5.5}, flows)
    shut_off = listed("H4", {**common, "T1.5": 8.5, "T2.5": 5.5}, flows)
    assert set(list(strainer)[:2]) == {"28.ST", "29.IV1"}
    assert set(list(shut_off)[:2]) == {"31.SO", "66.SO"}


def test_psi_typed_as_bar_is_named_before_any_fault():
    found = listed("EF1.RV", {"reading": 4.05 * 14.5038, "T1": 8.5}, 4e-4)
    assert next(iter(found.values())).id == "27.psi"
    assert next(iter(found.values())).input == "T3"


def test_a_section_that_climbs_to_the_inlet_after_a_sound_start_is_a_leak():
    found = listed("D3.RV", {"first": 4.2, "last": 8.4})
    assert list(found) == ["11.RV"]


def test_an_inlet_valve_open_too_far_shows_with_the_drain_fully_open():
    assert "29.more.IV1" in listed("C5", {"T1": 8.5, "T3.drain": 3.97})


def test_a_reading_no_cause_reaches_says_none_fits():
    assert list(listed("EF1.RV", {"reading": 4.05, "T1": 22.0}, 4e-4)) == [""]


# The pack.


def test_a_packed_signature_weighs_as_the_one_it_was_made_from():
    signature = first("EF1.RV")
    packed = signature_from(json.loads(json.dumps(plain_signature(signature))))
    readings = {"reading": (4.4e5, 6e3), "T1": (8.5e5, 6e3)}
    ours, theirs = weigh(signature, readings, 4e-4), weigh(packed, readings, 4e-4)
    assert [one.id for one in ours] == [one.id for one in theirs]
    assert [one.share for one in ours] == pytest.approx([one.share for one in theirs], rel=2e-2)


def test_the_same_plan_gives_the_same_signatures():
    numbers, plan, found = made("quillenby-row", "first")
    station = load(read("quillenby-row")).station
    again = signatures(station, "first", numbers=numbers, procedure=plan, draws=DRAWS)
    assert {k: plain_signature(v) for k, v in again.items()} == {
        k: plain_signature(v) for k, v in found.items()
    }


def test_every_row_of_the_fault_matrix_is_a_cause_of_a_step_or_told_absent_with_a_reason():
    for signature in made("quillenby-row", "first")[2].values():
        rows = {cause.row for cause in signature.causes} - {0}
        absent = {row for row, _ in signature.absent}
        assert rows | absent == set(range(1, 67)), signature.step
        assert not rows & absent
        assert all(texts.is_known(f"absent.{reason}") for _, reason in signature.absent)


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("quillenby-row", "first"), ("dunmarrow-bottom", "yearly"), ("sorrel-flat", "first"),
        ("quernhollow-lane", "restart"),
    ],
)  # fmt: skip
def test_every_step_with_a_band_on_a_tap_has_a_signature(name: str, kind: Kind):
    _, plan, found = made(name, kind)
    for node in plan.nodes:
        states = {one.why.id.removeprefix("why.") for one in node.expect}
        if plan.streams and node.id not in plan.streams:  # a step of all streams together
            states -= {*TWIN}
        if states & {*TWIN, *PLAIN}:
            assert node.id in found, node.id


# The words.


def test_every_cause_has_its_words_and_every_word_a_cause():
    used = {cause.name.id.split(".", 1)[1].rpartition(".")[0] for cause in every_cause()}
    assert used <= set(texts.EN)
    assert set(d.WEIGHTS) | {AS_EXPECTED, "0.left"} == set(texts.EN)
    for cause in every_cause():
        for message in (cause.name, cause.tell, cause.then):
            assert texts.say(message)
            assert "{" not in texts.say(message)


def every_cause() -> list[Cause]:
    plans = [made("quillenby-row", "first"), made("dunmarrow-bottom", "yearly"), made("sorrel-flat", "first")]
    return [cause for _, _, found in plans for one in found.values() for cause in one.causes]


def test_names_are_six_words_at_most_and_sentences_short():
    for name, (what, tell, then) in texts.EN.items():
        assert len(what.split()) <= 6, name
        assert len(what) <= 42, name
        assert len(tell) <= 130, name
        assert len(then) <= 190, name
        assert "  " not in what + tell + then
        for word in ("please", "error", "!", "back off", "set pressure", "valve valve"):
            assert word not in (what + tell + then).casefold(), name


@pytest.mark.parametrize("row", ["1", "2", "4", "5", "7", "9", "61", "62", "63", "24"])
def test_what_drives_the_outlet_high_first_shuts_the_consumers_off_and_opens_the_drain(row: str):
    then = texts.EN[row][2]
    assert "{iv2}" in then
    assert "{td}" in then
    assert "{iv1}" in then
    assert then.index("{iv2}") < then.index("{td}") < then.index("{iv1}")


@pytest.mark.parametrize("row", ["8", "10"])
def test_where_a_test_opens_the_valve_wide_the_caution_comes_first(row: str):
    then = texts.EN[row][2]
    assert then.startswith("Before its chamber is vented")
    assert "what protects may" in then


@pytest.mark.parametrize("row", ["10", "28", "59", "B2.kept"])
def test_nothing_is_opened_on_pressure(row: str):
    assert "zero" in texts.EN[row][2]


@pytest.mark.parametrize(
    "row", ["26", "27.psi", "27.kpa", "27.head", "27.height", "27.air", "27.zero", "27.tap"]
)
def test_no_screw_is_turned_on_a_reading_that_is_not_believed(row: str):
    assert texts.EN[row][2].startswith("No screw is turned")


def test_an_unknown_text_is_refused():
    with pytest.raises(KeyError):
        texts.say(Message("cause.999.name"))
    assert not texts.is_known("cause.28.colour")


@pytest.mark.parametrize("bars", [0.8, 1.5])
def test_one_gauge_that_stands_too_high_while_all_else_fits_is_named_before_the_inlet_valve(bars: float):
    """Handbook 7.1: is the reading real comes first; 7.2 row 27."""
    at_rest = {"T1.start": 8.43, "T2.start": 8.43, "T3.start": 5.2, "T1": 8.43, "T2": 0.0, "T3": 0.0}
    sound = listed("F2.SO", at_rest)
    off = listed("F2.SO", at_rest | {"T1.start": 8.43 + bars, "T1": 8.43 + bars})
    assert next(iter(sound)) == AS_EXPECTED
    assert next(iter(off)) == "27.zero.T1"
    assert "29.IV1" not in off
