from __future__ import annotations

from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from devtools.fit_water import module_text
from steadyhead.errors import InputError
from steadyhead.water import CRITICAL_PRESSURE_ABS, WaterProperties, fitted, properties
from steadyhead.water.library import properties_by_library
from tests.printed import printed

ATMOSPHERE = 101325.0
FROM_MEMORY = "table values from memory; recomputed with the library"


@pytest.mark.source(
    kind="published", ref="IAPWS R7-97(2012), Table 5 (region 1), 300 K and 3 MPa", note=FROM_MEMORY
)
def test_library_meets_the_first_printed_state_of_region_1():
    state = properties_by_library(300.0, 3e6)
    assert 1.0 / state.density == pytest.approx(0.00100215168, rel=2e-8)
    assert state.speed_of_sound == pytest.approx(1507.73921, rel=2e-8)


@pytest.mark.source(
    kind="published", ref="IAPWS R7-97(2012), Table 5 (region 1), 500 K and 3 MPa", note=FROM_MEMORY
)
def test_library_meets_the_printed_state_of_region_1_at_500_kelvin():
    state = properties_by_library(500.0, 3e6)
    assert 1.0 / state.density == pytest.approx(0.001202418, rel=2e-8)
    assert state.speed_of_sound == pytest.approx(1240.71337, rel=2e-8)


@pytest.mark.source(kind="published", ref="IAPWS R7-97(2012), Table 35 (eq. 30), 300 K", note=FROM_MEMORY)
def test_library_meets_the_printed_saturation_pressure():
    assert properties_by_library(300.0, 3e6).vapour_pressure_abs == pytest.approx(3536.58941, rel=3e-9)


@pytest.mark.source(kind="published", ref="IAPWS R7-97(2012), Table 36 (eq. 31), 0.1 MPa", note=FROM_MEMORY)
def test_saturation_pressure_at_the_printed_saturation_temperature_is_one_bar():
    assert properties_by_library(372.755919, 1.1e5).vapour_pressure_abs == pytest.approx(1e5, rel=1e-7)


@pytest.mark.source(kind="published", ref="IAPWS R12-08, Table 4 (critical enhancement 1)", note=FROM_MEMORY)
@pytest.mark.parametrize(
    ("density", "temperature", "viscosity"), [(998.0, 298.15, 889.7351), (1000.0, 433.15, 217.685358)]
)
def test_library_meets_the_printed_viscosities(density, temperature, viscosity):
    from CoolProp.CoolProp import PropsSI

    assert PropsSI("V", "T", temperature, "D", density, "HEOS::Water") * 1e6 == pytest.approx(
        viscosity, rel=5e-9
    )


@pytest.mark.source(
    kind="published",
    ref="Tanaka et al., Metrologia 38 (2001) 301-309, air-free water at 101325 Pa",
    note="from memory; recomputed",
)
@pytest.mark.parametrize(("celsius", "density"), [(20.0, 998.2067), (15.0, 999.1026)])
def test_density_meets_the_recommended_table(celsius, density):
    assert properties(celsius + 273.15, ATMOSPHERE).density == pytest.approx(density, abs=0.005)


@pytest.mark.source(kind="independent", ref="IAPWS-95 saturation pressure computed with another library")
@pytest.mark.parametrize(("celsius", "kilopascal"), [(20.0, 2.3392), (5.0, 0.8726)])
def test_vapour_pressure_meets_another_formulation(celsius, kilopascal):
    found = properties(celsius + 273.15, ATMOSPHERE).vapour_pressure_abs
    assert found / 1e3 == pytest.approx(kilopascal, rel=1e-3)


@pytest.mark.source(kind="independent", ref="IAPWS-95 speed of sound at 20 °C computed with another library")
def test_speed_of_sound_meets_another_formulation():
    assert properties(293.15, ATMOSPHERE).speed_of_sound == pytest.approx(1482.35, rel=1.2e-3)


@pytest.mark.source(kind="published", ref="ISO/TR 3666:1998, water at 20 °C", note="from memory; recomputed")
def test_kinematic_viscosity_at_20_degrees_meets_the_viscometer_standard():
    assert properties(293.15, ATMOSPHERE).kinematic_viscosity * 1e6 == pytest.approx(1.0034, rel=2e-3)


@pytest.mark.source(kind="published", ref="IAPWS R7-97(2012), critical point", note="from memory")
def test_critical_pressure_is_that_of_the_formulation():
    assert printed("22.064") == CRITICAL_PRESSURE_ABS / 1e6


@pytest.mark.source(kind="independent", ref="CoolProp library, IF97 region 1 and viscosity 2008")
@given(celsius=st.floats(0.0, 80.0), share=st.floats(0.0, 1.0))
def test_quick_table_stays_within_its_stated_error_of_the_library(celsius, share):
    temperature = min(celsius + 273.15, 353.15)
    pressure = 5e4 + share * (fitted.HIGHEST_PRESSURE - 5e4)
    quick = properties(temperature, pressure)
    library = properties_by_library(temperature, pressure)
    for part in fields(WaterProperties):
        expected = getattr(library, part.name)
        if part.name == "thermal_expansion":
            assert getattr(quick, part.name) == pytest.approx(expected, abs=1e-8)
        else:
            assert getattr(quick, part.name) == pytest.approx(expected, rel=1e-5)


def test_table_in_the_repository_is_what_the_generator_writes():
    made: dict[str, object] = {}
    exec(module_text(), made)
    for name in ("DENSITY", "FLUIDITY", "SPEED_OF_SOUND", "THERMAL_EXPANSION"):
        for ours, fresh in zip(getattr(fitted, name), made[name], strict=True):  # type: ignore[call-overload]
            assert ours == pytest.approx(fresh, rel=1e-7, abs=1e-9 * abs(ours[0]) + 1e-15)


def test_denser_under_pressure_and_expanding_backwards_below_four_degrees():
    assert properties(283.15, 2e6).density > properties(283.15, 1e6).density
    assert properties(275.15, 1e5).thermal_expansion < 0.0 < properties(283.15, 1e5).thermal_expansion


@pytest.mark.parametrize("temperature", [273.0, 353.2, 11.0, float("nan")])
def test_temperature_outside_the_range_is_refused_with_a_remedy(temperature):
    with pytest.raises(InputError, match=r"^water temperature: got .* 0 to 80 °C"):
        properties(temperature, ATMOSPHERE)


@pytest.mark.parametrize("pressure", [0.0, -1.0, 2.1e7, float("nan")])
def test_pressure_outside_the_range_is_refused(pressure):
    with pytest.raises(InputError, match=r"^water pressure: got .* bar absolute"):
        properties(283.15, pressure)


def test_boiling_water_is_refused():
    with pytest.raises(InputError, match=r"boils below 0\.4\d* bar absolute"):
        properties(353.15, 4e4)
