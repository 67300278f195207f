"""Files changed in a way that must not matter, or must matter in one known way."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from steadyhead.hydraulics import build_plain, solve
from steadyhead.records.steady import Conditions
from steadyhead.services.judging import judge_file, sheet_data
from steadyhead.station.examples import names, read
from steadyhead.station.load import load_json
from tests.hydraulics.stations import BAR, INSIDE, LAYOUTS, Layout, station_data
from tests.properties.comparing import NAMES_A_FILE, differences
from tests.properties.drawn import Drawn, answer, sound

pytestmark = pytest.mark.by_turns(4)

LEVEL = re.compile(r"^([-+]?\d+(?:\.\d+)?) (m|ft)$")
LEVEL_FIELDS = ("datum", "level", "lowest", "highest", "altitude")
FEET = {"m": 1.0, "ft": 0.3048}


def lifted(data: Any, height: float) -> Any:
    """Return a station file's data with every level raised by a height [m]."""
    if isinstance(data, list):
        return [lifted(item, height) for item in data]
    if not isinstance(data, dict):
        return data
    return {
        key: _raised(value, height) if key in LEVEL_FIELDS else lifted(value, height)
        for key, value in data.items()
    }


def _raised(value: Any, height: float) -> Any:
    if isinstance(value, dict):
        return {**value, "value": _raised(value["value"], height)}
    found = LEVEL.match(value)
    return f"{float(found.group(1)) + height / FEET[found.group(2)]!r} {found.group(2)}" if found else value


@pytest.mark.source(
    kind="analytic", ref="only differences of level count while the atmosphere stays", note="1e-9"
)
@given(sound(), st.floats(-300.0, 300.0))
def test_all_levels_shifted_together_change_no_pressure_at_the_datum(drawn: Drawn, height: float) -> None:
    levels = tuple(level + height for level in drawn.options["levels"])
    here = answer(drawn.model(), drawn.conditions)
    there = answer(drawn.model(levels=levels), drawn.conditions)
    if here is None or there is None:
        assert here is there
        return
    assert there.taps == pytest.approx(here.taps, rel=1e-8, abs=0.1)
    assert there.flow == pytest.approx(here.flow, rel=1e-6, abs=1e-12)


@pytest.mark.source(
    kind="analytic", ref="only differences of level count while the atmosphere stays", note="1e-7"
)
@pytest.mark.parametrize("name", names())
def test_judgement_of_an_example_moved_uphill_is_the_same(name: str) -> None:
    data = json.loads(json.dumps(YAML(typ="safe").load(read(name).decode()), default=str))
    datum = data["station"]["datum"]
    data["station"].setdefault("altitude", datum["value"] if isinstance(datum, dict) else datum)
    moved = lifted(data, 128.0)
    moved["station"]["altitude"] = data["station"]["altitude"]
    below, above = (sheet_data(judge_file(json.dumps(one).encode())) for one in (data, moved))
    levels_told = re.compile(rf"{NAMES_A_FILE.pattern}|level")
    assert not differences(below, above, 1e-7, levels_told)


@pytest.mark.source(
    kind="analytic", ref="air density falls with altitude: choking comes earlier, nothing else moves"
)
def test_altitude_moves_absolute_pressures_only() -> None:
    low, high = (build_plain(load_json(json.dumps(station_data(altitude=z))).station) for z in (0.0, 2000.0))
    conditions = Conditions(supply_pressure=9.0 * BAR, consumer_kv=30.0)
    here, there = solve(low, conditions), solve(high, conditions)
    assert there.taps == pytest.approx(here.taps, rel=1e-6)
    assert there.valves["RV"].pressure_ratio > here.valves["RV"].pressure_ratio


def _kv_scaled(data: Any, factor: float) -> Any:
    if isinstance(data, dict):
        return {key: _kv_scaled(value, factor) for key, value in data.items()}
    if isinstance(data, list):
        return [_kv_scaled(item, factor) for item in data]
    if isinstance(data, str) and data.startswith("Kv "):
        return f"Kv {float(data[3:]) * factor!r}"
    return data


