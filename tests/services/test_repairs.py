"""Items of repair grouped by part: none lost, none twice."""

from __future__ import annotations

import pytest

from steadyhead.services.repairs import by_part
from steadyhead.station import examples
from steadyhead.station.load import load
from steadyhead.visits import items


@pytest.mark.parametrize("name", examples.names())
def test_every_item_stands_under_one_part(name):
    station = load(examples.read(name)).station
    groups = by_part(station)
    listed = [item for names in groups.values() for item in names]
    assert sorted(listed) == sorted(items.names(station))
    ids = {part.id for part in station.parts()} | {"else"}
    assert set(groups) <= ids
    assert len(groups) > 2
