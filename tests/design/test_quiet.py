"""The quick check of a reducer's loop and the band it gives, and sizing in stations of several streams."""

from __future__ import annotations

from math import sqrt

import pytest

from steadyhead.design import defaults as d
from steadyhead.design.along import ahead, along, flow_through, reducers_along, serving
from steadyhead.design.basis import Basis
from steadyhead.design.capacity import capacity_map, ground_of
from steadyhead.design.line_losses import losses, pipes
from steadyhead.design.needed import Trim, needed, pipes_beside
from steadyhead.design.quiet import quiet_of
from steadyhead.design.required import required_kvs
from steadyhead.design.sizing import design_cases, size_reducer
from steadyhead.design.sizing_checks import reducer_findings
from steadyhead.design.twin import SteadyTwin
from steadyhead.errors import InputError
from steadyhead.laws.sizing import fitting_losses
from steadyhead.records.station import Station
from tests.design.stations import EXAMPLES, SERIES, UPSTREAM, part, section, station_of
from tests.hydraulics.streams import duty_and_standby, with_low_flow, with_monitor


def of(station: Station) -> tuple[Basis, SteadyTwin]:
    twin = SteadyTwin(station)
    return Basis(station, twin), twin


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_smallest_quiet_flow_is_a_band_with_the_usual_values_inside(name: str):
    basis, twin = of(station_of(name))
    reducer = basis.layout.reducers[0]
    found = capacity_map(basis, twin.model, reducer.id)
    assert found.sweep is not None
    assert found.sweep.bands[0] < found.sweep.bands[1]
    for point in found.points:
        if point.quiet is not None:
            best, usual, worst = point.quiet
            assert 0.0 < best < usual < worst


@pytest.mark.source(
    kind="analytic",
    ref="lag over band is all that counts: twice both give the same flow",
)
def test_corners_of_the_sweep_bound_every_pair_of_its_values():
    basis, twin = of(station_of(UPSTREAM))
    reducer = basis.layout.reducers[0]
    quiet = quiet_of(ground_of(basis, twin.model, reducer), reducer)
    ends = quiet.flows(8e5)
    assert ends is not None
    for band in d.LOOP_BANDS:
        for lag in d.LOOP_LAGS:
            flow = quiet._flow(8e5, band.si, lag.si)
            assert ends[0] * 0.999 <= flow <= ends[2] * 1.001
    assert quiet._flow(8e5, 4e4, 0.05) == pytest.approx(quiet._flow(8e5, 8e4, 0.1), rel=1e-6)


def test_stated_band_and_lag_leave_one_figure_and_a_measured_lockup_narrows_the_band():
    stated = {"proportional_band": "0.8 bar", "sense_lag": "0.05 s"}
    basis, twin = of(station_of(UPSTREAM, part("RV", mechanics=stated)))
    found = capacity_map(basis, twin.model, "RV").points[-1].quiet
    assert found is not None
    assert found[0] == found[1] == found[2]
    measured = {"value": "4.2 bar", "source": "lock-up test", "confidence": "measured"}
    basis, twin = of(station_of(UPSTREAM, part("RV", lockup=measured)))
    sweep = capacity_map(basis, twin.model, "RV").sweep
    assert sweep is not None
    assert sweep.bands[0] == sweep.bands[1] == pytest.approx(twin.model.band["RV"].si)


def test_the_band_never_forbids_a_release_by_itself():
    quiet = {"proportional_band": "0.4 bar", "sense_lag": "0.3 s"}
    plain, loud = (station_of(UPSTREAM, part("RV", mechanics=m)) for m in (None, quiet))
    from steadyhead.design.sheet import judge

    assert {f.code for f in judge(plain).findings if f.code.startswith("SIZ-0")} == {
        f.code for f in judge(loud).findings if f.code.startswith("SIZ-0")
    }


