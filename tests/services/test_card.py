"""What the station card of several streams takes from the plan."""

from __future__ import annotations

from steadyhead.services.judging import judge_file
from steadyhead.services.papers import card_data
from steadyhead.station.examples import read


def test_the_card_of_streams_opens_the_valve_of_the_stream_that_is_out_and_watches_the_stations_outlet():
    words = str(card_data(judge_file(read("veldany-house"))))
    assert "IVA1 to" in words
    assert "IV1 to" not in words
    assert "T4 moves when it should stand." in words
    assert "T3 moves when it should stand." not in words


def test_the_card_names_the_stations_own_inlet_valve_where_no_stream_goes_out_alone():
    words = str(card_data(judge_file(read("quernhollow-lane"))))
    assert "IV1 to" in words
    assert "IVM1 to" not in words
