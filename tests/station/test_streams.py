from __future__ import annotations

import json
from typing import Any

import pytest

from steadyhead.errors import InputErrors
from steadyhead.station.layout import read_layout
from steadyhead.station.load import load_json
from tests.hydraulics import streams
from tests.hydraulics.stations import station_data


def test_layout_lists_every_stream_with_its_own_valves_and_sections() -> None:
    layout = read_layout(streams.duty_and_standby())
    duty, standby = layout.streams
    assert (duty.id, duty.group, duty.role) == ("a", "PG", "duty")
    assert [valve.id for valve in (*duty.reducers, *duty.shut_offs)] == ["RVa", "SOa"]
    assert [(section.name, [tap.id for tap in section.taps]) for section in standby.sections] == [
        ("supply", []), ("inlet", ["T1b"]), ("between", ["T2b"]), ("outlet", ["T3b"]), ("consumer", []),
    ]  # fmt: skip
    assert [branch.id for _, branch in layout.bypasses] == ["by"]
    assert [part.id for part in layout.reducers] == ["RVa"]
    assert layout.code == "several streams"


def test_layouts_are_told_apart() -> None:
    assert read_layout(streams.with_low_flow()).code == "several streams"
    assert read_layout(streams.with_monitor()).code == "monitor and reducer"


@pytest.mark.parametrize(
    "part",
    [
        {"part": "relief", "id": "RL", "size": "DN 50", "crack": "5 bar"},
        {"part": "check_valve", "id": "CV", "size": "DN 100"},
        {"part": "expansion_vessel", "id": "EV", "volume": "200 L"},
    ],
    ids=lambda part: part["part"],
)
def test_parts_beside_the_valves_change_no_layout(part: dict[str, Any]) -> None:
    data = station_data("reducer alone")
    assert read_layout(load_json(json.dumps(data)).station).code == "reducer alone"
    data["line"].insert(-2, part)
    assert read_layout(load_json(json.dumps(data)).station).code == "reducer alone"


def test_station_of_one_way_has_no_streams() -> None:
    assert read_layout(load_json(json.dumps(station_data())).station).streams == ()


def test_part_shared_by_two_branches_would_make_a_ring_and_is_refused() -> None:
    first = {"id": "a", "line": [streams.valve("X"), streams.reducer("RV", "T3", "4 bar")]}
    second = {"id": "b", "line": [streams.valve("X")]}
    with pytest.raises(InputErrors, match="Branches that share a part make a ring; rings are not covered"):
        streams.loaded(streams.line_with([first, second]))