@pytest.mark.source(
    kind="analytic", ref="F_P = 1/√(1 + ΣK/ζ): a valve whose F_P Kv is the bare need passes the flow, by hand"
)
def test_reducers_beside_the_valve_raise_what_it_needs():
    basis, _ = of(station_of(UPSTREAM))
    reducer = basis.layout.reducers[0]
    beside = pipes_beside(basis, reducer)
    assert beside == (0.15, 0.15)
    case = {"flow": 0.018, "before": 7e5, "after": 4e5}
    trim = Trim(0.08, 0.85, 0.46)
    with_them = needed(basis, trim, beside, **case)
    bare = needed(basis, trim, (0.08, 0.08), **case).kv
    zeta = (0.04 * 80**2 / with_them.kv) ** 2
    factor = 1.0 / sqrt(1.0 + fitting_losses(0.08, 0.15, 0.15) / zeta)
    assert with_them.kv * factor == pytest.approx(bare, rel=1e-3)
    assert with_them.piping == pytest.approx(factor, rel=1e-3)


def test_pipes_beside_a_valve_are_those_of_the_nearest_isolating_valves_or_of_the_mains():
    def sizes(*edits) -> tuple[float, float]:
        basis, _ = of(station_of(UPSTREAM, *edits))
        return pipes_beside(basis, basis.layout.reducers[0])

    assert sizes(part("IV1", size="DN 80")) == (0.08, 0.15)
    assert sizes(part("RV", size="DN 200")) == (0.2, 0.2)


def test_a_trickle_is_told_to_be_not_turbulent():
    basis, _ = of(station_of(UPSTREAM, section("demand", night="2 mL/min")))
    sized = size_reducer(basis, basis.layout.reducers[0], design_cases(basis), None)
    assert not all(case.turbulent for case in sized.cases)
    assert all(case.turbulent for case in sized.cases if case.flow_case != "night")


def test_sizing_says_what_it_rests_on_with_evidence():
    high = {"altitude": "1800 m"}
    basis, _ = of(station_of(UPSTREAM, section("station", **high)))
    grounds = {g.label: g for g in size_reducer(basis, basis.layout.reducers[0], (), None).grounds}
    assert "altitude of the file" in grounds["atmosphere, absolute"].provenance
    assert all(g.provenance for g in grounds.values())
    for said in ("vapour pressure of the water, absolute", "F_F", "F_L", "pipe ahead", "fire flow"):
        assert said in grounds


@pytest.mark.source(
    kind="published",
    ref="U.S. Standard Atmosphere 1976: 898.8 hPa at 1000 m, 1013.25 hPa at sea level (from memory)",
)
def test_altitude_lowers_the_index_of_cavitation():
    def sigma(altitude: str) -> float:
        basis, _ = of(station_of(UPSTREAM, section("station", altitude=altitude)))
        sized = size_reducer(basis, basis.layout.reducers[0], design_cases(basis), None)
        case = next(c for c in sized.cases if (c.flow_case, c.inlet_case) == ("peak", "typical"))
        assert case.sigma_1 is not None
        assert case.inlet_pressure is not None
        assert case.outlet_pressure is not None
        return case.sigma_1 * (case.inlet_pressure - case.outlet_pressure) - case.inlet_pressure

    assert sigma("0 m") - sigma("1000 m") == pytest.approx(101325 - 89876, abs=40.0)


def test_every_reducer_of_a_station_with_streams_is_found_once():
    assert [a.reducer.id for a in reducers_along(of(duty_and_standby())[0])] == ["RVa", "RVb"]
    assert [a.reducer.id for a in reducers_along(of(with_low_flow())[0])] == ["RV", "LB"]
    assert [a.reducer.id for a in reducers_along(of(with_monitor())[0])] == ["MON", "RV"]


@pytest.mark.parametrize(
    ("make", "reducer", "place"),
    [
        (duty_and_standby, "RVa", "inlet of the duty stream a"),
        (duty_and_standby, "RVb", "inlet of the standby stream b"),
        (with_low_flow, "RV", "inlet of the main stream a"),
        (with_monitor, "MON", "inlet of the station"),
        (with_monitor, "RV", "inlet of the station"),
    ],
)
def test_every_pilot_operated_reducer_has_a_map_at_the_inlet_of_its_stream(make, reducer: str, place: str):
    basis, twin = of(make())
    found = capacity_map(basis, twin.model, reducer)
    assert found.place == place
    assert found.border("wide open") is not None
    served = serving(along(basis, reducer)).basis.twin
    for point in found.points:
        reading = served.steady(point.flow_case, point.inlet_case).valves[reducer]
        assert point.flow == pytest.approx(reading.flow)
        resistance = ahead(along(basis, reducer)).resistance
        assert point.inlet == pytest.approx(reading.inlet_pressure + resistance * point.flow**2)


