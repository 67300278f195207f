from __future__ import annotations

import pytest

from steadyhead.reports.figures import between, minutes, site_unit, turns, unit, volume, working_time
from steadyhead.reports.identity import identity, place
from steadyhead.units import METRIC, UK, US, UnitSet
from tests.reports.stations import station


@pytest.mark.parametrize(
    ("low", "high", "kind", "words"),
    [
        (4.0e5, 4.2e5, "pressure", "4.00 to 4.20 bar"),
        (None, 5.31e5, "pressure", "at most 5.31 bar"),
        (-0.16e5, 0.17e5, "pressure", "at most 0.17 bar"),
        (5.31e5, None, "pressure", "at least 5.31 bar"),
        (None, None, "pressure", ""),
        (1.0, 1.0, "yes_no", "yes"),
        (0.0, 0.0, "yes_no", "no"),
        (None, None, "text", ""),
    ],
)
def test_a_band_is_told_in_words(low, high, kind, words):
    assert between(low, high, kind, METRIC) == words


def test_a_band_has_the_decimal_mark_of_its_reader():
    comma = UnitSet("metric, comma", METRIC.units, decimal=",")
    assert between(4.0e5, 4.2e5, "pressure", comma) == "4,00 to 4,20 bar"


def test_a_thing_that_is_no_quantity_has_no_unit():
    assert unit("photo", METRIC) == ""
    assert site_unit("yes_no", US) == ""
    assert site_unit("pressure", UK) == "m head"


def test_water_is_told_in_litres_while_it_is_little_and_in_us_gallons_to_us_readers():
    assert volume(0.24, METRIC) == "240 L"
    assert volume(48.6, METRIC) == "48.6 m³"
    assert volume(0.24, US).endswith(" US gal")


@pytest.mark.parametrize(
    ("count", "words"), [(0.0, "0"), (0.5, "½"), (3.0, "3"), (2.75, "2¾"), (0.0417, "0.04")]
)
def test_turns_are_told_in_quarters_where_they_are_quarters(count, words):
    assert turns(count) == words


def test_a_short_time_is_never_told_as_nothing():
    assert minutes(5.0) == "1 min"
    assert working_time(30.0, 45.0) == "30 to 45 min"


def test_south_and_west_are_told_in_letters():
    about = station()
    where = about.station.coordinates
    assert where is not None
    moved = where.model_copy(update={"latitude": -33.5, "longitude": -70.25})
    assert place(station(coordinates=moved)) == "33.50000° S, 70.25000° W"


def test_only_what_is_stated_stands_among_the_facts_of_a_station():
    bare = station(zone="", owner="", directions="", coordinates=None, hazards=(), control_room="")
    rows = dict(identity(bare, METRIC))
    assert rows["Hazards here"] == "none stated; look before you go in"
    assert rows["Desk to call"] == "not stated"
    assert not {"Owner", "Lid", "Coordinates", "Fire water"} & set(rows)
    assert dict(identity(station(fire_water=True), METRIC))["Fire water"] == "passes through this station"
