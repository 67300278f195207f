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
from steadyhead.units import METRIC, US
from tests.design.stations import UPSTREAM, data_of, station_of
from tests.design.way_stations import FIELD, MONITORED, PLANT


@cache
def judged(name: str) -> Judged:
    return judge_file(json.dumps(data_of(name)).encode())


@pytest.mark.parametrize("units", [METRIC, US], ids=["metric", "us"])
def test_each_stream_stands_with_its_trip_and_window(units):
    text = check_text(judged(PLANT), units)
    assert "Pressure ladder, standby stream standby: narrowest window" in text
    for words in (
        "Duty stream duty: RVA",
        "Standby stream standby: RVB",
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
