"""The wall between units and engineering: a file in US units is the same station."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given
from pydantic import BaseModel
from ruamel.yaml import YAML

from steadyhead.hydraulics import build, design_cases, solve
from steadyhead.hydraulics.reach import reach
from steadyhead.hydraulics.sequence import Step, read_sequence
from steadyhead.records.station import Station
from steadyhead.records.values import Value
from steadyhead.services.judging import judge_file, sheet_data
from steadyhead.services.planning import make_plan, plan_data
from steadyhead.station.examples import names, read
from steadyhead.station.load import load, load_json
from tests.hydraulics.stations import BAR, station_data
from tests.properties.comparing import differences
from tests.properties.drawn import Drawn, answer, sound
from tests.properties.imperial import in_us_units

pytestmark = pytest.mark.by_turns(4)

SAME = 1e-9
METRIC = [name for name in names() if b" psi" not in read(name)]
WALL = "one station typed in two systems of units; factors from the definitions of inch, pound and US gallon"


def both(data: dict[str, Any]) -> tuple[Station, Station]:
    """Return the station of a file and of the same file in US units."""
    return load_json(json.dumps(data)).station, load_json(json.dumps(in_us_units(data))).station


def quantities(record: object, path: str = "") -> Iterator[tuple[str, Value]]:
    """Yield every quantity of a record with its place."""
    if isinstance(record, Value):
        yield path, record
    elif isinstance(record, BaseModel):
        for key in type(record).model_fields:
            yield from quantities(getattr(record, key), f"{path}.{key}")
    elif isinstance(record, tuple):
        for index, item in enumerate(record):
            yield from quantities(item, f"{path}[{index}]")


def written(name: str) -> dict[str, Any]:
    """Return an example as plain data; dates become text."""
    data = json.dumps(YAML(typ="safe").load(read(name).decode()), default=str)
    return dict(json.loads(data))


@pytest.fixture(params=METRIC)
def example(request: pytest.FixtureRequest) -> tuple[Station, Station]:
    return both(written(request.param))


@pytest.mark.source(kind="analytic", ref=WALL, note="results carry nine digits; 1e-7")
@pytest.mark.parametrize("name", METRIC)
def test_judgement_of_a_file_in_us_units_is_the_same(name: str) -> None:
    data = written(name)
    metric, us = (sheet_data(judge_file(json.dumps(one).encode())) for one in (data, in_us_units(data)))
    assert len(metric["findings"]) > 0
    assert not differences(metric, us, 1e-7)


@pytest.mark.source(kind="analytic", ref=WALL, note="results carry nine digits; 1e-7")
def test_plan_from_a_file_in_us_units_is_the_same() -> None:
    data = written("quillenby-row")
    metric, us = (
        plan_data(make_plan(json.dumps(one).encode(), "first")) for one in (data, in_us_units(data))
    )
    assert not differences(metric, us, 1e-7)


def test_examples_to_rewrite_are_found() -> None:
    assert len(METRIC) >= 3


@pytest.mark.source(kind="analytic", ref=WALL, note="1e-9 of the value, or 1e-9 SI units")
def test_records_of_a_file_in_us_units_are_the_same(example):
    metric, us = (dict(quantities(one)) for one in example)
    assert metric.keys() == us.keys()
    rewritten = [path for path in metric if metric[path].text != us[path].text]
    assert len(rewritten) > 30
    for path, value in metric.items():
        assert us[path].si == pytest.approx(value.si, rel=SAME, abs=SAME), path
        assert us[path].kind == value.kind


@pytest.mark.source(kind="analytic", ref=WALL, note="1e-9")
def test_settings_and_design_cases_of_a_file_in_us_units_are_the_same(example):
    metric, us = (build(one) for one in example)
    for mine, other in zip(design_cases(metric.station), design_cases(us.station), strict=True):
        assert mine.words == other.words
        here, there = solve(metric, mine.conditions), solve(us, other.conditions)
        assert there.taps == pytest.approx(here.taps, rel=SAME)
        assert there.flow == pytest.approx(here.flow, rel=SAME)
        for name, valve in here.valves.items():
            assert there.valves[name].state == valve.state
            assert there.valves[name].lift == pytest.approx(valve.lift, rel=1e-7)
    for name, lockup in metric.lockup.items():
        assert us.lockup[name].si == pytest.approx(lockup.si, rel=SAME)
        assert us.band[name].si == pytest.approx(metric.band[name].si, rel=1e-7)


@pytest.mark.source(kind="analytic", ref=WALL, note="1e-9")
def test_reach_of_a_reducer_from_a_file_in_us_units_is_the_same():
    metric, us = (build(one) for one in both(station_data("shut-off upstream")))
    flows, inlets = [0.001, 0.01, 0.03], [5.0 * BAR, 8.0 * BAR, 14.0 * BAR]
    for here, there in zip(reach(metric, "RV", flows, inlets), reach(us, "RV", flows, inlets), strict=True):
        assert there.verdict == here.verdict
        assert there.outlet_pressure == pytest.approx(here.outlet_pressure, rel=SAME)


@pytest.mark.source(kind="analytic", ref=WALL, note="1e-9")
def test_sequence_on_a_file_in_us_units_is_the_same():
    metric, us = (build(one) for one in both(station_data("shut-off downstream", resets="by itself")))

    def run(model: Any) -> list[tuple[dict[str, float], frozenset[str]]]:
        case = design_cases(model.station)[0].conditions
        steps = [Step(case, {"SO": trip * BAR}) for trip in (9.0, 3.0, 3.0, 9.0)]
        return [(dict(one.steady.taps), one.tripped) for one in read_sequence(model, steps)]

    for (here, tripped), (there, also) in zip(run(metric), run(us), strict=True):
        assert there == pytest.approx(here, rel=SAME, abs=1e-6)
        assert also == tripped


@given(sound())
@pytest.mark.source(
    kind="analytic", ref=WALL, note="1e-9; flows that are a small difference of pressures 1e-6"
)
def test_any_station_in_us_units_answers_the_same(drawn: Drawn) -> None:
    stations = both(station_data(drawn.layout, **drawn.options))
    here, there = (answer(build_of(one), drawn.conditions) for one in stations)
    if here is None or there is None:
        assert here is there
        return
    assert there.taps == pytest.approx(here.taps, rel=1e-8, abs=1.0)
    assert there.flow == pytest.approx(here.flow, rel=1e-6, abs=1e-12)


def build_of(station: Station) -> Any:
    """Return the model with settings as typed."""
    from steadyhead.hydraulics import build_plain

    return build_plain(station)


def test_example_in_us_units_loads_as_yaml_too() -> None:
    assert load(read("sorrel-flat")).station.supply.typical.text.endswith("psi")
