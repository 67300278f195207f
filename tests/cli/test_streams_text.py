"""What `check` prints of streams, handovers and relief valves, and what its JSON calls them."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest

from steadyhead.cli.check_text import check_text
from steadyhead.cli.streams_text import monitor_rungs
from steadyhead.design.sheet import judge, to_json
from steadyhead.services.judging import Judged, judge_file
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.units import METRIC, US
from tests.design.stations import UPSTREAM, data_of, station_of
from tests.design.way_stations import FIELD, MONITORED, PLANT


@cache
def judged(name: str) -> Judged:
    return judge_file(json.dumps(data_of(name)).encode())


@pytest.mark.parametrize("units", [METRIC, US], ids=["metric", "us"])
def test_each_stream_stands_with_its_trip_and_window(units):
    text = check_text(judged(PLANT), units)
    assert "Pressure ladder, standby stream: narrowest window" in text
    for words in (
        "Duty stream: RVA",
        "Standby stream: RVB",
        "SOA trips at",
        "relief valve cracks",
    ):
        assert words in text


def test_who_leads_and_where_the_main_reducer_joins_is_printed():
    text = check_text(judged(FIELD), US)
    assert "from no flow, outlet 73.0 psi: LB carries" in text
    assert "carry" in text.split("Handover", 1)[1]


def test_a_relief_valve_is_told_with_the_pressure_it_leaves():
    assert "RL, beside the shut-off: cracks at 5.40 bar." in check_text(judged(PLANT), METRIC)


def test_a_station_of_one_way_prints_none_of_it():
    text = check_text(judged(UPSTREAM), METRIC)
    assert "\nPressure ladder\n" in text
    for words in ("Streams", "Handover", "Relief valves", "relief valve cracks"):
        assert words not in text


def test_names_of_the_new_figures_end_in_their_unit():
    found: Any = to_json(judged(PLANT).sheet)
    assert found["reliefs"][0].keys() >= {
        "crack_pa", "full_pa", "reseat_pa", "failed_open_flow_m3_s", "passes_m3_s", "peak_pa",
    }  # fmt: skip
    assert found["handovers"][0].keys() >= {"flow_m3_s", "outlet_pa"}
    assert found["streams"][0]["ladder"]["inputs"]["relief_crack_pa"] == 540000.0


def test_the_ladder_of_a_monitor_shows_what_the_monitor_holds():
    station = station_of(MONITORED)
    sheet = judge(station)
    assert sheet.ladder is not None
    rows = monitor_rungs(sheet, sheet.ladder, station)
    assert [words for _, words in rows] == ["duty of monitor MON", "lock-up of monitor MON"]
    assert [pressure for pressure, _ in rows] == pytest.approx([5.2e5, 5.3e5])
    plain = station_of(PLANT)
    other = judge(plain)
    assert other.ladder is not None
    assert monitor_rungs(other, other.ladder, plain) == []


def test_limits_are_rounded_down_and_the_rung_says_whether_heating_is_in_it():
    text = check_text(judge_file(read("veldany-house")), METRIC)
    assert "5.59 bar  normal limit: draw-off on level 0" in text
    assert "highest normal, before heating" in text
    assert "highest normal and one full heating" in text


def test_the_ladder_shows_where_a_relief_valve_in_place_of_a_shut_off_holds():
    text = check_text(judge_file(read("orrowby-mill")), METRIC)
    assert "RL holds a reducer stuck open, crack at its upper edge" in text


def test_a_window_below_nothing_says_that_no_trip_is_low_enough():
    text = check_text(judge_file(read("hobble-end")), METRIC)
    assert "no trip is low enough" in text
    assert "at most \u22121" not in text


@pytest.mark.parametrize("name", ["mesquill-flat", "sorrel-flat"])
def test_an_example_in_us_units_prints_its_papers_in_them(name):
    assert load(read(name)).station.papers.choice("plan") == "us"
