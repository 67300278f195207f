"""The peak of the credited failure is one figure: in ladder, failures, findings, page, paper and data."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from types import SimpleNamespace
from typing import Any

import pytest

from steadyhead.cli.check_text import check_text
from steadyhead.design.export import sheet_json
from steadyhead.design.protection import questions
from steadyhead.design.sheet import judge
from steadyhead.records.protection import Failure, Low, ProofCase, ProofSheet, SidePeak
from steadyhead.reports.design_tables import failures, rungs, stackings
from steadyhead.services.stations.rungs import rungs_of
from steadyhead.station import examples
from steadyhead.station.load import from_data, load
from steadyhead.units import METRIC, US
from tests.design.random_stations import random_data
from tests.services.test_plan_window import proof

pytestmark = pytest.mark.by_turns(3)

RANDOM = 12
BESIDE = 0.13e5
"""By how much the made-up proof passes the edge of each trip. [Pa]"""


@cache
def station(name: str) -> Any:
    """Return an example, the same with every trip far off its window, or a random station."""
    if name.isdigit():
        return from_data(random_data(random.Random(int(name)))).station
    example, _, off = name.partition(" ")
    data = load(examples.read(example)).data
    for part in (one for branch in lines(data) for one in branch):
        if off and part.get("part") == "shut_off" and part.get("trip"):
            part["trip"] = {"value": "9.87 bar"}
    return from_data(data).station


def lines(data: Any) -> Iterator[list[dict[str, Any]]]:
    """Yield every list of parts of a file."""
    if isinstance(data, dict):
        for value in data.values():
            yield from lines(value)
    elif isinstance(data, list):
        if all(isinstance(one, dict) and "part" in one for one in data):
            yield data
        for value in data:
            yield from lines(value)


def proved(given: Any) -> ProofSheet:
    """Return a made-up proof of each way, run at the very trip and edge a real one is run at."""
    (made,) = proof().ways
    low = Low(1e5, "consumer main", 0.0, 0.0, False)
    ways = []
    for question in questions(given):
        height = question.trip_edge + BESIDE
        peak = SidePeak("consumer", height, height, 4e5, "T3", 0.0, "fittings", 1.01 * height, "inside")
        cases = tuple(
            ProofCase(
                failure=claim.failure, inlet="static", flow="night", closing="slow", trip_after=60.0,
                switch_after=0.1, shut_after=5.0, until=80.0, peaks=(peak,), consumers=low, supply=low,
                has_fallen_in=False,
            )
            for claim in question.claims
            if claim.failure.credited and isinstance(claim.failure, Failure)
        )  # fmt: skip
        ways.append(
            replace(
                made, way=question.view.id, shut_off=question.shut_off, trip=question.trip,
                trip_edge=question.trip_edge, cases=cases,
            )
        )  # fmt: skip
    return ProofSheet(tuple(ways))


NAMES = (*examples.names(), *(f"{name} off" for name in examples.names()), *map(str, range(RANDOM)))


def figure(text: str) -> float:
    """Return the first figure of a text."""
    found = re.search(r"\d+(\.\d+)?", text)
    assert found, text
    return float(found.group())


@pytest.mark.parametrize("name", NAMES)
def test_each_place_has_the_same_peak(name):
    units = US if name.isdigit() and int(name) % 2 else METRIC
    given = station(name)
    for proof_of_it in (None, proved(given)):
        sheet = judge(given, proof=proof_of_it)
        if sheet.ladder is None or not any(peak.credited for peak in sheet.ladder.peaks):
            continue
        told = list(places(given, sheet, units))
        assert len(set(told)) == 1, told


def places(given: Any, sheet: Any, units: Any) -> Iterator[str]:
    """Yield the printed figure of the peak in every place that has it."""
    judged: Any = SimpleNamespace(loaded=SimpleNamespace(station=given, sheets=()), sheet=sheet)
    ladder = sheet.ladder
    chosen = ladder.worst_case if sheet.stacking == "worst case" else ladder.root_sum_square
    highest = max(peak.peak for peak in ladder.peaks if peak.credited)
    assert chosen.peak == highest
    kept = sheet_json(sheet)["ladder"]
    name = "worst_case" if sheet.stacking == "worst case" else "root_sum_square"
    assert kept[name]["peak_pa"] == max(one["peak_pa"] for one in kept["peaks"] if one["credited"])
    text = check_text(judged, units)
    yield said(r"(\d+\.?\d*) \S+  peak(?: after|,)", text)
    yield max(re.findall(r": credited,[^:]*?peak\s+(\d+\.?\d*)", " ".join(text.split())), key=float)
    yield next(row[1] for row in rungs(sheet, units) if row[0].startswith("Peak")).split()[0]
    column = 1 if sheet.stacking == "worst case" else 2
    yield next(row[column] for row in stackings(sheet, units) if row[0].startswith("Peak")).split()[0]
    yield max((row[3].split()[0] for row in failures(sheet, units) if row[-1] == "credited"), key=float)
    if not sheet.streams:
        found = {one.name: one.now for one in rungs_of(judged, judged, units)}
        yield found["peak in the credited failure"].split()[0]


def said(pattern: str, text: str) -> str:
    found = re.search(pattern, text)
    assert found, text
    return found.group(1)


@pytest.mark.parametrize("name", ["hobble-end", "dunmarrow-bottom off", "3"])
def test_a_proof_counts_from_the_edge_the_ladder_shows(name):
    given = station(name)
    made = proved(given)
    sheet = judge(given, proof=made)
    assert sheet.ladder is not None
    stacking = sheet.ladder.worst_case if sheet.stacking == "worst case" else sheet.ladder.root_sum_square
    assert stacking.trip_upper_edge == pytest.approx(made.ways[0].trip_edge)
    assert sheet.ladder.overshoot == pytest.approx(BESIDE)


def test_the_paper_says_whose_tolerances_those_of_a_window_are():
    rows = stackings(judge(station("hobble-end")), METRIC)
    assert rows[0][0] == "Tolerance of a trip in the window's middle downwards"
    inside = stackings(judge(station("dunmarrow-bottom")), METRIC)
    assert inside[0][0] == "Tolerance of the trip downwards"
