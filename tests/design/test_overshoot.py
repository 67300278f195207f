from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.design.overshoot import TOLERANCE_PA, ZoneCase, run
from steadyhead.laws.coefficients import k_of_kv
from steadyhead.laws.waves import effective_compressibility, rate_of_rise
from tests.printed import printed

BAR = 1e5


def handbook_case(*, within: float, demand: float, dead: float, closing: float) -> ZoneCase:
    return ZoneCase(
        supply_pressure=10.6 * BAR,
        supply_loss=1.5e-3 * BAR / 1e-6,
        reducer_full=k_of_kv(150.0, 1000.0),
        shut_off_full=k_of_kv(400.0, 1000.0),
        start_pressure=4.0 * BAR,
        demand=demand,
        exponent=0.6,
        head=0.0,
        compliance=280.0 * 6.1e-9,
        within=within,
        trip=5.1 * BAR,
        dead_time=dead,
        closing_time=closing,
    )


TABLE = {
    2.0: ("1.06", "0.60", "1.35", "0.76"),
    30.0: ("0.80", "0.43", "1.00", "0.53"),
    120.0: ("0.44", "0.24", "0.57", "0.30"),
    600.0: ("0.18", "0.10", "0.26", "0.14"),
    1800.0: ("0.09", "0.05", "0.14", "0.08"),
}
COLUMNS = ((9e-3, 0.5, 5.6), (9e-3, 0.3, 3.0), (1.8e-3, 0.5, 5.6), (1.8e-3, 0.3, 3.0))


@pytest.mark.source(
    kind="independent",
    ref="design handbook 2.4a, table of lumped runs made apart from this code; two digits printed",
)
@pytest.mark.parametrize("within", TABLE)
@pytest.mark.parametrize("column", range(4))
def test_overshoot_equals_every_number_of_the_handbook_table(within, column):
    demand, dead, closing = COLUMNS[column]
    result = run(handbook_case(within=within, demand=demand, dead=dead, closing=closing))
    assert result.overshoot / BAR == printed(TABLE[within][column])


def constant_inflow(volume: float, compressibility: float, dead: float) -> ZoneCase:
    """A huge supply behind a huge loss: 10 L/s whatever the zone does; the shut-off acts after `dead`."""
    pressure = 1e10
    return ZoneCase(
        supply_pressure=pressure,
        supply_loss=pressure / 0.010**2,
        reducer_full=1.0,
        shut_off_full=1.0,
        start_pressure=4.0 * BAR,
        demand=0.0,
        exponent=0.5,
        head=0.0,
        compliance=volume * compressibility,
        within=1e-6,
        trip=5.0 * BAR,
        dead_time=dead,
        closing_time=1e-6,
    )


@pytest.mark.source(
    kind="own estimate", ref="design handbook 0.4, rate of rise at 10 L/s; printed with 'about'"
)
@pytest.mark.parametrize(
    ("volume", "modulus", "slenderness", "bar_per_second"),
    [
        pytest.param(60.0, 170e9, 35.0, "2.5", id="ductile iron"),
        pytest.param(60.0, 3.0e9, 17.0, "0.27", id="PVC-U"),
        pytest.param(300.0, 3.0e9, 17.0, "0.05", id="PVC-U, five times the volume"),
        pytest.param(60.0, 0.9e9, 11.0, "0.13", id="PE100, outside over wall as the handbook took it"),
    ],
)
def test_constant_excess_inflow_rises_as_the_handbook_table_says(
    volume, modulus, slenderness, bar_per_second
):
    beta = effective_compressibility(bulk_modulus=2.1e9, diameter=slenderness, wall=1.0, elasticity=modulus)
    result = run(constant_inflow(volume, beta, dead=1.0))
    assert result.overshoot / BAR == pytest.approx(float(bar_per_second), rel=0.1)


@pytest.mark.source(kind="analytic", ref="dP = q t/(V β) at constant excess inflow")
@pytest.mark.parametrize("dead", [0.1, 1.0, 30.0])
def test_constant_excess_inflow_rises_linearly_until_the_shut_off_acts(dead):
    rise = rate_of_rise(excess_flow=0.010, volume=280.0, compressibility=6.1e-9) * dead
    result = run(constant_inflow(280.0, 6.1e-9, dead))
    assert result.overshoot == pytest.approx(rise, rel=1e-4)


