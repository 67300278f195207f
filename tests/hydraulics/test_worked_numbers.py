"""The worked numbers of the written physics, asked of a station file and its model."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from steadyhead.hydraulics import Model, build_plain, solve
from steadyhead.hydraulics.reach import reach
from steadyhead.records.steady import Conditions
from tests.hydraulics.stations import BAR, HOUR, drawing, station

REFERENCE = (
    "slow program written apart from the product; worked numbers printed in the written physics, section 11"
)
BAND = {"RV": 0.8 * BAR}


@pytest.fixture(scope="module")
def default_model() -> Model:
    plain = build_plain(station("shut-off downstream"))
    water = replace(plain.water, density=999.7, kinematic_viscosity=1.31e-6, vapour_pressure_abs=1228.0)
    return plain.with_water(water, 101325.0)


def _drawing(kv: float = 0.0, **more: Any) -> Conditions:
    return drawing(kv, band=BAND, **more)


@pytest.mark.source(kind="independent", ref=REFERENCE, note="0.1 %, lift 0.001, x_F 0.002")
def test_station_at_demand_kv_30_meets_the_worked_numbers(default_model):
    steady = solve(default_model, _drawing(30.0))
    valve = steady.valves["RV"]
    assert steady.flow * HOUR == pytest.approx(55.997, rel=1e-3)
    assert steady.taps["T1"] / BAR == pytest.approx(8.6890, rel=1e-3)
    assert steady.taps["T2"] / BAR == pytest.approx(4.0311, rel=1e-3)
    assert steady.taps["T3"] / BAR == pytest.approx(3.9226, rel=1e-3)
    assert steady.consumer_end / BAR == pytest.approx(3.4830, rel=1e-3)
    assert valve.chamber_pressure / BAR == pytest.approx(5.9928, rel=1e-3)
    assert valve.lift == pytest.approx(0.10835, abs=1e-3)
    assert valve.pilot_opening == pytest.approx(0.58618, abs=1e-3)
    assert valve.pressure_ratio == pytest.approx(0.48070, abs=2e-3)
    assert valve.state == "holding"
    assert valve.incipient
    assert not valve.choked


@pytest.mark.source(kind="independent", ref=REFERENCE, note="0.1 %")
def test_station_at_trickle_and_at_rest_meets_the_worked_numbers(default_model):
    trickle = solve(default_model, _drawing(1.0))
    assert trickle.flow * HOUR == pytest.approx(2.0120, rel=1e-3)
    assert trickle.taps["T2"] / BAR == pytest.approx(4.0481, rel=1e-3)
    assert trickle.valves["RV"].lift == pytest.approx(0.0036, abs=1e-3)
    at_rest = solve(default_model, _drawing(0.0))
    assert at_rest.flow == 0.0
    assert at_rest.taps["T3"] / BAR == pytest.approx(4.5, rel=1e-3)
    assert at_rest.valves["RV"].state == "lock-up"


@pytest.mark.source(kind="independent", ref=REFERENCE, note="lift 0.001, outlet 0.1 %")
def test_valve_alone_meets_the_worked_numbers(default_model):
    (point,) = reach(default_model, "RV", [180.0 / HOUR], [5.0 * BAR], conditions=_drawing())
    assert point.lift == pytest.approx(0.897, abs=1e-3)
    assert point.outlet_pressure / BAR == pytest.approx(3.7435, rel=1e-3)


OPENINGS = (1.0, 0.10, 0.07, 0.05, 0.03, 0.02)


@pytest.mark.source(
    kind="independent",
    ref="slow program written apart from the product; inlet valve openings, written physics, section 10",
    note="printed to 0.01 bar",
)
@pytest.mark.parametrize(
    ("changes", "outlets"),
    [
        ({"forced_lift": {"RV": 1.0}}, (8.67, 6.82, 4.84, 2.73, 0.78, 0.25)),
        ({"pilot_stuck": {"RV": 1.0}}, (8.37, 6.59, 4.68, 2.65, 0.76, 0.24)),
    ],
    ids=["full lift forced", "pilot stuck open"],
)
def test_opening_of_the_inlet_valve_decides_what_the_drain_can_hold(default_model, changes, outlets):
    for share, expected in zip(OPENINGS, outlets, strict=True):
        openings = {"IV1": share, "TD": 1.0, "IV2": 0.0}
        steady = solve(default_model, _drawing(openings=openings, **changes))
        assert steady.taps["T3"] / BAR == pytest.approx(expected, abs=0.0051)


@pytest.mark.source(
    kind="independent",
    ref="slow program written apart from the product; fault table, written physics, section 10",
    note="printed to 0.1 bar",
)
def test_clogged_strainer_pulls_the_inlet_down_to_the_printed_pressure(default_model):
    clogged = solve(default_model, _drawing(60.0, strainer_clog=30.0))
    assert clogged.taps["T1"] / BAR == pytest.approx(5.3, abs=0.05)


@pytest.mark.source(
    kind="analytic",
    ref="static gain of pipe, reducer and fixed-resistance demand: q² = H/(R_u + 1/C² + R_d), h = R_d q² "
    "(H 80 m, R_u 200 s²/m⁵, h 40 m, C 0.02 m^2.5/s give q 0.12172 m³/s and dh/dC 1851.9)",
    note="0.1 % of the closed form",
)
def test_static_gain_of_a_forced_reducer_meets_the_closed_form(default_model):
    head, upstream, outlet, capacity = 80.0, 200.0, 40.0, 0.02
    q = ((head - outlet) / (upstream + capacity**-2)) ** 0.5
    downstream = outlet / q**2
    weight = 999.7 * 9.81

    def kv(k_head: float) -> float:
        """Kv of a loss h = (q / k)² in metres."""
        return float(k_head * HOUR * (BAR * 0.9997 / weight) ** 0.5)

    def found(lift_kv: float) -> tuple[float, float]:
        line = [
            {"part": "tap", "id": "T0"},
            {"part": "isolating_valve", "id": "IV1", "size": "DN 300", "kv": f"Kv {kv(upstream**-0.5)!r}"},
            {"part": "tap", "id": "T1"},
            {
                "part": "reducer", "id": "RV", "size": "DN 300", "kv": f"Kv {lift_kv!r}", "senses": "T3",
                "duty": {"pressure": "4 bar", "flow": "100 L/s"}, "lockup": "4.2 bar",
                "pilot": {"spring_low": "0 bar", "spring_high": "40 bar"},
                "mechanics": {"feed_kv": "Kv 0.001", "pressure_recovery": "1"},
            },
            {"part": "tap", "id": "T3"},
        ]  # fmt: skip
        bare = build_plain(station("reducer alone", line=line, mains=False))
        model = bare.with_water(replace(bare.water, density=999.7), 101325.0)
        steady = solve(
            model,
            Conditions(
                supply_pressure=head * weight,
                consumer_kv=kv(downstream**-0.5),
                forced_lift={"RV": 1.0},
            ),
        )
        return steady.flow, steady.taps["T3"] / weight

    flow, at = found(kv(capacity))
    assert flow == pytest.approx(0.12172, rel=1e-3)
    assert at == pytest.approx(outlet, rel=1e-3)
    step = 1e-4
    gain = (found(kv(capacity + step))[1] - found(kv(capacity - step))[1]) / (2.0 * step)
    assert gain == pytest.approx(1851.9, rel=1e-3)
