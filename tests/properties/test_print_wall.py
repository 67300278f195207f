"""The wall between print and engineering: whose units are printed changes no figure, finding or verdict."""

from __future__ import annotations

import json
import re
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from steadyhead.cli.app import run
from steadyhead.cli.check_text import check_text
from steadyhead.services.judging import Judged, judge_file, sheet_data
from steadyhead.services.papers import picture_data
from steadyhead.services.planning import MadePlan, make_plan, plan_data
from steadyhead.station.examples import names, read
from steadyhead.units import METRIC, SETS, UnitSet, read_units
from steadyhead.units.table import UNITS
from steadyhead.visits.text import render
from tests.visits.random_stations import random_station

pytestmark = pytest.mark.by_turns(4)

CHOICES = (*(name for name in SETS if name != "metric"), "metric,flow=Ml/d,pressure=kgf/cm²")
PAIRS = ("us+metric", "metric+us", "uk+metric", "metric-kpa+us")
RANDOM = 6
WALL = "one result printed in two sets of units; factors as in tests/units, half the last place of each print"
_KINDS = ("pressure", "flow", "velocity", "volume", "pressure_per_turn", "flow_coefficient", "temperature")
_LENGTHS = ("m", "ft")
SHORT = 0.3048
_BY_SYMBOL = {
    unit.symbol: unit
    for unit in reversed(UNITS)
    if (unit.kind in _KINDS or (unit.kind == "length" and unit.symbol in _LENGTHS)) and unit.symbol != "K"
}
_SYMBOLS = "|".join(re.escape(name) for name in sorted(_BY_SYMBOL, key=len, reverse=True))
_FIGURE = r"(?<![\w.,])−?\d+(?:\.\d+)?"
_TOKEN = re.compile(
    rf"(?P<number>{_FIGURE}) (?P<unit>{_SYMBOLS})(?![\w³/])|(?P<before>Kv|Cv) (?P<after>{_FIGURE})"
)
_PAIR = re.compile(rf"({_FIGURE}) ({_SYMBOLS}) \(({_FIGURE}) ({_SYMBOLS})\)")


def amount(number: str, unit: str) -> tuple[str, float, float]:
    """Return kind, SI value and what its last printed place is worth in SI."""
    found = _BY_SYMBOL[unit]
    value = Decimal(number.replace("−", "-"))
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int)
    place = 10.0**exponent
    if found.kind in ("volume", "flow_coefficient") and exponent == 0 and abs(value) >= 100:
        place = max(place, 10.0 ** (len(str(int(abs(value)))) - 3))
    return found.kind, float(value) * found.factor + found.offset, place * found.factor


def amounts(text: str) -> list[tuple[str, float, float]]:
    """Return every quantity printed in a text, in order, but for lengths below a foot, told in inches."""
    plain = " ".join(text.split())
    found = [amount(m["number"] or m["after"], m["unit"] or m["before"]) for m in _TOKEN.finditer(plain)]
    return [one for one in found if one[0] != "length" or not 0.0 < abs(one[1]) < SHORT]


def agree(text: str, other: str) -> int:
    """Compare every quantity of two prints of one result; return how many there were."""
    here, there = amounts(text), amounts(other)
    assert [kind for kind, _, _ in here] == [kind for kind, _, _ in there]
    for (kind, mine, my_place), (_, yours, your_place) in zip(here, there, strict=True):
        assert mine == pytest.approx(yours, rel=1e-6, abs=1.01 * (my_place + your_place)), kind
    return len(here)


@pytest.fixture(scope="module")
def judged() -> list[Judged]:
    """Return every example and some random stations, each judged once."""
    rng = np.random.default_rng(20270414)
    sources = [re.sub(rb"(\d) (\d{3} ft)", rb"\1\2", read(name)) for name in names()]
    sources += [json.dumps(random_station(rng)).encode() for _ in range(RANDOM)]
    return [judge_file(source) for source in sources]


@pytest.fixture(scope="module")
def made() -> MadePlan:
    plan = make_plan(read("quillenby-row"), "first")
    assert plan.procedure is not None
    return plan