def test_streams_share_the_flow_on_their_maps():
    basis, twin = of(with_low_flow())
    peak = capacity_map(basis, twin.model, "RV").points[-1]
    station = basis.station.demand.peak.si
    beside = twin.steady("peak", "lowest").valves["LB"].flow
    assert beside > 0.0
    assert peak.flow + beside == pytest.approx(station, rel=1e-6)


def test_a_standby_that_takes_nothing_says_so_and_is_shown_carrying_alone():
    basis, twin = of(duty_and_standby())
    found = capacity_map(basis, twin.model, "RVb")
    peak = next(point for point in found.points if point.flow_case == "peak")
    assert peak.flow == pytest.approx(basis.station.demand.peak.si, rel=1e-3)
    assert "RVb takes no flow in service" in " ".join(found.not_known)
    assert found.highest_flow >= basis.station.demand.peak.si


def test_a_direct_acting_reducer_is_refused_with_what_to_do():
    basis, twin = of(with_low_flow())
    with pytest.raises(InputError, match=r"direct-acting.*droop of its data sheet.*pilot-operated one: RV"):
        capacity_map(basis, twin.model, "LB")


def test_sizing_in_streams_takes_each_reducers_own_flow():
    basis, _ = of(duty_and_standby())
    cases = design_cases(basis)
    duty, standby = (size_reducer(basis, a.reducer, cases, None) for a in reducers_along(basis))
    peak = basis.station.demand.peak.si
    of_peak = next(c for c in duty.cases if (c.flow_case, c.inlet_case) == ("peak", "lowest"))
    assert of_peak.flow == pytest.approx(peak, rel=1e-3)
    assert duty.stream == "a"
    assert standby.stream == "b"
    assert all(c.flow < 0.01 * peak for c in standby.cases)
    assert not {"SIZ-05", "SIZ-06"} & {f.code for f in reducer_findings(basis, standby)}
    alone = required_kvs(basis, reducers_along(basis)[1].reducer)
    assert alone.cases[2].flow == pytest.approx(peak, rel=1e-3)


def test_losses_and_velocities_count_the_flow_of_their_stream():
    basis, _ = of(duty_and_standby())
    found = {loss.part: loss for loss in losses(basis)}
    assert set(found) == {"ST", "SOa", "SOb"}
    assert (found["SOb"].flow or 0.0) < 0.01 * (found["SOa"].flow or 0.0)
    assert all(loss.source for loss in found.values())
    speeds = {pipe.place: pipe.velocity for pipe in pipes(basis)}
    assert speeds["IV1b"] < 0.01 * speeds["IV1a"]
    assert flow_through(basis, "ST", "peak") == basis.station.demand.peak.si
    assert flow_through(basis, "ST", "fire") is None


def test_fire_flow_has_losses_and_velocities_of_its_own():
    basis, _ = of(station_of(UPSTREAM))
    strainer = next(loss for loss in losses(basis) if loss.kind == "strainer")
    ratio = basis.station.demand.fire.si / basis.station.demand.peak.si  # type: ignore[union-attr]
    assert strainer.fire_loss == pytest.approx(strainer.loss * ratio**2)
    pipe = pipes(basis)[0]
    assert pipe.fire_velocity == pytest.approx(pipe.velocity * ratio)


def test_curves_of_required_coefficients_rise_with_flow_for_every_size():
    for name in (UPSTREAM, SERIES):
        basis, _ = of(station_of(name))
        found = required_kvs(basis, basis.layout.reducers[0])
        assert len(found.flows) == d.CURVE_STEPS
        for column in found.columns:
            assert list(column.curve) == sorted(column.curve)
