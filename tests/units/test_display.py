"""Quantities as people of a region read them."""

from __future__ import annotations

import pytest

from steadyhead.units import METRIC, UK, US, UnitSet, format_value, say
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
