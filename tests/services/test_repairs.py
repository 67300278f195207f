"""Items of repair grouped by part: none lost, none twice."""

from __future__ import annotations

import pytest

from steadyhead.services.repairs import by_part, unknown_item
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.station.streams import views
from steadyhead.visits import items
from steadyhead.visits.several import items as several_items
from steadyhead.visits.several.ways import has_several

PLANNED = [name for name in examples.names() if name != "hobble-end"]


@pytest.mark.parametrize("name", PLANNED)
def test_every_item_stands_under_one_part_or_stream(name):
    station = load(examples.read(name)).station
    groups = by_part(station)
    listed = [item for names in groups.values() for item in names]
    several = has_several(station)
    assert sorted(listed) == sorted(several_items.names(station) if several else items.names(station))
    heads = {f"stream {view.id}" for view in views(station)} if several else set()
    assert set(groups) <= heads | {p.id for p in station.parts()} | {"else"}
    assert len(groups) > 2


@pytest.mark.parametrize(
    ("name", "part", "word"),
    [
        ("fenwarren-gate", "MON", "monitor seat"),
        ("fenwarren-gate", "RV", "reducer seat"),
        ("orrowby-mill", "RL", "relief valve"),
        ("veldany-house", "RL", "relief valve"),
        ("veldany-house", "EV", "expansion vessel"),
    ],
)
def test_monitor_relief_and_vessel_list_their_items_under_their_own_id(name: str, part: str, word: str):
    station = load(examples.read(name)).station
    groups = by_part(station)
    assert word in groups[part]
    assert word not in groups.get("else", ())


@pytest.mark.parametrize(
    ("part", "told"), [("IV1", "return-to-service"), ("T3", "sensing line"), ("TG-51", "fixed gauge")]
)
def test_a_part_without_an_item_of_repair_says_why_and_what_there_is_instead(part: str, told: str):
    station = load(examples.read("fenwarren-gate")).station
    found = unknown_item(station, part)
    assert told in found.remedy
    assert "by part" not in found.remedy


def test_a_station_without_a_plan_has_no_items():
    assert by_part(load(examples.read("hobble-end")).station) == {}