@pytest.mark.source(
    kind="analytic", ref="constant inflow throttled by a linear shut-off alone closing against a fixed drop"
)
def test_a_linear_stroke_against_a_fixed_drop_lets_half_the_water_in():
    case = replace(
        constant_inflow(280.0, 6.1e-9, 0.0),
        supply_loss=0.0,
        shut_off_full=0.010 / 1e10**0.5,
        reducer_full=1e3,
        closing_time=4.0,
    )
    rise = rate_of_rise(excess_flow=0.010, volume=280.0, compressibility=6.1e-9) * 0.5 * 4.0
    assert run(case).overshoot == pytest.approx(rise, rel=1e-3)


@pytest.mark.source(kind="analytic", ref="method of order 2: a tolerance 64 times finer quarters the step")
@pytest.mark.parametrize("within", [2.0, 120.0, 1800.0])
@pytest.mark.parametrize("volume", [0.5, 20.0, 280.0])
def test_a_quarter_of_the_step_moves_the_overshoot_by_less_than_a_millibar(within, volume):
    case = handbook_case(within=within, demand=1.8e-3, dead=0.5, closing=5.6)
    case = replace(case, compliance=volume * 6.1e-9)
    assert run(case).overshoot == pytest.approx(run(case, TOLERANCE_PA / 64).overshoot, abs=100.0)


def test_a_stiff_zone_reaches_inlet_pressure_before_the_shut_off_is_shut():
    stiff = replace(
        handbook_case(within=2.0, demand=1.8e-3, dead=0.5, closing=5.6), compliance=60.0 * 6.8e-10
    )
    assert run(stiff).peak > 0.97 * stiff.supply_pressure


def test_a_failure_that_never_reaches_the_trip_has_no_overshoot():
    weak = replace(handbook_case(within=2.0, demand=9e-3, dead=0.5, closing=5.6), supply_pressure=4.9 * BAR)
    result = run(weak)
    assert not result.trips
    assert result.overshoot == 0.0
    assert result.peak < weak.trip


def test_no_demand_at_all_stays_at_its_peak():
    result = run(handbook_case(within=30.0, demand=0.0, dead=0.5, closing=5.6))
    assert result.trips
    assert result.overshoot > 0.0


def test_without_a_shut_off_the_reducer_left_open_sets_the_pressure():
    case = replace(
        handbook_case(within=2.0, demand=9e-3, dead=0.5, closing=5.6), shut_off_full=inf, trip=20 * BAR
    )
    result = run(case)
    assert not result.trips
    assert 9.0 * BAR < result.peak < case.supply_pressure


@given(
    within=st.floats(0.5, 3600.0),
    demand=st.floats(0.0, 0.02),
    closing=st.floats(0.5, 30.0),
    volume=st.floats(0.2, 2000.0),
    factor=st.floats(1.05, 3.0),
)
def test_a_slower_failure_or_a_faster_closing_never_raises_the_peak(within, demand, closing, volume, factor):
    case = replace(
        handbook_case(within=within, demand=demand, dead=0.5, closing=closing), compliance=volume * 6.1e-9
    )
    here = run(case).overshoot
    slack = 150.0
    assert run(replace(case, closing_time=closing / factor)).overshoot <= here + slack
    assert run(replace(case, within=within * factor)).overshoot <= here + slack


@given(
    within=st.floats(0.5, 86400.0),
    demand=st.floats(0.0, 0.05),
    closing=st.floats(0.1, 120.0),
    volume=st.floats(0.01, 50000.0),
    supply=st.floats(1.0, 400.0),
)
def test_any_zone_is_answered_in_few_steps_and_never_above_the_inlet(within, demand, closing, volume, supply):
    case = replace(
        handbook_case(within=within, demand=demand, dead=0.5, closing=closing),
        compliance=volume * 6.1e-9,
        supply_pressure=supply * BAR,
    )
    result = run(case)
    assert result.peak <= max(case.supply_pressure, case.start_pressure) + 50.0
    assert result.steps < 6000
