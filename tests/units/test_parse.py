"""Quantities as people type them: what is read, what is refused, and with which words."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.units import KINDS, UnitError, parse
from steadyhead.units.table import UNITS

INCH = 0.0254


@pytest.mark.source(kind="analytic", ref="unit definitions; each text read by hand")
@pytest.mark.parametrize(
    ("typed", "kind", "si"),
    [
        ("4.2 bar", "pressure", 4.2e5),
        ("4.2bar", "pressure", 4.2e5),
        ("4.2 Bar", "pressure", 4.2e5),
        ("4,2 bar", "pressure", 4.2e5),
        ("4,25 bar", "pressure", 4.25e5),
        ("0,125 bar", "pressure", 0.125e5),
        (".5 bar", "pressure", 0.5e5),
        ("4.2 bars", "pressure", 4.2e5),
        ("4.2 bar (g)", "pressure", 4.2e5),
        ("4.2 bar.", "pressure", 4.2e5),
        ("95psi", "pressure", 95 * 6894.757293168),
        ("95 PSIG", "pressure", 95 * 6894.757293168),
        ("420 kPa", "pressure", 4.2e5),
        ("42 mWC", "pressure", 42 * 9806.65),
        ("1e5 Pa", "pressure", 1e5),
        ("27l/s", "flow", 0.027),
        ("27 lps", "flow", 0.027),
        ("97,2 m3/h", "flow", 0.027),
        ("1 450 gpm", "flow", 1450 * 231 * INCH**3 / 60),
        ("1\u202f450 gpm", "flow", 1450 * 231 * INCH**3 / 60),
        ("DN100", "size", 0.1),
        ("DN 100", "size", 0.1),
        ("100 dn", "size", 0.1),
        ('6"', "size", 6 * INCH),
        ('2 1/2"', "size", 2.5 * INCH),
        ("2-1/2 in", "size", 2.5 * INCH),
        ("3/4 in", "size", 0.75 * INCH),
        ("12/5 in", "size", 2.4 * INCH),
        ("NPS 6", "size", 6 * INCH),
        ("11C", "temperature", 284.15),
        ("11 °C", "temperature", 284.15),
        ("58 °F", "temperature", (58 - 32) / 1.8 + 273.15),
        ("Kv 170", "flow_coefficient", 170.0),
        ("Kv=170", "flow_coefficient", 170.0),
        ("−3 m", "length", -3.0),
        ("-3 m", "length", -3.0),
        ("2 870 ft", "length", 2870 * 0.3048),
        ("0.6", "ratio", 0.6),
        ("80 %", "ratio", 0.8),
        ("3", "turns", 3.0),
    ],
)
def test_a_quantity_is_read_as_typed(typed, kind, si):
    assert parse(typed, kind).si == pytest.approx(si, rel=1e-9)


@pytest.mark.parametrize(
    ("typed", "kind", "words"),
    [
        ("4.2", "pressure", "without a unit. Write the unit too"),
        ("4.2 baar", "pressure", "Did you mean 'bar'?"),
        ("7.9 bra", "pressure", "Did you mean 'bar'?"),  # an absolute one is never proposed
        ("5 bars", "time", "bars is a unit of pressure. Use one of: s, min"),
        ("4.2 m", "pressure", "m is a unit of length. Did you mean 'm head'?"),
        ("27 L/sek", "flow", "Did you mean 'L/s'?"),
        ("5 psi/turn", "pressure", "psi/turn is a unit of pressure per turn."),
        ("4.2 furlong", "pressure", "Use one of: bar, "),
        ("1,450 gpm", "flow", "may be a decimal comma or a thousands mark. Write 1.450 or 1450"),
        ("1.450,5 gpm", "flow", "Write 1450.5 if that is meant"),
        ("1,450.5 gpm", "flow", "Write 1450.5 if that is meant"),
        ("1.4.5 bar", "pressure", "more than one decimal point"),
        ("12 34 bar", "pressure", "'34 bar' is no unit of pressure"),
        ("", "pressure", "no number with a unit"),
        ("bar", "pressure", "no number with a unit"),
        ("PN 16", "pressure", "no number with a unit"),
        ("1e999 bar", "pressure", "not a finite number"),
        ("1/0 in", "size", "no unit of size"),
        ("170", "flow_coefficient", "Kv 170"),
        ("4" * 81, "pressure", "got 81 characters"),
    ],
)
def test_a_quantity_that_cannot_be_read_is_refused_with_a_remedy(typed, kind, words):
    with pytest.raises(UnitError, match="got ") as caught:
        parse(typed, kind)
    assert words in str(caught.value)


@pytest.mark.parametrize(
    "typed", ["4.2 bar a", "4.2 bara", "4.2 bar(a)", "4.2 bar abs", "60 psia", "420 kPa abs"]
)
def test_an_absolute_pressure_is_marked_so(typed):
    assert parse(typed, "pressure").absolute


@given(typed=st.text(max_size=40), kind=st.sampled_from(sorted(KINDS)))
def test_any_text_gives_a_finite_number_or_a_refusal(typed, kind):
    try:
        si = parse(typed, kind).si
    except UnitError as refusal:
        remedy = refusal.remedy
    else:
        assert math.isfinite(si)
        return
    assert remedy


@given(number=st.decimals(-100000, 100000, places=3), unit=st.sampled_from([u for u in UNITS if u.symbol]))
def test_a_number_with_any_unit_of_the_table_is_read(number, unit):
    got = parse(f"{number} {unit.symbol}", unit.kind)
    assert got.si == pytest.approx(float(number) * unit.factor + unit.offset, rel=1e-12, abs=1e-12)
    assert got.absolute == unit.absolute
