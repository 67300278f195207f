"""The examples: what they are, and that their names are found."""

from __future__ import annotations

import pytest

from steadyhead.errors import InputError
from steadyhead.station.examples import names, read, summary
from steadyhead.station.layout import read_layout
from steadyhead.station.load import load


def test_each_example_has_one_line_about_it_that_names_it():
    for name in names():
        station = load(read(name)).station
        line = summary(name)
        assert line.startswith(station.station.name.split(",")[0].removesuffix(" 3"))
        assert "invented" in line
        assert "\n" not in line


def test_every_layout_of_one_line_without_a_shut_off_between_has_an_example():
    shown = {read_layout(load(read(name)).station).code for name in names()}
    assert shown >= {
        "reducer alone", "shut-off upstream", "shut-off downstream", "two reducers in series",
        "monitor and reducer", "several streams",
    }  # fmt: skip


def test_every_kind_of_station_but_the_kiosk_has_an_example():
    kinds = {load(read(name)).station.station.kind for name in names()}
    assert kinds >= {"utility chamber", "building plant room", "fire main", "irrigation", "industrial"}


def test_among_the_examples_are_a_monitor_a_relief_for_a_shut_off_and_a_fire_main_without_one():
    layouts = {name: read_layout(load(read(name)).station) for name in names()}
    assert layouts["fenwarren-gate"].pairing == "monitor"
    assert layouts["orrowby-mill"].reliefs
    assert not layouts["orrowby-mill"].shut_offs
    quay = load(read("tarnholt-quay")).station
    assert not any(part.part == "shut_off" for part in quay.parts())
    (answer,) = quay.answers
    assert answer.to == "LAY-43"
    assert answer.authority
    assert answer.decided


def test_an_unknown_example_is_refused_with_a_suggestion():
    with pytest.raises(InputError, match="Did you mean 'sorrel-flat'"):
        read("sorel-flat")
