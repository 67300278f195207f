"""Sets of units: what each region reads, two at once, and a choice as a person writes it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.units import (
    KINDS,
    METRIC,
    SETS,
    UK,
    US,
    UnitError,
    beside,
    read_units,
    say,
    say_short,
    say_typed,
)
from steadyhead.units.table import find, units_of


@pytest.mark.source(kind="common practice", ref="design handbook 9.1, units by region")
@pytest.mark.parametrize(
    ("name", "pressure", "flow", "length"),
    [
        ("metric", "bar", "L/s", "m"),
        ("metric-m3h", "bar", "m³/h", "m"),
        ("metric-kpa", "kPa", "L/s", "m"),
        ("uk", "m head", "L/s", "m"),
        ("us", "psi", "US gpm", "ft"),
    ],
)
def test_each_region_reads_its_own_units(name, pressure, flow, length):
    units = SETS[name]
    assert (units.unit("pressure"), units.unit("flow"), units.unit("length")) == (pressure, flow, length)


def test_a_turn_of_a_screw_is_told_in_the_unit_of_pressure():
    for units in SETS.values():
        assert units.unit("pressure_per_turn") == f"{units.unit('pressure')}/turn"


def test_every_unit_of_every_set_exists():
    for units in SETS.values():
        assert all(find(kind, units.unit(kind)) is not None for kind in KINDS)


@pytest.mark.source(kind="analytic", ref="unit definitions")
@pytest.mark.parametrize(
    ("choice", "si", "kind", "words"),
    [
        ("us+metric", 4.2e5, "pressure", "60.9 psi (4.20 bar)"),
        ("metric+us", 4.2e5, "pressure", "4.20 bar (60.9 psi)"),
        ("uk+metric", 4.2e5, "pressure", "42.8 m head (4.20 bar)"),
        ("uk+metric", 0.027, "flow", "27.00 L/s"),
        ("us+metric", 0.1, "size", "4 in (DN 100)"),
        ("us+metric", 11.0, "time", "11.0 s"),
        ("us+metric", 170.0, "flow_coefficient", "Cv 196.5 (Kv 170.0)"),
        ("metric-m3h", 0.0027, "flow", "9.72 m³/h"),
        ("metric-m3h", 0.027, "flow", "97.2 m³/h"),
        ("us", 0.0004, "flow", "6.34 US gpm"),
        ("us", 0.005, "flow", "79.3 US gpm"),
        ("us", 0.09, "flow", "1427 US gpm"),
        ("metric,pressure=kPa", 4.2e5, "pressure", "420 kPa"),
        ("metric,flow=m3/h+us,flow=MGD", 0.027, "flow", "97.2 m³/h (0.616 MGD)"),
    ],
)
def test_a_value_is_said_as_chosen_the_second_unit_in_parentheses(choice, si, kind, words):
    assert say(si, kind, read_units(choice)) == words


def test_a_short_length_is_told_in_inches_where_lengths_are_in_feet():
    assert say_short(0.0381, "length", US) == "1.5 in"
    assert say_short(3.81, "length", US) == "12.5 ft"
    assert say_short(0.0381, "length", METRIC) == "0.0381 m"


def test_a_value_typed_in_the_second_unit_keeps_its_figure_there():
    assert say_typed(95.9998, "314.96 ft", "length", beside(METRIC, US)) == "96.0 m (314.96 ft)"


@pytest.mark.source(kind="analytic", ref="unit definitions")
def test_a_gauge_is_read_in_its_own_unit_whoever_reads_it():
    assert say(5.0e5, "pressure", US.at_dial("bar")) == "5.00 bar (72.5 psi)"
    assert say(5.0e5, "pressure", beside(US, METRIC).at_dial("bar")) == "5.00 bar (72.5 psi)"
    assert say(5.0e5, "pressure", beside(US, METRIC).at_dial("psi")) == "72.5 psi (5.00 bar)"
    assert say(0.7e5, "pressure_per_turn", METRIC.at_dial("psi")) == "10.2 psi/turn (0.70 bar/turn)"
    assert say(0.01, "flow", beside(US, METRIC).at_dial("bar")) == "159 US gpm (10.00 L/s)"
    assert UK.at_dial("m head") is UK


@pytest.mark.parametrize(
    ("choice", "words"),
    [
        ("parsec", "no set of units"),
        ("us+metric+uk", "more than two sets"),
        ("", "no set of units"),
        ("metric,flow", "names no kind"),
        ("metric,speed=m/s", "names no kind"),
        ("metric,flow=psi", "no unit to read flow in"),
        ("metric,pressure=bar a", "no unit to read pressure in"),
        ("u" * 300, "300 characters"),
    ],
)
def test_a_choice_that_is_not_known_is_refused_with_a_remedy(choice, words):
    with pytest.raises(UnitError) as caught:
        read_units(choice)
    assert words in caught.value.problem
    assert caught.value.remedy


@given(
    first=st.sampled_from(sorted(SETS)),
    second=st.sampled_from(sorted(SETS)),
    unit=st.sampled_from([u for u in units_of("pressure") if not u.endswith(" a")]),
)
def test_a_choice_is_read_back_by_its_own_name(first, second, unit):
    chosen = read_units(f"{first},pressure={unit}+{second}")
    again = read_units(chosen.name)
    assert again == chosen
    assert again.unit("pressure") == unit


@given(st.text(max_size=60))
def test_any_text_is_a_choice_or_a_refusal(text):
    try:
        units = read_units(text)
    except UnitError as refusal:
        remedy = refusal.remedy
    else:
        assert units.unit("pressure")
        return
    assert remedy


def test_a_set_that_is_not_known_is_named_once():
    with pytest.raises(UnitError) as told:
        read_units("wrong")
    assert told.value.problem.count("wrong") == 1
