from __future__ import annotations

import pytest

from steadyhead.laws import waves

FOOT = 0.3048


@pytest.mark.source(
    kind="published",
    ref="US Army TM 5-813-9, figure 4-5, example calculation",
    note="the source rounds g to 32 ft/s²",
)
def test_sudden_closure_meets_the_field_manual():
    rise = waves.joukowsky_rise(density=1.0, wave_speed=2690.0, velocity_drop=6.48) / 32.0
    assert rise == pytest.approx(544.7, rel=2e-3)
    assert waves.wave_return_time(length=3400.0, wave_speed=2690.0) == pytest.approx(2.53, rel=2e-3)


@pytest.mark.source(
    kind="published",
    ref="Chaudhry, Applied Hydraulic Transients, Example 1-1 (rigid oil line)",
    note="from memory; recomputed",
)
def test_rigid_oil_line_meets_the_textbook():
    speed = waves.wave_speed(bulk_modulus=1.5e9, density=900, diameter=0.5, wall=1.0, elasticity=1e30)
    assert speed == pytest.approx(1291, rel=3e-3)
    velocity = 4 * 0.4 / (3.141592653589793 * 0.5**2)
    rise = waves.joukowsky_rise(density=900, wave_speed=speed, velocity_drop=velocity)
    assert rise / (900 * 9.81) == pytest.approx(268, rel=3e-3)


@pytest.mark.source(
    kind="published",
    ref="Chadwick, Morfett and Borthwick, Hydraulics in Civil and Environmental Engineering",
    note="unsteady flow problem; problem seen, answers from memory",
)
def test_plastic_pipe_meets_the_textbook_problem():
    density = 2.1e9 / 1450.0**2
    speed = waves.wave_speed(bulk_modulus=2.1e9, density=density, diameter=0.3, wall=0.02, elasticity=2.6e9)
    assert speed == pytest.approx(400, rel=5e-3)
    assert waves.joukowsky_rise(density=1.0, wave_speed=speed, velocity_drop=2.5) / 9.81 == pytest.approx(
        102, rel=5e-3
    )


@pytest.mark.source(kind="published", ref="university water-hammer tutorial sheet (public), question 3")
def test_steel_pipe_meets_the_tutorial_sheet():
    speed = waves.wave_speed(bulk_modulus=2.06e9, density=1000, diameter=0.6, wall=0.018, elasticity=200e9)
    assert speed == pytest.approx(1238.35, rel=5e-4)
    rise = waves.joukowsky_rise(density=1000, wave_speed=speed, velocity_drop=2.5)
    assert rise / 1e3 == pytest.approx(3095.9, rel=5e-4)
    assert waves.wave_return_time(length=1050, wave_speed=speed) == pytest.approx(1.696, rel=5e-4)


@pytest.mark.source(
    kind="published",
    ref="Moser, Buried Pipe Design (2nd/3rd ed.), Table 4.1, ductile iron by thickness class",
    note="K, E and the reference diameter are inferred; thickness classes from memory",
)
@pytest.mark.parametrize(
    ("outer", "wall", "speed"),
    [(6.9, 0.25, 4206), (9.05, 0.33, 4202), (13.2, 0.31, 3919), (13.2, 0.49, 4205), (21.6, 0.36, 3655)],
)
def test_ductile_iron_meets_the_table(outer, wall, speed):
    found = waves.wave_speed(
        bulk_modulus=319000 * 144, density=1.94, diameter=outer - wall, wall=wall, elasticity=24e6 * 144
    )
    assert found == pytest.approx(speed, rel=0.006)


@pytest.mark.source(
    kind="analytic",
    ref="Wylie and Streeter, Fluid Transients in Systems (1993), restraint factors of thin walls",
    note="formula from memory; the same closed form, guards against slips only",
)
@pytest.mark.parametrize(
    ("restraint", "speed"), [(1.0, 1189.9), (1.0 - 0.3 / 2, 1220.1), (waves.anchored_factor(0.3), 1207.8)]
)
def test_restraint_changes_the_wave_speed_as_printed(restraint, speed):
    found = waves.wave_speed(
        bulk_modulus=2.1e9, density=1000, diameter=0.3, wall=0.0063, elasticity=207e9, restraint=restraint
    )
    assert found == pytest.approx(speed, rel=1e-3)


@pytest.mark.source(kind="analytic", ref="β = 1/(ρ a²) for the same pipe")
def test_compressibility_and_wave_speed_tell_the_same():
    pipe = {"bulk_modulus": 2.1e9, "diameter": 0.15, "wall": 0.006, "elasticity": 170e9, "restraint": 0.91}
    speed = waves.wave_speed(density=1000.0, **pipe)
    assert waves.effective_compressibility(**pipe) == pytest.approx(1.0 / (1000.0 * speed**2), rel=1e-12)


@pytest.mark.source(
    kind="own estimate",
    ref="handbook of the project, physics in one page: rates of rise of closed sections, 10 L/s",
)
@pytest.mark.parametrize(
    ("volume", "ratio", "elasticity", "rate", "tolerance"),
    [(60.0, 35.0, 170e9, 2.5, 0.1), (60.0, 17.0, 3e9, 0.27, 0.01), (300.0, 17.0, 3e9, 0.05, 0.005)],
)
def test_rate_of_rise_meets_the_handbook(volume, ratio, elasticity, rate, tolerance):
    stiff = waves.effective_compressibility(
        bulk_modulus=2.1e9, diameter=ratio, wall=1.0, elasticity=elasticity
    )
    found = waves.rate_of_rise(excess_flow=0.010, volume=volume, compressibility=stiff)
    assert found / 1e5 == pytest.approx(rate, abs=tolerance)


@pytest.mark.source(
    kind="own estimate",
    ref="handbook of the project: 1 L of trapped air at 5 bar abs takes about 200 mL a bar",
)
def test_a_litre_of_air_softens_a_small_section():
    volume = 0.15
    soft = waves.effective_compressibility(
        bulk_modulus=2.1e9,
        diameter=20.0,
        wall=1.0,
        elasticity=207e9,
        air_share=1e-3 / volume,
        pressure_abs=5e5,
    )
    assert soft * volume * 1e5 * 1e6 == pytest.approx(200.0, rel=0.1)


@pytest.mark.source(
    kind="analytic",
    ref="public engineering FAQ (2007), water shut in steel: dp/dT = (α_w − α_s)/(β + D/(tE))",
)
@pytest.mark.parametrize(("ratio", "bar_per_kelvin"), [(0, 4.35), (10, 3.867), (100, 1.933)])
def test_warming_of_shut_in_water_meets_the_closed_form(ratio, bar_per_kelvin):
    found = waves.thermal_rise(
        water_expansion=2.1e-4, wall_expansion=3.6e-5, compressibility=4e-10, wall_compliance=ratio / 2e11
    )
    assert found / 1e5 == pytest.approx(bar_per_kelvin, rel=1e-3)
