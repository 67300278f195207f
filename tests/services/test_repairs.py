"""Items of repair grouped by part: none lost, none twice."""

from __future__ import annotations

import pytest

from steadyhead.services.repairs import by_part
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
    heads = {f"stream {view.id}" for view in views(station)} if several else {p.id for p in station.parts()}
    assert set(groups) <= heads | {"else"}
    assert len(groups) > 2


def test_a_station_without_a_plan_has_no_items():
    assert by_part(load(examples.read("hobble-end")).station) == {}
