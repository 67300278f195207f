"""What is offered behind a reading moves it the way it lies; too high, what protects is said first."""

from __future__ import annotations

from math import sqrt
from pathlib import Path

import pytest

from steadyhead.procedure.causes import CLEAR, weigh
from steadyhead.records.procedure import Kind, Message
from steadyhead.records.signature import AS_EXPECTED, Cause, Signature
from steadyhead.visits.signatures import plain_signature
from steadyhead.visits.texts import causes as texts
from tests.visits.signatures.test_signatures import BAR, made
from tests.web.field.field_js import in_node

STATIONS: tuple[tuple[str, Kind], ...] = (("quillenby-row", "yearly"), ("dunmarrow-bottom", "yearly"))
TOLERANCE = 5e3
OFFS = (-3.0, -1.0, -0.4, 0.4, 1.0, 2.0, 4.0)


def is_clear(signature: Signature, key: str, at: float) -> bool:
    """Return whether a reading lies off what the sound station shows at every flow: it has a direction."""
    curve = signature.healthy[key]
    rows = zip(curve.value, curve.supply, curve.setting, curve.half, strict=True)
    return all(
        abs(at - v) > CLEAR * sqrt(s * s + p * p + h * h + TOLERANCE * TOLERANCE / 3.0) for v, s, p, h in rows
    )


def moves(signature: Signature, cause: Cause, key: str, off: float) -> bool:
    """Return whether some severity of a cause, or a slip, brings the reading its way at the usual flow."""
    sound = signature.healthy[key].value
    ways = []
    for grade in cause.grades:
        curve = grade.curves.get(key, signature.healthy[key]).value
        ways += [grade.factor * a + grade.offset - b for a, b in zip(curve, sound, strict=True)]
    return any(way * off > 0.0 for way in ways)


@pytest.mark.parametrize(("name", "kind"), STATIONS)
def test_no_cause_is_offered_that_moves_a_tap_the_other_way(name: str, kind: Kind):
    seen = 0
    for signature in made(name, kind)[2].values():
        causes = {one.id: one for one in signature.causes}
        for one in signature.reads:
            if not one.place.startswith("T"):
                continue
            value = signature.healthy[one.key].value
            for off in OFFS:
                at = value[len(value) // 2] + off * BAR
                if not is_clear(signature, one.key, at):
                    continue
                for found in weigh(signature, {one.input: (at, TOLERANCE)}):
                    if found.id not in ("", AS_EXPECTED):
                        seen += 1
                        case = (signature.step, one.input, off, found.id)
                        assert moves(signature, causes[found.id], one.key, off), case
    assert seen > 100


def test_an_inlet_valve_or_an_exhaust_never_stands_behind_a_high_outlet():
    signature = made("quillenby-row", "yearly")[2]["Y3"]
    listed = {one.id.partition(".")[0] for one in weigh(signature, {"trickle": (6.0 * BAR, 6e3)})}
    assert listed
    assert not listed & {"28", "29", "31", "32", "33", "66", "48"}


@pytest.mark.parametrize("row", [*texts.EN, "none"])
def test_where_a_pressure_stands_too_high_the_drain_is_opened_first_and_stays_open(row: str):
    params = {name: name.upper() for name in texts.fields(f"cause.{row}.high")}
    words = texts.say(Message(f"cause.{row}.high", params))
    assert words.startswith("First open TD fully and draw water. Close IV1 slowly")
    rest = words.partition("Tell the control room. ")[2]
    assert not any(bad in rest for bad in ("Close TD", "Shut TD", "close TD", "Open IV1"))


def test_the_pack_carries_what_protects_with_every_cause():
    plain = plain_signature(made("quillenby-row", "yearly")[2]["Y3"])
    assert all(one["high"].startswith("First open") for one in (plain["none"], *plain["causes"]))


def test_a_shut_off_set_too_low_is_known_where_the_outlet_is_raised_to_the_trip():
    signature = made("quillenby-row", "first")[2]["ES3.SO"]
    low = next(one for one in signature.causes if one.id == "48.low.SO")
    assert moves(signature, low, "at_trip/T3", -1.0)


def test_what_is_read_in_service_before_any_hand_moves_has_causes():
    signature = made("quillenby-row", "yearly")[2]["Y1"]
    assert {one.input for one in signature.reads} >= {"T1", "T3"}
    assert {one.state for one in signature.reads} == {"served"}


def test_a_pressure_above_its_band_or_the_test_limit_is_dangerous_whatever_a_remark_says(tmp_path: Path):
    plan = {"limits": {"test_limit@a": 5.3e5, "test_limit@b": 5.5e5, "trip": 1.0}}
    step = {
        "inputs": [
            _read("above", 6e5, "outside", 4.3e5),
            _read("below", 3e5, "outside", 4.3e5),
            _read("inside", 4e5, "inside", 4.3e5),
            _read("worked", 6e5, "outside", 4.3e5, worked=True),
            _read("T3", 5.4e5, "", None),
            _read("T1", 9e5, "", None),
            _read("T4.last", 5.2e5, "", None),
            {**_read("none", 0.0, "", None), "verdict": None},
        ]
    }
    body = """result = [tooHigh(data.plan, data.step).map((one) => one.name), isHigh(data.step),
      isHigh({ inputs: data.step.inputs.slice(1) }), tooHigh({}, data.step).map((one) => one.name)]"""
    got = in_node(tmp_path, {"danger": "isHigh, tooHigh"}, body, {"plan": plan, "step": step})
    assert got == [["above", "T3"], True, False, ["above"]]


def _read(
    name: str, value: float, where: str, high: float | None, *, worked: bool = False
) -> dict[str, object]:
    band = None if high is None else {"low": 3.9e5, "high": high}
    verdict = {"value": value, "where": where}
    return {"name": name, "kind": "pressure", "isWorked": worked, "band": band, "verdict": verdict}
