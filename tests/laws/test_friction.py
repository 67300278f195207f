from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.laws import friction

MOODY = "Moody (1944), Trans. ASME 66:671-684, chart of the Colebrook equation"


@pytest.mark.source(kind="published", ref=MOODY, note="from memory; computed")
@pytest.mark.parametrize(
    ("reynolds", "roughness", "factor"),
    [(1e5, 1e-4, 0.01851), (1e6, 1e-3, 0.01994), (1e4, 0.0, 0.03088)],
)
def test_colebrook_meets_the_chart_and_churchill_stays_within_one_percent(reynolds, roughness, factor):
    assert friction.colebrook(reynolds, roughness) == pytest.approx(factor, rel=1e-3)
    assert friction.churchill(reynolds, roughness) == pytest.approx(factor, rel=0.01)


@pytest.mark.source(
    kind="published", ref="White, Fluid Mechanics (7th ed.), ch. 6", note="from memory; recomputed"
)
@pytest.mark.parametrize(("roughness", "factor"), [(0.01, 0.0379), (0.001, 0.0196)])
def test_fully_rough_flow_meets_the_text(roughness, factor):
    assert friction.rough_limit(roughness) == pytest.approx(factor, rel=3e-3)
    assert friction.churchill(1e9, roughness) == pytest.approx(factor, rel=3e-3)


@pytest.mark.source(
    kind="published",
    ref="Crane Technical Paper 410M (2009), table A-26 of fully turbulent friction factors, clean steel",
    note="from memory; roughness 0.046 mm and schedule 40 bores are ours",
)
@pytest.mark.parametrize(
    ("bore", "factor"), [(52.5, 0.019), (77.9, 0.017), (102.3, 0.016), (154.1, 0.015), (202.7, 0.014)]
)
def test_fully_turbulent_factors_of_clean_steel_meet_the_table(bore, factor):
    assert friction.rough_limit(0.046 / bore) == pytest.approx(factor, abs=6e-4)
    assert friction.churchill(1e9, 0.046 / bore) == pytest.approx(factor, abs=6e-4)


@pytest.mark.source(kind="published", ref="Swamee and Jain (1976), J. Hydraul. Div. ASCE 102(5):657-664")
def test_explicit_formula_meets_its_value():
    assert friction.swamee_jain(1e5, 1e-4) == pytest.approx(0.018452, rel=1e-4)


@pytest.mark.source(
    kind="published",
    ref="Streeter and Wylie, Fluid Mechanics (SI ed.), simple-pipe example (oil in cast-iron pipe)",
    note="from memory; recomputed",
)
def test_head_loss_meets_the_simple_pipe_example():
    reynolds = friction.reynolds_number(0.14, 0.2, 1e-5)
    assert reynolds == pytest.approx(89127, rel=1e-4)
    assert friction.churchill(reynolds, 0.00025 / 0.2) == pytest.approx(0.023, rel=0.025)
    loss = friction.darcy_head_loss(0.14, 400.0, 0.2, 0.00025, 1e-5, 9.81)
    assert loss == pytest.approx(46.58, rel=0.025)


@pytest.mark.source(
    kind="published", ref="Crane Technical Paper 410M (2009), worked example 7.1: smooth pipe, 30 °C"
)
def test_smooth_plastic_pipe_meets_the_worked_example():
    reynolds = friction.reynolds_number(200e-3 / 60, 0.0525, 8.007e-7)
    assert reynolds == pytest.approx(100600, rel=0.015)
    assert friction.churchill(reynolds, 0.0) == pytest.approx(0.0179, rel=0.015)


@pytest.mark.source(
    kind="published",
    ref="Crane Technical Paper 410M (2009), worked example 7.14: static lift and friction in two sizes",
    note="the printed factor 0.018 stands for roughness 0.046 mm",
)
def test_lift_and_friction_of_two_sizes_meet_the_worked_example():
    flow, density, gravity = 1500e-3 / 60, 1000.0, 9.81
    total = density * gravity * 22.0
    for bore, length in ((0.1023, 34.0), (0.1282, 67.0)):
        total += friction.pipe_drop(flow, length, bore, 4.6e-5, density, 1.0e-6)
        speed = 4 * flow / (3.141592653589793 * bore**2)
        total += 0.23 * density * speed**2 / 2
    assert total / 1e5 == pytest.approx(2.6, rel=0.015)


@pytest.mark.source(
    kind="independent", ref="Hazen-Williams in its second form, 0.8492 C R^0.63 S^0.54: 4.983 m"
)
def test_hazen_williams_meets_its_second_form():
    assert friction.hazen_williams_head_loss(0.030, 1000.0, 0.2, 130.0) == pytest.approx(4.978, rel=5e-3)


@pytest.mark.source(kind="analytic", ref="Hagen-Poiseuille: f = 64/Re")
@given(reynolds=st.floats(1.0, 1000.0))
def test_laminar_flow_meets_hagen_and_poiseuille(reynolds):
    assert friction.churchill(reynolds, 0.0) == pytest.approx(64.0 / reynolds, rel=1e-3)


@pytest.mark.source(kind="analytic", ref="Colebrook-White equation, solved to rounding")
@given(exponent=st.floats(4.0, 8.0), log_roughness=st.floats(-5.0, -2.0))
def test_churchill_stays_within_its_stated_distance_of_colebrook(exponent, log_roughness):
    reynolds, roughness = 10.0**exponent, 10.0**log_roughness
    allowed = 0.022 if reynolds < 2e4 else 0.016 if reynolds < 1e5 else 0.009
    expected = friction.colebrook(reynolds, roughness)
    assert friction.churchill(reynolds, roughness) == pytest.approx(expected, rel=allowed)


@given(flow=st.floats(-2.0, 2.0), more=st.floats(0.0, 1.0))
def test_pipe_drop_never_falls_with_flow_and_turns_with_it(flow, more):
    here = friction.pipe_drop(flow, 100.0, 0.15, 1e-4, 1000.0, 1.3e-6)
    assert friction.pipe_drop(flow + more, 100.0, 0.15, 1e-4, 1000.0, 1.3e-6) >= here - 1e-12
    assert friction.pipe_drop(-flow, 100.0, 0.15, 1e-4, 1000.0, 1.3e-6) == -here


def test_water_at_rest_loses_nothing():
    assert friction.pipe_drop(0.0, 100.0, 0.15, 1e-4, 1000.0, 1.3e-6) == 0.0
