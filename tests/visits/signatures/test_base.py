"""What the expected readings start from: the values as left, where a visit before left any."""

from __future__ import annotations

from functools import cache

import pytest

from steadyhead.design.twin import SteadyTwin
from steadyhead.procedure.causes import weigh
from steadyhead.records.parts import Reducer
from steadyhead.records.signature import AS_EXPECTED, Curve, Signature
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.station.mechanics import pressure_per_turn
from steadyhead.visits.plan import build
from steadyhead.visits.signatures import Base, signatures
from steadyhead.visits.signatures.making import _as_left
from tests.visits import plan_stations

BAR = 1e5
LEFT = Base("1 May 2027", {"RV": (3.6 * BAR, None)}, {}, {"SO": 5.9 * BAR}, {"RV": 20e3})


@cache
def yearly(is_left: bool) -> dict[str, Signature]:
    station = load(read("quillenby-row")).station
    numbers = plan_stations.numbers(station)
    plan = build(station, "yearly", "", numbers)
    base = LEFT if is_left else Base()
    return dict(signatures(station, "yearly", numbers=numbers, procedure=plan, draws=4, base=base))


def expected(signature: Signature, key: str) -> float:
    curve = signature.healthy[key]
    return curve.value[len(curve.value) // 2]


def first_of(key: str) -> str:
    return next(step for step, one in yearly(is_left=True).items() if key in one.healthy)


def test_a_reducer_that_was_left_elsewhere_is_expected_there_before_it_is_set():
    step = first_of("served/T3")
    design, left = (expected(yearly(is_left=how)[step], "served/T3") for how in (False, True))
    assert design - left > 0.2 * BAR
    readings = {"T3": (left, 5e3)}
    assert weigh(yearly(is_left=True)[step], readings)[0].id == AS_EXPECTED
    assert weigh(yearly(is_left=False)[step], readings)[0].id != AS_EXPECTED


def test_a_trip_that_was_left_elsewhere_is_expected_there_as_found():
    step = first_of("trip_mid/T3")
    assert expected(yearly(is_left=True)[step], "trip_mid/T3") == pytest.approx(5.9 * BAR)
    assert expected(yearly(is_left=False)[step], "trip_mid/T3") != pytest.approx(5.9 * BAR, abs=1e3)


def test_the_list_says_on_which_day_the_values_it_starts_from_were_left():
    step = first_of("served/T3")
    left, design = (yearly(is_left=how)[step].causes[0] for how in (True, False))
    assert (left.tell.id, left.tell.params["on"]) == ("cause.0.left.tell", "1 May 2027")
    assert design.tell.id == "cause.0.tell"


def test_turns_are_expected_by_what_a_turn_was_found_to_add():
    station = load(read("quillenby-row")).station
    rate = pressure_per_turn(next(p for p in station.parts() if isinstance(p, Reducer)).pilot).si
    curve = Curve((8.0,), (0.0,), (0.0,), (0.5,))
    model = SteadyTwin(station).model
    assert _as_left({"turns/RV": curve}, LEFT, model)["turns/RV"].value[0] == pytest.approx(8.0 * rate / 20e3)
    assert _as_left({"turns/RV": curve}, Base(), model)["turns/RV"] == curve