@pytest.mark.source(
    kind="analytic",
    ref="with no mains, all flow coefficients times c pass c times the flow at the same pressures",
    note="1e-9",
)
@pytest.mark.parametrize("layout", LAYOUTS)
@pytest.mark.parametrize("kv", [0.5, 20.0, 300.0])
def test_every_flow_coefficient_scaled_scales_the_flow_and_nothing_else(layout: Layout, kv: float) -> None:
    factor = 3.7
    inside = {**INSIDE, "proportional_band": "0.8 bar"}
    data = station_data(layout, inside=inside, mains=False)
    small, large = (
        build_plain(load_json(json.dumps(one)).station) for one in (data, _kv_scaled(data, factor))
    )

    def conditions(scale: float) -> Conditions:
        return Conditions(supply_pressure=9.0 * BAR, consumer_kv=kv * scale, openings={"TD": 0.1})

    here, there = solve(small, conditions(1.0)), solve(large, conditions(factor))
    assert there.taps == pytest.approx(here.taps, rel=1e-9)
    assert there.flow == pytest.approx(here.flow * factor, rel=1e-9)
    assert there.valves["RV"].lift == pytest.approx(here.valves["RV"].lift, rel=1e-9)


@pytest.mark.source(kind="analytic", ref="resistances in series: 1/k² add, whatever their order", note="1e-9")
def test_strainer_before_or_after_the_inlet_valve_is_the_same_to_the_reducer() -> None:
    data = station_data("shut-off upstream")
    swapped = json.loads(json.dumps(data))
    swapped["line"][1], swapped["line"][2] = swapped["line"][2], swapped["line"][1]
    conditions = Conditions(supply_pressure=6.0 * BAR, consumer_kv=120.0, openings={"IV1": 0.2})
    here, there = (
        solve(build_plain(load_json(json.dumps(one)).station), conditions) for one in (data, swapped)
    )
    for tap in ("T1", "T2", "T3"):
        assert there.taps[tap] == pytest.approx(here.taps[tap], rel=1e-9)


@pytest.mark.source(
    kind="analytic", ref="a flow that is found and a flow that is imposed are the same flow", note="1e-9"
)
@pytest.mark.parametrize("layout", LAYOUTS)
def test_flow_found_under_a_demand_gives_the_same_pressures_when_it_is_imposed(layout: Layout) -> None:
    model = build_plain(load_json(json.dumps(station_data(layout))).station)
    found = solve(model, Conditions(supply_pressure=9.0 * BAR, consumer_kv=45.0))
    again = solve(model, Conditions(supply_pressure=9.0 * BAR, consumer_flow=found.flow))
    assert again.taps == pytest.approx(found.taps, rel=1e-9)


@pytest.mark.source(
    kind="analytic",
    ref="two reducers in series: each holds its own outlet, the lower does not feel the upper",
)
def test_lower_of_two_reducers_does_not_feel_how_the_upper_is_set() -> None:
    model = build_plain(load_json(json.dumps(station_data("two reducers in series"))).station)
    outlets = {}
    for upper in (6.0, 6.8, 7.6):
        steady = solve(
            model,
            Conditions(supply_pressure=9.0 * BAR, consumer_kv=10.0, lockup={"RV1": upper * BAR}),
        )
        assert steady.valves["RV1"].state == steady.valves["RV"].state == "holding"
        assert upper * BAR - 0.2 * BAR <= steady.taps["T2"] <= upper * BAR
        outlets[upper] = steady.taps["T3"]
    assert max(outlets.values()) - min(outlets.values()) < 0.01 * BAR  # supply effect only
    assert outlets[6.0] < outlets[6.8] < outlets[7.6]
    failed = solve(model, Conditions(supply_pressure=9.0 * BAR, consumer_kv=10.0, pilot_stuck={"RV1": 1.0}))
    assert failed.taps["T2"] > 8.0 * BAR
    assert failed.taps["T3"] == pytest.approx(outlets[7.6], abs=0.01 * BAR)