def plan_in(made: MadePlan, units: UnitSet) -> str:
    assert made.procedure is not None
    return render(made.procedure, units, numbers=made.numbers, width=100000)


@pytest.mark.parametrize("choice", CHOICES)
@pytest.mark.source(kind="analytic", ref=WALL)
def test_every_figure_of_a_judgement_is_the_same_in_other_units(choice: str, judged: list[Judged]) -> None:
    units = read_units(choice)
    counted = sum(agree(check_text(one, METRIC), check_text(one, units)) for one in judged)
    assert counted > 100


@pytest.mark.parametrize("choice", CHOICES)
@pytest.mark.source(kind="analytic", ref=WALL)
def test_every_figure_of_a_plan_is_the_same_in_other_units(choice: str, made: MadePlan) -> None:
    assert agree(plan_in(made, METRIC), plan_in(made, read_units(choice))) > 100


@pytest.mark.parametrize("choice", PAIRS)
@pytest.mark.source(kind="analytic", ref=WALL)
def test_both_figures_of_a_pair_are_one_quantity(choice: str, judged: list[Judged], made: MadePlan) -> None:
    units = read_units(choice)
    texts = [check_text(one, units) for one in judged] + [plan_in(made, units)]
    pairs = [pair for text in texts for pair in _PAIR.findall(" ".join(text.split()))]
    assert len(pairs) > 100
    for first, unit, second, other in pairs:
        kind, mine, my_place = amount(first, unit)
        kind_too, yours, your_place = amount(second, other)
        assert kind == kind_too
        assert mine == pytest.approx(yours, rel=1e-6, abs=1.01 * (my_place + your_place))


@pytest.mark.parametrize("command", ["check", "plan"])
def test_results_as_json_are_the_same_bytes_in_any_units(
    command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    place = tmp_path / "s.yaml"
    place.write_bytes(read("sorrel-flat"))
    more = ["--for", "yearly"] if command == "plan" else []
    told = []
    for choice in ("metric", "us", "uk+metric"):
        run([command, str(place), *more, "--json", "--units", choice])
        told.append(capsys.readouterr().out)
    assert told[0]
    assert told[1:] == told[:1] * 2


@pytest.mark.parametrize("picture", ["strip", "ladder"])
def test_a_picture_shows_the_same_facts_in_any_units(picture: str, judged: list[Judged]) -> None:
    first = judged[0]
    here = numbers(picture_data(first, picture, METRIC)["facts"])
    assert len(here) > 10
    for choice in ("us", "us+metric"):
        assert numbers(picture_data(first, picture, read_units(choice))["facts"]) == here


def numbers(data: Any) -> list[float]:
    """Return every number of plain data, in order."""
    if isinstance(data, dict):
        return [one for key in sorted(data) for one in numbers(data[key])]
    if isinstance(data, list | tuple):
        return [one for item in data for one in numbers(item)]
    return [data] if isinstance(data, float) else []


def test_units_of_papers_and_dials_in_the_file_change_nothing_worked_out() -> None:
    plain = read("quillenby-row").decode()
    told = plain.replace("{id: TG-1,", "{id: TG-1, dial: psi,") + "papers: {units: us+metric}\n"
    assert told.count("dial: psi") == 1
    here, there = (without_hash(sheet_data(judge_file(text.encode()))) for text in (plain, told))
    assert here == there
    plans = (without_hash(plan_data(make_plan(text.encode(), "yearly"))) for text in (plain, told))
    first, second = plans
    assert first == second


def without_hash(data: Any) -> Any:
    """Return plain data with hashes of the file, and ids made of them, taken out."""
    if isinstance(data, dict):
        return {
            key: without_hash(value)
            for key, value in data.items()
            if key not in ("station_hash", "file_sha256", "id") or not _hashed(value)
        }
    if isinstance(data, list):
        return [without_hash(item) for item in data]
    return data


def _hashed(value: Any) -> bool:
    return isinstance(value, str) and re.search(r"[0-9a-f]{12}", value) is not None
