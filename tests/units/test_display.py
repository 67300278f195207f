"""Quantities as people of a region read them."""

from __future__ import annotations

import pytest

from steadyhead.units import METRIC, UK, US, UnitSet, format_value, say, say_short, say_typed
from steadyhead.units.table import KINDS, find


@pytest.mark.source(kind="analytic", ref="unit definitions")
@pytest.mark.parametrize(
    ("si", "kind", "units", "words"),
    [
        (4.2e5, "pressure", METRIC, "4.20 bar"),
        (4.2e5, "pressure", US, "60.9 psi"),
        (4.2e5, "pressure", UK, "42.8 m head"),
        (0.027, "flow", METRIC, "27.00 L/s"),
        (0.1, "size", METRIC, "DN 100"),
        (170.0, "flow_coefficient", METRIC, "Kv 170.0"),
        (0.043, "flow_coefficient", METRIC, "Kv 0.043"),
        (-3.0, "length", METRIC, "−3.0 m"),
        (-0.001, "length", METRIC, "0.0 m"),
        (0.5, "ratio", METRIC, "50 %"),
    ],
)
def test_a_value_is_said_in_the_readers_units(si, kind, units, words):
    assert say(si, kind, units) == words


def test_a_decimal_comma_is_printed_where_the_reader_uses_one():
    assert say(4.2e5, "pressure", UnitSet("de", {"pressure": "bar"}, decimal=",")) == "4,20 bar"


def test_a_signed_figure_carries_its_plus():
    assert format_value(0.5e5, "pressure", "bar", signed=True) == "+0.50"


def test_every_kind_has_a_display_unit_that_exists():
    for units in (METRIC, UK, US):
        for kind in KINDS:
            assert find(kind, units.unit(kind)) is not None


@pytest.mark.source(kind="analytic", ref="unit definitions: 1 US gal = 231 in³")
@pytest.mark.parametrize(
    ("si", "words"),
    [
        (31.934, "8440 US gal"),
        (0.4, "106 US gal"),
        (0.05, "13 US gal"),
        (0.01, "2.6 US gal"),
        (0.0, "0 US gal"),
    ],
)
def test_water_counted_in_gallons_has_three_figures_at_most(si, words):
    assert say(si, "volume", US) == words


def test_a_small_coefficient_is_readable():
    assert say(6.143e-9, "compressibility") == "6.14 1/GPa"


@pytest.mark.parametrize(
    ("text", "si", "kind", "units", "words"),
    [
        ("314.96 ft", 95.9998, "length", US, "314.96 ft"),
        ("314.96 feet", 95.9998, "length", US, "314.96 feet"),
        ("314.96 ft", 95.9998, "length", METRIC, "96.0 m"),
        ("96.00 m", 96.0, "length", METRIC, "96.00 m"),
        ("", 96.0, "length", METRIC, "96.0 m"),
        ("somewhere", 96.0, "length", METRIC, "96.0 m"),
    ],
)
def test_a_value_is_printed_as_typed_where_the_unit_is_the_readers(text, si, kind, units, words):
    assert say_typed(si, text, kind, units) == words


@pytest.mark.parametrize(
    ("si", "kind", "words"),
    [
        (0.0, "turns", "0 turns"),
        (-0.126e5, "pressure", "−0.126 bar"),
        (0.1, "size", "DN 100"),
        (123456.0, "length", "123000 m"),
    ],
)
def test_a_default_is_said_in_three_figures(si, kind, words):
    assert say_short(si, kind) == words
