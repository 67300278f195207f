"""The unit table against published factors and an independent unit library."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.units import KINDS, from_si, parse, to_si
from steadyhead.units.parse import example
from steadyhead.units.table import UNITS, find, kinds_with, units_of

NIST = "NIST SP 811 (2008 ed.), appendix B.8; definitions exact unless noted"


@pytest.mark.source(kind="published", ref=f"{NIST}; S-U-01")
def test_one_bar_is_14_503774_psi():
    assert from_si(1e5, "pressure", "psi") == pytest.approx(14.503774, rel=1e-6)


@pytest.mark.source(kind="published", ref=f"{NIST}; S-U-02")
def test_one_kilogram_force_per_square_centimetre_is_0_980665_bar():
    assert to_si(1, "pressure", "kgf/cm²") == pytest.approx(0.980665e5, rel=1e-6)


@pytest.mark.source(kind="published", ref=f"{NIST}; S-U-03, conventional metre of water")
def test_one_metre_of_water_is_9_80665_kilopascal():
    assert to_si(1, "pressure", "m head") == pytest.approx(9806.65, rel=1e-6)


@pytest.mark.source(kind="published", ref=f"{NIST}; S-U-04")
def test_one_us_gallon_a_minute_is_0_22712471_cubic_metres_an_hour():
    assert to_si(1, "flow", "US gpm") * 3600 == pytest.approx(0.22712471, rel=1e-6)


@pytest.mark.source(kind="published", ref="IEC 60534-1:2005 cl. 4.5, Kv = 0.865 Cv (from memory); S-U-05")
def test_kv_one_is_cv_1_1561():
    assert from_si(1.0, "flow_coefficient", "Cv") == pytest.approx(1.1561, rel=2e-4)


# Our symbol → the name pint gives the same unit; every unit of the table must stand here.
PINT = {
    "bar": "bar",
    "mbar": "millibar",
    "Pa": "pascal",
    "kPa": "kilopascal",
    "MPa": "megapascal",
    "psi": "psi",
    "bar a": "bar",
    "mbar a": "millibar",
    "kPa a": "kilopascal",
    "MPa a": "megapascal",
    "psi a": "psi",
    "m head": "9806.65 pascal",
    "ft head": "9806.65 pascal * foot / meter",
    "kgf/cm²": "kilogram_force / centimeter**2",
    "m³/s": "meter**3/second",
    "m³/h": "meter**3/hour",
    "L/s": "liter/second",
    "L/min": "liter/minute",
    "L/h": "liter/hour",
    "mL/min": "milliliter/minute",
    "m³/d": "meter**3/day",
    "Ml/d": "megaliter/day",
    "US gpm": "gallon/minute",
    "US gph": "gallon/hour",
    "imp gpm": "imperial_gallon/minute",
    "imp gph": "imperial_gallon/hour",
    "imp MGD": "1e6 imperial_gallon/day",
    "cfm": "foot**3/minute",
    "MGD": "1e6 gallon/day",
    "cfs": "foot**3/second",
    "ac-ft/d": "43560 foot**3/day",
    "m": "meter",
    "km": "kilometer",
    "mm": "millimeter",
    "cm": "centimeter",
    "µm": "micrometer",
    "ft": "foot",
    "in": "inch",
    "mi": "mile",
    "yd": "yard",
    "s": "second",
    "min": "minute",
    "h": "hour",
    "d": "day",
    "month": "year/12",
    "year": "year",
    "ms": "millisecond",
    "m³": "meter**3",
    "L": "liter",
    "mL": "milliliter",
    "Ml": "megaliter",
    "US gal": "gallon",
    "imp gal": "imperial_gallon",
    "US kgal": "1000 gallon",
    "US fl oz": "fluid_ounce",
    "ft³": "foot**3",
    "m/s": "meter/second",
    "ft/s": "foot/second",
    "": "dimensionless",
    "%": "percent",
    "turns": "turn",
    "°": "degree",
    "bar/turn": "bar/turn",
    "psi/turn": "psi/turn",
    "kPa/turn": "kilopascal/turn",
    "m head/turn": "9806.65 pascal/turn",
    "1/Pa": "1/pascal",
    "1/GPa": "1/gigapascal",
    "1/bar": "1/bar",
    "DN": "millimeter",
    "m²": "meter**2",
    "cm²": "centimeter**2",
    "mm²": "millimeter**2",
    "in²": "inch**2",
    "bar/(L/s)²": "bar/(liter/second)**2",
    "°C": "degC",
    "°F": "degF",
    "K": "kelvin",
    "Kv": "meter**3/hour/bar**0.5",
    "Cv": "gallon/minute/psi**0.5",
}
BASE = {
    "pressure": "pascal",
    "flow": "meter**3/second",
    "leak": "meter**3/second",
    "length": "meter",
    "temperature": "kelvin",
    "flow_coefficient": "meter**3/hour/bar**0.5",
    "time": "second",
    "volume": "meter**3",
    "velocity": "meter/second",
    "ratio": "dimensionless",
    "turns": "turn",
    "pressure_per_turn": "pascal/turn",
    "compressibility": "1/pascal",
    "size": "meter",
    "area": "meter**2",
    "loss_factor": "pascal/(meter**3/second)**2",
}


@pytest.fixture(scope="module")
def registry():
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.source(kind="independent", ref="pint 0.25, its own definitions")
@pytest.mark.parametrize("unit", UNITS, ids=lambda unit: f"{unit.kind}-{unit.symbol or 'one'}")
def test_every_unit_of_the_table_agrees_with_an_independent_library(unit, registry):
    if unit.kind == "temperature":
        theirs = registry.Quantity(37.5, PINT[unit.symbol]).to("kelvin").magnitude
    else:
        theirs = (37.5 * registry.parse_expression(PINT[unit.symbol])).to(BASE[unit.kind]).magnitude
    assert to_si(37.5, unit.kind, unit.symbol) == pytest.approx(theirs, rel=1e-12)


@given(number=st.floats(-1e9, 1e9, allow_nan=False), unit=st.sampled_from(UNITS))
def test_to_si_and_back_returns_the_number(number, unit):
    back = from_si(to_si(number, unit.kind, unit.symbol), unit.kind, unit.symbol)
    assert back == pytest.approx(number, rel=1e-12, abs=1e-9 if unit.offset else 1e-12)


def test_every_spelling_finds_its_own_unit():
    for unit in UNITS:
        for spelling in (unit.symbol, *unit.spellings):
            found = find(unit.kind, spelling)
            assert found is not None
            assert (found.symbol, found.factor) == (unit.symbol, unit.factor)


def test_every_kind_has_units_and_a_written_example():
    for kind in KINDS:
        assert units_of(kind)
        assert "for example" in example(kind)


@pytest.mark.source(kind="common practice", ref="handbook 9.1: prefixes differ by case, mL is not ML")
@pytest.mark.parametrize(("typed", "litres"), [("1 mL", 1e-3), ("1 ML", 1e6), ("1 Ml", 1e6)])
def test_milli_and_mega_litres_keep_their_case(typed, litres):
    assert parse(typed, "volume").si == pytest.approx(litres * 1e-3)


def test_a_unit_of_several_kinds_names_them_all():
    assert set(kinds_with("m")) >= {"length", "size"}


def test_a_unit_of_another_kind_has_no_factor():
    with pytest.raises(KeyError, match="'psi' is no unit of flow"):
        to_si(1.0, "flow", "psi")
    with pytest.raises(KeyError, match="'psi' is no unit of flow"):
        from_si(1.0, "flow", "psi")
