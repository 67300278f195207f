"""The examples: what they are, and that their names are found."""

from __future__ import annotations

import pytest

from steadyhead.errors import InputError
from steadyhead.station.examples import names, read, summary
from steadyhead.station.load import load


def test_each_example_has_one_line_about_it_that_names_it():
    for name in names():
        station = load(read(name)).station
        line = summary(name)
        assert line.startswith(station.station.name.split(",")[0].removesuffix(" 3"))
        assert "invented" in line
        assert "\n" not in line


def test_the_four_covered_layouts_have_an_example_each():
    assert len(names()) >= 4


def test_an_unknown_example_is_refused_with_a_suggestion():
    with pytest.raises(InputError, match="Did you mean 'sorrel-flat'"):
        read("sorel-flat")
